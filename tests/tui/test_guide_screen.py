"""The screen of a running session, driven by keys, with a clock set by hand."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from typing import Any

import pytest
from msgspec.structs import replace
from tests.manual_clock import ManualClock
from tests.tui.seen import plain_rows
from textual.geometry import Region
from textual.pilot import Pilot

from wetside.app.controller import SessionController
from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Caution
from wetside.domain.session import commands as c
from wetside.files.settings import Settings
from wetside.present.announcements import Announcement
from wetside.present.prompts import Menu, Number, Page, Words
from wetside.tui.app import WetsideApp
from wetside.tui.guide_screen import GuideScreen

ControllerAt = Callable[..., tuple[SessionController, ManualClock, Any]]
SIZE = (80, 24)


class Stage:
    """An app showing one guide, and what a person would read on it."""

    pilot: Pilot[Any]
    clock: ManualClock
    memory: Any

    def __init__(
        self, controller: SessionController, terminal: Terminal, settings: Settings | None = None, bells: int = 3
    ) -> None:
        self.controller = controller
        self.lefts = 0
        self.screen = GuideScreen(controller, terminal, settings or Settings(), self._left, lambda: bells)
        self.rung = 0
        self.screen._ring = self._count  # type: ignore[method-assign]  # a headless app has no terminal to ring
        self.screen._alerts._ring = self._count
        self.app = WetsideApp(terminal, settings or Settings(), lambda: self.screen)

    def _left(self) -> None:
        self.lefts += 1

    def _count(self, *, even_silent: bool = False) -> None:
        self.rung += 1

    async def until(self, holds: Callable[[], bool]) -> None:
        await until(self.pilot, holds)

    @property
    def text(self) -> str:
        return "\n".join(plain_rows(self.screen.canvas.picture))

    @property
    def bottom(self) -> str:
        return self.text.splitlines()[-1]


StageAt = Callable[..., AbstractAsyncContextManager[Stage]]


@pytest.fixture
def stage_at(controller_at: ControllerAt, terminal: Terminal) -> StageAt:
    """Runs the app at a step: `async with stage_at("b1.developer", running_s=20) as stage`."""

    @asynccontextmanager
    async def run(
        step: str, *, running_s: float | None = None, settings: Settings | None = None, bells: int = 3
    ) -> AsyncIterator[Stage]:
        controller, clock, memory = controller_at(step, running_s=running_s)
        stage = Stage(controller, terminal, settings, bells)
        stage.clock, stage.memory = clock, memory
        async with stage.app.run_test(size=SIZE) as stage.pilot:
            yield stage

    return run


async def until(pilot: Pilot[Any], holds: Callable[[], bool]) -> None:
    """Wait on a condition; the test's own time limit ends a wait in vain."""
    while not holds():
        await pilot.pause(0.01)


async def test_space_confirms_the_marked_line(stage_at: StageAt) -> None:
    async with stage_at("gear-measure") as stage:
        await stage.until(lambda: "SPACE confirms" in stage.bottom)
        first = next(tick for tick in stage.controller.view().ticks if tick.up)
        await stage.pilot.press("space")
        await stage.until(lambda: f"done    {first.text}" in stage.text)
        assert len(stage.memory.events) == 1


async def test_menu_opens_moves_and_leaves(stage_at: StageAt) -> None:
    async with stage_at("gear-measure") as stage:
        await stage.pilot.press("backspace", "space")
        await stage.until(lambda: "leaves the menu" in stage.bottom)
        assert isinstance(stage.controller.key_state.panel, Menu)
        assert "→  Stop the evening" in stage.text
        await stage.pilot.press("backspace")
        await stage.until(lambda: "SPACE confirms" in stage.bottom)


async def test_first_aid_takes_two_presses(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.press("backspace", "enter")
        await stage.until(lambda: "Eyes: rinse at once under running water" in stage.text)
        assert isinstance(stage.controller.key_state.panel, Page)
        assert "left, then pour out" in stage.text  # the bath's clock stays in sight


async def test_first_aid_can_be_scrolled_to_its_last_line(
    controller_at: ControllerAt, terminal: Terminal, plan: Plan
) -> None:
    controller, _, _ = controller_at("b1.developer", running_s=20)
    stage = Stage(controller, replace(terminal, columns=40, rows=12))
    async with stage.app.run_test(size=(40, 12)) as pilot:
        await pilot.press("a")
        for _ in plan.first_aid[1:]:
            await pilot.press("space")
        await until(pilot, lambda: plan.first_aid[-1].split()[-1] in stage.text)


async def test_digits_change_when_the_clock_does(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.until(lambda: "left, then pour out" in stage.text)
        before = stage.text
        stage.clock.advance(1.0)
        await stage.until(lambda: stage.text != before)


def refreshed(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> list[tuple[Region, ...]]:
    """From now on, the regions of each refresh the guide asks for; () is the whole."""
    asked: list[tuple[Region, ...]] = []
    monkeypatch.setattr(stage.screen.canvas, "refresh", lambda *regions, **_: asked.append(regions))
    return asked


async def test_nothing_is_repainted_when_nothing_has_changed(
    stage_at: StageAt, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.until(lambda: "left, then pour out" in stage.text)
        await stage.pilot.pause()
        asked = refreshed(stage, monkeypatch)
        stage.screen.redraw()
        assert asked == []


async def test_one_second_repaints_only_the_digits_that_changed(
    stage_at: StageAt, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.until(lambda: "left, then pour out" in stage.text)
        await stage.pilot.pause()
        asked = refreshed(stage, monkeypatch)
        stage.clock.advance(1.0)
        stage.screen.redraw()
        assert len(asked) == 1
        assert 0 < sum(region.area for region in asked[0]) <= 5 * 30


async def test_another_number_of_rows_is_painted_in_full(
    stage_at: StageAt, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.until(lambda: "left, then pour out" in stage.text)
        asked = refreshed(stage, monkeypatch)
        picture = stage.screen.canvas.picture
        stage.screen.canvas.show(picture[:-1], SIZE[0])
        assert asked == [()]


MARKUP = "[red]Beach[/] [@click=app.exit]press[/] \x1b[31mred \u202edlrow"


async def test_typed_words_are_never_markup(controller_at: ControllerAt, terminal: Terminal, plan: Plan) -> None:
    step = plan.step("b1.r1.off-reel")
    caution = Caution("x", "DANGER", MARKUP, MARKUP, MARKUP)
    hostile = replace(step, title=MARKUP, roll_label=MARKUP, instruction=MARKUP, cautions=(caution,))
    steps = tuple(hostile if each.id == step.id else each for each in plan.steps)
    controller, _, _ = controller_at("b1.r1.off-reel", plan=replace(plan, steps=steps))
    controller.key_state = replace(controller.key_state, message=MARKUP)
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "[red]Beach[/]" in stage.text)
        assert "\x1b" not in stage.text
        assert "\u202e" not in stage.text
        strips = stage.screen.canvas.render_lines(Region(0, 0, *SIZE))
        assert any("[red]" in strip.text for strip in strips)
        meta = [segment.style.meta for strip in strips for segment in strip if segment.style is not None]
        assert not any(meta)


async def test_a_note_is_typed_letter_by_letter(stage_at: StageAt) -> None:
    async with stage_at("gear-measure") as stage:
        await stage.pilot.press("n", "h", "i", "space", "[")
        await stage.until(lambda: "hi [" in stage.text)
        assert isinstance(stage.controller.key_state.panel, Words)
        await stage.pilot.press("enter")
        await stage.until(lambda: len(stage.memory.events) == 1)


async def test_a_number_is_typed_or_stepped(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.press("t", "3", "8", ".", "5")
        await stage.until(lambda: "ENTER keeps 38.5 °C" in stage.bottom)
        assert isinstance(stage.controller.key_state.panel, Number)
        await stage.pilot.press("enter")
        await stage.until(lambda: len(stage.memory.events) >= 1)
        assert stage.controller.key_state.panel is None


async def test_a_paste_presses_nothing(stage_at: StageAt) -> None:
    from textual.events import Paste

    async with stage_at("gear-measure") as stage:
        await stage.until(lambda: "SPACE confirms" in stage.bottom)
        stage.screen.post_message(Paste("  \r\r"))
        await stage.pilot.pause()
        assert stage.memory.events == []


async def test_the_screen_says_what_cannot_be_stored(controller_at: ControllerAt, terminal: Terminal) -> None:
    controller, clock, memory = controller_at("b1.developer", running_s=20)
    memory.failing = True
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        await pilot.press("backspace", "h", "enter")
        await until(pilot, lambda: "NOT KEPT: The disk is full" in stage.text)
        assert stage.text.count("NOT KEPT") == 1
        before = stage.text
        clock.advance(1.0)
        await until(pilot, lambda: stage.text != before)


async def test_on_hold_the_digits_go_on_and_say_that_the_bath_does_not_wait(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.press("backspace", "h", "enter")
        await stage.until(lambda: "the guide waits, the bath does not" in stage.text)
        assert "ON HOLD" in stage.text


async def test_far_view_is_one_key_away_and_back(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.press("v")
        await stage.until(lambda: "Temper" not in stage.text)
        assert "Turn the tank over" in stage.text
        await stage.pilot.press("v")
        await stage.until(lambda: "Temper" in stage.text)


async def test_a_setting_shows_baths_in_the_far_view(stage_at: StageAt) -> None:
    settings = Settings(far_view_in_baths=True)
    async with stage_at("b1.developer", running_s=20, settings=settings) as stage:
        await stage.until(lambda: stage.controller.key_state.far)
        await stage.until(lambda: "Temper" not in stage.text)


async def test_the_sound_check_rings_and_then_asks(stage_at: StageAt) -> None:
    async with stage_at("sound", bells=2) as stage:
        await stage.pilot.press("space", "space")
        await stage.until(lambda: "How many bells did you hear?" in stage.text)
        assert stage.rung == 2
        await stage.pilot.press("2", "enter")
        await stage.until(lambda: "done    As many bells heard" in stage.text)


async def test_a_call_rings_and_its_words_are_on_screen(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        stage.clock.advance(38.5)  # 20 + 2 + 38.5 s into the bath: the call at 60 s
        await stage.until(lambda: "CALL  Turn the tank over gently" in stage.text)
        await stage.until(lambda: stage.rung == 2)


async def test_a_follower_leaves_and_does_nothing_else(controller_at: ControllerAt, terminal: Terminal) -> None:
    controller, _, memory = controller_at("gear-measure")
    controller.read_only = True
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "FOLLOWING" in stage.text)
        await pilot.press("space", "enter", "h", "v")
        assert (memory.events, stage.lefts) == ([], 0)
        await pilot.press("backspace")
        await until(pilot, lambda: stage.lefts == 1)


@pytest.mark.parametrize("follows", [True, False])
async def test_only_a_follower_shows_the_curve_beside_a_developer(
    controller_at: ControllerAt, terminal: Terminal, follows: bool
) -> None:
    controller, _, _ = controller_at("b1.developer", running_s=60)
    assert controller.dispatch(c.TakeReading(controller.now(), "developer", 38.6, "38.6"))
    controller.read_only = follows
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "Developer" in stage.text)
        assert ("● read" in stage.text) is follows


async def test_a_guide_whose_session_is_taken_over_becomes_a_follower_and_says_so(
    controller_at: ControllerAt, terminal: Terminal
) -> None:
    controller, _, memory = controller_at("b1.developer", running_s=20)
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        memory.mine = False
        await until(pilot, lambda: "Another terminal has taken this session over" in stage.text)
        assert "FOLLOWING" in stage.text


async def test_leaving_asks_first_and_releases_the_session(stage_at: StageAt) -> None:
    async with stage_at("gear-measure") as stage:
        await stage.pilot.press("ctrl+c")
        await stage.until(lambda: "Leave the guide?" in stage.text)
        await stage.pilot.press("space", "space", "enter")
        await stage.until(lambda: stage.lefts == 1)
        assert stage.memory.released == 1
    assert stage.memory.released == 1


async def test_in_the_dark_nothing_is_drawn_until_the_leave_pair(
    controller_at: ControllerAt, terminal: Terminal
) -> None:
    controller, _, _ = controller_at("b1.load-room", running_s=20)
    controller.dispatch(c.UndoTick(controller.now(), "nothing"))  # a refusal changes nothing
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "This session is in its dark step" in stage.text)
        await pilot.press("x")
        await until(pilot, lambda: stage.screen.silenced)
        before = stage.screen.canvas.picture
        await pilot.press("a", "space", "v", "backspace", "enter", "ctrl+c")
        assert stage.screen.canvas.picture is before
        await pilot.press("space", "enter")
        await until(pilot, lambda: "Look at the closed tank" in stage.text)
        assert not stage.screen.silenced


@pytest.mark.parametrize(("columns", "rows"), [(39, 24), (80, 11)])
async def test_window_below_40_by_12_shows_a_sentence(stage_at: StageAt, columns: int, rows: int) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.resize_terminal(columns, rows)
        await stage.until(lambda: f"(it is {columns} by {rows})" in stage.text.replace("\n", " "))
        await stage.pilot.resize_terminal(200, 60)
        await stage.until(lambda: stage.screen.canvas.size == (200, 60))
        assert [strip.cell_length for strip in stage.screen.canvas.render_lines(Region(0, 0, 200, 60))] == [
            200
        ] * 60


SMALL = (30, 8)


async def test_in_a_window_too_small_no_key_does_what_cannot_be_read(
    controller_at: ControllerAt, terminal: Terminal
) -> None:
    controller, _, memory = controller_at("gear-measure")
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SMALL) as pilot:
        await until(pilot, lambda: "(it is 30 by 8)" in stage.text.replace("\n", " "))
        first = next(tick for tick in controller.view().ticks if tick.up)
        await pilot.press("space", "enter", "space", "backspace", "w", "n")
        assert memory.events == []
        assert controller.key_state.panel is None
        await pilot.resize_terminal(*SIZE)
        await until(pilot, lambda: first.text in stage.text)
        await pilot.press("space")
        await until(pilot, lambda: len(memory.events) == 1)


async def test_a_window_too_small_shows_the_clock_that_runs(
    controller_at: ControllerAt, terminal: Terminal
) -> None:
    controller, clock, _ = controller_at("b1.developer", running_s=20)
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SMALL) as pilot:
        running = controller.view().clock
        assert running is not None
        await until(pilot, lambda: stage.text.startswith(f"{running.digits} left, then pour out"))
        before = stage.text
        clock.advance(1.0)
        await until(pilot, lambda: stage.text != before)
        assert "40 by 12 or larger" in stage.text.replace("\n", " ")
        await pilot.resize_terminal(20, 6)
        # whole in the smallest window, too
        await until(pilot, lambda: stage.text.endswith("it leaves."))


@pytest.mark.parametrize("key", ["q", "ctrl+c"])
async def test_a_window_too_small_can_be_left(controller_at: ControllerAt, terminal: Terminal, key: str) -> None:
    controller, _, memory = controller_at("b1.developer", running_s=20)
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SMALL) as pilot:
        await until(pilot, lambda: "Only q works: it leaves." in stage.text.replace("\n", " "))
        await pilot.press(key)
        await until(pilot, lambda: stage.lefts == 1)
        assert (memory.events, memory.released) == ([], 1)


async def test_a_letter_of_a_note_leaves_no_window_that_is_too_small(stage_at: StageAt) -> None:
    async with stage_at("b1.developer", running_s=20) as stage:
        await stage.pilot.press("n", "x")
        await stage.until(lambda: isinstance(stage.controller.key_state.panel, Words))
        await stage.pilot.resize_terminal(*SMALL)
        await stage.until(lambda: "No key works." in stage.text.replace("\n", " "))
        await stage.pilot.press("q")
        await stage.pilot.resize_terminal(*SIZE)
        await stage.until(lambda: "No key works." not in stage.text)
        assert stage.lefts == 0
        assert isinstance(stage.controller.key_state.panel, Words)
        assert stage.controller.key_state.panel.typed == "x"


async def test_in_the_dark_the_leave_pair_works_in_a_window_of_any_size(
    controller_at: ControllerAt, terminal: Terminal
) -> None:
    controller, _, _ = controller_at("b1.load-room", running_s=20)
    stage = Stage(controller, terminal)
    async with stage.app.run_test(size=SMALL) as pilot:
        await until(pilot, lambda: "This session is in its" in stage.text)
        await pilot.press("x")
        await until(pilot, lambda: stage.screen.silenced)
        await pilot.press("space", "enter")
        await until(pilot, lambda: not stage.screen.silenced)
        assert not controller.dark


@pytest.mark.parametrize("colours", ["none", "16", "full"])
async def test_only_colours_of_the_terminals_palette_are_used(
    controller_at: ControllerAt, terminal: Terminal, colours: Any
) -> None:
    controller, _, _ = controller_at("b1.load-room")
    stage = Stage(controller, replace(terminal, colours=colours))
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "CAUTION" in stage.text)
        styles = [
            segment.style
            for strip in stage.screen.canvas.render_lines(Region(0, 0, *SIZE))
            for segment in strip
            if segment.style is not None
        ]
        assert any(style.reverse for style in styles)  # the signal word stands out without colour
        colours_used = [
            colour for style in styles for colour in (style.color, style.bgcolor) if colour is not None
        ]
        assert all(colour.is_default or (colour.number or 0) < 8 for colour in colours_used)
        assert not any(style.bgcolor is not None and not style.bgcolor.is_default for style in styles)
        if colours == "none":
            assert all(colour.is_default for colour in colours_used)


async def test_ascii_locale_is_drawn_in_ascii(controller_at: ControllerAt, terminal: Terminal) -> None:
    controller, _, _ = controller_at("b1.developer", running_s=20)
    stage = Stage(controller, replace(terminal, utf8=False))
    async with stage.app.run_test(size=SIZE) as pilot:
        await until(pilot, lambda: "left, then pour out" in stage.text)
        assert stage.text.isascii()
        assert "####" in stage.text


async def test_in_the_dark_only_calls_of_the_dark_step_ring(
    stage_at: StageAt, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with stage_at("b1.load-room", running_s=20) as stage:
        await stage.until(lambda: "This session is in its dark step" in stage.text)
        await stage.pilot.press("x")
        await stage.until(lambda: stage.screen.silenced)
        for step, bells in (("drying", 0), ("b1.load-room", 1)):
            call = Announcement(step, "ready", 0.0, "")
            monkeypatch.setattr(stage.controller, "poll", lambda call=call: (call,))
            stage.screen._poll()
            assert stage.rung == bells
        monkeypatch.undo()
