"""Past sessions: a list that never grows too long to draw, a record page that can be read, the way to a file."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.tui.seen import painted, plain_rows, stacked, text_of

from wetside.app.terminal import Terminal
from wetside.errors import JournalUnusable
from wetside.files.settings import Settings
from wetside.tui.app import WetsideApp
from wetside.tui.page_screen import PageScreen
from wetside.tui.rows import TextLayout, row_width
from wetside.tui.sessions_screen import PastScreen, PastSession, record_rows

PAGE = """# Two rolls \\[of ours\\]

This is a session.

|  |  |
|---|---|
| Outcome | complete |
| Who | a \\| b |

## Steps

| Step | Planned | Actual | Started |
|---|---|---|---|
| Developer (batch 1) | 3:15 | 3:12 | 19:00:35 (stated) |
| Look |  |  |  |

- 19:00:31 · Gloves on
"""


def sessions(count: int) -> tuple[PastSession, ...]:
    return tuple(
        PastSession(
            f"s{number}",
            f"Evening {number}",
            f"2031-03-{number % 28 + 1:02d} 19:00",
            "complete with deviations (2)",
            "1 h 14 min",
            "1 h 20 min",
        )
        for number in range(count)
    )


class Past:
    """The list, with the pages that were asked for."""

    def __init__(self, terminal: Terminal, listed: tuple[PastSession, ...], page: str | None = PAGE) -> None:
        self.opened: list[str] = []
        self.left = 0
        self._page = page
        self.screen = PastScreen(terminal, listed, self._open, self._leave, exports="It goes to your folder.")

    def _open(self, session: str) -> str:
        self.opened.append(session)
        if self._page is None:
            raise JournalUnusable("The journal is damaged: run the salvage.\nmore")
        return self._page

    def _leave(self) -> None:
        self.left += 1


@pytest.mark.parametrize("count", [0, 1, 3, 1000])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 12), (120, 40)])
def test_it_fits_at_every_size_wherever_the_mark_is(
    terminal: Terminal, count: int, columns: int, rows: int
) -> None:
    past = Past(terminal, sessions(count))
    for key in ("end", "up", "home", "pagedown", "space", "pageup", "down"):
        past.screen.press(key)
        picture = stacked(past.screen, columns, rows)
        assert len(picture) == rows
        assert max(map(row_width, picture)) <= columns
        if count:
            marked = next(row for row in plain_rows(picture) if "→" in row)
            assert f"Evening {past.screen.index}" in marked
            assert "took 1 h 20" in " ".join(plain_rows(picture))


def test_the_outcome_is_whole_at_80(terminal: Terminal) -> None:
    rows = text_of(Past(terminal, sessions(2)).screen, 80, 24)
    assert rows[1].rstrip().endswith("complete with deviations (2)")


def test_an_empty_list_says_so_and_any_key_of_the_two_leaves(terminal: Terminal) -> None:
    past = Past(terminal, ())
    assert any("No session yet" in row for row in text_of(past.screen, 80, 24))
    for key in ("space", "enter", "backspace"):
        past.screen.press(key)
    assert past.left == 2


async def test_a_record_opens_and_closes(terminal: Terminal) -> None:
    past = Past(terminal, sessions(3))
    app = WetsideApp(terminal, Settings(), lambda: past.screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("space", "enter")
        assert past.opened == ["s1"]
        assert isinstance(app.screen, PageScreen)
        rows = painted(app)
        assert any("wetside export s1 --format markdown --output FILE" in row for row in rows)
        assert any("It goes to your folder." in row for row in rows)
        assert any(
            "Developer (batch 1): planned 3:15; actual 3:12; started 19:00:35 (stated)" in row for row in rows
        )
        await pilot.press("backspace")
        assert app.screen_stack == [past.screen]


async def test_a_record_that_cannot_be_read_is_said_in_a_sentence(terminal: Terminal) -> None:
    past = Past(terminal, sessions(1), page=None)
    async with WetsideApp(terminal, Settings(), lambda: past.screen).run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        rows = painted(past.screen.app)
        assert any("The journal is damaged: run the salvage." in row for row in rows)
        assert not any("more" in row for row in rows)


def test_the_page_reads_without_marks() -> None:
    rows = plain_rows(tuple(record_rows(PAGE, TextLayout(True), 60)))
    assert rows[0] == "Two rolls [of ours]"
    assert "Outcome: complete" in rows
    assert "Who: a | b" in rows
    assert "Look" in rows
    assert "- 19:00:31 · Gloves on" in rows
    assert max(map(len, rows)) <= 60


def test_trouble_and_practice_are_said(terminal: Terminal) -> None:
    one = replace(sessions(1)[0], trouble="its rows are damaged", practice=True, planned="", actual="")
    rows = text_of(Past(terminal, (one,)).screen, 80, 24)
    assert any("PRACTICE Evening 0" in row for row in rows)
    assert any("its rows are damaged" in row for row in rows)


def test_trends_are_drawn_where_the_list_keeps_its_room(terminal: Terminal) -> None:
    line = "Pouring out             ⎽⎼─        last 12 s, usually 10 s"
    one = replace(
        sessions(1)[0], planned="", actual="", went=("Planned 1 h; Developer 3:30: on time.", "One: thin.")
    )
    screen = PastScreen(terminal, (one, *sessions(30)), lambda _: PAGE, lambda: None, trends=(line,))
    roomy = text_of(screen, 80, 24)
    assert any(line in row for row in roomy)
    assert "Developer 3:30: on time. One: thin." in " ".join(" ".join(roomy).split())
    small = text_of(screen, 40, 12)
    assert not any("Pouring out" in row for row in small)
    assert any("→" in row for row in small)
