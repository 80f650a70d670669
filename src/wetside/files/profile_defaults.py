"""Derives values that a profile with a base may omit, from the rest of the whole document.

These are: sources of figures, how a bath is poured, its funnel, the lines to label, cap and rinse, its readings,
and which residue must not reach it. Only a solution with a `role` gets lines and rules; written values take
precedence. A derived value has the place of the value it follows from, marked as derived.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from wetside.domain.profile.model import BLEACHING, MOST_SENTENCE
from wetside.files.profile_default_steps import derive_steps
from wetside.files.profile_merge import LEAVE_OUT, Find, Node, node, plain, strings
from wetside.files.units import quoted
from wetside.present.sentences import word_table

SHEET: Final = "sheet"
"""The source of figures that a file states without one."""
_FIGURES: Final = {
    **dict.fromkeys(("table", "time", "table_tolerance", "shortest"), "table"),
    "target": "target",
    "range": "range",
    "drift_table": "drift",
    "use": "use",
    "push": "push",
    **dict.fromkeys(("capacity", "stretch"), "capacity"),
    **dict.fromkeys(("life_full", "life_part"), "life"),
    "hazards": "hazards",
    **dict.fromkeys(("looks_healthy", "looks_spent"), "looks"),
    "disposal": "disposal",
    "mixing": "mixing",
}
"""For each key of a solution, the name of its figure in `sources`."""
STEP_FIGURES: Final = ("time", "agitation", "readings", "lead_in", "bell_every")
"""The keys of a step that hold figures."""


def name_sources(own: Node, base: Node) -> None:
    """Name the kit's sheet as the source of every figure that this file states without one.

    A figure of the base keeps its source; one that replaces it must not keep the base's source.
    """
    sheet = False
    for id_, solution in own.table("solutions").items():
        if not isinstance(solution.value, dict) or solution.at("source") is not None:
            continue
        if id_ not in base.table("solutions"):
            solution.put("source", SHEET)
            sheet = True
            continue
        stated = {_FIGURES[key] for key in solution.value if key in _FIGURES}
        named = solution.fill("sources", {})
        if isinstance(named.value, dict):
            for figure in sorted(stated - named.value.keys()):
                named.put(figure, SHEET, solution)
                sheet = True
    known = {step.get("id") for step in base.entries("steps")}
    for step in own.entries("steps"):
        keys = STEP_FIGURES[:2] if step.get("id") in known else (*STEP_FIGURES, "solution")
        if step.at("source") is None and any(step.at(key) is not None for key in keys):
            step.put("source", SHEET)
            sheet = True
    if sheet and SHEET not in own.table("sources"):
        title = f"The kit's own sheet, as typed in {quoted(own.place.name, 80)}"
        sources = own.value.setdefault("sources", Node({}, own.place))
        if isinstance(sources.value, dict):
            sources.put(SHEET, {"title": title, "sure": "kit sheet"}, own)


def drop_stretches(own: Node, base: Node) -> None:
    """Remove a solution's `stretch` from the base where this file states a capacity of its own and no stretch.

    The base's stretch is one of the base's capacity; beside another it would stand as the kit sheet's own.
    """
    for id_, solution in own.table("solutions").items():
        inherited, left_out = base.table("solutions").get(id_), solution.at(LEAVE_OUT)
        said = solution.at("stretch") is not None or (left_out and "stretch" in strings(plain(left_out)))
        if inherited is not None and solution.at("capacity") is not None and not said:
            inherited.value.pop("stretch", None)


def link_ranges(base: Node) -> None:
    """Mark each reading that accepts its solution's whole range, so that it follows a changed range."""
    for step in base.entries("steps"):
        for reading in step.entries("readings"):
            solution = base.table("solutions").get(str(reading.get("of")))
            stated = reading.at("range")
            if stated is not None and solution is not None and solution.get("range") == plain(stated):
                reading.value["range"] = Node(True, stated.place)


def derive(whole: Node, find: Find) -> None:
    """Derive, in place, all omitted values."""
    for id_, solution in whole.table("solutions").items():
        if isinstance(solution.value, dict):
            _complete(whole, id_, solution, find)
    derive_steps(whole)
    _add_residue_rules(whole)
    _put_in_order_of_pour(whole)
    _drop_unused(whole)
    whole.value.pop("makes", None)


def _complete(whole: Node, id_: str, solution: Node, find: Find) -> None:
    path = ("solutions", id_)
    if (time := solution.at("time")) is not None:
        del solution.value["time"]
        if solution.at("target") is None:
            find(time.place, (*path, "time"), 'say at which temperature: target = "38 °C"')
        else:
            row = Node([solution.value["target"], time], time.place)
            solution.put("table", [row], time)
    if (role := solution.at("role")) is not None:
        solution.fill("title", id_.replace("-", " ").capitalize(), role)
        solution.fill("storage", "bottle", role)
        if role.value in BLEACHING:
            solution.fill("bleaches", True, role)
        solution.fill("ends", "on time" if role.value == "developer" else "not before", role)
    for key in ("capacity", "stretch", "use"):
        if key in solution.value:
            solution.value[key] = _per_volume(solution.value[key], whole.at("makes"), (*path, key), find)


def _per_volume(of: Node, makes: Node | None, path: tuple[str, ...], find: Find) -> Node:
    """ "8 rolls" as "8 rolls per 1 l", the volume that the kit makes; one with a volume is unchanged."""
    match of.value:
        case list():
            return Node([_per_volume(each, makes, path, find) for each in of.value], of.place)
        case dict():
            return Node({k: _per_volume(each, makes, path, find) for k, each in of.value.items()}, of.place)
        case str() if re.search(r"\d ?(?:rolls?|films?)(?: of [\w-]+)?$", of.value):  # rolls without a volume
            if makes is not None and isinstance(makes.value, str):
                return Node(f"{of.value} per {makes.value}", of.place)
            find(of.place, path, f'"{quoted(of.value)}": in how much? Write makes = "1 l" at the top')
    return of


# --------------------------------------------------------------- residues


def _add_residue_rules(whole: Node) -> None:
    """Add the residue rules that follow from the baths' roles; written rules take precedence."""
    roles = {id_: each for id_, each in whole.table("solutions").items() if each.get("role") is not None}
    rules = whole.value.setdefault("residue", Node([], whole.place))
    if not isinstance(rules.value, list):
        return
    written = {(rule.get("residue"), rule.get("solution")) for rule in whole.entries("residue")}
    why = word_table("profile_defaults")["residues"]
    for id_, of in roles.items():
        for other, reached in roles.items():
            said = why.get(str(reached.get("role")), {}).get(str(of.get("role")))
            if said is not None and (id_, other) not in written:
                said = said.format(str(of.get("title")).lower(), str(reached.get("title")).lower())
                said = (said[:1].upper() + said[1:])[:MOST_SENTENCE]
                rule = {"residue": id_, "solution": other, "why": said}
                rules.value.append(node(rule, of.value["role"].derived))


# ------------------------------------------------------ what nothing uses


def _put_in_order_of_pour(whole: Node) -> None:
    """Sort the solutions by their first pour, water last."""
    held = whole.at("solutions")
    if held is None or not isinstance(held.value, dict):
        return
    poured = [step.get("solution") for step in whole.entries("steps")]

    def place(item: tuple[str, Node]) -> tuple[bool, int]:
        id_, solution = item
        tap = solution.get("storage") == "tap"
        return tap, 0 if tap else poured.index(id_) if id_ in poured else len(poured)

    held.value = dict(sorted(held.value.items(), key=place))


def _drop_unused(whole: Node) -> None:
    """Remove inherited entries that no step uses: sources, cautions, vessels, gear, stages."""
    steps, solutions = whole.entries("steps"), whole.table("solutions").values()
    _keep(whole, "vessels", _said(steps, "through", "into", "back_through", "touches"))
    _keep(whole, "cautions", _said(steps, "cautions") | _said(solutions, "needs_caution"))
    _keep(whole, "stages", _said(steps, "stage"))
    if not any(step.get("list_gear") is True for step in steps):
        _keep(whole, "gear", _said(steps, "list_gear"))
    figures = [each.value for solution in solutions for each in solution.table("sources").values()]
    users = [*solutions, *whole.table("cautions").values(), *steps]
    _keep(whole, "sources", {*strings(figures), *_said(users, "source"), "practice"})


def _said(nodes: Iterable[Node], *keys: str) -> set[str]:
    return {each for of in nodes for key in keys for each in strings(of.get(key))}


def _keep(whole: Node, name: str, used: set[str]) -> None:
    """Reduce a table, or a list of entries with ids, to entries that are used or stated in the file itself."""
    mine, held = whole.place.name, whole.at(name)
    if held is None:
        return
    if isinstance(held.value, dict):
        held.value = {id_: each for id_, each in held.value.items() if id_ in used or each.place.name == mine}
    elif isinstance(held.value, list):
        ids = [each.get("id") for each in held.value]
        held.value = [
            each
            for id_, each in zip(ids, held.value, strict=True)
            if not isinstance(id_, str) or id_ in used or each.place.name == mine
        ]
