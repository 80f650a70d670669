"""How older session events become today's: one function for each step of a version."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Data = dict[str, Any]
"""One event's fields as JSON values."""
Upcaster = Callable[[Data], Data]
"""Lifts the data of one kind by one version; pure, may return the same mapping changed or another."""


def _plan_in_millilitres(data: Data) -> Data:
    """Before version 2 of `session_began` a plan named no unit of volume: everything was shown in ml."""
    return {**data, "plan": {**data["plan"], "volume_unit": "ml"}}


def _bottles_in_the_bath_unnamed(data: Data) -> Data:
    """Before version 3 of `session_began` a plan did not say which bottles stand in the warm bath."""
    plan = data["plan"]
    if plan.get("tempering") is None:
        return data
    return {**data, "plan": {**plan, "tempering": {**plan["tempering"], "bottles": []}}}


def _baths_without_their_work(data: Data) -> Data:
    """Before version 4 of `session_began` a plan did not say what it yields, which baths bleach, nor its push.

    They are told by the ids that the shipped profiles use; without push rows no overrun is given in stops.
    """
    plan = data["plan"]
    steps = [{**s, "bleaches": s["solution"] in ("bleach", "bleach-fix"), "push": []} for s in plan["steps"]]
    reversal = any(step["solution"] == "reversal" for step in steps)
    bottles = [{**bottle, "suspect": "", "tested": None} for bottle in plan["setup"]["bottles"]]
    setup = {**plan["setup"], "bottles": bottles}
    yields = "positive" if reversal else "negative"
    return {**data, "plan": {**plan, "steps": steps, "setup": setup, "yields": yields}}


def _rolls_of_135_36(data: Data) -> Data:
    """Before version 5 of `session_began` the shelf counted in rolls of 80 in² (516.128 cm²).

    What a person had typed is left: it was a number of rolls. A 135-36 is 572 cm².
    """
    setup = data["plan"]["setup"]
    bottles = [
        {**each, "used_rolls": each["used_rolls"] * 516.128 / 572.0} if each["shelf_id"] is not None else each
        for each in setup["bottles"]
    ]
    return {**data, "plan": {**data["plan"], "setup": {**setup, "bottles": bottles}}}


def _water_changed_uncalled(data: Data) -> Data:
    """Before version 6 of `session_began` no wash called its changes of water."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "steps": [{**step, "water_every_s": None} for step in plan["steps"]]}}


def _moved_as_the_process_says(data: Data) -> Data:
    """Before version 7 of `session_began` nobody chose the agitation, and no bottle or fill told of a backing."""
    plan = data["plan"]
    steps = [
        {
            **step,
            "drift_table": [],
            "agitation": None if step["agitation"] is None else {**step["agitation"], "fixed": False},
        }
        for step in plan["steps"]
    ]
    bottles = [{**bottle, "backed_rolls": 0.0} for bottle in plan["setup"]["bottles"]]
    setup = {**plan["setup"], "bottles": bottles, "agitation": "as the process", "agitated_by": "inversion"}
    batches = [{**batch, "backing_on": False} for batch in plan["batches"]]
    return {**data, "plan": {**plan, "steps": steps, "setup": setup, "batches": batches}}


def _loaded_after_warming(data: Data) -> Data:
    """Before version 8 of `session_began` film was loaded once the bottles were warm, never before."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "setup": {**plan["setup"], "loading": "after warming"}, "loading": None}}


def _film_unsaid(data: Data) -> Data:
    """Before version 9 of `session_began` a roll said nothing of its stock, exposure and camera.

    Nor did a bath say which of the process's sources its figures come from: any of them, so all of them.
    """
    plan = data["plan"]
    setup, sources = plan["setup"], [source[0] for source in plan["sources"]]
    steps = [{**step, "sources": sources if step["solution"] is not None else []} for step in plan["steps"]]
    unsaid = {"stock": "", "exposure_index": None, "camera": "", "shot_at": "", "shot_on": None}
    rolls = [{**roll, **unsaid} for roll in setup["rolls"]]
    return {**data, "plan": {**plan, "steps": steps, "setup": {**setup, "rolls": rolls}}}


def _read_by_a_person(data: Data) -> Data:
    """Before version 2 of `reading_taken` every temperature was typed."""
    return {**data, "by": "person"}


def _film_was_developed(data: Data) -> Data:
    """Before version 10 of `session_began` no evening mixed a kit."""
    return {**data, "plan": {**data["plan"], "kit": None}}


def _price_uncounted(data: Data) -> Data:
    """Before version 11 of `session_began` a plan counted no price, and its forecast was one moment."""
    plan = data["plan"]
    tempering = plan["tempering"]
    span = None if tempering is None else {**tempering, "ready_span_s": None}
    return {**data, "plan": {**plan, "tempering": span, "cost": None}}


UPCASTERS: Mapping[tuple[str, int], Upcaster] = {
    ("session_began", 1): _plan_in_millilitres,
    ("session_began", 2): _bottles_in_the_bath_unnamed,
    ("session_began", 3): _baths_without_their_work,
    ("session_began", 4): _rolls_of_135_36,
    ("session_began", 5): _water_changed_uncalled,
    ("session_began", 6): _moved_as_the_process_says,
    ("session_began", 7): _loaded_after_warming,
    ("session_began", 8): _film_unsaid,
    ("session_began", 9): _film_was_developed,
    ("session_began", 10): _price_uncounted,
    ("reading_taken", 1): _read_by_a_person,
}
"""(kind, version it lifts from) -> function, for session events."""
