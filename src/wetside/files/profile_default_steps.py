"""How a bath or wash is poured, where a step names its solution and leaves the rest out.

One job: the keys of a step that follow from its solution, its place and what the solution is; with the vessel kept
for it, and that vessel's line among the gear. What is written always stands.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, Final

from wetside.files.profile_merge import Node, Place, node, plain, strings

MOST_LINE: Final = 60
MOST_AT_ONCE: Final = 7
"""More lines to confirm do not fit one screen."""
_WAY_OUT: Final = "Pour it out, fill the locked tank with clean water, go on within the hour; the lid stays on."
_WASH_WAY_OUT: Final = "Leave the locked tank full of water and go on within the hour; the lid stays on."
_BATH_WORDS: Final = "Pour the {0} in at once, cap the tank, and agitate at each call."
_DEVELOPER_WORDS: Final = "Pour the {0} in without stopping, cap the tank, and agitate at each call."
_WASH_WORDS: Final = "Fill the closed tank with warm water, turn it over, pour away; do so to the end of its time."


def derive_steps(whole: Node) -> None:
    """Fill in, in place, every step and reading that leaves out what follows from its solution."""
    before: Node | None = None
    for step in whole.entries("steps"):
        _placed(step, before)
        solution = whole.table("solutions").get(str(step.get("solution")))
        if solution is not None and isinstance(solution.value, dict):
            _poured(whole, step, str(step.get("solution")), solution, before)
        for reading in step.entries("readings"):
            _read(whole, reading)
        before = step


def list_new_gear(base: Node, laid: Node) -> Node:
    """The tree with every gear item that the base has not, and no step lists, in a list of gear."""
    known = {id(item) for item in base.entries("gear")}
    listed = {each for step in laid.entries("steps") for each in strings(step.get("list_gear"))}
    for item in laid.entries("gear"):
        if id(item) in known or item.get("id") in listed or not isinstance(item.get("text"), str):
            continue
        item.value.setdefault("id", Node(slug(item.get("text")), replace(item.place, derived=True)))
        if isinstance(item.get("id"), str) and item.get("id") not in {
            each.get("id") for each in base.entries("gear")
        }:
            _listed(laid, item.get("id"), replace(item.place, derived=True))
    return laid


def slug(text: str) -> str:
    """An id made from words: "Tank lid on and locked" is "tank-lid-on-and-locked", cut at 40 characters."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower())[:40].strip("-") or "tick"


def fitting(*texts: str) -> str:
    """The first of the texts that fits a line to be confirmed, or the last one cut."""
    return next((text for text in texts if len(text) <= MOST_LINE), texts[-1][:MOST_LINE])


def tank_of(whole: Node) -> str | None:
    """The id of the first tank."""
    return next((id_ for id_, each in whole.table("vessels").items() if each.get("kind") == "tank"), None)


def _placed(step: Node, before: Node | None) -> None:
    """Its stage and scope are those of the step before; its kind follows from what it does."""
    place = replace(step.place, derived=True)
    if before is not None and before.at("stage") is not None:
        step.value.setdefault("stage", Node(before.get("stage"), place))
    if step.at("solution") is not None:
        step.value.setdefault("scope", Node("batch", place))
    elif before is not None and before.at("scope") is not None:
        step.value.setdefault("scope", Node(before.get("scope"), place))
    if isinstance(step.get("id"), str):
        step.value.setdefault("title", Node(step.get("id").replace("-", " ").capitalize()[:32], place))
    if step.at("solution") is None:
        step.value.setdefault("kind", Node("check", place))


def _poured(whole: Node, step: Node, id_: str, solution: Node, before: Node | None) -> None:
    place = replace(step.place, derived=True)
    tap = solution.get("storage") == "tap"
    step.value.setdefault("kind", Node("wash" if tap else "bath", place))
    if step.get("kind") not in ("bath", "wash") or step.get("scope") != "batch":
        return
    title = str(solution.get("title"))
    if step.at("into") is None and (tank := tank_of(whole)) is not None:
        step.set("into", tank, place)
        if tap:
            step.value.setdefault("rinses", Node([Node(tank, place)], place))
            step.value.setdefault("ends", Node("not before", place))
        elif solution.get("role") is not None or _kept_for(whole, id_) is not None:
            vessel = _kept_for(whole, id_) or _new_vessel(whole, id_, solution, step)
            step.value.setdefault("through", Node(vessel, place))
            if solution.get("storage") == "bottle":
                step.value.setdefault("back_through", Node(step.get("through"), place))
    if step.at("instruction") is not None:
        return
    words = _WASH_WORDS if tap else _DEVELOPER_WORDS if solution.get("role") == "developer" else _BATH_WORDS
    step.set("instruction", words.format(title.lower()), place)
    step.value.setdefault("safe_way_out", Node(_WASH_WAY_OUT if tap else _WAY_OUT, place))
    needed = strings(solution.get("needs_caution"))
    if needed:
        step.value.setdefault("cautions", Node([Node(each, place) for each in needed[:2]], place))
    earlier = whole.table("solutions").get(str(before.get("solution"))) if before is not None else None
    if step.get("kind") == "bath" and earlier is not None and earlier.get("ends") == "on time":
        # The developer goes on working in the film until this bath reaches it.
        step.value.setdefault("lead_in", Node("0 s", place))


def _kept_for(whole: Node, id_: str) -> str | None:
    """The vessel that is kept for this solution."""
    vessels = whole.table("vessels")
    return next((vessel for vessel, each in vessels.items() if each.get("dedicated_to") == id_), None)


def _new_vessel(whole: Node, id_: str, solution: Node, step: Node) -> str:
    """A funnel of its own for what goes back into a bottle, a jug for what is used once; with a line of gear."""
    place = replace(step.place, derived=True)
    what, kind = ("funnel", "funnel") if solution.get("storage") == "bottle" else ("jug", "graduate")
    title = f"{solution.get('title')} {what}"[:32]
    vessel = f"{id_}-{what}"[:40].strip("-")
    vessels = whole.value.setdefault("vessels", Node({}, place))
    vessels.set(vessel, {"title": title, "kind": kind, "dedicated_to": id_}, place)
    text = fitting(f"{title}, marked so that touch tells them apart", f"{title}, marked", title)
    item: dict[str, Any] = {"id": vessel, "text": text}
    if step.at("when") is not None:
        item["when"] = step.value["when"]
    gear = whole.value.setdefault("gear", Node([], place))
    if isinstance(gear.value, list) and _listed(whole, vessel, place):
        gear.value.append(Node({key: node(value, place) for key, value in item.items()}, place))
    return vessel


def _listed(whole: Node, item: str, place: Place) -> bool:
    """Put a gear item into the list that has vessels in it, or the first with room, or a list of its own."""
    hosts = [step for step in whole.entries("steps") if step.at("list_gear") is not None]
    lists = [host.value["list_gear"] for host in hosts]
    if not hosts or any(listing.value is True for listing in lists):
        return bool(hosts)
    lists = [listing for listing in lists if isinstance(listing.value, list)]
    vessels = whole.table("vessels").keys()
    lists.sort(key=lambda listing: not any(each in vessels for each in strings(plain(listing))))
    room = [listing for listing in lists if len(listing.value) < MOST_AT_ONCE]
    if room:
        room[0].value.append(Node(item, place))
        return True
    step = Node(dict(hosts[-1].value), hosts[-1].place)
    step.set("id", "gear-own-baths", place)
    step.set("title", "Gear for your own baths", place)
    step.set("list_gear", [item], place)
    step.value.pop("ticks", None)
    steps = whole.value["steps"].value
    steps.insert(steps.index(hosts[-1]) + 1, step)
    return True


def _read(whole: Node, reading: Node) -> None:
    """`range = true` is the range of the solution itself; its title is the solution's."""
    solution = whole.table("solutions").get(str(reading.get("of")))
    if solution is None:
        return
    if isinstance(solution.get("title"), str):
        reading.value.setdefault("title", Node(solution.get("title"), replace(reading.place, derived=True)))
    own = solution.at("range")
    if reading.get("range") is True and own is not None:
        reading.value["range"] = Node(own.value, replace(own.place, derived=True))
