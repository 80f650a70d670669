"""Home: the unfinished session first with its elapsed time, three keys, and nothing starts by itself."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace
from tests.tui.seen import painted, press, text_of
from textual import events

from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.session.state import State
from wetside.files.settings import Settings
from wetside.tui.app import WetsideApp
from wetside.tui.home_screen import HomeChoice, HomeScreen, Unfinished, unfinished
from wetside.tui.rows import width

OFFER = Unfinished("k3v9", "Two rolls of ours", "18:58", "Developer", 2400.0, 130.0, 227.0)
OTHER = Unfinished("m2p4", "One roll more", "12:02", "Dry", 9000.0)


class Home:
    """A home screen with what was chosen, and a count of seconds moved by hand."""

    def __init__(self, terminal: Terminal, *offers: Unfinished) -> None:
        self.passed = 0.0
        self.chosen: list[HomeChoice] = []
        self.screen = HomeScreen(
            terminal, offers, self.chosen.append, seconds=lambda: self.passed, wall=lambda: "19:38"
        )

    def rows(self, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
        return text_of(self.screen, columns, rows)


def test_the_unfinished_session_comes_first_with_its_time(terminal: Terminal) -> None:
    home = Home(terminal, OFFER, OTHER)
    rows = home.rows(40, 12)
    assert "not finished" in rows[1]
    assert rows[2].startswith("2:10 so far, 1:37 to go: Developer")
    marked = next(row for row in rows if "→" in row)
    assert "Go on: Two rolls of ours" in marked
    assert "Nothing starts by itself." in " ".join(home.rows())
    assert any("Go on: One roll more, 2:30:00" in row for row in home.rows())


def test_elapsed_time_goes_on_and_a_pause_does_not(terminal: Terminal) -> None:
    home = Home(terminal, OFFER)
    home.passed = 5.0
    assert any(row.startswith("2:15 so far") for row in home.rows(40, 12))
    home.passed = 100.4
    assert any(row.startswith("3:50 so far, 0:03 over") for row in home.rows(40, 12))
    unknown = Home(terminal, replace(OFFER, least=True))
    assert any(row.startswith("2:10 so far at the least: Developer") for row in unknown.rows(40, 12))
    still = Home(terminal, replace(OFFER, paused=True))
    still.passed = 5.0
    assert any(row.startswith("2:10 so far, 1:37 to go, paused") for row in still.rows(40, 12))
    quick = Home(terminal, replace(OFFER, practice=True, speed=20.0))
    quick.passed = 1.0
    assert any("2:30 so far" in row for row in quick.rows(40, 12))
    assert any("PRACTICE" in row for row in quick.rows())


def test_the_fast_clock_of_a_practice_is_not_shown_as_the_time_since_it_began(terminal: Terminal) -> None:
    quick = replace(OFFER, practice=True, speed=20.0, step_elapsed_s=None)
    rows = Home(terminal, quick).rows()
    assert not any("since it began" in row for row in rows)
    assert any(row.startswith("on its fast clock; it stands at Developer") for row in rows)
    assert any("Two rolls of ours, 40:00 on its fast clock" in row for row in rows)


def test_a_practice_is_marked_in_the_list_at_every_size(terminal: Terminal) -> None:
    home = Home(terminal, OFFER, replace(OFFER, practice=True))
    for size in ((80, 24), (40, 12)):
        listed = [row for row in home.rows(*size) if "Go on: " in row]
        assert ["PRACTICE" in row for row in listed] == [False, True]


def test_digits_are_large_where_there_is_room(terminal: Terminal) -> None:
    assert sum("██" in row for row in Home(terminal, OFFER).rows()) >= 4


@pytest.mark.parametrize("offers", [(), (OFFER,), (OFFER, OTHER), (OFFER,) * 9])
@pytest.mark.parametrize("utf8", [True, False])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 12), (120, 40), (60, 20)])
def test_the_marked_line_and_the_bottom_line_are_always_inside(
    terminal: Terminal, offers: tuple[Unfinished, ...], utf8: bool, columns: int, rows: int
) -> None:
    home = Home(replace(terminal, utf8=utf8), *offers)
    for _ in home.screen.lines():
        drawn = home.rows(columns, rows)
        assert len(drawn) == rows
        assert max(map(width, drawn)) <= columns
        marked = next(row for row in drawn if ("→" if utf8 else "->") in row)
        assert f" {home.screen.index + 1}  " in marked
        assert any("ENTER" in row for row in drawn[-3:])
        press(home.screen, "space")
    assert home.screen.index == 0
    assert home.chosen == []


def test_the_shelf_is_offered(terminal: Terminal) -> None:
    assert any("shelf" in row for row in Home(terminal).rows())


def test_the_tour_is_offered_until_there_is_an_evening_to_go_on_with(terminal: Terminal) -> None:
    for offers in ((), (replace(OFFER, practice=True),)):
        assert any("Learn the keys" in row for row in Home(terminal, *offers).rows())
    assert not any("Learn the keys" in row for row in Home(terminal, OFFER).rows())


async def test_three_keys_choose(terminal: Terminal) -> None:
    home = Home(terminal, OFFER)
    app = WetsideApp(terminal, Settings(), lambda: home.screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await pilot.press("space", "enter")
        await pilot.press("up", "up", "enter")
        await pilot.press("4", "enter")
        await pilot.press("9", "enter", "backspace")
    acts = [choice.act for choice in home.chosen]
    assert acts == ["go on", "plan", "leave", "sessions", "sessions", "leave"]
    assert home.chosen[0].session == "k3v9"


async def test_in_a_window_too_small_no_key_chooses(terminal: Terminal) -> None:
    home = Home(terminal, OFFER)
    app = WetsideApp(terminal, Settings(), lambda: home.screen)
    async with app.run_test(size=(30, 8)) as pilot:
        await pilot.press("space", "enter", "backspace")
        assert home.chosen == []
        await pilot.resize_terminal(80, 24)
        await pilot.press("enter")
    assert [choice.act for choice in home.chosen] == ["go on"]


def test_the_offer_to_resume_follows_from_the_state(plan: Plan, standing: Callable[..., State]) -> None:
    running = unfinished(standing(plan, "b1.developer", running_s=130.0), 1010.0)
    assert running is not None
    assert running.step_elapsed_s == pytest.approx(140.0)
    developer = plan.step("b1.developer")
    assert running.step_planned_s == pytest.approx((developer.planned_s or 0.0) - developer.drain_lead_s)
    assert running.title == plan.setup.title
    waiting = unfinished(standing(plan, "chemistry"), 1010.0)
    assert waiting is not None
    assert waiting.step_elapsed_s is None
    assert unfinished(replace(standing(plan, "chemistry"), current=None), 1010.0) is None
    assert unfinished(State(), 0.0) is None


async def test_a_message_given_at_the_start_is_shown_until_the_next_key(terminal: Terminal) -> None:
    home = Home(terminal)
    words = "That session is open for writing in another terminal."
    async with WetsideApp(terminal, Settings(), lambda: home.screen).run_test(size=(80, 24)) as pilot:
        home.screen.say(words)
        await pilot.pause()
        assert words in "\n".join(painted(home.screen.app))
        await pilot.press("space")
        assert words not in "\n".join(painted(home.screen.app))


async def test_home_under_another_screen_draws_nothing_and_ignores_keys(terminal: Terminal) -> None:
    home, over = Home(terminal, OFFER), Home(terminal)
    app = WetsideApp(terminal, Settings(), lambda: home.screen)
    async with app.run_test(size=(40, 12)) as pilot:
        home.passed = 1.0
        home.screen.redraw()
        assert any("2:11" in row for row in painted(app)), "on top its clock counts on"
        app.push_screen(over.screen)
        await pilot.pause()
        home.passed = 2.0
        before = painted(app)
        home.screen.redraw()
        home.screen.post_message(events.Key("enter", None))
        await pilot.pause()
        assert painted(app) == before, "its digits would stand in the room over it"
        assert home.chosen == []
        app.pop_screen()
        await pilot.pause()
        assert any("2:12" in row for row in painted(home.screen.app))
