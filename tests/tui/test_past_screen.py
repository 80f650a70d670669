"""Past sessions: a list that never grows too long to draw, a record page that can be read, the way to a file."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from rich.color import Color
from tests.tui.seen import painted, press, seat_of, summary, text_of

from wetside.app.terminal import Terminal
from wetside.commands.arguments import FORMATS
from wetside.errors import JournalUnusable
from wetside.files.settings import Settings
from wetside.storage.sessions import SessionSummary
from wetside.tui.app import WetsideApp
from wetside.tui.rows import width
from wetside.tui.sessions_screen import PastScreen

PAGE = """# Two rolls \\[of ours\\]

This is a session.

\\- **Outcome**: complete\\
\\- **Who**: a \\| b

## Steps

\\- **Developer (batch 1)**: planned 3:15; actual 3:12; started 19:00:35 (stated)\\
\\- **Look**
"""


def sessions(count: int) -> tuple[SessionSummary, ...]:
    return tuple(
        summary(f"s{number}", f"Evening {number}", number % 28 + 1, "complete with deviations", deviations=2)
        for number in range(count)
    )


class Past:
    """The list of past sessions, with the pages that were opened."""

    def __init__(self, terminal: Terminal, listed: tuple[SessionSummary, ...], page: str | None = PAGE) -> None:
        self.opened: list[str] = []
        self._page = page
        self.screen = PastScreen(terminal, listed, self._open, lambda session: None, {})

    def _open(self, session: str) -> str:
        self.opened.append(session)
        if self._page is None:
            raise JournalUnusable("The journal is damaged: run the salvage.\nmore")
        return self._page

    @property
    def left(self) -> int:
        return len(seat_of(self.screen).results)


@pytest.mark.parametrize("count", [0, 1, 3, 1000])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 12), (120, 40)])
def test_the_list_of_past_sessions_fits_at_every_size_wherever_the_mark_is(
    terminal: Terminal, count: int, columns: int, rows: int
) -> None:
    past = Past(terminal, sessions(count))
    for key in ("end", "up", "home", "pagedown", "space", "pageup", "down"):
        press(past.screen, key)
        drawn = text_of(past.screen, columns, rows)
        assert len(drawn) == rows
        assert max(map(width, drawn)) <= columns
        if count:
            marked = next(row for row in drawn if "→" in row)
            assert f"Evening {past.screen.index}" in marked
            assert f"Session s{past.screen.index}: complete" in " ".join(drawn)


def test_the_outcome_is_not_cut_at_80_columns(terminal: Terminal) -> None:
    rows = text_of(Past(terminal, sessions(2)).screen, 80, 24)
    assert rows[1].split() == ["Began", "Evening", "Outcome"]
    assert rows[2].rstrip().endswith("complete with deviations (2)")


def test_an_empty_list_says_so_and_any_key_of_the_two_leaves(terminal: Terminal) -> None:
    past = Past(terminal, ())
    assert any("No session yet" in row for row in text_of(past.screen, 80, 24))
    press(past.screen, "space")
    assert past.left == 0
    press(past.screen, "enter")
    assert past.left == 1
    other = Past(terminal, ())
    press(other.screen, "backspace")
    assert other.left == 1


def test_a_record_opens_and_closes(terminal: Terminal) -> None:
    past = Past(terminal, sessions(3))
    press(past.screen, "space", "enter")
    assert past.opened == ["s1"]
    for columns, rows in ((80, 24), (40, 24)):
        drawn = [row.rstrip() for row in text_of(past.screen, columns, rows)]
        text = " ".join(" ".join(drawn).split())
        assert "wetside export s1 --format markdown --output FILE" in text
        assert all(form in text for form in FORMATS)
        assert "Two rolls [of ours]" in drawn
        assert "- Outcome: complete" in drawn
        assert "- Who: a | b" in drawn
        assert "- Developer (batch 1): planned 3:15; actual 3:12; started 19:00:35 (stated)" in text
        assert "- Look" in drawn
    press(past.screen, "backspace")
    assert seat_of(past.screen).top is past.screen


def test_a_record_is_ascii_where_only_ascii_may_be_sent(terminal: Terminal) -> None:
    page = "# 38.9 °C\n\n\\- **a → b**: ±0.5\\\n\\- **c**: “d”\n"
    screen = PastScreen(
        replace(terminal, utf8=False, colours="none"), sessions(1), lambda _: page, lambda _: None, {}
    )
    press(screen, "enter")
    drawn = text_of(screen)
    assert all(row.isascii() for row in drawn)
    assert "- a -> b: +/-0.5" in [row.rstrip() for row in drawn]
    colours = {segment.style.color for row in seat_of(screen).styled_rows() for segment in row if segment.style}
    assert colours <= {None, Color.default()}


async def test_an_unreadable_record_is_reported_in_a_sentence(terminal: Terminal) -> None:
    past = Past(terminal, sessions(1), page=None)
    async with WetsideApp(terminal, Settings(), lambda: past.screen).run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        rows = painted(past.screen.app)
        assert any("The journal is damaged: run the salvage." in row for row in rows)
        assert not any("more" in row for row in rows)


def test_damage_and_practice_are_marked(terminal: Terminal) -> None:
    one = replace(sessions(1)[0], trouble="its rows are damaged", practice=True)
    rows = text_of(Past(terminal, (one,)).screen, 80, 24)
    assert any("PRACTICE Evening 0" in row for row in rows)
    assert any("its rows are damaged" in row for row in rows)


def test_trends_are_drawn_only_where_the_list_keeps_its_room(terminal: Terminal) -> None:
    line = "Pouring out             ⎽⎼─        last 12 s, usually 10 s"
    one, went = sessions(1)[0], {"s0": ("Planned 1 h; Developer 3:30: on time.", "One: thin.")}
    screen = PastScreen(terminal, (one, *sessions(30)), lambda _: PAGE, lambda _: None, went, (line,))
    roomy = text_of(screen, 80, 24)
    assert any(line in row for row in roomy)
    assert "Developer 3:30: on time. One: thin." in " ".join(" ".join(roomy).split())
    small = text_of(screen, 40, 12)
    assert not any("Pouring out" in row for row in small)
    assert any("→" in row for row in small)
