"""Whether a profile or a setup is sound: consistency first, then the proof over every path.

Each fault is reported once, with the path that breaks it. An empty result is a pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import combinations, product
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.messages import Message, Text, Unfit, message
from wetside.domain.planning.bottles import STOPPING, WANTS_REASON
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep
from wetside.domain.planning.planner import make_plan
from wetside.domain.planning.setup import Bottle, Loading, Place, Roll, Setup, Tank
from wetside.domain.planning.warm_bath import LOAD_BESIDE
from wetside.domain.profile.model import FilmKind, Profile
from wetside.domain.proof.consistency import consistency_findings
from wetside.domain.proof.contact import faults
from wetside.domain.proof.findings import Account, Finding, PathName, PathStep, ProofFault, of_step
from wetside.structs import made_of

_PLACES: Final = {
    "no roll": ("rolls",),
    "no bottle of it": ("bottles",),
    "developer outside sheet": ("developer",),
}
"""The place in a setup of what is refused, where no roll or bottle is named."""


def profile_findings(profile: Profile) -> tuple[Finding, ...]:
    """All findings of a profile, empty when it is sound. One of the proof has the path that breaks it."""
    found = list(consistency_findings(profile))
    by_key: dict[tuple[Text, ...], list[tuple[ProofFault, Plan, PathName]]] = {}
    reached: set[tuple[str, str]] = set()
    read: set[tuple[str, PlannedReading]] = set()
    for path in planned_paths(profile):
        if path.plan is None:
            account = Account(path.name)
            found += [
                Finding(("steps",), message("cannot be planned", why=why), account=account) for why in path.refused
            ]
            continue
        for step in path.plan.steps:
            reached.add((step.of, ""))
            reached |= {(step.of, tick.id.rpartition("/")[2]) for tick in step.ticks}
            read |= {(step.of, ask) for ask in step.readings}
        # A fault met in both fills of one evening is one fault of that path: the first is reported.
        for fault in {fault.key: fault for fault in reversed(faults(path.plan, profile))}.values():
            by_key.setdefault(fault.key, []).append((fault, path.plan, path.name))
    found += [_account(*each[0], times=len(each)) for each in by_key.values()]
    if reached:
        found += _unreached(profile, reached, read)
    return tuple(dict.fromkeys(found))


def setup_findings(profile: Profile, setup: Setup, today: date | None = None) -> tuple[Finding, ...]:
    """All findings of a setup against its profile, empty when the evening can be begun.

    The profile itself is not checked; only the one path of this setup is proved. Alerts that bar an evening are
    findings too; `today` decides the age of the bottles, as in a plan.
    Places under "steps" and "solutions" are in the profile, all others in the setup.
    """
    found = list(_setup_sense(profile, setup))
    try:
        plan = make_plan(profile, setup, today=today)
    except Unfit as refused:
        found += [Finding(_place(why, profile, setup), why) for why in refused.findings]
        return tuple(dict.fromkeys(found))
    placed = [(_place(each, profile, setup), each) for each in plan.warnings]
    found += [Finding(at, message("as planned", alert=why)) for at, why in placed if why.code in STOPPING]
    found += [Finding(at, message("wants a reason", alert=why)) for at, why in placed if why.code in WANTS_REASON]
    found += [_account(fault, plan, None) for fault in faults(plan, profile)]
    return tuple(dict.fromkeys(found))


def _place(why: Message, profile: Profile, setup: Setup) -> tuple[str, ...]:
    """The place in the setup of the roll or bottle that a message names."""
    values = dict(why.values)
    if "roll" in values:
        return ("rolls", str(values["roll"]))
    titles = {solution.id: solution.title for solution in profile.solutions}
    for bottle in setup.bottles:
        if values.get("bottle") == (bottle.label or titles.get(bottle.solution)):
            return ("bottles", bottle.solution)
    return _PLACES.get(why.code, ())


def _setup_sense(profile: Profile, setup: Setup) -> Iterator[Finding]:
    if setup.water.hot_c <= setup.water.cold_c:
        yield Finding(("water",), message("taps"))
    labels = [roll.label for roll in setup.rolls]
    for label in dict.fromkeys(labels):
        if labels.count(label) > 1:
            yield Finding(("rolls", label), message("same label", label=label))
    for bottle in setup.bottles:
        solution = next((each for each in profile.solutions if each.id == bottle.solution), None)
        if solution is not None and solution.storage == "tap":
            what = message("tap bottle", bottle=bottle.label, solution=solution.title)
            yield Finding(("bottles", bottle.solution), what)


def _unreached(
    profile: Profile, reached: set[tuple[str, str]], read: set[tuple[str, PlannedReading]]
) -> Iterator[Finding]:
    """Steps, ticks and readings that occur on no path; `reached` holds (step, "") and (step, tick)."""
    for step in profile.steps:
        if (step.id, "") not in reached:
            yield of_step(step, message("step unreached"))
            continue
        for tick in step.ticks:
            if (step.id, tick.id) not in reached:
                yield of_step(step, message("tick unreached", tick=tick.text))
    for step in profile.steps:
        for ask in step.readings if (step.id, "") in reached else ():
            if (step.id, made_of(ask, PlannedReading)) not in read:
                yield of_step(step, message("reading unreached", reading=ask.title), "readings")


# --------------------------------------------------------------- the paths

PLACES: tuple[Place, ...] = ("dark room", "changing bag")
ORDERS: tuple[Loading, ...] = ("after warming", "while warming")
BOTTLE_ML = 20_000.0
COVER_ML = 300.0


class PlannedPath(Struct, frozen=True):
    """One path; `plan` is None where `refused` says why."""

    name: PathName
    plan: Plan | None
    refused: tuple[Message, ...] = ()


_Fill = tuple[tuple[FilmKind, ...], float]
"""The kinds of film and the push (stops) of one tank fill of a made-up evening."""


def planned_paths(profile: Profile) -> Iterator[PlannedPath]:
    """Every path through a profile: made-up evenings that together cover every branch of the process.

    All combinations of film kinds in one and in two fills, and three full ones; both places; pushed or not; loaded
    after the warming and, where the process names that, beside it. They are planned with `make_plan`, least push
    first. Kinds of film that no condition of the profile distinguishes share a path, as does pushed film.
    """
    # Without the forecast of the warm bath, which is slow to plan and not part of a path.
    bare = replace(profile, solutions=tuple(replace(each, tempered=False) for each in profile.solutions))
    alike = _alike(profile)
    orders = ORDERS if LOAD_BESIDE in _named(profile) else ORDERS[:1]
    for fills in _evenings(profile, tuple(alike)):
        for place, loading in product(PLACES, orders):
            setup = replace(_setup(profile, fills, place), loading=loading)
            groups = tuple((tuple(alike[kind] for kind in kinds), bool(push)) for kinds, push in fills)
            name = PathName(groups, place, loading if len(orders) > 1 else None)
            try:
                yield PlannedPath(name, make_plan(bare, setup))
            except Unfit as refused:
                yield PlannedPath(name, None, refused.findings)


def _named(profile: Profile) -> frozenset[str]:
    """Every condition that some step, tick or reading names."""
    return frozenset(name for step in profile.steps for name in step.conditions())


def _alike(profile: Profile) -> dict[FilmKind, tuple[FilmKind, ...]]:
    """For each group of film kinds that share every path: one kind to represent it, and the whole group.

    Backed film has paths of its own, as its backing must come off; slide film is represented by another kind.
    """
    apart = _named(profile) | {"backed"}
    groups: dict[FilmKind, tuple[FilmKind, ...]] = {}
    rest = tuple(kind for kind in profile.accepts if kind not in apart)
    rest = tuple(sorted(rest, key=lambda kind: kind == "slide"))
    for kind in profile.accepts:
        if kind in rest:
            groups.setdefault(rest[0], rest)
        else:
            groups[kind] = (kind,)
    return groups


def _evenings(profile: Profile, kinds: tuple[FilmKind, ...]) -> list[tuple[_Fill, ...]]:
    choices = [chosen for size in range(1, len(kinds) + 1) for chosen in combinations(kinds, size)]
    stops = _stops(profile) if "pushed" in _named(profile) else None
    pushes = (0.0,) if stops is None else (0.0, stops)
    fills = [(chosen, push) for push in pushes for chosen in choices]
    evenings: list[tuple[_Fill, ...]] = [(one,) for one in fills]
    evenings += [(one, two) for one in fills for two in fills if one[1] <= two[1]]
    return [*evenings, ((kinds, 0.0),) * 3]


def _stops(profile: Profile) -> float | None:
    """The smallest push that every on-time bath has a factor for; None when the process cannot push."""
    tables = [
        {stops for stops, _ in each.push if stops > 0} for each in profile.solutions if each.ends == "on time"
    ]
    common = set.intersection(*tables) if tables else set()
    return min(common, default=None)


def _setup(profile: Profile, fills: tuple[_Fill, ...], place: Place) -> Setup:
    """Fills of equal size, so that the rolls fall into the fills they are meant for."""
    size = max(len(kinds) for kinds, _ in fills)
    rolls = tuple(
        Roll(f"fill {number}, roll {place_in_fill + 1}", kinds[min(place_in_fill, len(kinds) - 1)], push=push)
        for number, (kinds, push) in enumerate(fills, 1)
        for place_in_fill in range(size)
    )
    bottles = tuple(
        Bottle(each.id, each.title, BOTTLE_ML, start_c=each.target_c)
        for each in profile.solutions
        if each.storage != "tap"
    )
    tank = Tank(size, tuple(COVER_ML * (reel + 1) for reel in range(size)))
    return Setup("A path to prove", profile.id, rolls, tank, bottles, place=place, invented=True)


# ------------------------------------------------- the description of a path


def _account(fault: ProofFault, plan: Plan, path: PathName | None, times: int = 1) -> Finding:
    """The fault and its path: every step that pours, rinses or opens, up to where it breaks.

    times: the number of paths on which it occurs.
    """
    steps = tuple(
        PathStep(number, step.title, step.batch, step.roll_label, tuple(_acts(plan, step)))
        for number, step in enumerate(plan.steps[fault.since : fault.at + 1], fault.since)
    )
    place = ("steps", plan.steps[fault.at].of)
    return Finding(place, fault.what, fault.about, Account(path, steps, times))


def _acts(plan: Plan, step: PlannedStep) -> Iterator[Message]:
    """The acts of a step that the proof depends on."""

    def titles(things: Iterable[str]) -> tuple[str, ...]:
        return tuple(plan.title_of(thing) for thing in things)

    if step.solution is not None and step.pour:
        yield message("poured", solution=step.solution_title, things=titles(step.pour))
        if step.back:
            yield message("poured back", things=titles(step.back))
    if step.rinses:
        yield message("rinsed", things=titles(step.rinses))
    if step.lid is not None:
        yield message("lid", lid=step.lid)
    for tick in step.ticks:
        if tick.clears or tick.closes or tick.lid or tick.gloves:
            due = plan.step(tick.due_step).title
            yield message("confirmed", tick=tick.text, due_at=tick.due_at, due=due)
