"""Derives what the steps of a profile leave out: how a bath is poured, its lines, readings and gear.

A step that names its solution gets the keys that follow from it. A bath that says its `role` gets a vessel of its
own, the lines "label read", "capped" and "rinsed" around its pour, and its readings while the bottles are warmed.
Written values take precedence; the proof judges the whole.
"""

from __future__ import annotations

import re
from typing import Any

from wetside.domain.profile.model import MOST_ID, MOST_TICK, MOST_TICKS, MOST_TITLE
from wetside.files.profile_merge import Node, node, plain, strings
from wetside.present.sentences import word_table


def slug(text: str) -> str:
    """An id made from text: "Tank lid on and locked" is "tank-lid-on-and-locked", cut at 40 characters."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower())[:MOST_ID].strip("-") or "tick"


def _fitting(*texts: str) -> str:
    """The first of the texts that fits a line to be confirmed, or the last one cut."""
    return next((text for text in texts if len(text) <= MOST_TICK), texts[-1][:MOST_TICK])


def _tank(whole: Node) -> str | None:
    """The id of the first tank."""
    return next((id_ for id_, each in whole.table("vessels").items() if each.get("kind") == "tank"), None)


def _solution_of(whole: Node, step: Node | None) -> Node | None:
    return None if step is None else whole.table("solutions").get(str(step.get("solution")))


# ------------------------------------------------------------------- pours


def derive_steps(whole: Node) -> None:
    """Fill in, in place, what each step and reading leaves out, then the lines of every bath with a role."""
    before: Node | None = None
    for step in whole.entries("steps"):
        _place(step, before)
        solution = _solution_of(whole, step)
        if solution is not None and isinstance(solution.value, dict):
            _pour(whole, step, solution, before)
        for reading in step.entries("readings"):
            _complete(whole, reading)
        before = step
    steps = whole.entries("steps")
    for at, step in enumerate(steps):
        solution = _solution_of(whole, step)
        if solution is None or solution.get("role") is None or step.get("kind") != "bath":
            continue
        if step.get("scope") == "batch" and step.get("into") == _tank(whole):
            _add_label_line(whole, steps, at, solution)
            if solution.get("storage") == "bottle":
                _add_lines_after(whole, steps, at, solution)
            _add_to_washing_up(steps, step)
            if solution.get("tempered") is True:
                _add_readings(steps, step, solution)


def _place(step: Node, before: Node | None) -> None:
    """Derive a step's stage and scope from the step before, and its kind from its other keys."""
    pours = step.at("solution") is not None
    if before is not None and before.at("stage") is not None:
        step.fill("stage", before.get("stage"))
    if pours:
        step.fill("scope", "batch")
    elif before is not None and before.at("scope") is not None:
        step.fill("scope", before.get("scope"))
    if isinstance(step.get("id"), str):
        step.fill("title", step.get("id").replace("-", " ").capitalize()[:MOST_TITLE])
    if not pours:
        step.fill("kind", "check")


def _pour(whole: Node, step: Node, solution: Node, before: Node | None) -> None:
    id_, tap = str(step.get("solution")), solution.get("storage") == "tap"
    step.fill("kind", "wash" if tap else "bath")
    if step.get("kind") not in ("bath", "wash") or step.get("scope") != "batch":
        return
    if step.at("into") is None and (tank := _tank(whole)) is not None:
        step.put("into", tank)
        kept = (vessel for vessel, each in whole.table("vessels").items() if each.get("dedicated_to") == id_)
        own = next(kept, None)
        if tap:
            step.fill("rinses", [tank])
            step.fill("ends", "not before")
        elif solution.get("role") is not None or own is not None:
            step.fill("through", own or _new_vessel(whole, id_, solution, step))
            if solution.get("storage") == "bottle":
                step.fill("back_through", step.get("through"))
    if step.at("instruction") is not None:
        return
    kind = "wash" if tap else "developer" if solution.get("role") == "developer" else "bath"
    words = word_table("profile_defaults")["steps"][kind]
    step.put("instruction", words["instruction"].format(str(solution.get("title")).lower()))
    step.fill("safe_way_out", words["safe_way_out"])
    if needed := strings(solution.get("needs_caution")):
        step.fill("cautions", needed[:2])
    earlier = _solution_of(whole, before)
    if step.get("kind") == "bath" and earlier is not None and earlier.get("ends") == "on time":
        # No lead-in: the developer goes on working in the film until this bath reaches it.
        step.fill("lead_in", "0 s")


def _complete(whole: Node, reading: Node) -> None:
    """Give a reading its solution's title, and the solution's range for `range = true`."""
    solution = whole.table("solutions").get(str(reading.get("of")))
    if solution is None:
        return
    if isinstance(solution.get("title"), str):
        reading.fill("title", solution.get("title"))
    own = solution.at("range")
    if reading.get("range") is True and own is not None:
        reading.value["range"] = Node(own.value, own.derived)


# -------------------------------------------------------------------- gear


def _new_vessel(whole: Node, id_: str, solution: Node, step: Node) -> str:
    """Add a funnel for a solution that goes back into its bottle, else a jug, with its gear; returns the id."""
    what, kind = ("funnel", "funnel") if solution.get("storage") == "bottle" else ("jug", "graduate")
    title = f"{solution.get('title')} {what}"[:MOST_TITLE]
    vessel = f"{id_}-{what}"[:MOST_ID].strip("-")
    whole.fill("vessels", {}, step).put(vessel, {"title": title, "kind": kind, "dedicated_to": id_}, step)
    text = _fitting(f"{title}, marked so that touch tells them apart", f"{title}, marked", title)
    item: dict[str, Any] = {"id": vessel, "text": text}
    if step.at("when") is not None:
        item["when"] = step.value["when"]
    gear = whole.fill("gear", [], step)
    if isinstance(gear.value, list) and _list_gear(whole, vessel, step):
        gear.value.append(node(item, step.derived))
    return vessel


def list_added_gear(base: Node, laid: Node) -> Node:
    """Put gear that is not in the base and listed by no step into a step's list; returns the tree."""
    known = {item.place for item in base.entries("gear")}
    listed = {each for step in laid.entries("steps") for each in strings(step.get("list_gear"))}
    for item in laid.entries("gear"):
        if item.place in known or item.get("id") in listed or not isinstance(item.get("text"), str):
            continue
        item.fill("id", slug(item.get("text")))
        names = {each.get("id") for each in base.entries("gear")}
        if isinstance(item.get("id"), str) and item.get("id") not in names:
            _list_gear(laid, item.get("id"), item)
    return laid


def _list_gear(whole: Node, item: str, since: Node) -> bool:
    """Put a gear item into the list that has vessels, else the first with room, else a list of its own.

    Returns False if no step lists any gear.
    """
    hosts = [step for step in whole.entries("steps") if step.at("list_gear") is not None]
    lists = [host.value["list_gear"] for host in hosts]
    if not hosts or any(listing.value is True for listing in lists):
        return bool(hosts)
    vessels = whole.table("vessels").keys()
    room = [each for each in lists if isinstance(each.value, list) and len(each.value) < MOST_TICKS]
    if room:
        with_vessels = (each for each in room if any(name in vessels for name in strings(plain(each))))
        next(with_vessels, room[0]).value.append(Node(item, since.derived))
        return True
    step = Node(dict(hosts[-1].value), hosts[-1].place)
    step.put("id", "gear-own-baths", since)
    step.put("title", "Gear for your own baths", since)
    step.put("list_gear", [item], since)
    step.value.pop("ticks", None)
    steps = whole.value["steps"].value
    steps.insert(steps.index(hosts[-1]) + 1, step)
    return True


# --------------------------------------------------- the lines around a pour


def _ticks(steps: list[Node]) -> list[Node]:
    return [tick for step in steps for tick in step.entries("ticks")]


def _conditions(step: Node) -> list[str]:
    return strings(step.get("when"))


def _always_with(host: Node, step: Node) -> bool:
    """Whether `host` is on every path that has `step`."""
    return all(condition in _conditions(step) for condition in _conditions(host))


def _add(host: Node, of: Node, tick: dict[str, Any]) -> None:
    """Put a line into a step, with the conditions of its bath if the step has fewer."""
    if any(condition not in _conditions(host) for condition in _conditions(of)):
        tick["when"] = _conditions(of)
    ticks = host.fill("ticks", [], of)
    if isinstance(ticks.value, list):
        ticks.value.append(node(tick, of.derived))


def _add_label_line(whole: Node, steps: list[Node], at: int, solution: Node) -> None:
    """Add a line to read the bath's label in the step before; it is due before the pour."""
    step = steps[at]
    own, due = f"only-{step.get('solution')}", step.get("id")
    written = [
        (host, tick)
        for host in steps
        for tick in host.entries("ticks")
        if "label" in str(tick.get("text")).lower() and (tick.get("due") == due or tick.get("id") == own)
    ]
    for host, tick in written:
        if steps.index(host) + 1 < at and tick.get("due") in (None, "end"):
            # Another bath comes between: the line is due before its own pour.
            tick.put("due", due, step)
    if written:
        return
    title = str(solution.get("title"))
    what = "funnel" if solution.get("storage") == "bottle" else "jug"
    text = _fitting(f"{title} label read; its own {what} in hand", f"{title} label read", "Its label read")
    line: dict[str, Any] = {"id": own[:MOST_ID], "text": text, "killer": True}
    developers = []
    for host in reversed(steps[:at]):
        poured = _solution_of(whole, host)
        if poured is not None and poured.get("ends") == "on time":
            developers.append(host)
        if host.get("scope") == "batch" and host.get("kind") != "dark" and _always_with(host, step):
            # No line may be due between a developer and the next bath: the label is read during the developer.
            for developer in developers:
                _add(developer, step, dict(line))
            if not developers:
                _add(host, step, {**line, "due": due})
            return


def _add_lines_after(whole: Node, steps: list[Node], at: int, solution: Node) -> None:
    """Add lines to close the bottle and rinse the funnel in the next step; a bath there defers them by a step."""
    step, id_ = steps[at], str(steps[at].get("solution"))
    later = [each for each in steps[at + 1 :] if _always_with(each, step)]
    host = next((each for each in later if each.get("scope") == "batch"), later[0] if later else None)
    if host is None:
        return
    falls: dict[str, Any] = {}
    if host.get("kind") == "bath":
        following = later[later.index(host) + 1 :]
        falls["due"] = following[0].get("id") if following else "end"
    title, vessel = str(solution.get("title")), step.get("back_through")
    if not any(tick.get("closes") == id_ for tick in _ticks(steps)):
        text = _fitting(f"{title} bottle squeezed and capped", f"{title} bottle capped", "Its bottle capped")
        _add(host, step, {"id": f"{id_}-capped"[:MOST_ID], "text": text, **falls, "killer": True, "closes": id_})
    cleared = [each for tick in _ticks(steps[at:]) for each in strings(tick.get("clears"))]
    if isinstance(vessel, str) and vessel not in cleared:
        named = str(whole.table("vessels").get(vessel, step).get("title"))
        text = _fitting(f"{named} rinsed and laid apart", f"{named} rinsed", "Its funnel rinsed")
        _add(host, step, {"id": f"{id_}-rinsed"[:MOST_ID], "text": text, **falls, "clears": [vessel]})


def _add_to_washing_up(steps: list[Node], step: Node) -> None:
    """Add the bath's vessel to the last line that clears several."""
    vessel = step.get("through")
    for tick in reversed(_ticks(steps)):
        clears = tick.get("clears")
        if isinstance(clears, list) and len(clears) > 1:
            if isinstance(vessel, str) and vessel not in clears:
                tick.value["clears"].value.append(Node(vessel, step.derived))
            return


def _add_readings(steps: list[Node], step: Node, solution: Node) -> None:
    """Add a reading where the warm bath is read, and one with the range where the temperature is awaited."""
    id_, title = str(step.get("solution")), str(solution.get("title"))
    for host in steps:
        read = host.entries("readings")
        first = host.get("kind") == "measure" and any(each.get("of") == "bath" for each in read)
        if not (first or host.get("kind") == "wait") or any(each.get("of") == id_ for each in read):
            continue
        if host.at("readings") is None:
            continue
        ask: dict[str, Any] = {"of": id_, "title": f"{title} now"[:MOST_TITLE] if first else title}
        if not first and solution.at("range") is not None:
            ask["range"] = solution.get("range")
        if _conditions(step):
            ask["when"] = _conditions(step)
        items = host.value["readings"].value
        at = next((n for n, each in enumerate(items) if each.get("of") == "bath"), len(items))
        items.insert(at, node(ask, step.derived))
