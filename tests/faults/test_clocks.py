"""Clocks that misbehave, in every stage of an evening: elapsed and deadlines stay right, the record says so."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.faults.evening import evening, keep, opened, places, running
from tests.manual_clock import ManualClock
from tests.shipped import shipped_plan

from wetside.app.controller import SessionController
from wetside.app.session_factory import resume_session
from wetside.domain.session.cues import all_cues
from wetside.domain.session.events import ClockStarted, CueMissed, Event
from wetside.export.pages import export_markdown
from wetside.export.session_log import SessionLog, session_log
from wetside.files.settings import Settings
from wetside.present.wording import long_span
from wetside.storage.sessions import load, load_state
from wetside.storage.store import Store, open_store

DEVELOPER = "b1.developer"


@dataclass
class Resumed:
    """A session in a real journal, driven on a clock set by hand."""

    data: Path
    store: Store
    stream: str
    clock: ManualClock
    controller: SessionController

    def again(self) -> None:
        """The guide was killed: another process resumes what is on disk."""
        self.controller.release()
        self.controller = resume_session(
            self.store, places(self.data), self.stream, Settings(), terminal="t", clock=self.clock
        )

    def second(self) -> None:
        """Let a second pass and poll."""
        self.clock.advance(1.0)
        self.controller.poll()

    @property
    def log(self) -> SessionLog:
        """The record, rebuilt from disk."""
        return session_log(load(self.store, self.stream))

    @property
    def missed(self) -> list[CueMissed]:
        """The calls that were not made, as they lie on disk."""
        return [event for event in load(self.store, self.stream) if isinstance(event, CueMissed)]

    def deadlines(self) -> dict[tuple[str, str], float]:
        """In how many seconds each planned end is due, by step."""
        now = self.controller.now()
        return {
            (step, "end"): round(clock.remaining(now) or 0.0, 6)
            for step, clock in self.controller.state.clocks.items()
            if step not in self.controller.state.ended and clock.end_s is not None
        }

    def elapsed(self) -> dict[str, float]:
        """How long each running clock has run."""
        now = self.controller.now()
        state = self.controller.state
        return {step: clock.elapsed(now) for step, clock in state.clocks.items() if step not in state.ended}


At = Callable[[tuple[Event, ...]], Resumed]


@pytest.fixture
def at(tmp_path: Path) -> Iterator[At]:
    """Resumes an evening cut off after these events, ten seconds later."""
    stores: list[Store] = []

    def make(events: tuple[Event, ...]) -> Resumed:
        clock, data = ManualClock(), tmp_path / "data"
        stream = keep(data, events, clock=clock)
        clock.advance(10.0)
        stores.append(open_store(places(data)))
        controller = resume_session(stores[0], places(data), stream, Settings(), terminal="t", clock=clock)
        controller.poll()
        return Resumed(data, stores[0], stream, clock, controller)

    yield make
    for store in stores:
        store.close()


def stages() -> list[object]:
    """One moment in each stage, with its clock running where it has one; and the two baths."""
    found: dict[str, str] = {}
    for step in shipped_plan("three-rolls").steps:
        found.setdefault(step.stage, step.id)
    steps = [*found.values(), DEVELOPER, "b1.bleach-fix", "b1.wash", "b1.load-room"]
    return [pytest.param(step, id=step) for step in dict.fromkeys(steps)]


def reached(step: str) -> tuple[Event, ...]:
    """The evening up to this step, its clock running where it has one."""
    clocked = {event.step for event in evening() if isinstance(event, ClockStarted)}
    return running(step) if step in clocked else opened(step)


@pytest.mark.parametrize("step", stages())
@pytest.mark.parametrize("by_s", [3_600.0, -3_600.0, 86_400.0, -86_400.0], ids=["1 h", "-1 h", "1 day", "-1 day"])
def test_a_stepped_wall_clock_moves_no_elapsed_time_and_no_deadline(at: At, step: str, by_s: float) -> None:
    one = at(reached(step))
    now, elapsed, deadlines = one.controller.now(), one.elapsed(), one.deadlines()
    cues, missed = all_cues(one.controller.state), one.missed
    one.clock.step_wall(by_s)
    one.controller.poll()
    assert one.controller.now() == pytest.approx(now, abs=1e-6)
    assert one.elapsed() == pytest.approx(elapsed)
    assert one.deadlines() == pytest.approx(deadlines)
    assert all_cues(one.controller.state) == cues
    assert one.missed == missed
    (jump,) = one.log.jumps
    assert (jump.what, round(jump.seconds)) == ("wall step", by_s)
    one.second()
    assert one.controller.now() == pytest.approx(now + 1.0, abs=1e-6)

    one.again()
    assert one.controller.now() == pytest.approx(now + 1.0, abs=1e-6)
    assert one.elapsed() == pytest.approx({step: s + 1.0 for step, s in elapsed.items()})
    assert one.controller.view().wall == f"{one.clock.now().wall.astimezone():%H:%M}"


@pytest.mark.parametrize("step", stages())
@pytest.mark.parametrize("slept_s", [40.0, 7_200.0], ids=["40 s", "2 h"])
def test_a_suspend_counts_as_time_and_missed_calls_are_listed_and_not_played(
    at: At, step: str, slept_s: float
) -> None:
    one = at(reached(step))
    now, elapsed = one.controller.now(), one.elapsed()
    before = {(cue.step, cue.call, cue.planned) for cue in one.missed}
    planned = [cue for cue in all_cues(one.controller.state) if now < cue.at <= now + slept_s]
    one.clock.suspend(slept_s)
    given = one.controller.poll()
    assert one.controller.now() == pytest.approx(now + slept_s, abs=1e-6)
    assert one.elapsed() == pytest.approx({step: s + slept_s for step, s in elapsed.items()})
    late = [cue for cue in planned if now + slept_s - cue.at > 1.5]
    missed = [(cue.step, cue.call, cue.planned) for cue in one.missed]
    assert [each for each in missed if each not in before] == [(cue.step, cue.call, cue.at) for cue in late]
    # the only sounds: a call that is due just now, and "over", which goes on until it is answered
    kept_silent = {(cue.step, cue.call, cue.at) for cue in late if not cue.repeats}
    assert not kept_silent & {(cue.step, cue.call, cue.at) for cue in given}
    (jump,) = one.log.jumps
    assert (jump.what, round(jump.seconds)) == ("suspend", slept_s)
    assert f"slept for {long_span(slept_s)}." in one.controller.key_state.message
    if late:
        assert "missed" in one.controller.key_state.message
        assert len(one.log.cues) == len({(cue.step, cue.call, cue.planned) for cue in one.log.cues})
    one.second()
    assert len(one.missed) == len(before) + len(late)
    assert load_state(one.store, one.stream) == one.controller.state


@pytest.mark.parametrize("step", stages())
@pytest.mark.parametrize(
    ("off_s", "stepped_s"),
    [(90.0, 0.0), (4_000.0, 0.0), (90.0, 3_600.0)],
    ids=["90 s", "67 min", "90 s after a step"],
)
def test_after_a_reboot_the_wall_clock_gives_the_elapsed_time(
    at: At, step: str, off_s: float, stepped_s: float
) -> None:
    one = at(reached(step))
    if stepped_s:
        one.clock.step_wall(stepped_s)
        one.controller.poll()
    last = one.log.resumes[-1]
    now, elapsed = one.controller.now(), one.elapsed()
    one.clock.reboot(off_s)
    one.again()
    # what had passed since the last row was written is not lost either
    assert one.controller.now() == pytest.approx(now + off_s, abs=1.0)
    assert one.elapsed() == pytest.approx({step: s + off_s for step, s in elapsed.items()}, abs=1.0)
    resumes = one.log.resumes
    assert len(resumes) == 2
    assert resumes[-1].how == "wall clock"
    assert last.how == "same boot"
    one.second()
    assert one.controller.now() == pytest.approx(now + off_s + 1.0, abs=1.0)


def test_a_wall_clock_set_back_while_the_machine_was_off_makes_no_time_run_backward(at: At) -> None:
    one = at(running(DEVELOPER))
    now = one.controller.now()
    one.clock.step_wall(-86_400.0)
    one.clock.reboot(60.0)
    one.again()
    assert one.controller.now() >= now - 1.0
    one.second()
    assert one.controller.now() >= now


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Sets the zone of this process, and puts the old one back."""

    def put(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize("step", stages())
@pytest.mark.parametrize(
    ("before", "after", "by_s"),
    [("UTC-1", "UTC-2", 3_600), ("UTC-2", "UTC-1", -3_600), ("UTC", "UTC+9", -32_400)],
    ids=["summer time begins", "summer time ends", "another zone"],
)
def test_a_change_of_zone_changes_only_what_the_wall_clock_says(
    at: At, step: str, zone: Callable[[str], None], before: str, after: str, by_s: int
) -> None:
    zone(before)
    one = at(reached(step))
    now, elapsed, deadlines = one.controller.now(), one.elapsed(), one.deadlines()
    zone(after)
    one.controller.poll()
    assert (one.controller.now(), one.elapsed(), one.deadlines()) == (now, elapsed, deadlines)
    assert one.controller.view().wall == f"{one.clock.now().wall.astimezone():%H:%M}"
    assert [(jump.what, jump.seconds) for jump in one.log.jumps] == [("zone", by_s)]
    one.second()
    assert len(one.log.jumps) == 1


def test_markdown_record_lists_jumps_resumes_and_missed_calls(at: At) -> None:
    one = at(running(DEVELOPER))
    one.clock.step_wall(3_600.0)
    one.controller.poll()
    one.clock.suspend(40.0)
    one.controller.poll()
    one.clock.reboot(30.0)
    one.again()
    page = export_markdown(one.log)
    assert "wall step of +1:00:00" in page
    assert "suspend of +0:40" in page
    assert "opened again after 0:30 (wall clock)" in page
    table = page.split("## Calls missed\n")[1].split("\n## ")[0]
    assert sum(line.startswith("|") for line in table.splitlines()) - 2 == len(one.missed) > 0
    assert page == export_markdown(one.log)
