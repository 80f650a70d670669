"""Ruinous changes to the shipped profiles, made on the data of their files, in several kinds.

Each kind is a function that takes a profile's data and yields changes: a description and the changed data. A
change is ruinous when a person led by the file would lose film or chemistry, or be hurt, or would not be warned.
The changed profile gets an id of its own, so that it is not reported as a copy. References to a removed step are
corrected, so that a change is not found by a dangling name alone.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

import tomli_w
from tests.shipped import profile_from_text, read_shipped

from wetside.domain.profile.model import Profile
from wetside.files.profile_places import profiles_by_name

Data = dict[str, Any]
Changes = Iterator[tuple[str, Data]]
BLANKS = (" ", "-", "…", "\N{NO-BREAK SPACE}", ". . .")
SHORT_TIMES = ("0:01", "0:03", "0:05", "0:08")


@dataclass(frozen=True)
class Mutant:
    """One ruinous change: its kind, the profile it is made to, what is done, and the changed data."""

    kind: str
    profile: str
    what: str
    data: Data

    @property
    def text(self) -> str:
        """The changed file."""
        return tomli_w.dumps(self.data)

    def read(self) -> Profile:
        """The changed profile; raises FileUnusable where the reader refuses it already."""
        return profile_from_text(self.text, f"{self.profile}.toml")


@cache
def mutants() -> tuple[Mutant, ...]:
    """Every change of every kind to every shipped profile; the same at each call."""
    found: list[Mutant] = []
    for path in profiles_by_name().values():
        original = {**tomllib.loads(read_shipped(path).text), "id": "mutant"}
        for kind in KINDS:
            done: list[Data] = []
            for what, changed in kind(original):
                if changed != original and changed not in done:
                    done.append(changed)
                    found.append(Mutant(kind.__name__, path.stem, what, changed))
    return tuple(found)


# ------------------------------------------------------------- the data


def with_(data: Data, change: Callable[[Data], object]) -> Data:
    """A copy of the data, changed."""
    copied = deepcopy(data)
    change(copied)
    return copied


def at(data: Data, id_: str) -> Data:
    step: Data = next(step for step in data["steps"] if step["id"] == id_)
    return step


def put(data: Data, *path: Any) -> Data:
    """The data with the last of `path` (None: nothing) in the place the others name; a step is named by its id.

    What does not change is shared with the data given.
    """
    *places, key, value = path
    changed = {**data}
    here: Any = changed
    for place in places:
        if isinstance(here, list) and isinstance(place, str):
            place = next(number for number, step in enumerate(here) if step["id"] == place)
        inner = here[place]
        here[place] = inner = {**inner} if isinstance(inner, dict) else [*inner]
        here = inner
    if value is None:
        here.pop(key, None)
    else:
        here[key] = value
    return changed


def dropped(data: Data, id_: str) -> Data:
    """Without a step; what is due before it is due at the end of its own, what joins it joins nothing."""

    def change(copied: Data) -> None:
        copied["steps"] = [step for step in copied["steps"] if step["id"] != id_]
        for step in copied["steps"]:
            if step.get("joins") == id_:
                del step["joins"]
            for tick in step.get("ticks", ()):
                if tick.get("due") == id_:
                    tick["due"] = "end"

    return with_(data, change)


def moved(data: Data, id_: str, before: str) -> Data:
    """A step put before another."""

    def change(copied: Data) -> None:
        step = at(copied, id_)
        copied["steps"].remove(step)
        copied["steps"].insert(copied["steps"].index(at(copied, before)), step)

    return with_(data, change)


def baths(data: Data) -> list[str]:
    """The solutions that are no tap water."""
    return [id_ for id_, each in data["solutions"].items() if each["storage"] != "tap"]


def pours_of(data: Data, solution: str) -> list[Data]:
    return [step for step in data["steps"] if step.get("solution") == solution]


def developers(data: Data) -> list[str]:
    return [id_ for id_ in baths(data) if "developer" in id_]


def tank_baths(data: Data) -> list[Data]:
    """The steps that pour chemistry into the tank, in their order."""
    known = baths(data)
    return [step for step in data["steps"] if step.get("solution") in known and step["into"] == "tank"]


def light_safe(data: Data) -> str:
    safe: list[str] = [id_ for id_, each in data["solutions"].items() if each.get("makes_light_safe")]
    return safe[0]


def washes(data: Data) -> list[Data]:
    """The washes in the tank."""
    return [step for step in data["steps"] if step["kind"] == "wash" and step.get("rinses") == ["tank"]]


def seconds(text: str) -> float:
    if ":" in text:
        minutes, rest = text.split(":")
        return 60.0 * float(minutes) + float(rest)
    number, unit = text.split()
    return float(number) * {"s": 1.0, "min": 60.0, "h": 3600.0}[unit]


def times(table: list[list[str]], by: float) -> list[list[str]]:
    return [[at_c, f"{seconds(time) * by:.1f} s"] for at_c, time in table]


def degrees(text: str, by_c: float) -> str:
    number, unit = text.split()
    by = by_c * 1.8 if unit == "°F" else by_c
    return f"{float(number) + by:.1f} {unit}"


def chance(data: Data, kind: str) -> random.Random:
    return random.Random(f"{data['title']} {kind}")


# -------------------------------------------- hazards, cautions, first aid


def hazards_gone(data: Data) -> Changes:
    for id_ in baths(data):
        rows = data["solutions"][id_]["hazards"]
        yield f"hazards of {id_} emptied", put(data, "solutions", id_, "hazards", [])
        yield f"hazards of {id_} removed", put(data, "solutions", id_, "hazards", None)
        precautions = [row for row in rows if row["code"].startswith("P")]
        yield f"{id_}: only P codes left", put(data, "solutions", id_, "hazards", precautions)
    everywhere = with_(data, lambda d: [each.pop("hazards", None) for each in d["solutions"].values()])
    yield "no hazards anywhere", everywhere


def hazard_text_blank(data: Data) -> Changes:
    for id_ in baths(data):
        for number in range(len(data["solutions"][id_]["hazards"])):
            blank = BLANKS[number % len(BLANKS)]
            yield (
                f"hazard {number} of {id_} is {blank!r}",
                put(data, "solutions", id_, "hazards", number, "text", blank),
            )


def caution_blank(data: Data) -> Changes:
    for number, id_ in enumerate(data["cautions"]):
        for key in ("hazard", "consequence", "avoid"):
            blank = BLANKS[number % len(BLANKS)]
            yield f"{key} of caution {id_} is {blank!r}", put(data, "cautions", id_, key, blank)


def cautions_gone(data: Data) -> Changes:
    def nowhere(ids: set[str], copied: Data) -> None:
        for each in copied["solutions"].values():
            each["needs_caution"] = [id_ for id_ in each.get("needs_caution", ()) if id_ not in ids]
        for step in copied["steps"]:
            step["cautions"] = [id_ for id_ in step.get("cautions", ()) if id_ not in ids]
        copied["cautions"] = {id_: each for id_, each in copied["cautions"].items() if id_ not in ids}

    for id_ in baths(data):
        needed = set(data["solutions"][id_]["needs_caution"])
        yield f"{id_} needs no caution", put(data, "solutions", id_, "needs_caution", [])
        yield f"cautions of {id_} gone", with_(data, partial(nowhere, needed))
        for step in pours_of(data, id_):
            yield f"no caution at {step['id']}", put(data, "steps", step["id"], "cautions", [])
    every = set(data["cautions"])
    yield "no caution at all", with_(data, lambda d: nowhere(every, d))
    shown_nowhere = with_(data, lambda d: [step.pop("cautions", None) for step in d["steps"]])
    yield "cautions shown at no step", shown_nowhere


def first_aid_gone(data: Data) -> Changes:
    lines = data["first_aid"]
    yield "first aid removed", put(data, "first_aid", None)
    yield "first aid emptied", put(data, "first_aid", [])
    for number in range(len(lines)):
        blank = BLANKS[number % len(BLANKS)]
        yield f"line {number} of the first aid blank", put(data, "first_aid", number, blank)
    for blank in BLANKS:
        yield f"first aid is {blank!r}", put(data, "first_aid", [blank])
        yield f"every line is {blank!r}", put(data, "first_aid", [blank] * len(lines))
    for number, line in enumerate(lines[:3]):
        yield f"only line {number} of the first aid", put(data, "first_aid", [line])


def gloves_gone(data: Data) -> Changes:
    for id_ in baths(data):
        yield f"{id_} needs no gloves", put(data, "solutions", id_, "gloves", False)
    for step in data["steps"]:
        for number, tick in enumerate(step.get("ticks", ())):
            if tick.get("gloves") and "later batch" not in step.get("when", ()):
                where = ("steps", step["id"], "ticks")
                yield f"{tick['id']} says nothing of gloves", put(data, *where, number, "gloves", False)
                rest = [each for each in step["ticks"] if each is not tick]
                yield f"{tick['id']} gone", put(data, *where, rest)


def hazards_and_gloves_gone(data: Data) -> Changes:
    for id_ in baths(data):
        bare = put(data, "solutions", id_, "hazards", None)
        bare = put(bare, "solutions", id_, "needs_caution", [])
        yield f"{id_} is harmless", put(bare, "solutions", id_, "gloves", False)


# ---------------------------------------------------- residues and kinds


def residue_rule_gone(data: Data) -> Changes:
    rules = data["residue"]
    for rule in rules:
        if rule["solution"] in developers(data):
            words = f"{rule['residue']} may reach {rule['solution']}"
            yield words, put(data, "residue", [each for each in rules if each is not rule])
            turned = {**rule, "residue": rule["solution"], "solution": rule["residue"]}
            others = [each for each in rules if each is not rule]
            yield f"{words}: the rule turned round", put(data, "residue", [*others, turned])
    for id_ in developers(data):
        yield f"anything may reach {id_}", put(data, "residue", [r for r in rules if r["solution"] != id_])
    yield "no residue rules", put(data, "residue", None)
    for number in range(len(rules)):
        blank = BLANKS[number % len(BLANKS)]
        yield f"rule {number} says {blank!r}", put(data, "residue", number, "why", blank)


def film_without_its_path(data: Data) -> Changes:
    if "backed" not in data["accepts"]:
        yield "backed film accepted", put(data, "accepts", [*data["accepts"], "backed"])
        yield "only backed film accepted", put(data, "accepts", ["backed"])
    if len(developers(data)) > 1:
        yield "negative film through two developers", put(data, "accepts", ["standard"])
        yield "any film through two developers", put(data, "accepts", ["slide", "standard"])
    for step in data["steps"]:
        if step["scope"] == "roll" and step.get("when") == ["backed"]:
            yield f"{step['id']} gone", dropped(data, step["id"])
            for other in ("not backed", "standard", "pushed", "later batch", "changing bag"):
                yield f"{step['id']} when {other}", put(data, "steps", step["id"], "when", [other])
            yield f"{step['id']} takes no backing off", put(data, "steps", step["id"], "backing", None)


# --------------------------------------------------------- the developer


def developer_ends_wrong(data: Data) -> Changes:
    for id_ in developers(data):
        for ends in ("not before", "when done"):
            changed = put(data, "solutions", id_, "ends", ends)
            for step in pours_of(data, id_):
                changed = put(changed, "steps", step["id"], "ends", None)
                yield f"{step['id']} ends {ends}", put(data, "steps", step["id"], "ends", ends)
            yield f"{id_} ends {ends}", changed


def developer_with_its_own_time(data: Data) -> Changes:
    for id_ in developers(data):
        for step in pours_of(data, id_):
            for time in (*SHORT_TIMES, "0:30", "1:00", "2:00", "10:00", "40:00"):
                yield f"{step['id']} for {time}", put(data, "steps", step["id"], "time", time)


def developer_from_the_tap(data: Data) -> Changes:
    for id_ in developers(data):
        tap = put(data, "solutions", id_, "storage", "tap")
        yield f"{id_} from the tap", tap
        for key in ("hazards", "needs_caution", "capacity", "stretch", "life_full", "life_part", "push", "use"):
            tap = put(tap, "solutions", id_, key, None)
        tap = put(tap, "solutions", id_, "gloves", False)
        yield f"{id_} from the tap, without hazards", tap
        for key in ("table", "table_tolerance", "shortest", "sources"):
            tap = put(tap, "solutions", id_, key, None)
        tap = put(tap, "solutions", id_, "ends", "when done")
        for step in pours_of(data, id_):
            tap = put(put(tap, "steps", step["id"], "ends", "not before"), "steps", step["id"], "time", "3:30")
        yield f"{id_} is water", tap


def other_bath_from_the_tap(data: Data) -> Changes:
    for id_ in baths(data):
        if id_ not in developers(data):
            yield f"{id_} from the tap", put(data, "solutions", id_, "storage", "tap")


def developer_badly_led(data: Data) -> Changes:
    for id_ in developers(data):
        for step in pours_of(data, id_):
            for key, values in (
                ("kind", ("wash",)),
                ("scope", ("session", "roll")),
                ("into", [each for each in data["vessels"] if each != "tank"]),
                ("background", (True,)),
                ("pausable", (True,)),
                ("agitation", (None,)),
            ):
                for value in values:
                    yield f"{step['id']}: {key} {value}", put(data, "steps", step["id"], key, value)
        if len(data["solutions"][id_]["table"]) == 1:  # further rows know other temperatures
            for tolerance in ("3 °C", "6 °C", "10 °C"):
                yield f"{id_}: {tolerance}", put(data, "solutions", id_, "table_tolerance", tolerance)
        for time in SHORT_TIMES:
            yield f"{id_}: shortest {time}", put(data, "solutions", id_, "shortest", time)
    follows = [after for before, after in zip(data["steps"], data["steps"][1:], strict=False)
               if before.get("solution") in developers(data) and after["kind"] == "bath"]  # fmt: skip
    for step in follows:
        if step.get("lead_in") == "0 s":
            for lead_in in (None, "20 s", "60 s"):
                yield f"lead-in of {step['id']}", put(data, "steps", step["id"], "lead_in", lead_in)


# ------------------------------------------------------- light and order


def light_safe_wrong(data: Data) -> Changes:
    safe = light_safe(data)
    none = put(data, "solutions", safe, "makes_light_safe", None)
    yield "nothing makes film safe", none
    for id_ in data["solutions"]:
        if id_ != safe:
            yield f"{id_} makes film safe instead", put(none, "solutions", id_, "makes_light_safe", True)
            yield f"{id_} makes film safe too", put(data, "solutions", id_, "makes_light_safe", True)
    for ends in ("on time", "when done"):
        yield f"{safe} ends {ends}", put(data, "solutions", safe, "ends", ends)
        for step in pours_of(data, safe):
            yield f"{step['id']} ends {ends}", put(data, "steps", step["id"], "ends", ends)


def lid_wrong(data: Data) -> Changes:
    for host in data["steps"]:
        for number, tick in enumerate(host.get("ticks", ())):
            if tick.get("lid") != "off":
                continue
            for step in tank_baths(data):
                early = put(data, "steps", host["id"], "ticks", number, "lid", None)
                ticks = [*at(early, step["id"]).get("ticks", ()), {**tick, "id": "lid-too-soon", "due": "end"}]
                yield f"lid off at {step['id']}", put(early, "steps", step["id"], "ticks", ticks)
            yield "lid never off", put(data, "steps", host["id"], "ticks", number, "lid", None)
        if host["kind"] == "dark":
            yield f"{host['id']} leaves the lid off", put(data, "steps", host["id"], "lid", None)
            yield f"{host['id']} gone", dropped(data, host["id"])
            calm = [{**tick, "killer": False} for tick in host["ticks"]]
            yield f"{host['id']} guarded by nothing", put(data, "steps", host["id"], "ticks", calm)


def last_bath_before_fixing(data: Data) -> Changes:
    last = next(step for step in reversed(data["steps"]) if step.get("solution") in baths(data))
    for step in tank_baths(data):
        if step["solution"] in developers(data):
            continue
        early = moved(data, last["id"], step["id"])
        yield f"{last['id']} before {step['id']}", early
        for key, value in (("into", "tank"), ("scope", "batch"), ("background", None)):
            early = put(early, "steps", last["id"], key, value)
        hung = next(step["id"] for step in data["steps"] if step.get("joins") == last["id"])
        yield f"{last['id']} in the tank before {step['id']}", put(early, "steps", hung, "joins", None)


def baths_out_of_order(data: Data) -> Changes:
    order = tank_baths(data)
    for number, step in enumerate(order):
        for earlier in order[:number]:
            if step["solution"] != earlier["solution"]:
                yield f"{step['id']} before {earlier['id']}", moved(data, step["id"], earlier["id"])


def wash_gone(data: Data) -> Changes:
    safe = pours_of(data, light_safe(data))[-1]
    places = [step["id"] for step in data["steps"]]
    for step in washes(data):
        shorter = dropped(data, step["id"])
        following = data["steps"][places.index(step["id"]) + 1]["id"]
        kept = [*step.get("ticks", ()), *at(shorter, following).get("ticks", ())]
        kept = [tick for tick in kept if tick.get("due", "end") in ("start", "end")]
        kept = [{**tick, "id": f"kept-{number}"} for number, tick in enumerate(kept)]
        yield f"{step['id']} gone", shorter
        yield f"{step['id']} gone, its ticks kept", put(shorter, "steps", following, "ticks", kept[:7])
        if places.index(step["id"]) < places.index(safe["id"]):
            yield f"{step['id']} rinses nothing", put(data, "steps", step["id"], "rinses", None)
        for time in SHORT_TIMES:
            yield f"{step['id']} for {time}", put(data, "steps", step["id"], "time", time)
        tenth = f"{seconds(step['time']) * 0.1:.1f} s"
        yield f"{step['id']} for {tenth}", put(data, "steps", step["id"], "time", tenth)


def nothing_rinsed(data: Data) -> Changes:
    shared = [
        id_ for id_, each in data["vessels"].items() if each["kind"] == "funnel" and "dedicated_to" not in each
    ]
    for thing in ("tank", *shared):

        def change(copied: Data, thing: str = thing) -> None:
            for step in copied["steps"]:
                step["rinses"] = [each for each in step.get("rinses", ()) if each != thing]
                for tick in step.get("ticks", ()):
                    tick["clears"] = [each for each in tick.get("clears", ()) if each != thing]

        yield f"{thing} never rinsed", with_(data, change)
    if not shared:
        one = with_(data, lambda d: [each.pop("dedicated_to", None) for each in d["vessels"].values()])
        funnels = [id_ for id_, each in data["vessels"].items() if each["kind"] == "funnel"]
        for step in tank_baths(data):
            for key in ("through", "back_through"):
                if key in step:
                    one = put(one, "steps", step["id"], key, funnels[0])
        yield "one funnel for all", one


# -------------------------------------------------- figures beyond belief


def agitation_never_again(data: Data) -> Changes:
    for step in data["steps"]:
        if "agitation" not in step:
            continue
        time = max(seconds(row[1]) for row in data["solutions"][step["solution"]]["table"])
        for every in ("2 h", "24 h", f"{max(time, seconds(step.get('time', '1 s'))) + 61:.0f} s"):
            yield f"{step['id']} every {every}", put(data, "steps", step["id"], "agitation", "every", every)
        for for_ in ("0.01 s", "0.2 s"):
            yield f"{step['id']} for {for_}", put(data, "steps", step["id"], "agitation", "for", for_)
        yield f"{step['id']} never", put(data, "steps", step["id"], "agitation", None)


def table_of_a_tenth(data: Data) -> Changes:
    dice = chance(data, "tenth")
    for id_ in baths(data):
        table = data["solutions"][id_]["table"]
        for by in (0.1, dice.uniform(0.01, 0.1), dice.uniform(0.01, 0.1)):
            short = put(data, "solutions", id_, "table", times(table, by))
            yield f"{id_}: times x {by:.3f}", short
            if "shortest" in data["solutions"][id_] or id_ in developers(data):
                least = f"{seconds(data['solutions'][id_].get('shortest', '3:00')) * by:.1f} s"
                yield f"{id_}: times, shortest x {by:.3f}", put(short, "solutions", id_, "shortest", least)
        for time in SHORT_TIMES:
            brief = [[at_c, f"{seconds(time) - number * 0.1:.1f} s"] for number, (at_c, _) in enumerate(table)]
            changed = put(put(data, "solutions", id_, "table", brief), "solutions", id_, "shortest", "0:01")
            yield f"{id_}: {time}", changed


def table_tenfold(data: Data) -> Changes:
    for id_ in developers(data):
        for by in (10, 12, 20):
            table = data["solutions"][id_]["table"]
            yield f"{id_}: times x {by}", put(data, "solutions", id_, "table", times(table, by))


def bath_of_seconds(data: Data) -> Changes:
    for step in tank_baths(data):
        if step["solution"] not in developers(data):
            for time in SHORT_TIMES:
                yield f"{step['id']} for {time}", put(data, "steps", step["id"], "time", time)


def capacity_beyond_belief(data: Data) -> Changes:
    for id_ in baths(data):
        if "capacity" in data["solutions"][id_]:
            for rolls in (100, 160, 400, 999):
                words = f"{rolls} rolls per litre"
                changed = put(data, "solutions", id_, "capacity", words)
                yield f"{id_}: {words}", put(changed, "solutions", id_, "stretch", words)
                yield f"{id_}: stretched to {words}", put(data, "solutions", id_, "stretch", words)
        for life in ("5 years", "10 years", "20 years"):
            if "life_full" in data["solutions"][id_]:
                changed = put(data, "solutions", id_, "life_full", life)
                yield f"{id_} keeps {life}", put(changed, "solutions", id_, "life_part", life)


def drying_in_seconds(data: Data) -> Changes:
    for step in data["steps"]:
        if step["kind"] == "hang":
            for time in (*SHORT_TIMES, "0:30", "2:00", "5:00", "12:00"):
                yield f"{step['id']} in {time}", put(data, "steps", step["id"], "time", time)


def factors_beyond_belief(data: Data) -> Changes:
    for id_ in developers(data):
        for per_roll in ("25 %", "50 %", "100 %"):
            use = {"kind": "linear", "per_roll": per_roll}
            yield f"{id_}: {per_roll} a roll", put(data, "solutions", id_, "use", use)
        for number, row in enumerate(data["solutions"][id_].get("push", ())):
            if row[0]:
                for factor in (0.2, 0.5, 0.9):
                    yield f"{id_}: push x {factor}", put(data, "solutions", id_, "push", number, [row[0], factor])
            for factor in (1.5, 2.0):
                if not row[0]:
                    pushes = [[stops, max(factor, by)] for stops, by in data["solutions"][id_]["push"]]
                    yield f"{id_}: no push x {factor}", put(data, "solutions", id_, "push", pushes)


def temperature_beyond_belief(data: Data) -> Changes:
    for id_ in baths(data):
        for by_c in (-25.0, 18.0):
            changed = deepcopy(data)
            solution = changed["solutions"][id_]
            hot = degrees(solution["target"], by_c)
            if not float(hot.split()[0]) > 0 or (hot.endswith("°C") and not 2 < float(hot.split()[0]) < 58):
                continue
            if by_c > 0 and id_ not in developers(data):
                continue  # a bath of 40 °C is warm, and no more
            solution["target"] = hot
            solution["range"] = [degrees(each, by_c) for each in solution["range"]]
            solution["table"] = [[degrees(at_c, by_c), time] for at_c, time in solution["table"]]
            for step in changed["steps"]:
                for ask in step.get("readings", ()):
                    if ask["of"] == id_ and "range" in ask:
                        ask["range"] = [degrees(each, by_c) for each in ask["range"]]
            yield f"{id_} at {hot}", changed


# ------------------------------------------------------------- what is read


def hand_in_unread_water(data: Data) -> Changes:
    for step in data["steps"]:
        if not step.get("hand_in_water"):
            continue
        where = ("steps", step["id"])
        for number, tick in enumerate(step["ticks"]):
            if "°C" in tick["text"] and tick.get("due") == "start":
                yield "not read", put(data, *where, "ticks", [each for each in step["ticks"] if each is not tick])
                yield "read when it is over", put(data, *where, "ticks", number, "due", "end")
                yield "read by the way", put(data, *where, "ticks", number, "killer", False)
                for text in ("Water in the basin", "Water read: under 55 °C", "Water read: under 60 °C (140 °F)"):
                    yield text, put(data, *where, "ticks", number, "text", text)
        yield "said to be no hand in water", put(data, *where, "hand_in_water", False)
        for hot in (["35 °C", "48 °C"], ["45 °C", "55 °C"]):
            yield f"water of {hot}", put(data, "solutions", step["solution"], "range", hot)


def bath_never_read(data: Data) -> Changes:
    for id_ in baths(data):
        if not data["solutions"][id_].get("tempered"):
            continue

        def unread(copied: Data, key: str | None, value: Any, id_: str = id_) -> None:
            for step in copied["steps"]:
                if step["kind"] in ("measure", "wait"):
                    for ask in step.get("readings", ()):
                        if ask["of"] == id_ and key is not None:
                            ask.pop(key, None) if value is None else ask.update({key: value})
                    if key is None:
                        step["readings"] = [ask for ask in step["readings"] if ask["of"] != id_]
            copied["steps"] = [
                step for step in copied["steps"] if step["kind"] not in ("measure", "wait") or step["readings"]
            ]

        yield f"{id_} never read", with_(data, lambda d: unread(d, None, None))
        yield f"{id_} need not be read", with_(data, lambda d: unread(d, "required", False))
        yield f"{id_} may be read as anything", with_(data, lambda d: unread(d, "range", None))
        yield f"{id_} read of pushed film alone", with_(data, lambda d: unread(d, "when", ["pushed"]))


KINDS: tuple[Callable[[Data], Changes], ...] = (
    hazards_gone,
    hazard_text_blank,
    caution_blank,
    cautions_gone,
    first_aid_gone,
    gloves_gone,
    hazards_and_gloves_gone,
    residue_rule_gone,
    film_without_its_path,
    developer_ends_wrong,
    developer_with_its_own_time,
    developer_from_the_tap,
    other_bath_from_the_tap,
    developer_badly_led,
    light_safe_wrong,
    lid_wrong,
    last_bath_before_fixing,
    baths_out_of_order,
    wash_gone,
    nothing_rinsed,
    agitation_never_again,
    table_of_a_tenth,
    table_tenfold,
    bath_of_seconds,
    capacity_beyond_belief,
    drying_in_seconds,
    factors_beyond_belief,
    temperature_beyond_belief,
    hand_in_unread_water,
    bath_never_read,
)
