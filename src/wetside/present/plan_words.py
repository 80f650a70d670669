"""The sentences of a plan that several screens share: agitation, warmth, warming, loading, fills. Pure."""

from __future__ import annotations

import math
from itertools import permutations
from typing import Final

from wetside.domain.calc.developer_time import TimeTable, activation_energy_kj_mol, local_q10, warmer_by_s
from wetside.domain.calc.tank import MEDIUM_FORMATS
from wetside.domain.planning.baths import drift_seconds
from wetside.domain.planning.plan import Batch, Plan, PlannedStep
from wetside.domain.planning.setup import AgitationPace, AgitationWay, Bottle, Setup, TemperatureUnit, VolumeUnit
from wetside.present.wording import counted, minutes_seconds, sentence, span, span_range, temperature, the, volume

# Agitation: common practice, no source; the kit's sheet decides.

MOVED: Final = "How the tank is moved"
"""The heading of tonight's agitation in a review."""

EFFECT: Final = "More moving gives more density and contrast; less gives less, and streaks. Your sheet decides."
_ROTATION: Final = "Rotation changes its direction, or it leaves streaks"
DIRECTION: Final = f"{_ROTATION}."

_EFFECTS: Final[dict[AgitationPace, str]] = {
    "as the process": "",
    "continuous": "more density and contrast than a time made for pauses gives, and more even",
    "each half minute": "what most sheets for small tanks mean",
    "each minute": "less density and contrast, and streaks in a bath as short as a colour developer",
}


def agitation_words(setup: Setup) -> str:
    """Tonight's agitation and its effect, without a final full stop."""
    effect = _EFFECTS[setup.agitation]
    words = f"{setup.agitation}, by {setup.agitated_by}"
    words += f": {effect} (common practice); your sheet decides" if effect else ""
    return f"{words}. {_ROTATION}" if setup.agitated_by == "rotation" else words


def agitation_effect(pace: AgitationPace, way: AgitationWay) -> str:
    """The effect of this choice on the film; "" for the process's own pace with inversion."""
    return "; ".join(words for words in (_EFFECTS[pace], DIRECTION if way == "rotation" else "") if words)


# The effect of half a degree on the time of a bath that must end on time.

ADVICE: Final = "Advice, by the slope of a two-bath kit (from memory)"
"""The label of figures that come from another kit's times."""

_SMALL_STEP: Final[dict[TemperatureUnit, tuple[str, float, str]]] = {
    "°C": ("half a degree", 0.5, "Half a °C"),
    "°F": ("one degree", 5 / 9, "One °F"),
}
"""For each unit the temperature step that is worded: its name, its size in K, its label."""


def warmth_words(step: PlannedStep, unit: TemperatureUnit) -> str:
    """The effect of half a °C or one °F on the time, in a sentence; "" for a step without a table of times."""
    table = _table(step)
    if table is None:
        return ""
    name, by_k, _ = _SMALL_STEP[unit]
    if len(table.rows) == 1:
        words = "The sheet gives a time at this temperature alone."
        by_s = drift_seconds(step, (step.target_c or 0.0) - by_k)
        if by_s is None:
            return words
        return f"{words} {ADVICE}: {name} cooler, about {_seconds(by_s)} longer. Your sheet decides."
    changes = _changes(step, table, by_k)
    said = [
        f"{name} {way}: {_seconds(abs(by_s))} {'shorter' if by_s < 0 else 'longer'}"
        for way, by_s in changes.items()
    ]
    beyond = " or ".join(way for way in ("warmer", "cooler") if way not in changes)
    if beyond:
        said.append(f"the sheet has no time for {beyond if said else f'{name} {beyond}'}")
    return sentence("; ".join(said))


def warmth_in_short(step: PlannedStep, unit: TemperatureUnit) -> tuple[str, str]:
    """The same as (label, text): "Half a °C", "warmer −13 s, cooler +15 s"; the text is "" without a table."""
    _, by_k, label = _SMALL_STEP[unit]
    table = _table(step)
    changes = _changes(step, table, by_k) if table is not None else {}
    signed = (f"{way} {'−' if by_s < 0 else '+'}{_seconds(abs(by_s))}" for way, by_s in changes.items())
    return label, ", ".join(signed)


def drift_advice(step: PlannedStep, at_c: float, unit: TemperatureUnit) -> str:
    """The advice for a bath that has drifted to `at_c`, labelled as such; "" where `drift_seconds` is None."""
    by_s = drift_seconds(step, at_c)
    if by_s is None:
        return ""
    way = "shorter" if by_s < 0 else "longer"
    return f"{ADVICE}: held at {temperature(at_c, unit)}, about {_seconds(abs(by_s))} {way}. Your sheet decides."


def slope_words(step: PlannedStep) -> str:
    """The slope of the time table as Q10 and activation energy; "" where the table has fewer than two rows."""
    table, target_c = _table(step), step.target_c
    if table is None or target_c is None:
        return ""
    q10, energy = local_q10(table, target_c), activation_energy_kj_mol(table, target_c)
    if q10 is None or energy is None:
        return ""
    return f"Q10 {q10:.1f}, activation energy {energy:.0f} kJ/mol: the slope of the sheet's times here."


def _changes(step: PlannedStep, table: TimeTable, by_k: float) -> dict[str, float]:
    """The change of the planned time in s (negative: shorter) for warmer and cooler, where the table covers it."""
    target_c, planned_s = step.target_c, step.planned_s
    if target_c is None or planned_s is None:
        return {}
    found = {way: warmer_by_s(table, target_c, planned_s, by) for way, by in (("warmer", by_k), ("cooler", -by_k))}
    return {way: by_s for way, by_s in found.items() if by_s is not None}


def _table(step: PlannedStep) -> TimeTable | None:
    return TimeTable(step.table, step.table_tolerance_c) if step.table else None


def _seconds(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 59.5 else minutes_seconds(seconds)


# Warming the bottles, and loading film during or after it.


def warming_words(plan: Plan) -> str:
    """How long the bottles take to warm, and the time saved by loading film meanwhile; "" where they never do."""
    if plan.tempering is None or plan.tempering.ready_s is None:
        return ""
    saved_s = plan.loading.saved_s if plan.loading is not None and plan.loading.why == "room" else 0.0
    beside = f"; loading meanwhile saves {span(saved_s)}" if saved_s >= 60.0 else ""
    if plan.tempering.ready_span_s is None:
        return f"about {span(plan.tempering.ready_s)}{beside}"
    # Rounded as the sentences on the warming round it, away from its middle.
    early_s, late_s = plan.tempering.ready_span_s
    early_s = early_s if early_s < 60.0 else early_s // 60.0 * 60.0
    late_s = None if late_s is None else math.ceil(late_s / 60.0) * 60.0
    return f"{f'{span(early_s)} or later' if late_s is None else span_range(span(early_s), span(late_s))}{beside}"


def order_words(plan: Plan) -> str:
    """Why film is loaded after the bottles are warm; "" where it is loaded while they warm."""
    found = plan.loading
    if found is None or found.order == "while warming":
        return ""
    match found.why:
        case "too warm":
            when = span(found.over_s or 0.0)
            return f"after warming: {the(found.over)} may be too hot {when} into it, unseen"
        case "never ready":
            return "after warming: by the forecast the bottles are not in range together"
        case "no forecast":
            return "after warming: nothing tells how the bottles warm"
        case _:
            saves = f"; meanwhile would save {span(-found.saved_s)}" if found.saved_s <= -60.0 else ""
            return f"after warming, as the setup says{saves}"


# The fills of the tank.


def batches_words(plan: Plan) -> str:
    """The number of tank fills, the rolls of each, and why one fill is not enough."""
    sizes = ", then ".join(_size(batch) for batch in plan.batches)
    why = why_batches(plan)
    return f"{len(plan.batches)}: {sizes}" + (f". Why: {why}" if why else "")


def why_batches(plan: Plan) -> str:
    """Why the film needs more than one tank fill; "" where it does not."""
    ways = {batch.number: (batch.push, _way(plan, batch), batch.backing_on) for batch in plan.batches}
    alike = [batch for batch in plan.batches if [*ways.values()].count(ways[batch.number]) > 1]
    reasons = [_places(plan, alike)] if alike else []
    if len({push for push, _, _ in ways.values()}) > 1:
        reasons.append("another push takes another time in the developer")
    if len({backing for _, _, backing in ways.values()}) > 1:
        reasons.append("film that keeps its backing in the baths goes by itself, and last")
    for one, other in permutations(plan.batches, 2):
        apart = [step for step in ways[one.number][1] if step not in ways[other.number][1]]
        if one.push == other.push and apart:
            kinds = " and ".join(dict.fromkeys(plan.setup.rolls[roll].kind for roll in one.rolls))
            reasons.append(f"only {kinds} film goes through: {apart[0]}")
            break
    return "; ".join(reasons)


def _way(plan: Plan, batch: Batch) -> tuple[str, ...]:
    """Titles of the baths and washes of a fill up to its developer: rolls share a fill only where these agree."""
    found = []
    for step in plan.steps:
        if step.batch == batch.number and step.kind.traits.wets:
            found.append(step.title)
            if step.solution is not None and step.ends == "on time":
                break
    return tuple(found)


def _places(plan: Plan, batches: list[Batch]) -> str:
    tank = plan.setup.tank
    formats = (plan.setup.rolls[roll].format for batch in batches for roll in batch.rolls)
    wide = next((each for each in formats if each in MEDIUM_FORMATS), "")
    places = f"the tank has {counted(tank.places, 'place')}"
    if wide and tank.places_for_120 > 1:
        places = f"{places}, a {wide} takes {tank.places_for_120}"
    scarce = _scarcest(plan)
    if scarce is None or scarce.volume_ml >= tank.cover_ml[-1]:
        return places
    covered = sum(cover_ml <= scarce.volume_ml for cover_ml in tank.cover_ml)
    return f"{places}, and {bottle_words(scarce, plan.volume_unit)}, covers {covered} of them"


def _scarcest(plan: Plan) -> Bottle | None:
    """The bottle with the smallest volume of those poured into the tank; None without one."""
    poured = {step.solution for step in plan.steps if step.volume_ml is not None and step.storage != "tap"}
    bottles = (bottle for bottle in plan.setup.poured_from if bottle.solution in poured)
    return min(bottles, key=lambda bottle: bottle.volume_ml, default=None)


def _size(batch: Batch) -> str:
    rolls = counted(len(batch.rolls), "roll")
    return f"{rolls} pushed {batch.push:g}" if batch.push else rolls


def bottle_words(bottle: Bottle, unit: VolumeUnit) -> str:
    """A bottle and its volume: "Developer, soft bottle, 1 l"."""
    return f"{bottle.label or bottle.solution}, {volume(bottle.volume_ml, unit)}"
