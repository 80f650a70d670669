"""The screen of a running session: draws the controller's view and passes every key to the controller.

It has two timers: one for the next whole second of the clock or the next call, whichever comes first, so that
digits change on the second and calls are on time; and one for the bells of a call.

In a dark step, in which any light fogs the film, the terminal is cleared and the driver sends no output, whatever
is drawn or pressed, until SPACE, then ENTER (the leave pair); except bells, if the settings ask for them. A guide
that is restarted in a dark step has lit the room already: it shows a warning, and goes dark at the first key.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Final

from msgspec.structs import replace
from textual.app import ComposeResult

from wetside.app.alerts import Alerts, bells_to_count
from wetside.app.controller import SessionController
from wetside.app.terminal import Terminal
from wetside.domain.profile.model import Kind
from wetside.files.settings import Settings
from wetside.present.view_model import View
from wetside.tui.canvas import Canvas
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture, shows_all_marked, small_clocks
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.rows import Picture, StyledText, TextLayout

_LEAVES_KEYS: Final = ("ctrl+c", "ctrl+q")

_STARTED_ANEW: Final = (
    "This session is in its dark step.",
    "If film is open in this room, this screen has lit it: cover it now.",
    "The lid is on and the light is on: SPACE, then ENTER.",
    "Still loading: press SPACE, and the screen goes dark and stays so until SPACE, then ENTER.",
)


def restarted_picture(layout: TextLayout, columns: int, rows: int) -> Picture:
    """The warning that is shown when the guide is restarted in a dark step."""
    lines = [line for words in _STARTED_ANEW for line in (*layout.wrap(words, columns - 4), "")]
    return tuple((StyledText(f"  {line}", "strong"),) for line in ["", *lines])[:rows]


class GuideScreen(KeyedScreen):
    """Guides one session. left: called when the person leaves it; None ends the program instead.

    pick_bells: the number of bells for a sound check; None for a random one.
    """

    def __init__(
        self,
        controller: SessionController,
        terminal: Terminal,
        settings: Settings,
        left: Callable[[], None] | None = None,
        pick_bells: Callable[[], int] | None = None,
    ) -> None:
        super().__init__(terminal)
        self.canvas = Canvas(terminal.colours, settings.theme)
        self.controller = controller
        self._settings = settings
        self._left = left
        self._pick_bells = pick_bells or bells_to_count
        self._timer: asyncio.TimerHandle | None = None
        self._released = False
        self._restarted = False
        self._step = ""
        self._alerts = Alerts(settings, self._ring, time.monotonic)
        self._alert_timer: asyncio.TimerHandle | None = None
        self.silenced = False

    def compose(self) -> ComposeResult:
        yield self.canvas

    def on_mount(self) -> None:
        self._restarted = self.controller.dark
        self._follow_step()
        self._start_timer()

    async def on_unmount(self) -> None:
        """Release the session, however the screen is left."""
        for timer in (self._timer, self._alert_timer):
            if timer is not None:
                timer.cancel()
        self._release()
        self._alerts.close()

    def draw(self, columns: int, rows: int) -> Picture:
        controller = self.controller
        if self._restarted:
            return restarted_picture(self.text_layout, columns, rows)
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
            # One SPACE may only confirm lines that can be read: with too little room they are asked one by one.
            controller.key_state = replace(controller.key_state, roomy=False)
            picture = self._guide(controller.view(), notices, columns, rows)
        return picture

    def _guide(self, view: View, notices: Notices, columns: int, rows: int) -> Picture:
        controller, forecast = self.controller, None
        if view.kind is Kind.WAIT:
            # Imported only where it is drawn: it takes 12 ms, and `resume` would be slower.
            from wetside.present.tempering_forecast import tempering_forecast

            forecast = tempering_forecast(controller.state, controller.now())
        elif controller.read_only and view.in_bath:
            # A follower gets the temperature curve; the person who pours needs large digits instead.
            from wetside.present.tempering_forecast import bath_course

            forecast = bath_course(controller.state, controller.now())
        return guide_picture(
            view, controller.key_state, controller.keys(), notices, self.text_layout, columns, rows, forecast
        )

    def draw_small(self, columns: int, rows: int, answered: str = "Only q works: it leaves.") -> Picture:
        """For a window that is too small: the running clock in one row, then the words that say so."""
        if self._restarted:
            return restarted_picture(self.text_layout, columns, rows)
        clocks = small_clocks(self.controller.view(), self.text_layout, columns)
        words = super().draw_small(
            columns, rows, answered if self.controller.key_state.panel is None else "No key works."
        )
        return (*clocks, *words)[:rows]

    def redraw(self) -> None:
        """Draw what has changed; does nothing in a dark step, or while another screen is on top."""
        if self.silenced or not self.on_top:
            return
        columns, rows = self.app.size
        picture = self.draw_small(columns, rows) if self.too_small else self.draw(columns, rows)
        self.canvas.show(picture, columns)

    def on_screen_resume(self) -> None:
        """Draw everything, because the terminal still shows another screen."""
        self.canvas.refresh()
        self.redraw()

    def press(self, key: str) -> None:
        """Pass the key to the controller and carry out its request."""
        self._restarted = False
        wish = self.controller.press(self._meaning(key))
        self._after_change()
        match wish:
            case "leave":
                self._leave()
            case "ring":
                self._sound_check()
            case "far" | None:
                pass

    def press_unseen(self, key: str) -> None:
        """Answer a key in a window that is too small: all keys in a dark step, else only q.

        In the dark the size makes no difference; in the light other questions could not be read.
        """
        if self.controller.dark:
            self.press(key)
        elif self.controller.key_state.panel is None and self._meaning(key) == "q":
            self._leave()

    def _poll(self) -> None:
        """Sound the calls that are due and draw what has changed."""
        for cue in self.controller.poll():
            if not self.silenced:
                self._alerts.sound(cue)
                self._look_at_alerts()
            elif cue.step == self.controller.state.current:
                # A dark step has calls of its own only if the settings ask for bells.
                self._ring(even_silent=True)
        self._after_change()
        self.redraw()

    def _after_change(self) -> None:
        self._follow_step()
        dark = self.controller.dark and not self._restarted
        if dark != self.silenced:
            self.silenced = dark
            if self.line is not None:
                (self.line.silence if dark else self.line.speak)()
            if not dark:
                self.canvas.refresh()
                self.redraw()
        self._start_timer()

    def _start_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        # asyncio's timer: the library's goes through two tasks and a queue, and calls would be late.
        self._timer = asyncio.get_running_loop().call_later(self.controller.wait_s(), self._guarded, self._poll)

    def _guarded(self, act: Callable[[], None]) -> None:
        """Run a timer's callback; an unexpected error must end the program, and asyncio would only log it."""
        try:
            act()
        except Exception as problem:
            self.call_next(_raised, problem)

    def _follow_step(self) -> None:
        """At a new step: show baths in the far view and others in the near one, if set so."""
        state = self.controller.state
        step = state.current or ""
        if step == self._step:
            return
        self._step = step
        if self._settings.far_view_in_baths and state.begun:
            far = state.step is not None and state.step.kind is Kind.BATH
            self.controller.key_state = replace(self.controller.key_state, far=far)

    def _look_at_alerts(self) -> None:
        """Ring the bells that are due, start the timer for the next, and show a failure of `cue_command`."""
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

    def _meaning(self, key: str) -> str:
        """The key, or "q" for keys that usually leave a program, unless a panel is open or it is dark."""
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
