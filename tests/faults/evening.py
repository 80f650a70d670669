"""A whole evening in a real journal, cut off after any event, begun as far in the past as its events need.

The events come from the walker, which led the shipped evening to its end with a manual clock. Only the link to the
real clock, in the first event, is replaced.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from datetime import timedelta
from functools import cache
from pathlib import Path

from msgspec.structs import replace
from tests.robot.program import fields, journal
from tests.robot.robot import Robot, large_digits
from tests.session.walker import Walker, guide_for
from tests.shipped import shipped_plan

from wetside.app.clock import Clock, FastClock, SystemClock
from wetside.app.session_start import rfc3339
from wetside.domain.session.events import ClockStarted, Event, SessionBegan, StepOpened, TickMade
from wetside.domain.session.gates import drain_lead_s
from wetside.domain.session.state import replay
from wetside.files.settings import Places
from wetside.storage.sessions import append_events, stream_of
from wetside.storage.store import open_store

SESSION = "2024-03-01-bcdf"


@cache
def evening() -> tuple[Event, ...]:
    """Every event of the shipped evening of three rolls, completed in two and a half hours."""
    guide = guide_for(shipped_plan("three-rolls"))
    Walker(guide).lead(15_000)
    return tuple(guide.events)


def up_to(last: Callable[[Event], bool]) -> tuple[Event, ...]:
    """The evening up to and including the first event for which `last` is true."""
    events = evening()
    for number, event in enumerate(events, 1):
        if last(event):
            return events[:number]
    raise AssertionError("no such event in the evening")


def opened(step: str) -> tuple[Event, ...]:
    """The evening up to the moment this step is shown."""
    return up_to(lambda event: isinstance(event, StepOpened) and event.step == step)


def running(step: str) -> tuple[Event, ...]:
    """The evening up to the start of this step's clock."""
    return up_to(lambda event: isinstance(event, ClockStarted) and event.step == step)


def pours_out_s(step: str) -> float:
    """The time from this bath's start to the moment pouring out is due, s."""
    state = replay(running(step))
    end_s = state.clocks[step].end_s
    assert end_s is not None
    return end_s - drain_lead_s(state.plan.step(step))


def clock_error_s(data: Path, step: str) -> Callable[[Robot], float]:
    """A function: by how many seconds the large digits differ from the kernel's clock; infinite without digits."""
    began = fields(journal(data)[0])
    t0 = next(fields(row)["t0"] for row in reversed(journal(data)) if row[2] == "clock_started")
    pour_s = pours_out_s(step)

    def error_s(robot: Robot) -> float:
        shown_s = large_digits(robot)
        left_s = pour_s - (time.clock_gettime(time.CLOCK_BOOTTIME) - began["boot_s"] - t0)
        return math.inf if shown_s is None else abs(shown_s - left_s)

    return error_s


def ready(step: str) -> tuple[Event, ...]:
    """The evening up to the last statement due before this step's clock starts."""
    until_started = running(step)
    last = max(number for number, event in enumerate(until_started) if isinstance(event, TickMade))
    return until_started[: last + 1]


def places(data: Path) -> Places:
    """A data folder of the test's own."""
    return Places(data, data.parent / "settings.toml")


def keep(
    data: Path, events: tuple[Event, ...], *, passed_s: float = 0.0, clock: Clock | None = None, speed: float = 1.0
) -> str:
    """Write these events as a session whose last event was `passed_s` ago by `clock`; returns its stream.

    With a speed above 1 it is a practice with a fast clock that starts now.
    """
    practice = speed > 1.0
    now = (clock or (FastClock(SystemClock(), speed) if practice else SystemClock())).now()
    ago = events[-1].at + passed_s
    began = events[0]
    assert isinstance(began, SessionBegan)
    wall = now.wall - timedelta(seconds=ago)
    began = replace(began, session=SESSION, wall=rfc3339(wall), boot_id=now.boot_id, boot_s=now.boot_s - ago)
    began = replace(began, practice=practice, speed=speed)
    stream = stream_of(SESSION, practice)
    with open_store(places(data)) as store:
        # in one transaction: hundreds of waits for the disk are spared
        append_events(store, stream, 0, (began, *events[1:]), rfc3339(wall + timedelta(seconds=events[-1].at)))
    return stream
