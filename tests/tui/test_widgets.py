"""The screens outside a session as the library's widgets paint them: each as its view says, at every size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest
from tests.shipped import shipped_profile, shipped_setup
from tests.tui.seen import painted, painted_rows, text_of
from textual import events
from textual.widgets import OptionList

from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.shelf.state import ShelfState
from wetside.files.settings import Settings
from wetside.present.evening_plan import make_plan
from wetside.tui.app import WetsideApp
from wetside.tui.home_screen import HomeScreen, Unfinished
from wetside.tui.page_screen import WidgetScreen
from wetside.tui.plan_ports import PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.sessions_screen import PastScreen, PastSession
from wetside.tui.settings_screen import SettingsScreen
from wetside.tui.shelf_screen import ShelfPorts, ShelfScreen

Make = Callable[[Terminal, Plan], WidgetScreen]


def nothing(*_: object) -> Any:
    """A port that is not asked here."""


def home(terminal: Terminal, _: Plan) -> WidgetScreen:
    offer = Unfinished("k3v9", "Sunday", "18:58", "Developer", 900.0, 130.0, 210.0)
    return HomeScreen(terminal, (offer,), nothing, seconds=lambda: 0.0, wall=lambda: "19:15", shelf=True)


def plan_screen(terminal: Terminal, plan: Plan) -> WidgetScreen:
    profile = shipped_profile("two-bath")
    ports = PlanPorts(
        benches=(("one", "one"), ("two", "two")),
        processes=(("two-bath", "Two-bath"),),
        bench=lambda name: plan.setup,
        process=lambda name: profile,
        make=lambda of, setup: make_plan(of, setup, today=date(2031, 3, 1)),
        save=nothing,
        review=nothing,
        left=nothing,
        starts_at=lambda: datetime(2031, 3, 1, 19, 0),
    )
    return PlanScreen(terminal, shipped_setup("three-rolls"), ports)


def review(terminal: Terminal, plan: Plan) -> WidgetScreen:
    return ReviewScreen(terminal, plan, nothing, nothing)


def past(terminal: Terminal, _: Plan) -> WidgetScreen:
    rows = tuple(PastSession(f"s{n}", f"Evening {n}", "2031-03-01 19:00", "complete") for n in range(40))
    return PastScreen(terminal, rows, lambda session: "# Its record", nothing)


def settings(terminal: Terminal, _: Plan) -> WidgetScreen:
    return SettingsScreen(terminal, Settings(), nothing, ("Where files live",), nothing)


def shelf(terminal: Terminal, _: Plan) -> WidgetScreen:
    ports = ShelfPorts(ShelfState, nothing, tuple, lambda: date(2031, 3, 1), nothing, nothing, nothing)
    return ShelfScreen(terminal, ports)


async def until(pilot: Any, holds: Callable[[], bool]) -> None:
    """Let the app work until this holds."""
    for _ in range(100):
        if holds():
            return
        await pilot.pause()
    assert holds(), "\n".join(painted(pilot.app))


def as_said(app: Any, screen: WidgetScreen, size: tuple[int, int]) -> bool:
    """Whether the library has painted what the view says; of a list it scrolls itself, the marked one."""
    rows, wanted = ([row.rstrip() for row in each] for each in (painted(app), text_of(screen, *size)))
    view = screen.draw(*size)
    if view.body.room < len(view.body.listed):
        bottom = len(view.bottom)
        rows, wanted = ([r for r in each if "→" in r] + each[-bottom:] + each[:1] for each in (rows, wanted))
    return rows == wanted


SCREENS = pytest.mark.parametrize("make", [home, plan_screen, review, past, settings, shelf])


@SCREENS
@pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)])
async def test_what_is_painted_is_what_the_view_says(
    terminal: Terminal, plan: Plan, make: Make, size: tuple[int, int]
) -> None:
    screen = make(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=size) as pilot:
        for key in ("", "space", "space", "enter", "space", "x", "backspace", "backspace"):
            if key:
                await pilot.press(key)
            top = app.screen
            assert isinstance(top, WidgetScreen)
            await until(pilot, lambda top=top: as_said(app, top, size))  # type: ignore[misc]
        await pilot.resize_terminal(30, 8)
        await until(pilot, lambda: "This window is 30 by 8" in " ".join(painted(app)))
        await pilot.resize_terminal(*size)
        await until(pilot, lambda: isinstance(app.screen, WidgetScreen) and as_said(app, app.screen, size))


@SCREENS
async def test_the_marked_one_is_reversed_with_and_without_colours(
    terminal: Terminal, plan: Plan, make: Make
) -> None:
    if make is review:
        return  # a page of text marks nothing
    for colours in ("16", "none"):
        screen = make(replace(terminal, colours=colours, utf8=colours != "none"), plan)
        app = WetsideApp(terminal, Settings(), lambda screen=screen: screen)  # type: ignore[misc]
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("space")
            sign = "→" if colours == "16" else "->"
            (marked,) = [row for row in painted_rows(app)[1:] if any(sign in segment.text for segment in row)]
            first = next(segment for segment in marked if segment.text.strip())
            assert first.style is not None
            assert first.style.reverse
            assert all(row.isascii() for row in painted(app)) or colours == "16"


@pytest.mark.parametrize(("theme", "ground"), [("light", 15), ("dark", 0), ("high contrast", 0)])
@SCREENS
async def test_a_theme_covers_the_whole_screen_with_plain_colours(
    terminal: Terminal, plan: Plan, make: Make, theme: Any, ground: int
) -> None:
    screen = make(terminal, plan)
    app = WetsideApp(terminal, Settings(theme=theme), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("space")
        for segment in (segment for row in painted_rows(app) for segment in row):
            assert segment.style is not None
            assert segment.style.bgcolor is not None
            assert segment.style.bgcolor.number == ground
            assert not segment.text.strip() or segment.style.color is not None
            assert not (theme == "high contrast" and segment.style.dim)


async def test_a_theme_chosen_while_it_runs_is_worn_at_once(terminal: Terminal, plan: Plan) -> None:
    screen = home(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        app.settings = Settings(theme="light")
        await pilot.press("space")
        styles = [segment.style for row in painted_rows(app) for segment in row]
        assert {style.bgcolor.number for style in styles if style and style.bgcolor} == {15}


@SCREENS
async def test_nothing_has_the_focus_and_a_paste_types_nothing(terminal: Terminal, plan: Plan, make: Make) -> None:
    screen = make(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        before = painted(app)
        app.post_message(events.Paste("\rq\r"))
        await pilot.pause()
        assert painted(app) == before
        assert app.focused is None
        assert isinstance(screen.query_one("#list"), OptionList)
