"""The evening laid end to end for the chart: how long each step takes, in which row, and when the hands are done.

Steps without a time of their own are given the practice of the trade; the chart is a forecast, not a clock.
"""

from __future__ import annotations

from dataclasses import replace
from math import fsum

from wetside.domain.calc.timeline import ROW_NAMES, Block, Order, RowName, Timeline, evening
from wetside.domain.planning.expansion import HANDWORK_S, Handwork, Placed
from wetside.domain.planning.plan import PlannedStep, TimeRow
from wetside.domain.profile.model import Kind
from wetside.frozen import dataclass

READ_S = 20.0
TICK_S = 10.0
MEASURE_S = 60.0
TEMPER_S = 900.0
AGAIN_S = 600.0
LOAD_ROLL_S = 150.0
POUR_S = 20.0
"""Common practice, no source: what reading a screen, one tick, a reading, tempering from cold, tempering again
what is still warm, loading a roll and pouring take. A person's own record replaces none of these yet; only pour
and drain leads are learned."""


@dataclass(frozen=True, slots=True)
class Laid:
    """The chart's rows and the sums a person asks for, in seconds.

    unseen: (step id, seconds from its gate until the bottles are read again) of the measuring step and the loading
    that come before the first warming; empty where film is loaded after it.
    """

    rows: tuple[TimeRow, ...]
    total_s: float
    dark_s: float
    hands_done_s: float
    unseen: tuple[tuple[str, float], ...] = ()


def lay_out(
    placed: tuple[Placed, ...],
    steps: tuple[PlannedStep, ...],
    handwork: tuple[Handwork, ...],
    tanks: frozenset[str],
    ready_s: float | None,
) -> Laid:
    """The evening of these steps; `tanks` are ids of vessels, `ready_s` is when the bottles are in range."""
    parts: list[list[Block | Order]] = [[]]
    number = 0
    starts = {work.first: work for work in handwork}
    hanging = {step.id for step in steps if step.kind is Kind.HANG}
    stands, waits = _first_warming(steps)
    while number < len(steps):
        work = starts.get(number)
        if work is not None:
            parts[-1].append(work.order)
            number = work.last
            continue
        if steps[number].joins in hanging:
            parts.append([])  # what joins the drying waits for it, and so does all that follows
        block = _block(steps[number], placed[number], tanks, ready_s)
        if number == waits and stands is not None:
            block = _warmed_beside(steps, placed, tanks, stands, waits, ready_s)
        parts[-1].append(block)
        number += 1
    laid = _end_to_end(tuple(evening(tuple(part)) for part in parts))
    return replace(laid, unseen=_unseen(placed, steps, tanks, stands, waits))


def _first_warming(steps: tuple[PlannedStep, ...]) -> tuple[int | None, int]:
    """Where the bottles are stood in the warm bath and where they are first waited for, film loaded in between.

    (None, -1) where nothing is loaded before that wait.
    """
    waits = next((number for number, step in enumerate(steps) if step.kind is Kind.WAIT), -1)
    loads = next((number for number, step in enumerate(steps) if step.kind is Kind.DARK), len(steps))
    stands = [number for number, step in enumerate(steps[:loads]) if step.kind is Kind.MEASURE]
    return (stands[-1], waits) if stands and loads < waits else (None, -1)


def _seconds(
    steps: tuple[PlannedStep, ...], placed: tuple[Placed, ...], tanks: frozenset[str], first: int, last: int
) -> float:
    """How long the steps from `first` up to `last` (not included) take."""
    return fsum(_block(steps[n], placed[n], tanks, None).duration_s for n in range(first, last))


def _warmed_beside(
    steps: tuple[PlannedStep, ...],
    placed: tuple[Placed, ...],
    tanks: frozenset[str],
    stands: int,
    waits: int,
    ready_s: float | None,
) -> Block:
    """The warming that is left after the loading, or the reading; its bar begins where the bottles were stood."""
    since_s = _seconds(steps, placed, tanks, stands + 1, waits)
    read_s = READ_S + MEASURE_S * sum(ask.required for ask in steps[waits].readings)
    left_s = max(read_s, (TEMPER_S if ready_s is None else ready_s) - since_s)
    return Block("basin", steps[waits].title, left_s, hands=True, begun_s=since_s)


def _unseen(
    placed: tuple[Placed, ...],
    steps: tuple[PlannedStep, ...],
    tanks: frozenset[str],
    stands: int | None,
    waits: int,
) -> tuple[tuple[str, float], ...]:
    if stands is None:
        return ()
    loads = next(number for number, step in enumerate(steps) if step.kind is Kind.DARK)
    return (
        (steps[stands].id, _seconds(steps, placed, tanks, stands + 1, waits)),
        (steps[loads].id, _seconds(steps, placed, tanks, loads, waits)),
    )


def _end_to_end(parts: tuple[Timeline, ...]) -> Laid:
    """Each part begins when the one before it is over, hanging included; hands are done before the long wait."""
    rows: list[TimeRow] = []
    begun_s = 0.0
    for part in parts:
        rows += [
            TimeRow(row.name, row.label, begun_s + row.start_s, begun_s + row.end_s, row.dark) for row in part.rows
        ]
        begun_s += part.total_s
    order: tuple[str, ...] = ROW_NAMES
    rows.sort(key=lambda row: (order.index(row.row), row.start_s))
    return Laid(tuple(rows), begun_s, sum(part.dark_s for part in parts), parts[0].hands_done_s)


def _block(step: PlannedStep, placed: Placed, tanks: frozenset[str], ready_s: float | None) -> Block:
    rolls = len(placed.batch.rolls) if placed.batch is not None else 1
    reading = READ_S + TICK_S * len(step.ticks)
    row: RowName = "hands"
    match step.kind:
        case Kind.CHECK:
            seconds = reading
        case Kind.MEASURE:
            seconds = reading + MEASURE_S * len(step.readings)
        case Kind.WAIT:
            # The forecast is of bottles that are cold; before a tank fill they have only cooled a little.
            seconds = AGAIN_S if placed.batch is not None else TEMPER_S if ready_s is None else ready_s
            row = "basin"
        case Kind.DARK:
            seconds = LOAD_ROLL_S * rolls
            row = "tank"
        case Kind.BATH:
            seconds = (step.planned_s or 0.0) + POUR_S
            row = "tank"
        case Kind.WASH:
            seconds = step.planned_s or HANDWORK_S
            row = "tank" if _in_tank(placed, tanks) else "basin"
        case Kind.HANG:
            seconds = step.planned_s or 0.0
            row = "hanging"
    return Block(row, step.title, seconds, dark=step.kind is Kind.DARK, hands=row in ("tank", "basin"))


def _in_tank(placed: Placed, tanks: frozenset[str]) -> bool:
    """Whether the film of a wash is in the tank: a fill's film is, unless the wash names another vessel."""
    if placed.step.into is not None:
        return placed.step.into in tanks
    return placed.batch is not None and placed.roll is None
