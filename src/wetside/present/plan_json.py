"""A plan as plain data for other programs: stable keys in base units. Pure."""

from __future__ import annotations

from typing import Any

from msgspec.structs import asdict, replace

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Units
from wetside.domain.planning.warm_bath import boiled_for, water_in_all
from wetside.domain.session.developer import pours
from wetside.present.message_words import in_words, said_caution
from wetside.present.plan_words import agitation_effect
from wetside.present.tempering_text import bath_water, plan_answers


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan with the published keys of `wetside plan --json`: seconds, °C, millilitres, rolls counted from 1.

    `water` and `tempering` are None where nothing is tempered, `loading` where the process allows one order only.
    """
    setup = plan.setup
    return {
        "profile": {"id": plan.profile_id, "title": plan.profile_title, "sha256": plan.profile_sha256},
        "batches": [
            {
                "number": batch.number,
                "rolls": [setup.rolls[roll].label for roll in batch.rolls],
                **_fields(batch, "push", "backing_on", "volume_ml"),
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
            _fields(pour, "step", "batch", "volume_ml", "tank_c", "drop_c", "dry_drop_c", "bottle_c")
            for pour in pours(plan)
        ],
        "water": _water(plan),
        "water_in_all": _water_in_all(plan),
        "cost": _fields(plan.cost, "evening", "per_roll", "without"),
        "tempering": _fields(plan.tempering, "ready_s", "ready_span_s", "leaves_range_s", "curve"),
        "loading": _fields(plan.loading, "order", "why", "saved_s", "over", "over_s"),
        "timeline": {
            "total_s": plan.total_s,
            "dark_s": plan.dark_s,
            "rows": [_fields(row, "row", "label", "start_s", "end_s", "dark") for row in plan.timeline],
        },
        "warnings": warnings_json(plan),
    }


def warnings_json(plan: Plan) -> list[dict[str, str]]:
    """The warnings as they are published: code and text."""
    return [{"code": each.code, "text": in_words(each, plan.units)} for each in plan.warnings]


def plan_in_words(plan: Plan) -> dict[str, Any]:
    """The plan by the published names of its fields, in words where earlier versions kept these."""
    steps = tuple(_step_in_words(step, plan.units) for step in plan.steps)
    tempering = plan.tempering and asdict(plan.tempering) | {"words": plan_answers(plan)}
    water = plan.water and asdict(plan.water) | {"words": bath_water(plan)}
    said = {"warnings": warnings_json(plan), "steps": steps, "tempering": tempering, "water": water}
    return asdict(plan) | said


def _step_in_words(step: PlannedStep, units: Units) -> dict[str, Any]:
    fields = {"in_words" if name == "about" else name: value for name, value in asdict(step).items()}
    fields |= {
        "in_words": in_words(step.about, units),
        "instruction": in_words(step.instruction, units),
        "safe_way_out": in_words(step.safe_way_out, units),
        "cautions": tuple(said_caution(each, units) for each in step.cautions),
        "ticks": tuple(replace(each, text=in_words(each.text, units)) for each in step.ticks),
    }
    if step.agitation is not None:
        fields["agitation"] = asdict(step.agitation) | {"words": in_words(step.agitation.words, units)}
    return fields


def _fields(value: object, *names: str) -> Any:
    """The named fields of a value as a dict, tuples as lists; None for None."""
    return None if value is None else {name: _listed(getattr(value, name)) for name in names}


def _listed(value: object) -> object:
    return [_listed(each) for each in value] if isinstance(value, tuple) else value


def _step(step: PlannedStep) -> dict[str, Any]:
    return {
        "id": step.id,
        "batch": step.batch,
        "roll": None if step.roll is None else step.roll + 1,
        "stage": step.stage,
        "kind": step.kind.value,
        **_fields(step, "solution", "planned_s", "target_c", "range_c", "ends"),
        "agitation": _fields(step.agitation, "first_s", "every_s", "for_s"),
        "factors": _fields(step.factors, "temperature", "use", "push"),
    }


def _water(plan: Plan) -> dict[str, Any] | None:
    if plan.water is None:
        return None
    boiled = boiled_for(plan.setup.water, plan.water.target_c)
    return {
        **_fields(plan.water, "target_c", "volume_ml", "hot_ml", "cold_ml"),
        "boiled": _fields(boiled, "boiling_ml", "tap_ml", "energy_j", "kettle_s"),
        "words": list(bath_water(plan)),
    }


def _water_in_all(plan: Plan) -> dict[str, float]:
    hot_ml, cold_ml = water_in_all(plan)
    return {"volume_ml": hot_ml + cold_ml, "hot_ml": hot_ml, "cold_ml": cold_ml}
