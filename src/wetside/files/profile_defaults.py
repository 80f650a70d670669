"""What follows from the rest of a profile and need not be typed, worked out on the whole document.

One job: fill in what a file that stands on another leaves out: where figures come from, how a bath is poured, its
funnel, the lines that label, cap and rinse, its readings, and which residue must not reach it. Only a solution
that says its `role` gets lines and rules; what is written always stands. What is worked out carries the place of
what it follows from, marked as derived.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from wetside.files.bath_roles import RESIDUES, residue_words
from wetside.files.profile_default_lines import derive_lines
from wetside.files.profile_default_steps import derive_steps
from wetside.files.profile_merge import Find, Node, Place, plain, strings
from wetside.files.units import quoted

SHEET: Final = "sheet"
"""The source of figures that a file states and names no source for."""
_SHEET_WORDS: Final = "The kit's own sheet, as typed in"
_GROUPS: Final = {
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
"""Which figure of a solution belongs to which entry of its `sources`."""
_STEP_FIGURES: Final = ("time", "agitation", "readings", "lead_in", "bell_every", "solution")


def figures_sourced(own: Node, base: Node) -> None:
    """Name the kit's sheet as the source of every figure that this file states without one.

    A figure of the base keeps its source; one that is stated anew must not go on under the base's.
    """
    sheet = False
    for id_, solution in own.table("solutions").items():
        if not isinstance(solution.value, dict) or solution.at("source") is not None:
            continue
        place = derived(solution.place)
        if id_ not in base.table("solutions"):
            solution.set("source", SHEET, place)
            sheet = True
            continue
        stated = {_GROUPS[key] for key in solution.value if key in _GROUPS}
        named = solution.value.setdefault("sources", Node({}, place))
        if not isinstance(named.value, dict):
            continue
        for group in sorted(stated - named.value.keys()):
            named.value[group] = Node(SHEET, place)
            sheet = True
    known = {step.get("id") for step in base.entries("steps")}
    for step in own.entries("steps"):
        keys = _STEP_FIGURES[:2] if step.get("id") in known else _STEP_FIGURES
        if step.at("source") is None and any(step.at(key) is not None for key in keys):
            step.set("source", SHEET, derived(step.place))
            sheet = True
    if sheet and SHEET not in own.table("sources"):
        title = f"{_SHEET_WORDS} {quoted(own.place.name, 80)}"
        sources = own.value.setdefault("sources", Node({}, own.place))
        if isinstance(sources.value, dict):
            sources.set(SHEET, {"title": title, "sure": "kit sheet"}, replace(own.place, derived=True))


def readings_follow(base: Node) -> None:
    """Have every reading that accepts its solution's whole range go on doing so when that range is changed."""
    for step in base.entries("steps"):
        for reading in step.entries("readings"):
            solution = base.table("solutions").get(str(reading.get("of")))
            stated = reading.at("range")
            if stated is not None and solution is not None and solution.get("range") == plain(stated):
                reading.value["range"] = Node(True, stated.place)


def derive(whole: Node, find: Find) -> None:
    """Fill in, in place, what follows from the rest."""
    for id_, solution in whole.table("solutions").items():
        if isinstance(solution.value, dict):
            _solution(whole, id_, solution, find)
    derive_steps(whole)
    derive_lines(whole)
    _residues(whole)
    _drop_unused(whole)
    whole.value.pop("makes", None)


def derived(place: Place) -> Place:
    """The same place, for what is worked out from what stands there."""
    return replace(place, derived=True)


# ------------------------------------------------------------- solutions


def _solution(whole: Node, id_: str, solution: Node, find: Find) -> None:
    path = ("solutions", id_)
    if (time := solution.at("time")) is not None:
        del solution.value["time"]
        if solution.at("target") is None:
            find(time.place, (*path, "time"), 'say at which temperature: target = "38 °C"')
        else:
            rows = [[solution.value["target"], time]]
            solution.value["table"] = Node([Node(row, time.place) for row in rows], derived(time.place))
    if solution.at("role") is not None:
        place = derived(solution.value["role"].place)
        solution.value.setdefault("title", Node(_titled(id_), place))
        solution.value.setdefault("storage", Node("bottle", place))
        if solution.get("role") in ("bleach", "bleach-fix"):
            solution.value.setdefault("bleaches", Node(True, place))
        on_time = solution.get("role") == "developer"
        solution.value.setdefault("ends", Node("on time" if on_time else "not before", place))
    makes = whole.at("makes")
    for key in ("capacity", "stretch", "use"):
        if key in solution.value:
            solution.value[key] = _per_volume(solution.value[key], makes, (*path, key), find)


def _titled(id_: str) -> str:
    return id_.replace("-", " ").capitalize()


_BARE_ROLLS: Final = re.compile(r"\d ?(?:rolls?|films?)(?: of [\w-]+)?$")
"""A number of rolls at the end of a text: of no volume yet."""


def _per_volume(of: Node, makes: Node | None, path: tuple[str, ...], find: Find) -> Node:
    """ "8 rolls" as "8 rolls per 1 l", the volume that the kit makes; what names a volume already stays."""
    match of.value:
        case list():
            return Node([_per_volume(each, makes, path, find) for each in of.value], of.place)
        case dict():
            return Node({k: _per_volume(each, makes, path, find) for k, each in of.value.items()}, of.place)
        case str() if _BARE_ROLLS.search(of.value):
            if makes is None or not isinstance(makes.value, str):
                find(of.place, path, f'"{quoted(of.value)}": in how much? Write makes = "1 l" at the top')
                return of
            return Node(f"{of.value} per {makes.value}", of.place)
    return of


# --------------------------------------------------------------- residues


def _residues(whole: Node) -> None:
    """What must not reach what, by what the baths are; a rule that is written stands in its place."""
    roles = {
        id_: solution
        for id_, solution in whole.table("solutions").items()
        if isinstance(solution.value, dict) and solution.get("role") is not None
    }
    rules = whole.value.setdefault("residue", Node([], whole.place))
    if not isinstance(rules.value, list):
        return
    written = {(rule.get("residue"), rule.get("solution")) for rule in whole.entries("residue")}
    for id_, of in roles.items():
        for other, reached in roles.items():
            pair = (str(of.get("role")), str(reached.get("role")))
            if pair in RESIDUES and (id_, other) not in written:
                why = residue_words(pair, str(of.get("title")), str(reached.get("title")))
                place = derived(of.value["role"].place)
                rule = {"residue": id_, "solution": other, "why": why}
                rules.value.append(Node({key: Node(value, place) for key, value in rule.items()}, place))


# ------------------------------------------------------ what nothing uses


def _drop_unused(whole: Node) -> None:
    """Take out what other files define and no step uses: sources, cautions, vessels, gear, stages."""
    mine = whole.place.name
    steps = whole.entries("steps")
    needed = _said(list(whole.table("solutions").values()), "needs_caution")
    _in_order_of_pour(whole, steps)
    used = {
        "vessels": _said(steps, "through", "into", "back_through", "touches"),
        "cautions": _said(steps, "cautions"),
        "stages": _said(steps, "stage"),
        "gear": _said(steps, "list_gear"),
    }
    for table in ("vessels", "cautions"):
        held = whole.at(table)
        if held is not None and isinstance(held.value, dict):
            held.value = {
                id_: each
                for id_, each in held.value.items()
                if id_ in used[table] or each.place.name == mine or (table == "cautions" and id_ in needed)
            }
    for table in ("stages", "gear"):
        held = whole.at(table)
        everything = table == "gear" and any(step.get("list_gear") is True for step in steps)
        if held is not None and isinstance(held.value, list) and not everything:
            held.value = [
                each
                for each in held.value
                if not isinstance(each.get("id"), str) or each.get("id") in used[table] or each.place.name == mine
            ]
    sources = whole.at("sources")
    if sources is not None and isinstance(sources.value, dict):
        named = _named(whole)
        sources.value = {
            id_: each
            for id_, each in sources.value.items()
            if id_ in named or id_ == "practice" or each.place.name == mine
        }


def _said(nodes: list[Node], *keys: str) -> set[str]:
    return {each for of in nodes for key in keys for each in strings(of.get(key))}


def _named(whole: Node) -> set[str]:
    """Every id that stands as a source."""
    solutions = list(whole.table("solutions").values())
    figures = [each.value for solution in solutions for each in solution.table("sources").values()]
    users = [*solutions, *whole.table("cautions").values(), *whole.entries("steps")]
    return {*strings(figures), *_said(users, "source")}


def _in_order_of_pour(whole: Node, steps: list[Node]) -> None:
    """Put the solutions in the order in which they are first poured, water last."""
    held = whole.at("solutions")
    if held is None or not isinstance(held.value, dict):
        return
    poured = [step.get("solution") for step in steps]

    def place(item: tuple[str, Node]) -> tuple[bool, int]:
        id_, solution = item
        tap = solution.get("storage") == "tap"
        return tap, 0 if tap else poured.index(id_) if id_ in poured else len(poured)

    held.value = dict(sorted(held.value.items(), key=place))
