"""Laws over random command sequences from random moments of an evening; they know the plan, not the gates."""

from __future__ import annotations

import random

import pytest
from tests.session.small_evening import Evening, small_plan

from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.state import State, replay
from wetside.errors import Refused
from wetside.storage.codec import encode, session_codec

decode = session_codec().decode

LENGTH = 30


class Watcher:
    """Tracks by itself which ticks are made or overridden, and which clocks run."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.place = {step.id: n for n, step in enumerate(plan.steps)}
        self.host = {tick.id: step for step in plan.steps for tick in step.ticks}
        self.made: set[str] = set()
        self.set_aside: set[str] = set()
        self.t0: dict[str, float] = {}
        self.opened: set[str] = set()
        self.starts = 0
        self.abandoning = False

    def owed(self, step: PlannedStep, at_end: bool) -> list[PlannedTick]:
        gate = (self.place[step.id], 1 if at_end else 0)
        return [
            tick
            for host in self.plan.steps
            for tick in host.ticks
            if self.place[host.id] <= gate[0]
            and (self.place[tick.due_step], 0 if tick.due_at == "start" else 1) <= gate
            and tick.id not in self.made
            and f"tick:{tick.id}" not in self.set_aside
        ]

    def see(self, event: e.Event) -> None:
        match event:
            case e.TickMade(tick=tick):
                host = self.host[tick]
                assert host.id in self.opened, "made before its step was open"
                if not host.timed and self.place[host.id] == max(self.place[s] for s in self.opened):
                    assert [t for t in self.owed(host, False) if t.id != tick] == [] or self._opens(host, tick)
                self.made.add(tick)
            case e.TickUndone(tick=tick):
                self.made.discard(tick)
            case e.GateOverridden(what=what):
                self.set_aside.add(what)
            case e.ClockStarted(step=step, t0=t0):
                assert self.owed(self.plan.step(step), False) == [], f"{step} started with a tick open"
                self.t0[step] = t0
                self.starts += 1
            case e.ClockCorrected(step=step, by_s=by_s):
                self.t0[step] -= by_s
            case e.StepOpened(step=step):
                self.opened.add(step)
            case e.StepEnded(step=step, at=at):
                self._ended(self.plan.step(step), at)
            case e.SessionClosed(outcome="complete"):
                assert self.owed(self.plan.steps[-1], True) == []
            case _:
                pass

    def _opens(self, host: PlannedStep, tick: str) -> bool:
        """A tick due at this very start may be made while others due then are open."""
        return any(t.id == tick and (t.due_step, t.due_at) == (host.id, "start") for t in host.ticks)

    def _ended(self, step: PlannedStep, at: float) -> None:
        if self.abandoning or step.background:
            return
        assert self.owed(step, not step.in_the_dark) == [], f"{step.id} ended with a tick open"
        if step.timed:
            assert at >= self.t0[step.id], "ended before it began"


def prefixes(plan: Plan) -> list[Evening]:
    """An evening stopped after each step, and inside each running one."""
    found = []
    guide = Evening(plan)
    while guide.state.current is not None:
        found.append(_copy(guide))
        inside = _copy(guide)
        step = plan.step(inside.here)
        if step.timed and not step.background:
            inside.tick(*(t.id for t in step.ticks if (t.due_step, t.due_at) == (step.id, "start")))
            inside.start()
            inside.at += 40.0
            found.append(inside)
        guide.pass_step()
    return found


def _copy(evening: Evening) -> Evening:
    other = object.__new__(Evening)
    other.plan, other.at, other.state = evening.plan, evening.at, evening.state
    other.events = list(evening.events)
    return other


def random_command(rng: random.Random, evening: Evening) -> c.Command:
    """Any command; the things it names are mostly near the step on screen, so that sequences get somewhere."""
    plan, at = evening.plan, evening.at
    here = plan.step(evening.here) if evening.here else rng.choice(plan.steps)
    step = here if rng.random() < 0.85 else rng.choice(plan.steps)
    ticks = [t for s in plan.steps for t in s.ticks] if rng.random() < 0.2 or not here.ticks else list(here.ticks)
    tick = rng.choice(ticks).id
    bells = rng.choice(["", "2", "3", "3", "3"])
    blocker = rng.choice([f"tick:{tick}", f"time:{step.id}", f"reading:developer:{step.id}", "tick:x"])
    match rng.choices(range(17), weights=(30, 25, 25, 12, 10, 4, 4, 3, 2, 2, 2, 2, 2, 1, 1, 1, 0.2))[0]:
        case 0:
            return c.MakeTick(at, tick, typed=bells, expected="3" if bells else "")
        case 1:
            return c.StartStep(at, step.id, rng.choice([0.0, 5.0]), rng.random() < 0.8)
        case 2:
            return c.EndStep(at, step.id)
        case 3:
            return c.BeginDrain(at, step.id, rng.random() < 0.3, at - 20 if rng.random() < 0.1 else None)
        case 4:
            value_c = rng.choice([38.0, 38.4, 36.0, 30.0])
            return c.TakeReading(at, rng.choice(["developer", "bath", "tea"]), value_c, "", rng.random() < 0.3)
        case 5:
            return c.UndoTick(at, tick)
        case 6:
            return c.CorrectClock(at, step.id, rng.choice([5.0, 30.0, -10.0, 0.0]))
        case 7:
            return c.Override(at, step.id, blocker, rng.choice(["", "a reason"]))
        case 8:
            return c.Pause(at, step.id)
        case 9:
            return c.Unpause(at, step.id)
        case 10:
            return c.Hold(at)
        case 11:
            return c.Release(at)
        case 12:
            return e.CueGiven(at, step.id, "drain", at)
        case 13:
            return c.AnswerCue(at, step.id, "over")
        case 14:
            return e.ClockJumped(at, "wall step", 3600.0)
        case 15:
            return c.AddNote(at, "a note")
        case _:
            return c.Abandon(at, "enough")


def run(seed: int, evenings: list[Evening]) -> tuple[Evening, int, int]:
    """One random sequence; what it came to, commands accepted, and steps started by it."""
    rng = random.Random(seed)
    evening = _copy(rng.choice(evenings))
    watcher = Watcher(evening.plan)
    for event in evening.events:
        watcher.see(event)
    before, accepted = watcher.starts, 0
    for _ in range(LENGTH):
        evening.at += rng.choice([0.0, 0.1, 1.0, 5.0, 60.0, 200.0])
        command = random_command(rng, evening)
        watcher.abandoning = isinstance(command, c.Abandon)
        state = evening.state
        try:
            events = evening.do(command)
        except Refused:
            assert evening.state is state
            continue
        accepted += 1
        for event in events:
            watcher.see(event)
    return evening, accepted, watcher.starts - before


def _hold_the_laws(seeds: range) -> tuple[int, int]:
    evenings = [*prefixes(small_plan()), *prefixes(small_plan(in_the_dark=False))]
    accepted = starts = 0
    for seed in seeds:
        evening, took, started = run(seed, evenings)
        accepted, starts = accepted + took, starts + started
        if seed % 20 == 0:
            kept = [encode(event) for event in evening.events]
            assert replay(decode(kind, version, data) for kind, version, data in kept) == evening.state
    return accepted, starts


@pytest.mark.parametrize("sequences", [2_000, pytest.param(10_000, marks=pytest.mark.long)])
def test_no_step_starts_while_a_due_item_is_open(sequences: int) -> None:
    accepted, starts = _hold_the_laws(range(sequences))
    assert accepted > 5 * sequences, "the sequences hardly do anything"
    assert starts > 0.3 * sequences, "the sequences hardly start a step"


def test_replayed_state_equals_live_state_after_every_single_event() -> None:
    evening = Evening()
    while evening.state.current is not None:
        evening.pass_step()
        assert replay(evening.events) == evening.state
    assert evening.state.outcome == "complete"
    assert replay(()) == State()
