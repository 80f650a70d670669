"""Every path through a profile: made-up evenings that together take each turn the process has.

Small setups (which film, how many tank fills, where it is loaded, pushed or not) are planned by
`domain/planning/planner.py`, so that what is proved is what the live guide will do.

Two kinds of film that no condition of the profile names go through it alike, so they share a path; the same
holds for pushed film. `every=True` takes all of them apart all the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.planner import make_plan
from wetside.domain.planning.setup import Bottle, Loading, Place, Roll, Setup, Tank
from wetside.domain.planning.warm_bath import LOAD_BESIDE
from wetside.domain.profile.model import FilmKind, Profile
from wetside.errors import Refused
from wetside.frozen import dataclass, replace

PLACES: tuple[Place, ...] = ("dark room", "changing bag")
ORDERS: tuple[Loading, ...] = ("after warming", "while warming")
BOTTLE_ML = 20_000.0
COVER_ML = 300.0


@dataclass(frozen=True, slots=True)
class Way:
    """One path: `words` say which ("standard film, dark room"); `plan` is None where `refused` says why."""

    words: str
    plan: Plan | None
    refused: str = ""


@dataclass(frozen=True, slots=True)
class _Fill:
    """One tank fill of a made-up evening."""

    kinds: tuple[FilmKind, ...]
    push: float


def ways(profile: Profile, every: bool = False) -> Iterator[Way]:
    """All combinations of film kinds in one and in two fills, and three full ones; both places; pushed or not;
    loaded after the warming and, where the process names that, beside it.

    Fills come in the order the plan gives them: least push first.
    """
    bare = without_tempering(profile)
    alike = _alike(profile, every)
    orders = ORDERS if LOAD_BESIDE in _named(profile) else ORDERS[:1]
    for fills in _evenings(profile, tuple(alike), every):
        for place, loading in product(PLACES, orders):
            setup = replace(_setup(profile, fills, place), loading=loading)
            words = f"{_fills_in_words(fills, alike)}; {place}{'' if len(orders) == 1 else f', {loading}'}"
            try:
                yield Way(words, make_plan(bare, setup))
            except Refused as refusal:
                yield Way(words, None, str(refusal))


def without_tempering(profile: Profile) -> Profile:
    """The same process without its forecast of the warm bath: the slow part of a plan, and no part of a path."""
    return replace(profile, solutions=tuple(replace(each, tempered=False) for each in profile.solutions))


def _named(profile: Profile) -> frozenset[str]:
    """Every condition that some step, tick or reading names."""
    return frozenset(name for step in profile.steps for name in step.conditions())


def _alike(profile: Profile, every: bool) -> dict[FilmKind, tuple[FilmKind, ...]]:
    """One kind for each group that goes the same way, with the whole group.

    Backed film is proved apart, since its backing must go; a negative film speaks for slide film as well.
    """
    apart = _named(profile) | {"backed"}
    groups: dict[FilmKind, tuple[FilmKind, ...]] = {}
    rest = tuple(kind for kind in profile.accepts if kind not in apart and not every)
    rest = tuple(sorted(rest, key=lambda kind: kind == "slide"))
    for kind in profile.accepts:
        if kind in rest:
            groups.setdefault(rest[0], rest)
        else:
            groups[kind] = (kind,)
    return groups


def _evenings(profile: Profile, kinds: tuple[FilmKind, ...], every: bool) -> list[tuple[_Fill, ...]]:
    choices = [chosen for size in range(1, len(kinds) + 1) for chosen in combinations(kinds, size)]
    stops = _stops(profile) if every or "pushed" in _named(profile) else None
    pushes = (0.0,) if stops is None else (0.0, stops)
    fills = [_Fill(chosen, push) for push in pushes for chosen in choices]
    evenings: list[tuple[_Fill, ...]] = [(one,) for one in fills]
    evenings += [(one, two) for one in fills for two in fills if one.push <= two.push]
    return [*evenings, (_Fill(kinds, 0.0),) * 3]


def _stops(profile: Profile) -> float | None:
    """The smallest push that every on-time bath has a factor for; None when the process cannot push."""
    tables = [
        {stops for stops, _ in each.push if stops > 0} for each in profile.solutions if each.ends == "on time"
    ]
    common = set.intersection(*tables) if tables else set()
    return min(common, default=None)


def _setup(profile: Profile, fills: tuple[_Fill, ...], place: Place) -> Setup:
    """Fills of equal size, so that the rolls fall into the fills they are meant for."""
    size = max(len(fill.kinds) for fill in fills)
    rolls = []
    for number, fill in enumerate(fills, 1):
        for seat in range(size):
            kind = fill.kinds[min(seat, len(fill.kinds) - 1)]
            rolls.append(Roll(f"fill {number}, roll {seat + 1}", kind, push=fill.push))
    bottles = tuple(
        Bottle(each.id, each.title, BOTTLE_ML, start_c=each.target_c)
        for each in profile.solutions
        if each.storage != "tap"
    )
    tank = Tank(size, tuple(COVER_ML * (reel + 1) for reel in range(size)))
    return Setup("A path to prove", profile.id, tuple(rolls), tank, bottles, place=place, invented=True)


def _fills_in_words(fills: tuple[_Fill, ...], alike: dict[FilmKind, tuple[FilmKind, ...]]) -> str:
    words = []
    for fill in fills:
        kinds = " and ".join(" or ".join(alike[kind]) for kind in fill.kinds)
        words.append(f"{kinds} film{', pushed' if fill.push else ''}")
    if len(words) == 1:
        return words[0]
    return ", ".join(f"tank fill {number}: {each}" for number, each in enumerate(words, 1))
