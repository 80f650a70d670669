"""A session led into a bath, and parts of its screen, for tests of the controller."""

from __future__ import annotations

from tests.session.small_evening import small_plan
from tests.session.walker import Bench, Walker, bench_for

from wetside.present.prompts import Panel


def in_bath(step: str = "b1.dev", for_s: float = 60.0) -> Bench:
    """The small evening led into a bath that has run `for_s`."""
    bench = bench_for(small_plan())
    walker = Walker(bench)
    while step not in bench.controller.state.clocks:
        assert walker.step()
    clock = bench.controller.state.clocks[step]
    bench.wait(clock.t0 + for_s - bench.controller.now())
    bench.cues.clear()
    return bench


def remaining(bench: Bench, step: str = "b1.dev") -> float:
    left = bench.controller.state.clocks[step].remaining(bench.controller.now())
    assert left is not None
    return left


def digits(bench: Bench) -> str:
    clock = bench.controller.view().clock
    assert clock is not None
    return clock.digits


def open_panel(bench: Bench) -> Panel | None:
    return bench.controller.key_state.panel
