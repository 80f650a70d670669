"""A simulated person for tests: reads the screen, presses the keys that the bottom line names, and waits.

It uses neither the rules of the guide nor plan or state: only the view, the labels of the three keys, and the open
panel. A session that it can lead to the end, a person can lead, too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from tests.manual_clock import ManualClock

from wetside.app.controller import SessionController
from wetside.app.session_start import begin_now
from wetside.domain.planning.plan import Plan
from wetside.domain.session.commands import Command
from wetside.domain.session.events import Event
from wetside.domain.session.state import State
from wetside.present.prompts import Choice, Keys, Number, Panel
from wetside.present.view_model import View

TWO_BATH = ("three-rolls", "five-rolls-two-batches")
LOADING_S = 240.0
LONG_S = 1200
"""A clock that has longer to go (film dries) is polled each ten seconds: no call comes as long before its end."""
BELLS = 3


class MemoryEventSink:
    """Keeps events in a list; a `failure` is raised at every append."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.written: list[datetime] = []
        self.failure: Exception | None = None
        self.warning = self.kept_in = ""
        self.mine = True
        self.others: list[Event] = []

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        if self.failure is not None:
            raise self.failure
        self.events += events
        self.written += [wall] * len(events)

    def fresh(self) -> tuple[Event, ...]:
        fresh, self.others = tuple(self.others), []
        return fresh

    def still_mine(self) -> bool:
        return self.mine

    def release(self) -> None:
        self.mine = False


@dataclass
class Guide:
    """A running session: its controller on a manual clock, with events kept in memory."""

    controller: SessionController
    clock: ManualClock
    event_sink: MemoryEventSink
    cues: list[str] = field(default_factory=list)
    presses: list[tuple[str, str]] = field(default_factory=list)
    """Each key pressed, with its purpose: the label in the bottom line, "in a panel", or "a letter"."""

    def wait(self, seconds: float, poll_s: float = 1.0) -> None:
        """Time passes; the controller is polled as a screen would."""
        while seconds > 0:
            step = min(poll_s, seconds)
            self.clock.advance(step)
            self.cues += [cue.call for cue in self.controller.poll()]
            seconds -= step

    def press(self, *keys: str) -> None:
        """Press keys one after another; the bells of the sound check are rung where a key asks for them."""
        for key in keys:
            self.presses.append((key, self._what_for(key)))
            if self.controller.press(key) == "ring":
                self.controller.bells_rung(BELLS)

    @property
    def state(self) -> State:
        return self.controller.state

    @property
    def now(self) -> float:
        return self.controller.now()

    @property
    def view(self) -> View:
        return self.controller.view()

    @property
    def keys(self) -> Keys:
        return self.controller.keys()

    @property
    def panel(self) -> Panel | None:
        return self.controller.key_state.panel

    @property
    def message(self) -> str:
        return self.controller.key_state.message

    @property
    def events(self) -> list[Event]:
        return self.event_sink.events

    def dispatch(self, command: Command) -> bool:
        return self.controller.dispatch(command)

    def until(self, reached: Callable[[], bool], *, eager: bool = True) -> Guide:
        """Lead the session, as `Walker` does, until `reached` is true; returns the guide itself."""
        walker = Walker(self, eager)
        while not reached():
            assert walker.step(), "the session was closed before"
        return self

    def at_step(self, step: str, *, eager: bool = True) -> Guide:
        """Lead the session until this step is on screen."""
        return self.until(lambda: self.controller.view().step == step, eager=eager)

    def running(self, step: str, *, for_s: float | None = None, eager: bool = True) -> Guide:
        """Lead the session until the clock of this step has been started, and has run `for_s`."""
        self.until(lambda: step in self.controller.state.clocks, eager=eager)
        if for_s is not None:
            self.wait(self.state.clocks[step].t0 + for_s - self.now)
        return self

    def _what_for(self, key: str) -> str:
        if self.controller.view().dark:
            return "in the dark"
        if self.controller.key_state.panel is not None:
            return "in a panel"
        return str(getattr(self.controller.keys(), key, "a letter"))


def guide_for(plan: Plan, *, one_answer: bool = False) -> Guide:
    """A session just begun with `plan`."""
    clock, event_sink = ManualClock(), MemoryEventSink()
    controller = SessionController(State(), event_sink, clock, one_answer=one_answer)
    if not controller.dispatch(begin_now("s1", plan, "text", clock, "pts/1")):
        raise AssertionError(controller.key_state.message)
    return Guide(controller, clock, event_sink)


@dataclass
class Walker:
    """Completes a session by reading only what is shown. `eager` makes every tick as soon as SPACE offers it."""

    guide: Guide
    eager: bool = True
    log: list[str] = field(default_factory=list)

    def step(self) -> bool:
        """One look and one act; False when the session is closed."""
        controller = self.guide.controller
        view = controller.view()
        if view.closed:
            return False
        if view.dark:
            self._say("… loading in the dark")
            self.guide.wait(LOADING_S)
            self._press("space", "enter")
            return True
        if controller.key_state.panel is not None:
            self._panel()
            return True
        keys = controller.keys()
        enter_first = bool(keys.enter) and not (self.eager and keys.space.startswith("confirms the"))
        if enter_first and not keys.enter.startswith("POURS"):
            self._press("enter")
        elif keys.space and "early" not in keys.space:
            up = next((tick for tick in (*view.ticks, *view.meanwhile) if tick.up), None)
            self._say(f"up: {up.text}" if up is not None else keys.space)
            self.guide.wait(1.2)
            if self.guide.keys.space == keys.space:
                self._press("space")
        else:
            # Wait a tenth of the time that the large digits show.
            left_s = view.clock.seconds if view.clock is not None else 0
            if left_s > LONG_S:
                self.guide.wait(left_s // 10, 10.0)
            else:
                self.guide.wait(max(1.0, left_s // 10))
        return True

    def lead(self, at_most: int = 100_000) -> None:
        """Complete the session; AssertionError with the last acts where that fails."""
        still, before = 0, ""
        for _ in range(at_most):
            if not self.step():
                return
            now = f"{self.guide.state.current}|{len(self.guide.events)}"
            still = still + 1 if now == before else 0
            before = now
            if still > 500:
                break
        raise AssertionError("led nowhere:\n" + "\n".join(self.log[-25:]))

    def _press(self, *keys: str) -> None:
        words = self.guide.keys
        for key in keys:
            self._say(f"[{key}] {getattr(words, key)}")
            self.guide.press(key)
            if self.guide.message:
                self._say(f"   ! {self.guide.message}")
        self.guide.wait(0.3)

    def _say(self, words: str) -> None:
        self.log.append(f"{self.guide.now:8.1f} {self.guide.state.current}: {words}")

    def _panel(self) -> None:
        match self.guide.panel:
            case Number(what="bells"):
                self._digits(str(BELLS))
            case Number() as field_:
                self._temperature(field_)
            case Choice() as choice:
                raise AssertionError(f"asked: {choice.title}")
            case _:
                self._press("backspace")

    def _temperature(self, panel: Number) -> None:
        """Enter a temperature in the wanted range: stepped with SPACE, or typed if not `eager`."""
        wanted = next((row.wanted for row in self.guide.view.readings if row.of == panel.about), "")
        low, high = (float(word) for word in wanted.split(" °")[0].split(" to ")) if wanted else (20.0, 22.0)
        if not self.eager:
            self._digits(f"{(low + high) / 2:.1f}")
            return
        shown = panel.parts[0]
        while shown == "—" or float(shown) < low:
            self._press("space")
            now = self.guide.panel
            shown = now.parts[0] if isinstance(now, Number) else str(high)
        self._press("enter")

    def _digits(self, digits: str) -> None:
        self._say(f"types {digits}")
        self.guide.press(*digits)
        self._press("enter")
