"""Review and pages: killers first, ENTER only after the end was read, every line reachable with SPACE."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.tui.seen import painted, press, seat_of, text_of

from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.files.profile_file import read_profile
from wetside.files.settings import Settings
from wetside.tui.app import WetsideApp
from wetside.tui.frame import text_rows
from wetside.tui.page_screen import PageScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.rows import width

PROFILE = Path(__file__).parents[2] / "profiles" / "two-bath.toml"


class Reviewed:
    """A review and the requests it made."""

    def __init__(self, terminal: Terminal, plan: Plan) -> None:
        self.asked: list[str] = []
        self.screen = ReviewScreen(
            terminal,
            plan,
            lambda begins: self.asked.append("begin" if begins else "left"),
            profile=read_profile(PROFILE),
            starts_at=datetime(2031, 3, 1, 19, 0),
        )


def read_through(screen: PageScreen, columns: int, rows: int) -> list[str]:
    """Every row seen while SPACE is pressed until it would go back to the top."""
    seen: list[str] = []
    for _ in range(300):
        drawn = text_of(screen, columns, rows)
        seen += [row for row in drawn[1:] if row not in seen[-rows:]]
        if any("back to the top" in row for row in drawn):
            return seen
        press(screen, "space")
    raise AssertionError("the end was never reached")


def test_the_first_message_stays_until_a_key_is_pressed(terminal: Terminal, plan: Plan) -> None:
    screen = ReviewScreen(terminal, plan, lambda begins: None, said="Another one is not finished.")
    assert any("Another one is not finished." in row for row in text_of(screen, 80, 24))
    press(screen, "space")
    assert not any("not finished" in row for row in text_of(screen, 80, 24))


def test_how_the_tank_is_moved_and_its_effect_are_read_before_beginning(terminal: Terminal, plan: Plan) -> None:
    chosen = replace(plan, setup=replace(plan.setup, agitation="each minute", agitated_by="rotation"))
    screen = ReviewScreen(terminal, chosen, lambda begins: None)
    text = " ".join(" ".join(read_through(screen, 80, 24)).split())
    assert "How the tank is moved - each minute, by rotation: less density and contrast, and streaks" in text
    assert "Rotation changes its direction" in text


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 12), (120, 40)])
def test_every_line_of_the_review_can_be_reached_and_fits(
    terminal: Terminal, plan: Plan, columns: int, rows: int
) -> None:
    review = Reviewed(terminal, plan)
    drawn = text_of(review.screen, columns, rows)
    assert len(drawn) == rows
    assert max(map(width, drawn)) <= columns
    text = " ".join(" ".join(read_through(review.screen, columns, rows)).split())
    for words in ("Goggles on", "DANGER", "H317", "First aid", "Tonight in short", "19:59", "data sheet"):
        assert words in text
    assert text.index("Goggles on") < text.index("DANGER") < text.index("First aid")


def test_critical_items_are_on_the_first_page(terminal: Terminal, plan: Plan) -> None:
    first = text_of(Reviewed(terminal, plan).screen, 80, 24)
    assert sum(row.startswith("! ") for row in first) == 14


async def test_enter_begins_the_evening_only_after_the_end_was_shown(terminal: Terminal, plan: Plan) -> None:
    review = Reviewed(terminal, plan)
    async with WetsideApp(terminal, Settings(), lambda: review.screen).run_test(size=(80, 24)) as pilot:
        await pilot.press(*["enter"] * 20)
        assert review.asked == []
        assert any("Read to the end first" in row for row in painted(review.screen.app))
        await pilot.press(*["space"] * 8)
        assert any("ENTER begins the session" in row for row in painted(review.screen.app))
        await pilot.press("enter")
        assert review.asked == ["begin"]
        await pilot.press("backspace")
        assert review.asked == ["begin", "left"]


def test_pressing_space_again_and_again_does_not_begin_the_evening(terminal: Terminal, plan: Plan) -> None:
    review = Reviewed(terminal, plan)
    for _ in range(100):
        press(review.screen, "space")
    assert review.asked == []


def test_the_review_is_ascii_where_only_ascii_may_be_sent(terminal: Terminal, plan: Plan) -> None:
    review = Reviewed(replace(terminal, utf8=False), plan)
    assert all(row.isascii() for row in read_through(review.screen, 80, 24))


def test_a_page_without_an_action_is_left_with_enter_too(terminal: Terminal) -> None:
    lines = ("Where files live", *(f"  line {number}" for number in range(40)))
    for leaves in ("enter", "backspace"):
        page = PageScreen(terminal, "Files", lambda layout, cells: text_rows(lines, layout, cells))
        assert "22 of 41 lines" in text_of(page)[0]
        for key, shown in (("down", 21), ("end", 39), ("home", 0), ("pagedown", 30)):
            press(page, key)
            assert f"  line {shown}" in [row.rstrip() for row in text_of(page)]
        press(page, "up", "pageup")
        assert "  line 0" in [row.rstrip() for row in text_of(page)]
        press(page, leaves)
        assert seat_of(page).results == [False]


def test_the_review_shows_what_is_left_in_the_kits(terminal: Terminal, plan: Plan) -> None:
    after = ("Spring kit: 4.7 rolls; the developer will be the first used up.",)
    screen = ReviewScreen(terminal, plan, lambda begins: None, after=after)
    text = " ".join(" ".join(read_through(screen, 40, 12)).split())
    assert "Left in the kit after tonight" in text
    assert "- Spring kit: 4.7 rolls" in text
