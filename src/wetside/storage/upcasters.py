"""Lifts session events of earlier versions: one function for each change of a kind's shape."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

from wetside.domain.messages import AS_WRITTEN

Data = dict[str, Any]
"""One event's fields as JSON values."""
Upcaster = Callable[[Data], Data]
"""Converts the data of one kind to the next version. It may change its argument or return another mapping."""


def as_written(words: str, code: str = AS_WRITTEN) -> Data:
    """The words of an earlier version as the fields of a message (`messages.as_written`)."""
    return {"code": code, "values": [[AS_WRITTEN, words]]}


def _of_plan(change: Callable[[Data], None]) -> Upcaster:
    """The upcaster of a session's beginning that changes its plan in this way."""

    def upcast(data: Data) -> Data:
        change(data["plan"])
        return data

    return upcast


@_of_plan
def _add_volume_unit(plan: Data) -> None:
    """1 → 2: a plan named no unit of volume; everything was shown in ml."""
    plan["volume_unit"] = "ml"


@_of_plan
def _add_tempered_bottles(plan: Data) -> None:
    """2 → 3: a plan did not list the bottles that stand in the warm bath."""
    if plan.get("tempering") is not None:
        plan["tempering"]["bottles"] = []


@_of_plan
def _add_bath_roles(plan: Data) -> None:
    """3 → 4: a plan named neither its yield, nor the baths that bleach, nor its push rows.

    They are taken from the ids of the shipped profiles; without push rows no overrun is given in stops.
    """
    for step in plan["steps"]:
        step.update(bleaches=step["solution"] in ("bleach", "bleach-fix"), push=[])
    for bottle in plan["setup"]["bottles"]:
        bottle.update(suspect="", tested=None)
    reversal = any(step["solution"] == "reversal" for step in plan["steps"])
    plan["yields"] = "positive" if reversal else "negative"


@_of_plan
def _convert_to_rolls_of_135_36(plan: Data) -> None:
    """4 → 5: the shelf counted in rolls of 80 in² (516.128 cm²); a 135-36 has 572 cm².

    A figure that a person typed stays: it was a number of rolls.
    """
    for bottle in plan["setup"]["bottles"]:
        if bottle["shelf_id"] is not None:
            bottle["used_rolls"] *= 516.128 / 572.0


@_of_plan
def _add_water_changes(plan: Data) -> None:
    """5 → 6: no wash had calls for its changes of water."""
    for step in plan["steps"]:
        step["water_every_s"] = None


@_of_plan
def _add_agitation_and_backing(plan: Data) -> None:
    """6 → 7: agitation was not chosen, and neither bottles nor fills recorded a film's backing."""
    for step in plan["steps"]:
        step["drift_table"] = []
        if step["agitation"] is not None:
            step["agitation"]["fixed"] = False
    for bottle in plan["setup"]["bottles"]:
        bottle["backed_rolls"] = 0.0
    for batch in plan["batches"]:
        batch["backing_on"] = False
    plan["setup"].update(agitation="as the process", agitated_by="inversion")


@_of_plan
def _add_loading_order(plan: Data) -> None:
    """7 → 8: film was always loaded after the bottles were warm."""
    plan["setup"]["loading"], plan["loading"] = "after warming", None


@_of_plan
def _add_film_details_and_sources(plan: Data) -> None:
    """8 → 9: a roll had no stock, exposure or camera, and a bath no list of its sources.

    A bath's figures may come from any source of the process, so all are listed.
    """
    for step in plan["steps"]:
        step["sources"] = [source[0] for source in plan["sources"]] if step["solution"] is not None else []
    for roll in plan["setup"]["rolls"]:
        roll.update(stock="", exposure_index=None, camera="", shot_at="", shot_on=None)


@_of_plan
def _add_kit(plan: Data) -> None:
    """9 → 10: no session mixed a kit."""
    plan["kit"] = None


@_of_plan
def _add_cost_and_ready_span(plan: Data) -> None:
    """10 → 11: a plan had no price, and its warming forecast was one moment."""
    plan["cost"] = None
    if plan["tempering"] is not None:
        plan["tempering"]["ready_span_s"] = None


@_of_plan
def _add_values_of_the_bath(plan: Data) -> None:
    """11 → 12: the forecast of the warm bath and its water were kept in words alone."""
    if plan["tempering"] is not None:
        plan["tempering"].update(forecasts=None, add=None)
    if plan["water"] is not None:
        plan["water"]["too_small"] = None


@_of_plan
def _warnings_as_values(plan: Data) -> None:
    """12 → 13: of its warnings a plan kept the code and the sentence."""
    plan["warnings"] = [as_written(each["text"], each["code"]) for each in plan["warnings"]]


@_of_plan
def _judgements_of_bottles_as_values(plan: Data) -> None:
    """13 → 14: that a bottle is spent or suspect was kept in words."""
    for bottle in plan["setup"]["bottles"]:
        for name in ("spent", "suspect"):
            bottle[name] = as_written(bottle[name]) if bottle[name] else None


@_of_plan
def _reasons_of_times_as_values(plan: Data) -> None:
    """14 → 15: why a time is what it is, and how a tank is rotated, was kept in words."""
    for step in plan["steps"]:
        words = step.pop("in_words")
        step["about"] = as_written(words) if words else None
        if step["agitation"] is not None and step["agitation"]["words"] == _ROTATED:
            step["agitation"]["words"] = {"code": "rotated", "values": []}


_ROTATED: Final = "Turn the reels by the stick, or the capped tank on rollers, both ways."


@_of_plan
def _texts_of_mixing_as_values(plan: Data) -> None:
    """15 → 16: the texts of an evening that mixes a kit were kept in words."""
    for step in plan["steps"] if plan["kit"] is not None else ():
        texts = [(step, ("instruction", "safe_way_out")), *((tick, ("text",)) for tick in step["ticks"])]
        texts += [
            (caution, ("hazard", "consequence", "avoid"))
            for caution in step["cautions"]
            if caution["id"] in ("dust", "hot-water")
        ]
        for of, names in texts:
            of.update({name: as_written(of[name]) for name in names})


@_of_plan
def _words_of_the_bath_as_values(plan: Data) -> None:
    """16 → 17: what earlier versions had said of the warm bath and its water was kept as it was."""
    for of in (plan["tempering"], plan["water"]):
        if of is not None:
            of["words"] = [as_written(words) for words in of["words"]]


def _add_reader(data: Data) -> Data:
    """1 → 2: every temperature was typed."""
    return {**data, "by": "person"}


def _look_as_code(data: Data) -> Data:
    """1 → 2: a look was a sentence, "Thin all over; edge numbers weak"; one in other words stays."""
    look = None
    if data["about"] == "look":
        words, _, edge = data["text"].rpartition("; edge numbers ")
        if not words or edge not in ("normal", "weak", "dense", "missing", "fogged"):
            words, edge = data["text"], ""
        yields, fault = _looks_of_version_1().get(words, ("negative", "own words"))
        if fault != "own words" or edge:
            look = {"fault": fault, "edge": edge, "yields": yields}
            data = {**data, "text": words if fault == "own words" else ""}
    return {**data, "look": look}


@cache
def _looks_of_version_1() -> dict[str, tuple[str, str]]:
    """By its words: whose table a fault is in, and its id."""
    import tomllib  # old journals only

    table = tomllib.loads(Path(__file__).with_name("looks_of_version_1.toml").read_text("utf-8"))
    return {words: (yields, id_) for yields, ids in table.items() for id_, words in ids.items()}


def _add_why_shut(data: Data) -> Data:
    """1 → 2: why the gate was shut was kept in words alone."""
    return {**data, "why": None}


def _add_reading_of_the_move(data: Data) -> Data:
    """1 → 2: why an end moved was kept in words alone."""
    return {**data, "by": None}


def _why_missed_as_code(data: Data) -> Data:
    """1 → 2: why a call was missed was kept in words."""
    codes = {"the machine slept": "asleep", "the guide was not there": "away"}
    return {**data, "why": codes.get(data["why"], data["why"])}


def _why_overridden_as_values(data: Data) -> Data:
    """2 → 3: why a gate was shut in words, beside the value; an offered reason was kept in words."""
    words, reason = data.pop("text"), _OFFERED.get(data["reason"])
    data["why"] = as_written(words) if data["why"] is None else data["why"]
    return data if reason is None else {**data, "reason": {"code": reason, "values": []}}


def _note_as_value(data: Data) -> Data:
    """2 → 3: what went wrong in the dark was kept in words."""
    trouble = _OFFERED.get(data["text"]) if data["about"] == "dark" else None
    return data if trouble is None else {**data, "text": {"code": trouble, "values": []}}


_OFFERED: Final = {
    "Light got in": "light got in",
    "Film fell down": "film fell down",
    "A reel jammed": "reel jammed",
    "I hurt myself": "hurt",
    "Done already, but not in this order": "done in another order",
    "Not possible tonight; I accept the risk": "not possible tonight",
    "Not needed tonight": "not needed tonight",
    "My kit's own sheet says otherwise": "sheet says otherwise",
}
"""The codes of what was offered to choose from, by the words of then."""


def _why_as_value(*codes: str) -> Upcaster:
    """The words in which a reason was kept become a value; texts of `codes` are none."""

    def upcast(data: Data) -> Data:
        words = data["why"]
        return {**data, "why": words if words in codes else as_written(words) if words else None}

    return upcast


def _mishap_as_value(data: Data) -> Data:
    """1 → 2: earlier versions kept a description in words."""
    return {**data, "text": as_written(f"{data['text']}.") if data["text"] else None}


def _why_closed_as_code(data: Data) -> Data:
    """1 → 2: why a session was abandoned was kept in words."""
    return {
        **data,
        "reason": "safe way out" if data["reason"] == "stopped by the safe way out" else data["reason"],
    }


UPCASTERS: Final[Mapping[str, tuple[Upcaster, ...]]] = {
    "session_began": (
        _add_volume_unit,
        _add_tempered_bottles,
        _add_bath_roles,
        _convert_to_rolls_of_135_36,
        _add_water_changes,
        _add_agitation_and_backing,
        _add_loading_order,
        _add_film_details_and_sources,
        _add_kit,
        _add_cost_and_ready_span,
        _add_values_of_the_bath,
        _warnings_as_values,
        _judgements_of_bottles_as_values,
        _reasons_of_times_as_values,
        _texts_of_mixing_as_values,
        _words_of_the_bath_as_values,
    ),
    "reading_taken": (_add_reader,),
    "note_added": (_look_as_code, _note_as_value),
    "gate_overridden": (_add_why_shut, _why_overridden_as_values),
    "end_moved": (_add_reading_of_the_move, _why_as_value()),
    "mishap_happened": (_mishap_as_value,),
    "cue_missed": (_why_missed_as_code, _why_as_value("asleep", "away")),
    "session_closed": (_why_closed_as_code,),
}
"""For each kind of session event whose shape has changed: a function for each change, the oldest first."""
