"""The controller of one session: its clock, event sink, state and key state. It draws nothing.

`dispatch` is the only way to change anything: decide, append in one transaction, evolve. If the append fails the
state is unchanged, `trouble` holds a sentence that says so, and the clock goes on.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from functools import reduce
from typing import TYPE_CHECKING, Protocol

from msgspec.structs import replace

from wetside.app.clock import Clock, Instant, jumps, session_seconds
from wetside.app.session_start import local_offset_s, opened_at
from wetside.domain.messages import Refusal
from wetside.domain.session import commands as c
from wetside.domain.session.clocks import AskFirst
from wetside.domain.session.cues import REPEAT_EVERY_S, Cue, all_cues, is_answered, overtaken, shown_s, upcoming
from wetside.domain.session.decide import decide
from wetside.domain.session.events import ClockCorrected, ClockJumped, CueGiven, CueMissed, EndMoved, Event
from wetside.domain.session.gates import pour_lead_s
from wetside.domain.session.state import State, StepClock, evolve
from wetside.errors import Refused, Unusable
from wetside.present.announcements import Announcement, announced
from wetside.present.clock_warnings import gap_words, jump_words
from wetside.present.key_handler import bells_rung, current_key_state, keys, press_key
from wetside.present.key_state import KeyState, Wish, refused
from wetside.present.message_words import in_words
from wetside.present.presenter import build_view, is_dark, next_tick
from wetside.present.prompt_answers import confirm_large_move, poured_out_question
from wetside.present.prompts import Keys
from wetside.present.view_model import StandingLine, View

if TYPE_CHECKING:
    from wetside.app.probe import Probe

LATE_S = 1.5
"""A call that is later than this (real seconds) is recorded as missed and not sounded."""

AHEAD_S = 0.05
"""A call is recorded this long (real seconds) before it is due, so that its bell does not wait for the disk."""

SHORTEST_WAIT_S = 0.1
"""The least real seconds between two repaints of a practice on a fast clock."""


_Key = tuple[str, str, float]


class EventSink(Protocol):
    """Stores a session's events.

    warning: a sentence to be shown although what was entered is kept; "" for none. kept_in: the data folder in
    which the session continues after its journal was lost; "" while it was not.
    """

    @property
    def warning(self) -> str: ...

    @property
    def kept_in(self) -> str: ...

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        """Append all events in one transaction, or raise and append none."""

    def fresh(self) -> tuple[Event, ...]:
        """Events that another process has appended since the last call."""

    def still_mine(self) -> bool:
        """Whether this terminal still holds the session's lock."""

    def release(self) -> None:
        """Release the session's lock."""


class SessionController:
    """Controls one session, or only follows it when `read_only`.

    heard_until: seconds on the session's clock up to which calls are already recorded; None for the last event.
    """

    def __init__(
        self,
        state: State,
        event_sink: EventSink,
        clock: Clock,
        *,
        read_only: bool = False,
        heard_until: float | None = None,
        one_answer: bool = False,
    ) -> None:
        self.state = state
        self.read_only = read_only
        self.cue: Cue | None = None
        self.probe: Probe | None = None
        self._probe_said = ""
        self._event_sink = event_sink
        self._not_kept = ""
        self._clock = clock
        self._last: Instant = clock.now()
        self._offset_s = local_offset_s(self._last.wall)
        self._heard_until = state.at if heard_until is None else heard_until
        self._awaited: dict[_Key, Cue] = {}
        # Whether to draw although the step is dark. True for a follower, which is not in the darkroom; and for the
        # controlling terminal if SPACE, then ENTER, could not be saved: its person has said that the light is on.
        # A session that is only shown, since nothing can be kept, may be its person's own, in the darkroom.
        self._in_the_light = read_only and not event_sink.warning
        self._rung_at: dict[_Key, float] = {}
        self.key_state = current_key_state(KeyState(one_answer=one_answer), state, self.now())

    def now(self) -> float:
        """Seconds on the session's clock; never before the last event."""
        state = self.state
        if not state.wall:
            return 0.0
        return max(state.at, session_seconds(state.anchor_at, opened_at(state), self._clock.now())[0])

    def view(self) -> View:
        """The present view model; for a follower no line is marked, because its SPACE confirms nothing."""
        view = build_view(self.state, self.now(), self.key_state.together, local_offset_s)
        if self.probe is not None and self.probe.words:
            view = replace(view, standing=(StandingLine(self.probe.words), *view.standing))
        if not self.read_only:
            return view
        ticks, meanwhile = (tuple(replace(row, up=False) for row in rows) for rows in (view.ticks, view.meanwhile))
        return replace(view, ticks=ticks, meanwhile=meanwhile)

    def keys(self) -> Keys:
        """What SPACE, ENTER and BACKSPACE do now."""
        return keys(self.state, self.key_state, self.now(), lit=self._in_the_light, follows=self.read_only)

    @property
    def dark(self) -> bool:
        """Whether nothing may be drawn, because film is in the open."""
        return is_dark(self.state) and not self._in_the_light

    def cue_words(self) -> str:
        """The words of the last call while they still apply, else ""."""
        cue, state, now = self.cue, self.state, self.now()
        if cue is None or cue.step in state.ended or now - cue.at > min(shown_s(state), cue.holds_s):
            return ""
        step = state.step
        if step is not None and is_answered(state, cue) and next_tick(state, step, now) is not None:
            return ""  # the marked line asks for the same; a low window has no room for both
        # Once the bath is being poured out, earlier calls no longer apply.
        clock = state.clocks.get(cue.step)
        if clock is not None and clock.drained_at is not None:
            return ""
        changes: tuple[ClockCorrected | EndMoved, ...] = (*state.corrections, *state.moves)
        if not any(change.step == cue.step and change.at >= cue.at for change in changes):
            return announced(cue).text
        # The clock was corrected after the call: show it only if it is still due by the corrected clock.
        now_due = {c.about for c in all_cues(state) if c.step == cue.step and c.at <= now < c.at + c.holds_s}
        return announced(cue).text if cue.about in now_due else ""

    def press(self, key: str) -> Wish | None:
        """Act on a key; returns what the front end has to do for it, None for nothing."""
        was_dark, lit = self.dark, self._in_the_light
        done = press_key(self.state, self.key_state, key, self.now(), lit=lit, follows=self.read_only)
        self.key_state = done.key_state
        if done.command is not None:
            kept = not self.read_only and self.dispatch(done.command)
            if was_dark and not kept:
                # The person has confirmed that the light is on, and a dark screen could not show the error.
                self._in_the_light = True
        return done.wish

    def dispatch(self, command: c.Command) -> bool:
        """Decide, append, evolve. Returns False if refused or not saved; the key state's message says why."""
        try:
            events = decide(self.state, command)
        except AskFirst as ask:
            self._ask_first(command, self._words(ask))
            return False
        except Refusal as refusal:
            shut = refusal.why.code == "gate shut"
            self.key_state = refused(self.key_state, self._words(refusal), gate_shut=shut)
            return False
        try:
            self._event_sink.keep(events, self._clock.now().wall)
        except (Unusable, Refused) as failure:
            if not self._event_sink.still_mine():
                self.become_follower()
                return False
            self._not_kept = f"NOT KEPT: {failure.brief if isinstance(failure, Unusable) else failure}"
            self.key_state = refused(self.key_state, self._not_kept)
            return False
        self._not_kept = ""
        self._evolve(events)
        return True

    def bells_rung(self, bells: int) -> None:
        """Ask how many bells were heard, after the sound check rang `bells`."""
        self.key_state = bells_rung(self.state, self.key_state, bells, self.now())

    def poll(self) -> tuple[Announcement, ...]:
        """Record clock jumps, apply events of other processes, and return the calls that are due.

        The front end runs it each second and at each call: after every `wait_s`.
        """
        self.key_state = current_key_state(self.key_state, self.state, self.now())
        fresh = self._event_sink.fresh()
        if fresh:
            self._evolve(fresh)
        if self.read_only or self.state.outcome is not None or not self.state.begun:
            return ()
        if not self._event_sink.still_mine():
            self.become_follower()
            return ()
        slept = self._note_jumps()
        if self.probe is not None:
            self._from_probe(self.probe)
        return tuple(announced(cue) for cue in (*self._due(slept), *self._again()))

    def _from_probe(self, probe: Probe) -> None:
        """Take the probe's readings, except those that a person would have to confirm."""
        for reading in probe.readings(self.state, self.now(), self._clock.now().boot_s / self._speed):
            try:
                decide(self.state, reading)
            except Refusal as refusal:
                probe.refused(reading, self._words(refusal))
                continue
            if self.dispatch(reading):
                probe.kept(reading, self.state.plan.title_of(reading.of))
        if probe.said != self._probe_said:  # instead of what it said before, if that is still shown
            others = self.key_state.message.replace(self._probe_said, "").strip()
            self.key_state = replace(self.key_state, message=others)
            self.say(probe.said)
            self._probe_said = probe.said

    def say(self, words: str) -> None:
        """Add a sentence to the message; "" adds none."""
        self.key_state = replace(self.key_state, message=f"{self.key_state.message} {words}".strip())

    def become_follower(self) -> None:
        """Go on as a follower, because another terminal has taken the session over."""
        self.read_only = True
        # In a dark step it stays dark until SPACE, then ENTER, on either terminal.
        self._in_the_light = not is_dark(self.state)
        self.key_state = replace(
            self.key_state,
            panel=None,
            message="Another terminal has taken this session over. This one follows it.",
        )

    def wait_s(self) -> float:
        """Real seconds until the next whole second of the clock on screen, or the next call if that is sooner.

        `poll` must run twice for each call: just before it is due, to record it, and when it is due.
        """
        now = self.now()
        clock = self.state.clocks.get(self.state.current or "")
        others = (clock for step, clock in self.state.clocks.items() if step not in self.state.ended)
        running = clock if clock is not None else next(others, None)
        whole = 1.0 - (now - self._counted_from(running, now)) % 1.0
        # A call that fell due before the first `poll`, while the screen was being made, is made at once.
        heard_until = now if self.read_only else min(now, self._heard_until)
        unwritten = (cue for cue in upcoming(self.state, heard_until) if _key(cue) not in self._awaited)
        writing = next((cue.at - self._ahead_s - now for cue in unwritten), whole)
        sounding = min((cue.at - now for cue in self._awaited.values()), default=whole)
        shortest = SHORTEST_WAIT_S if self._speed > 1.0 else 0.005
        return max(shortest, min(whole, writing, sounding) / self._speed)

    def _counted_from(self, clock: StepClock | None, now: float) -> float:
        """The moment (s) the clock on screen counts from or to: draining, pouring out, the end, or the start."""
        if clock is None:
            return 0.0
        if clock.drained_at is not None:
            return clock.drained_at
        start = clock.t0 + clock.paused_s
        if clock.end_s is None or now < clock.t0:
            return start
        step = self.state.step
        lead_s = pour_lead_s(step) if step is not None and step.id in self.state.clocks else 0.0
        return start + clock.end_s - lead_s

    def resumed(self) -> None:
        """After going on with a session: report an unknown gap, and ask whether a bath was poured out."""
        self.key_state = replace(self.key_state, message=gap_words(self.state))
        if (asked := poured_out_question(self.state, self.now())) is not None:
            self.key_state = replace(self.key_state, panel=asked, touched_at=self.now())

    @property
    def trouble(self) -> str:
        """What was not kept, else the warning of the event sink; "" for nothing."""
        return self._not_kept or self._event_sink.warning

    @property
    def kept_in(self) -> str:
        return self._event_sink.kept_in

    def release(self) -> None:
        """Release the session's lock; the session stays as it is."""
        self._event_sink.release()

    def _evolve(self, events: tuple[Event, ...]) -> None:
        self.state = reduce(evolve, events, self.state)
        if not is_dark(self.state):
            self._in_the_light = self.read_only
        self.key_state = current_key_state(self.key_state, self.state, self.now())

    def _words(self, refusal: Refusal) -> str:
        return in_words(refusal.why, self.state.plan.units)

    def _ask_first(self, command: c.Command, reason: str) -> None:
        if isinstance(command, c.TakeReading):
            asked = confirm_large_move(reason, command)
            self.key_state = replace(self.key_state, panel=asked)
        elif isinstance(command, c.StartStep):
            # The bath's temperature was read and accepted before; its dose goes on from there.
            self.dispatch(replace(command, confirmed=True))

    def _note_jumps(self) -> bool:
        """Record the clocks' jumps since the last poll; returns whether the machine was suspended."""
        instant = self._clock.now()
        found = jumps(self._last, instant)
        self._last = instant
        for jump in found:
            self.dispatch(ClockJumped(self.now(), jump.kind, round(jump.by_s, 1)))
            words = jump_words(self.state, jump.by_s, jump.kind == "wall step")
            self.key_state = replace(self.key_state, message=words)
        offset_s = local_offset_s(instant.wall)
        if offset_s != self._offset_s:
            self.dispatch(ClockJumped(self.now(), "zone", offset_s - self._offset_s))
            self._offset_s = offset_s
        return any(jump.kind == "suspend" for jump in found)

    @property
    def _speed(self) -> float:
        return self.state.speed if self.state.practice else 1.0

    @property
    def _ahead_s(self) -> float:
        # With a fast clock `poll` runs too seldom for this to help.
        return AHEAD_S if self._speed == 1.0 else 0.0

    def _due(self, slept: bool) -> tuple[Cue, ...]:
        """The calls that are due, each recorded before; also records the next ones ahead of time."""
        now, heard_until, awaited = self.now(), self._heard_until, self._awaited
        coming = [cue for cue in upcoming(self.state, heard_until) if cue.at <= now + self._ahead_s]
        overtook = overtaken(self.state, heard_until)
        self._heard_until = now
        self._awaited = {key: cue for key, cue in awaited.items() if cue.at > now}
        given: list[Cue] = []
        missed: list[Cue] = []
        if recorded := [cue for cue in awaited.values() if cue.at <= now]:
            planned = {_key(cue) for cue in all_cues(self.state)}  # a key may have moved or cancelled a call since
            for cue in (cue for cue in recorded if _key(cue) in planned):
                (missed if self._late(cue, now) else given).append(cue)
        for cue in (*coming, *overtook):
            if _key(cue) in awaited:
                continue  # recorded before; it comes again only where that failed
            if cue in coming and self._late(cue, now):
                self.dispatch(CueMissed(now, cue.step, cue.call, cue.at, "asleep" if slept else "away"))
                missed.append(cue)
                continue
            # A call is made even when it cannot be recorded.
            self.dispatch(CueGiven(now, cue.step, cue.call, cue.at))
            if cue.at > now:
                self._awaited[_key(cue)] = cue
            else:
                given.append(cue)
        for cue in given:
            self._rings(cue, now)
        if missed:
            self.say(_missed_words(missed))
        return tuple(given)

    def _rings(self, cue: Cue, now: float) -> None:
        self.cue = replace(cue, at=now)
        self._rung_at[_key(cue)] = now

    def _late(self, cue: Cue, now: float) -> bool:
        return now - cue.at > LATE_S * self._speed

    def _again(self) -> tuple[Cue, ...]:
        """Repeating calls that are due again; only the first time of each is recorded."""
        now = self.now()
        again = []
        for cue in all_cues(self.state):
            if not cue.repeats or cue.at > now or is_answered(self.state, cue):
                continue
            if now - self._rung_at.get(_key(cue), -1e9) >= REPEAT_EVERY_S:
                self._rings(cue, now)
                again.append(cue)
        return tuple(again)


def _key(cue: Cue) -> _Key:
    return cue.step, cue.call, cue.at


def _missed_words(missed: list[Cue]) -> str:
    counts = Counter(cue.call for cue in missed)
    calls = ", ".join(f"{call} {number}×" if number > 1 else call for call, number in counts.items())
    return f"Calls missed meanwhile, not played late: {calls}."
