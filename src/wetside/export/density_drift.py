"""The drift of measured densities per developer bottle and per process, drawn small, and what it says of the time.

One job: put the rolls of the archive into rows, oldest first, and say in words what `domain.archive.drift` finds.
Only unpushed rolls of one state of a process count for a time: a profile that was changed begins anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from wetside.domain.archive.drift import (
    FEWEST_ROLLS,
    DensityPoint,
    Slope,
    TimeAdvice,
    above_base,
    mean_density,
    slope,
    time_advice,
)
from wetside.domain.calc.learning import SESSIONS_REMEMBERED, spark
from wetside.domain.calc.tank import roll_equivalents
from wetside.export.roll_archive import ArchivedRoll
from wetside.frozen import dataclass

DRAWN = 2 * SESSIONS_REMEMBERED


@dataclass(frozen=True, slots=True)
class DensityDrift:
    """The densities of one bottle or process. along: "roll" or "30 days", which the slopes are per.

    key: (process, developer) of a bottle, None of a process. advice: None where there is none; told: rolls that
    count towards one.
    """

    title: str
    along: str
    above_base: tuple[float, ...]
    base: tuple[float, ...]
    above_base_slope: Slope | None
    base_slope: Slope | None
    advice: TimeAdvice | None
    told: int
    bottle: str | None


def density_drifts(rolls: Iterable[ArchivedRoll]) -> tuple[DensityDrift, ...]:
    """The drift of every developer bottle and then of every process that has densities; rolls oldest first."""
    measured = [roll for roll in rolls if roll.base or roll.edge_print]
    bottles: dict[tuple[str, str], list[ArchivedRoll]] = {}
    processes: dict[str, list[ArchivedRoll]] = {}
    for roll in measured:
        bottle = roll.developer_bottle
        if bottle is not None:
            bottles.setdefault((bottle.shelf_id or "", bottle.label), []).append(roll)
        processes.setdefault(roll.process, []).append(roll)
    return (
        *(_of_bottle(shelf_id, label, mine) for (shelf_id, label), mine in bottles.items()),
        *(_of_process(mine) for mine in processes.values()),
    )


def _of_bottle(shelf_id: str, label: str, rolls: Sequence[ArchivedRoll]) -> DensityDrift:
    last = rolls[-1]
    points = [_point(roll, roll.bottle_rolls) for roll in rolls]
    unpushed = [
        point
        for point, roll in zip(points, rolls, strict=True)
        if roll.film.push == 0 and roll.process_sha256 == last.process_sha256 and roll.yields == "negative"
    ]
    # what the next roll finds in the bottle: what the last fill's rolls left there
    fill = [r.film.format for r in rolls if (r.session, r.batch) == (last.session, last.batch)]
    advice = time_advice(unpushed, last.bottle_rolls + roll_equivalents(fill))
    told = sum(p.above_base is not None and p.off_s is not None for p in unpushed)
    title = f"{label} ({shelf_id})" if shelf_id else label
    return _drift(title, "roll", points, advice, told, shelf_id or label)


def _of_process(rolls: Sequence[ArchivedRoll]) -> DensityDrift:
    days = [date.fromisoformat(roll.developed_on).toordinal() / 30.0 for roll in rolls]
    return _drift(
        rolls[-1].process_title, "30 days", [_point(*row) for row in zip(rolls, days, strict=True)], None, 0
    )


def _drift(
    title: str,
    along: str,
    points: Sequence[DensityPoint],
    advice: TimeAdvice | None,
    told: int,
    bottle: str | None = None,
) -> DensityDrift:
    above = [(p.along, p.above_base) for p in points if p.above_base is not None]
    base = [(p.along, p.base) for p in points if p.base is not None]
    return DensityDrift(
        title,
        along,
        tuple(value for _, value in above),
        tuple(value for _, value in base),
        slope(above),
        slope(base),
        advice,
        told,
        bottle,
    )


def _point(roll: ArchivedRoll, along: float) -> DensityPoint:
    above = above_base(roll.base, roll.edge_print)
    return DensityPoint(above, mean_density(roll.base), along, roll.off_s, roll.developer_planned_s)


def drift_in_words(drift: DensityDrift, ascii_only: bool) -> tuple[str, ...]:
    """Title, a line for each density with its drift, and for a bottle what that says of the time."""
    lines = [drift.title]
    rows = (
        ("edge above base", drift.above_base, drift.above_base_slope),
        ("base", drift.base, drift.base_slope),
    )
    for name, values, found in rows:
        if values:
            drawn = f"{spark(values, DRAWN, ascii_only):<{DRAWN}}"
            lines.append(f"  {name:<15}  {drawn}  last {values[-1]:.2f}{_slope_words(found, drift.along)}")
    if drift.bottle is not None:
        lines.append(f"  {advice_words(drift)}")
    return tuple(lines)


def _slope_words(found: Slope | None, along: str) -> str:
    if found is None:
        return ""
    sign = "−" if found.value < 0 else "+"
    sure = "" if found.sure else ", no more than chance"
    return f", {sign}{abs(found.value):.3f} ± {found.uncertainty:.3f} per {along}{sure}"


def advice_words(drift: DensityDrift) -> str:
    """What the rolls of a bottle say about the next one's time, with how sure that is."""
    advice = drift.advice
    if advice is not None:
        side = "more" if advice.add_s > 0 else "less"
        return (
            f"Next time: about {abs(advice.add_s):.0f} s {side} than planned (± {advice.uncertainty_s:.0f} s, "
            f"95 %, from {advice.rolls} of your rolls). Nothing is changed by it: the time is yours to set."
        )
    if drift.told < FEWEST_ROLLS:
        wanted = f"that takes {FEWEST_ROLLS} unpushed rolls with both densities"
        return f"No time is suggested: {wanted}; {drift.told} count."
    return f"No time is suggested: {drift.told} rolls do not tell drift and time surely apart."
