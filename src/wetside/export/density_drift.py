"""The drift of measured densities per developer bottle and process, as sparklines, and the developer
time that it suggests.

Edge markings differ from film to film, so only unpushed rolls of one stock are compared. For a time only rolls
developed with the current text of a profile count.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Literal

from msgspec import Struct
from msgspec.structs import asdict

from wetside.domain.archive.drift import (
    FEWEST_FILLS,
    DensityPoint,
    Slope,
    TimeAdvice,
    mean_density,
    slope,
    time_advice,
)
from wetside.domain.calc.learning import SESSIONS_REMEMBERED
from wetside.domain.messages import Message, alert
from wetside.errors import JournalUnusable
from wetside.export.roll_archive import ArchivedRoll, archived_rolls, measured
from wetside.present.message_words import in_words
from wetside.present.wording import spark
from wetside.storage.archive import ARCHIVE
from wetside.storage.store import Store

DRAWN = 2 * SESSIONS_REMEMBERED


Along = Literal["roll", "30 days"]
"""Against what a drift is taken: the rolls through the bottle, or time."""


class DensityDrift(Struct, frozen=True):
    """The densities of one film in one bottle or process, a point for each fill; `along` is the unit of a slope.

    advice: None where there is none. fills_counted: the fills that count towards it; None for a process.
    """

    title: str
    along: Along
    points: tuple[DensityPoint, ...]
    advice: TimeAdvice | None = None
    fills_counted: int | None = None


def density_drifts(
    rolls: Iterable[ArchivedRoll], now_rolls: Mapping[str, float] = MappingProxyType({})
) -> tuple[DensityDrift, ...]:
    """The drift of every developer bottle of the shelf, then of every process, by film; rolls come oldest first.

    now_rolls: rolls of 135-36 through each bottle today, by its id; without one there is no advice.
    """
    bottles: dict[tuple[str, ...], list[ArchivedRoll]] = {}
    processes: dict[tuple[str, ...], list[ArchivedRoll]] = {}
    for roll in rolls:
        if roll.film.push or not (roll.base or roll.edge_print):
            continue
        bottle = roll.developer_bottle
        film = (roll.film.kind, roll.film.stock.casefold())
        if bottle is not None and bottle.shelf_id is not None:
            bottles.setdefault((bottle.shelf_id, *film), []).append(roll)
        processes.setdefault((roll.process, *film), []).append(roll)
    return (
        *(_of_bottle(key[0], mine, now_rolls.get(key[0])) for key, mine in bottles.items()),
        *(
            DensityDrift(f"{mine[-1].process_title}, {_film(mine[-1])}", "30 days", _points(mine, "30 days"))
            for mine in processes.values()
        ),
    )


def times_suggested(store: Store, now_rolls: Mapping[str, float]) -> tuple[Message, ...]:
    """An alert for each of these shelf bottles whose film significantly suggests another time than planned.

    () where the archive cannot be read, so that a plan can be made without it.
    """
    if all(row.kind != "densities_measured" for row in store.read(ARCHIVE, despite_gaps=True)):
        return ()
    try:
        drifts = density_drifts(archived_rolls(store, measured), now_rolls)
    except JournalUnusable:
        return ()
    found = ((each.title, each.advice) for each in drifts)
    return tuple(alert("time-suggested", of=of, advice=_next_time(advice)) for of, advice in found if advice)


def _of_bottle(shelf_id: str, rolls: Sequence[ArchivedRoll], now_rolls: float | None) -> DensityDrift:
    last = rolls[-1]
    counted = [roll for roll in rolls if roll.process_sha256 == last.process_sha256 and roll.yields == "negative"]
    points = [p for p in _points(counted, "roll") if p.above_base is not None and p.off_s is not None]
    advice = None if now_rolls is None else time_advice(points, now_rolls)
    bottle = last.developer_bottle
    title = f"{bottle.label if bottle is not None else shelf_id} ({shelf_id}), {_film(last)}"
    return DensityDrift(title, "roll", _points(rolls, "roll"), advice, len(points))


def _film(roll: ArchivedRoll) -> str:
    return roll.film.stock or f"{roll.film.kind} film"


def _points(rolls: Sequence[ArchivedRoll], along: Along) -> tuple[DensityPoint, ...]:
    """A point for each fill: the mean of its rolls, which share bottle and time."""
    fills: dict[tuple[str, int], list[ArchivedRoll]] = {}
    for roll in rolls:
        fills.setdefault((roll.session, roll.batch), []).append(roll)
    return tuple(
        DensityPoint(
            mean_density(tuple(d for roll in fill if (d := roll.above_base) is not None)),
            mean_density(tuple(d for roll in fill if (d := mean_density(roll.base)) is not None)),
            first.bottle_rolls if along == "roll" else date.fromisoformat(first.developed_on).toordinal() / 30.0,
            first.off_s,
            first.developer_planned_s,
        )
        for fill in fills.values()
        for first in fill[:1]
    )


def drift_in_words(drift: DensityDrift, ascii_only: bool) -> tuple[str, ...]:
    """Title, a line for each density with its drift, and for a bottle the advice on the time."""
    lines = [drift.title]
    above = [(p.along, p.above_base) for p in drift.points if p.above_base is not None]
    base = [(p.along, p.base) for p in drift.points if p.base is not None]
    for name, found in (("edge above base", above), ("base", base)):
        if found:
            values = tuple(value for _, value in found)
            drawn = f"{spark(values, DRAWN, ascii_only):<{DRAWN}}"
            slope_words = _slope_words(slope(found), drift.along)
            lines.append(f"  {name:<15}  {drawn}  last {values[-1]:.2f}{slope_words}")
    if drift.fills_counted is not None:
        lines.append(f"  {advice_words(drift)}")
    return tuple(lines)


def _slope_words(found: Slope | None, along: str) -> str:
    if found is None:
        return ""
    sign = "−" if found.value < 0 else "+"
    sure = "" if found.sure else ", no more than chance"
    return f", {sign}{abs(found.value):.3f} ± {found.uncertainty:.3f} per {along}{sure}"


def _next_time(advice: TimeAdvice) -> Message:
    return alert("time-suggested", "next time", **asdict(advice))


def advice_words(drift: DensityDrift) -> str:
    """The advice of a bottle's rolls on the next developer time, with its uncertainty."""
    if drift.advice is not None:
        return in_words(_next_time(drift.advice))
    if (drift.fills_counted or 0) < FEWEST_FILLS:
        wanted = f"that takes {FEWEST_FILLS} unpushed fills with both densities"
        return f"No time is suggested: {wanted}; {drift.fills_counted} count."
    return f"No time is suggested: {drift.fills_counted} fills do not tell drift and time surely apart."
