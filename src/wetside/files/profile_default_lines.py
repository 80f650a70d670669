"""The lines and readings that every bath needs, for a bath that says its `role` and has none of them written.

One job: "label read", "capped" and "rinsed" at the steps around its pour, its vessel among what is washed up, and
its readings while the bottles are brought to temperature. What is written always stands; the proof judges it all.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from wetside.files.profile_default_steps import fitting, tank_of
from wetside.files.profile_merge import Node, node, strings


def derive_lines(whole: Node) -> None:
    """Add, in place, the lines and readings of every bath with a role."""
    steps = whole.entries("steps")
    for at, step in enumerate(steps):
        id_ = step.get("solution")
        solution = whole.table("solutions").get(str(id_))
        if solution is None or solution.get("role") is None or step.get("kind") != "bath":
            continue
        if step.get("scope") == "batch" and step.get("into") == tank_of(whole):
            _label(whole, steps, at, str(id_), solution)
            if solution.get("storage") == "bottle":
                _capped_and_rinsed(whole, steps, at, str(id_), solution)
            _washed_up(steps, step)
            if solution.get("tempered") is True:
                _readings(steps, step, str(id_), solution)


def _ticks(steps: list[Node]) -> list[Node]:
    return [tick for step in steps for tick in step.entries("ticks")]


def _conditions(step: Node) -> list[str]:
    return strings(step.get("when"))


def _always_with(host: Node, step: Node) -> bool:
    """Whether the host is there on every path on which the step is."""
    return all(condition in _conditions(step) for condition in _conditions(host))


def _add(host: Node, of: Node, tick: dict[str, Any]) -> None:
    """Put a line into a step, under the conditions of the bath it belongs to where the step has fewer."""
    place = replace(of.place, derived=True)
    if any(condition not in _conditions(host) for condition in _conditions(of)):
        tick["when"] = _conditions(of)
    ticks = host.value.setdefault("ticks", Node([], place))
    if isinstance(ticks.value, list):
        ticks.value.append(node(tick, place))


def _label(whole: Node, steps: list[Node], at: int, id_: str, solution: Node) -> None:
    """Its label is read in the step before, and the line stands in the way of its pour."""
    step = steps[at]
    due = step.get("id")
    written = [
        (host, tick)
        for host in steps
        for tick in host.entries("ticks")
        if "label" in str(tick.get("text")).lower() and (tick.get("due") == due or tick.get("id") == f"only-{id_}")
    ]
    for host, tick in written:
        if steps.index(host) + 1 < at and tick.get("due") in (None, "end"):
            # Another bath has come between: the line waits for the pour it belongs to.
            tick.set("due", due, replace(step.place, derived=True))
    if written:
        return
    title = str(solution.get("title"))
    what = "funnel" if solution.get("storage") == "bottle" else "jug"
    text = fitting(f"{title} label read; its own {what} in hand", f"{title} label read", "Its label read")
    line: dict[str, Any] = {"id": f"only-{id_}"[:40], "text": text, "killer": True}
    developers = []
    for host in reversed(steps[:at]):
        if whole.table("solutions").get(str(host.get("solution")), step).get("ends") == "on time":
            developers.append(host)
        if host.get("scope") == "batch" and host.get("kind") != "dark" and _always_with(host, step):
            # Nothing to confirm may stand between a developer and what follows it: it is read while that works.
            for developer in developers:
                _add(developer, step, dict(line))
            if not developers:
                _add(host, step, {**line, "due": due})
            return


def _capped_and_rinsed(whole: Node, steps: list[Node], at: int, id_: str, solution: Node) -> None:
    """Its bottle is closed and its funnel rinsed while the next step runs; a bath leaves that to the one after."""
    step = steps[at]
    after = [each for each in steps[at + 1 :] if each.get("scope") == "batch" and _always_with(each, step)]
    hosts = after or [each for each in steps[at + 1 :] if _always_with(each, step)]
    if not hosts:
        return
    host = hosts[0]
    later = steps[steps.index(host) + 1 :]
    due = next((each.get("id") for each in later if _always_with(each, step)), "end")
    falls: dict[str, Any] = {"due": due} if host.get("kind") == "bath" else {}
    title, vessel = str(solution.get("title")), step.get("back_through")
    if not any(tick.get("closes") == id_ for tick in _ticks(steps)):
        text = fitting(f"{title} bottle squeezed and capped", f"{title} bottle capped", "Its bottle capped")
        _add(host, step, {"id": f"{id_}-capped"[:40], "text": text, **falls, "killer": True, "closes": id_})
    cleared = [each for tick in _ticks(steps[at:]) for each in strings(tick.get("clears"))]
    if isinstance(vessel, str) and vessel not in cleared:
        named = str(whole.table("vessels").get(vessel, step).get("title"))
        text = fitting(f"{named} rinsed and laid apart", f"{named} rinsed", "Its funnel rinsed")
        _add(host, step, {"id": f"{id_}-rinsed"[:40], "text": text, **falls, "clears": [vessel]})


def _washed_up(steps: list[Node], step: Node) -> None:
    """Its vessel is washed with the others."""
    vessel = step.get("through")
    for tick in reversed(_ticks(steps)):
        clears = tick.get("clears")
        if isinstance(clears, list) and len(clears) > 1:
            if isinstance(vessel, str) and vessel not in clears:
                tick.value["clears"].value.append(Node(vessel, replace(step.place, derived=True)))
            return


def _readings(steps: list[Node], step: Node, id_: str, solution: Node) -> None:
    """It is read where the warm bath is read, and again, with its range, where one waits for the temperature."""
    place = replace(step.place, derived=True)
    title = str(solution.get("title"))
    for host in steps:
        read = host.entries("readings")
        first = host.get("kind") == "measure" and any(each.get("of") == "bath" for each in read)
        if not (first or host.get("kind") == "wait") or any(each.get("of") == id_ for each in read):
            continue
        ask: dict[str, Any] = {"of": id_, "title": f"{title} now"[:32] if first else title}
        if not first and solution.at("range") is not None:
            ask["range"] = solution.get("range")
        if _conditions(step):
            ask["when"] = _conditions(step)
        if host.at("readings") is None:
            continue
        items = host.value["readings"].value
        at = next((n for n, each in enumerate(items) if each.get("of") == "bath"), len(items))
        items.insert(at, node(ask, place))
