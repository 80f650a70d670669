"""The screens outside a session as the library's widgets paint them: each as its view says, at every size."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_profile, shipped_setup
from tests.tui.seen import painted, painted_rows, summary
from textual import events

from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.shelf.state import ShelfState
from wetside.files.settings import Settings
from wetside.present.evening_plan import make_plan
from wetside.present.prompts import LONGEST_WORDS
from wetside.tui.app import WetsideApp
from wetside.tui.dialog import DialogScreen
from wetside.tui.home_screen import HomeScreen, Unfinished
from wetside.tui.page_screen import WidgetScreen
from wetside.tui.plan_ports import PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.sessions_screen import PastScreen
from wetside.tui.settings_screen import SettingsScreen
from wetside.tui.shelf_questions import ShelfPorts
from wetside.tui.shelf_screen import ShelfScreen

Make = Callable[[Terminal, Plan], WidgetScreen]


def nothing(*_: object) -> Any:
    """A port that is not asked here."""


def home(terminal: Terminal, _: Plan) -> WidgetScreen:
    offer = Unfinished("k3v9", "Sunday", "18:58", "Developer", 900.0, 130.0, 210.0)
    return HomeScreen(terminal, (offer,), nothing, seconds=lambda: 0.0, wall=lambda: "19:15")


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
        starts_at=lambda: datetime(2031, 3, 1, 19, 0),
    )
    return PlanScreen(terminal, shipped_setup("three-rolls"), ports)


def review(terminal: Terminal, plan: Plan) -> WidgetScreen:
    return ReviewScreen(terminal, plan, nothing)


def past(terminal: Terminal, _: Plan) -> WidgetScreen:
    rows = tuple(summary(f"s{n}", f"Evening {n}") for n in range(40))
    return PastScreen(terminal, rows, lambda session: "# Its record", nothing, {})


def settings(terminal: Terminal, _: Plan) -> WidgetScreen:
    return SettingsScreen(terminal, Settings(), nothing, ("Where files live",))


def shelf(terminal: Terminal, _: Plan) -> WidgetScreen:
    ports = ShelfPorts(ShelfState, nothing, tuple, lambda: date(2031, 3, 1), nothing, nothing)
    return ShelfScreen(terminal, ports)


async def until(pilot: Any, holds: Callable[[], bool]) -> None:
    """Let the app work until this holds."""
    for _ in range(100):
        if holds():
            return
        await pilot.pause()
    assert holds(), "\n".join(painted(pilot.app))


SCREENS = pytest.mark.parametrize("make", [home, plan_screen, review, past, settings, shelf])


@SCREENS
@pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)])
async def test_title_and_keys_are_at_the_edges_and_a_window_too_small_says_so(
    terminal: Terminal, plan: Plan, make: Make, size: tuple[int, int]
) -> None:
    screen = make(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=size) as pilot:
        for key in ("space", "space", "enter", "space", "x"):
            await pilot.press(key)
            top = app.screen
            assert isinstance(top, WidgetScreen)
            await until(pilot, lambda top=top: painted(app)[0].startswith(f" {top.edge().left}"[: size[0] // 2]))  # type: ignore[misc]
            assert "BACKSPACE" in " ".join(painted(app)[-3:])
        await pilot.resize_terminal(30, 8)
        await until(pilot, lambda: "larger (it is 30 by 8). No key works." in " ".join(painted(app)))
        await pilot.resize_terminal(*size)
        await until(pilot, lambda: "BACKSPACE" in " ".join(painted(app)[-3:]))


@SCREENS
async def test_the_marked_line_is_reversed_with_and_without_colours(
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


async def test_a_theme_chosen_while_the_program_runs_is_applied_at_once(terminal: Terminal, plan: Plan) -> None:
    screen = home(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        app.settings = Settings(theme="light")
        await pilot.press("space")
        styles = [segment.style for row in painted_rows(app) for segment in row]
        assert {style.bgcolor.number for style in styles if style and style.bgcolor} == {15}


@SCREENS
async def test_a_paste_types_nothing(terminal: Terminal, plan: Plan, make: Make) -> None:
    screen = make(terminal, plan)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        before = painted(app)
        app.post_message(events.Paste("\rq\r"))
        await pilot.pause()
        assert painted(app) == before
        assert app.focused is None


async def test_a_field_can_be_edited_at_any_place_and_accepts_no_paste(terminal: Terminal, plan: Plan) -> None:
    screen = SettingsScreen(terminal, Settings(), nothing, ())
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("end", "up", "up", "enter", *"124", "left", "backspace", "home", "delete", "9")
        dialog = app.screen
        assert isinstance(dialog, DialogScreen)
        assert dialog.field.value == "94"
        assert app.focused is dialog.field
        app.post_message(events.Paste("77"))
        await pilot.press("end", "space", "x")
        assert dialog.field.value == "94 x"
        await pilot.press(*"y" * 300)
        assert len(dialog.field.value) == LONGEST_WORDS


LATE = (
    "textual.widgets._data_table",
    "textual.widgets._markdown",
    "textual.widgets._footer",
    "wetside.tui.dialog",
)
"""Modules that only a screen needs which is opened later."""


@pytest.mark.parametrize("first", ["wetside.commands.navigation", "wetside.tui.guide_screen"])
def test_a_widget_is_imported_only_by_a_screen_that_is_opened(first: str) -> None:
    code = f"import sys, {first}; print(*(name for name in {LATE!r} if name in sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == []
