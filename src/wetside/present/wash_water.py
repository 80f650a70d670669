"""The warm water that the washes take, in words: how much, how often, and where it is kept warm. Pure."""

from __future__ import annotations

from wetside.domain.calc.wording import temperatures, volume
from wetside.domain.planning.plan import Plan, PlannedStep


def wash_water_ml(step: PlannedStep) -> float:
    """How much water a wash takes in all, in ml: its tank full, as often as it is filled; 0 where nothing says."""
    return step.fills_of_water(step.planned_s) * (step.volume_ml or 0.0)


def wash_water_words(plan: Plan, step: PlannedStep) -> str:
    """How much it takes, in a sentence."""
    each = volume(step.volume_ml or 0.0, plan.volume_unit)
    warm = f" at {temperatures(step.range_c, plan.unit)}" if step.range_c is not None else ""
    in_all = volume(wash_water_ml(step), plan.volume_unit)
    return f"{step.title}: {step.fills_of_water(step.planned_s)} fills of {each}, {in_all} of water{warm} in all."


def kept_warm(plan: Plan) -> str:
    """Where the water waits, in a sentence."""
    bucket = "the bucket that warmed the bottles" if plan.water is not None else "a bucket of warm water"
    return f"Keep it warm in jugs that stand in {bucket}."


def plan_wash_water(plan: Plan) -> tuple[str, ...]:
    """A sentence for each wash of tonight, then where the water is kept; nothing where no wash says how often."""
    washes = [step for step in plan.steps if wash_water_ml(step)]
    if not washes:
        return ()
    named = [
        f"Batch {step.batch}: {words}" if len(plan.batches) > 1 else words
        for step in washes
        if (words := wash_water_words(plan, step))
    ]
    return (*named, kept_warm(plan))
