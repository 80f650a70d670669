"""The screen of a running session: draws the view of its controller and hands every key to it.

It has no rules of its own, but two timers: one for the next whole second of the clock or the next call,
whichever comes first, so that digits change on the second and calls are exact; and one for the bells of a call.

In a dark step, in which any light fogs the film, the terminal is cleared and its driver silenced: whatever is
drawn and whatever key is pressed, no byte goes out until the leave pair, but for a bell that the person asked
for. A guide that is started anew in a dark step has lit the room already: it says so once, and falls silent at
the first key.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from wetside.app.alerts import Alerts, bells_to_count
from wetside.app.controller import SessionController
from wetside.app.terminal import Terminal
from wetside.domain.profile.model import Kind
from wetside.files.settings import Settings
from wetside.present.view_model import View
from wetside.tui.canvas import CanvasScreen
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture, shows_all_marked, small_clocks
from wetside.tui.rows import Picture, StyledText, TextLayout

_LEAVES_KEYS: Final = ("ctrl+c", "ctrl+q")

_STARTED_ANEW: Final = (
    "This session is in its dark step.",
    "If film is open in this room, this screen has lit it: cover it now.",
    "The lid is on and the light is on: SPACE, then ENTER.",
    "Still loading: press SPACE, and the screen goes dark and stays so until SPACE, then ENTER.",
)


def started_anew_picture(layout: TextLayout, columns: int, rows: int) -> Picture:
    """What the guide shows when it is started anew in a dark step."""
    lines = [line for words in _STARTED_ANEW for line in (*layout.wrap(words, columns - 4), "")]
    return tuple((StyledText(f"  {line}", "strong"),) for line in ["", *lines])[:rows]


class GuideScreen(CanvasScreen):
    """Guides one session. `left` is called when the person leaves it; without it the program ends."""

    def __init__(
        self,
        controller: SessionController,
        terminal: Terminal,
        settings: Settings,
        left: Callable[[], None] | None = None,
        pick_bells: Callable[[], int] | None = None,
    ) -> None:
        super().__init__(terminal)
        self.controller = controller
        self._settings = settings
        self._left = left
        self._pick_bells = pick_bells or bells_to_count
        self._timer: asyncio.TimerHandle | None = None
        self._released = False
        self._started_anew = False
        self._step = ""
        self._alerts = Alerts(settings, self._ring, time.monotonic)
        self._alert_timer: asyncio.TimerHandle | None = None
        self.silenced = False

    def on_mount(self) -> None:
        """Start the timer."""
        self._started_anew = self.controller.dark
        self._follow_step()
        self._arm()

    async def on_unmount(self) -> None:
        """Release the session, however the screen is left."""
        for timer in (self._timer, self._alert_timer):
            if timer is not None:
                timer.cancel()
        self._release()
        self._alerts.close()

    def draw(self, columns: int, rows: int) -> Picture:
        """The picture of the session."""
        controller = self.controller
        if self._started_anew:
            return started_anew_picture(self.text_layout, columns, rows)
        notices = Notices(
            controller.trouble,
            controller.key_state.message,
            controller.cue_words(),
            controller.read_only,
            self._alerts.failure,
        )
        controller.key_state = replace(controller.key_state, roomy=True)
        view = controller.view()
        picture = self._guide(view, notices, columns, rows)
        if not shows_all_marked(picture, view):
            # One answer may only be for lines that can be read: here they are asked one by one.
            controller.key_state = replace(controller.key_state, roomy=False)
            picture = self._guide(controller.view(), notices, columns, rows)
        return picture

    def _guide(self, view: View, notices: Notices, columns: int, rows: int) -> Picture:
        controller, forecast = self.controller, None
        if view.kind is Kind.WAIT:
            # Loaded where it is drawn: what it reckons with takes 12 ms, and `resume` waits for none of it.
            from wetside.present.tempering_forecast import tempering_forecast

            forecast = tempering_forecast(controller.state, controller.now())
        elif controller.read_only and view.in_bath:
            # Who pours needs the digits; who watches has room for the curve.
            from wetside.present.tempering_forecast import bath_course

            forecast = bath_course(controller.state, controller.now())
        return guide_picture(
            view, controller.key_state, controller.keys(), notices, self.text_layout, columns, rows, forecast
        )

    def draw_small(self, columns: int, rows: int, answered: str = "no key but q, which leaves, is") -> Picture:
        """The clock that runs, in a row; then what a window says that is too small."""
        if self._started_anew:
            return started_anew_picture(self.text_layout, columns, rows)
        clocks = small_clocks(self.controller.view(), self.text_layout, columns)
        words = super().draw_small(
            columns, rows, answered if self.controller.key_state.panel is None else "no key is"
        )
        return (*clocks, *words)[:rows]

    def redraw(self) -> None:
        """Draw what has changed; nothing while silenced."""
        if not self.silenced:
            super().redraw()

    def press(self, key: str) -> None:
        """Hand the key to the controller and do what it asks of the screen."""
        self._started_anew = False
        wish = self.controller.press(self._named(key))
        self._after_change()
        match wish:
            case "leave":
                self._leave()
            case "ring":
                self._sound_check()
            case "far" | None:
                pass

    def press_unseen(self, key: str) -> None:
        """In the dark nothing is seen at any size; lit, only leaving is safe: its question could not be read."""
        if self.controller.dark:
            self.press(key)
        elif self.controller.key_state.panel is None and self._named(key) == "q":
            self._leave()

    def _poll(self) -> None:
        """Sound the calls that are due and draw what has changed."""
        for cue in self.controller.poll():
            if not self.silenced:
                self._alerts.sound(cue)
                self._look_at_alerts()
            elif cue.step == self.controller.state.current:
                # Only a dark step that asks for bells has calls of its own.
                self._ring(even_silent=True)
        self._after_change()
        self.redraw()

    def _after_change(self) -> None:
        self._follow_step()
        dark = self.controller.dark and not self._started_anew
        if dark != self.silenced:
            self.silenced = dark
            if self.line is not None:
                (self.line.silence if dark else self.line.speak)()
            if not dark:
                self.canvas.refresh()
                self.redraw()
        self._arm()

    def _arm(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        # The loop's own timer: the library's goes through two tasks and a queue, and a call would wait for them.
        self._timer = asyncio.get_running_loop().call_later(self.controller.wait_s(), self._guarded, self._poll)

    def _guarded(self, act: Callable[[], None]) -> None:
        """Do what a timer of the loop is for; the loop would only log an error, which is to end the program."""
        try:
            act()
        except Exception as problem:
            self.call_next(_raised, problem)

    def _follow_step(self) -> None:
        """A bath opens in the far view where the person set it so, and the next step opens near again."""
        state = self.controller.state
        step = state.current or ""
        if step == self._step:
            return
        self._step = step
        if self._settings.far_view_in_baths and state.plan is not None:
            far = bool(step) and state.plan.step(step).kind is Kind.BATH
            self.controller.key_state = replace(self.controller.key_state, far=far)

    def _look_at_alerts(self) -> None:
        """Ring what is due, and look again when the next bell is; a failure of the person's program is shown."""
        failure = self._alerts.failure
        self._alerts.look()
        if self._alert_timer is not None:
            self._alert_timer.cancel()
        if (wait_s := self._alerts.wait_s()) is not None:
            loop = asyncio.get_running_loop()
            self._alert_timer = loop.call_later(wait_s, self._guarded, self._look_at_alerts)
        if self._alerts.failure != failure:
            self.redraw()

    def _sound_check(self) -> None:
        if not self._alerts.counting:
            bells = self._pick_bells()
            self._alerts.count(bells, lambda: self._rung(bells))
            self._look_at_alerts()

    def _rung(self, bells: int) -> None:
        self.controller.bells_rung(bells)
        self.redraw()

    def _named(self, key: str) -> str:
        """The keys by which people leave other programs ask whether to leave, unless something is open."""
        asks = key in _LEAVES_KEYS and self.controller.key_state.panel is None and not self.controller.dark
        return "q" if asks else key

    def _leave(self) -> None:
        self._release()
        if self._left is not None:
            self._left()
        else:
            self.app.exit(0)

    def _release(self) -> None:
        if not self._released:
            self._released = True
            self.controller.release()

    def _ring(self, *, even_silent: bool = False) -> None:
        if self.line is not None:
            self.line.ring(even_silent=even_silent)


def _raised(problem: Exception) -> None:
    raise problem
