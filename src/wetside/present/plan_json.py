"""A plan as plain data for other programs: stable keys in base units. Nothing is worked out or shown here."""

from __future__ import annotations

from typing import Any

from wetside.domain.planning.plan import LoadingOrder, Plan, PlannedStep, Tempering, WaterPlan
from wetside.domain.planning.warm_bath import boiled_for, water_in_all
from wetside.domain.session.developer import pours
from wetside.present.plan_words import agitation_effect


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan with the stable keys of `wetside plan --json`; seconds, °C, millilitres, rolls counted from 1.

    `water` and `tempering` are None where nothing is tempered, `loading` where the process has one order only.
    """
    setup = plan.setup
    return {
        "profile": {"id": plan.profile_id, "title": plan.profile_title, "sha256": plan.profile_sha256},
        "batches": [
            {
                "number": batch.number,
                "rolls": [setup.rolls[roll].label for roll in batch.rolls],
                "push": batch.push,
                "backing_on": batch.backing_on,
                "volume_ml": batch.volume_ml,
            }
            for batch in plan.batches
        ],
        "agitation": {
            "pace": setup.agitation,
            "by": setup.agitated_by,
            "effect": agitation_effect(setup.agitation, setup.agitated_by),
        },
        "steps": [_step(step) for step in plan.steps],
        "pours": [
            {
                "step": pour.step,
                "batch": pour.batch,
                "volume_ml": pour.volume_ml,
                "tank_c": pour.tank_c,
                "drop_c": pour.drop_c,
                "dry_drop_c": pour.dry_drop_c,
                "bottle_c": pour.bottle_c,
            }
            for pour in pours(plan)
        ],
        "water": None if plan.water is None else _water(plan, plan.water),
        "water_in_all": _water_in_all(plan),
        "cost": None
        if plan.cost is None
        else {
            "evening": plan.cost.evening,
            "per_roll": plan.cost.per_roll,
            "without": list(plan.cost.without),
        },
        "tempering": None if plan.tempering is None else _tempering(plan.tempering),
        "loading": None if plan.loading is None else _loading(plan.loading),
        "timeline": {
            "total_s": plan.total_s,
            "dark_s": plan.dark_s,
            "rows": [
                {
                    "row": row.row,
                    "label": row.label,
                    "start_s": row.start_s,
                    "end_s": row.end_s,
                    "dark": row.dark,
                }
                for row in plan.timeline
            ],
        },
        "warnings": [{"code": worry.code, "text": worry.text} for worry in plan.warnings],
    }


def _step(step: PlannedStep) -> dict[str, Any]:
    factors = step.factors
    return {
        "id": step.id,
        "batch": step.batch,
        "roll": None if step.roll is None else step.roll + 1,
        "stage": step.stage,
        "kind": step.kind.value,
        "solution": step.solution,
        "planned_s": step.planned_s,
        "target_c": step.target_c,
        "range_c": None if step.range_c is None else list(step.range_c),
        "ends": step.ends,
        "agitation": None
        if step.agitation is None
        else {
            "first_s": step.agitation.first_s,
            "every_s": step.agitation.every_s,
            "for_s": step.agitation.for_s,
        },
        "factors": {"temperature": factors.temperature, "use": factors.use, "push": factors.push},
    }


def _loading(loading: LoadingOrder) -> dict[str, Any]:
    return {
        "order": loading.order,
        "why": loading.why,
        "saved_s": loading.saved_s,
        "over": loading.over,
        "over_s": loading.over_s,
    }


def _water(plan: Plan, water: WaterPlan) -> dict[str, Any]:
    boiled = boiled_for(plan.setup.water, water.target_c)
    return {
        "target_c": water.target_c,
        "volume_ml": water.volume_ml,
        "hot_ml": water.hot_ml,
        "cold_ml": water.cold_ml,
        "boiled": None
        if boiled is None
        else {
            "boiling_ml": boiled.boiling_ml,
            "tap_ml": boiled.tap_ml,
            "energy_j": boiled.energy_j,
            "kettle_s": boiled.kettle_s,
        },
        "words": list(water.words),
    }


def _water_in_all(plan: Plan) -> dict[str, float]:
    hot_ml, cold_ml = water_in_all(plan)
    return {"volume_ml": hot_ml + cold_ml, "hot_ml": hot_ml, "cold_ml": cold_ml}


def _tempering(tempering: Tempering) -> dict[str, Any]:
    return {
        "ready_s": tempering.ready_s,
        "ready_span_s": None if tempering.ready_span_s is None else list(tempering.ready_span_s),
        "leaves_range_s": tempering.leaves_range_s,
        "curve": [list(row) for row in tempering.curve],
    }
