"""In which order the first fill is loaded and its bottles are warmed, and whether a bottle could overheat unseen.

While film is loaded nobody reads a thermometer. Loading beside the warming is therefore planned, and begun, only
where the forecast keeps every bottle at or below the upper end of its range until it is read again. Pure.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol, TypeVar

from wetside.domain.calc.tempering import TemperingBench, first_above, forecast
from wetside.domain.planning.plan import LoadingOrder, Tempering
from wetside.domain.planning.scheduling import Laid
from wetside.domain.planning.setup import Loading, Setup
from wetside.domain.planning.tempering_plan import bench_of, tempered
from wetside.domain.profile.model import Profile

CONDITION = "warmed before loading"
"""The condition that a profile's steps name where the process can be done in either order."""

LONGER = 1.5
"""Loading may take half again as long as it is planned to (our own number)."""

FASTER = 1.5
"""A bottle's heat transfer is a guess: it may be half again as large (our own number)."""

LOOK_EVERY_S = 15.0


class Arranged(Protocol):
    """An evening in one of the orders: its chart."""

    @property
    def chart(self) -> Laid:
        """How long everything takes."""


A = TypeVar("A", bound=Arranged)


def overshoot(
    bench: TemperingBench, limits_c: tuple[float | None, ...], unseen_s: float
) -> tuple[int, float] | None:
    """(bottle, seconds) of the first bottle that may pass its upper limit in `unseen_s`, with the margins above.

    None: there is room. `limits_c` has one entry a bottle, None for any temperature.
    """
    faster = tuple(replace(bottle, ua_w_per_k=FASTER * bottle.ua_w_per_k) for bottle in bench.bottles)
    found = [
        first_above(forecast(each, max(unseen_s, LOOK_EVERY_S) * LONGER, LOOK_EVERY_S), limits_c)
        for each in (bench, replace(bench, bottles=faster))
    ]
    return min((each for each in found if each is not None), key=lambda each: each[1], default=None)


def arranged(
    profile: Profile, setup: Setup, tempering: Tempering | None, lay: Callable[[Loading], A]
) -> tuple[A, LoadingOrder | None]:
    """The evening in the order that is wanted and safe, and why; None where the process has one order only.

    lay: works the evening out in one of the orders.
    """
    if not any(CONDITION in step.conditions() for step in profile.steps):
        return lay("after warming"), None
    if not tempered(profile, setup):
        return lay(setup.loading), LoadingOrder(setup.loading, "chosen")
    after, meanwhile = lay("after warming"), lay("while warming")
    found = _order(profile, setup, tempering, meanwhile.chart)
    saved_s = after.chart.hands_done_s - meanwhile.chart.hands_done_s
    if found.order == "while warming":
        return meanwhile, replace(found, saved_s=saved_s)
    return after, replace(found, saved_s=-saved_s if found.why == "chosen" else 0.0)


def _order(profile: Profile, setup: Setup, tempering: Tempering | None, chart: Laid) -> LoadingOrder:
    if setup.loading == "after warming":
        return LoadingOrder("after warming", "chosen")
    if tempering is None or tempering.starting_bath_c is None:
        return LoadingOrder("after warming", "no forecast")
    if tempering.ready_s is None:
        return LoadingOrder("after warming", "never ready")
    solutions = tempered(profile, setup)
    bench = bench_of(setup, solutions, tempering.starting_bath_c)
    limits_c = tuple(solution.range_c[1] if solution.range_c is not None else None for solution in solutions)
    over = overshoot(bench, limits_c, max((seconds for _, seconds in chart.unseen), default=0.0))
    if over is not None:
        return LoadingOrder("after warming", "too warm", over=solutions[over[0]].title, over_s=over[1])
    return LoadingOrder("while warming", "room", unseen=chart.unseen)
