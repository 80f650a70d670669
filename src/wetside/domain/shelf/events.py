"""What has happened to the bottles: past tense, flat, plain numbers in base units.

Days are ISO dates ("2026-05-01"), volumes ml, use in rolls of 135-36 by area. The figures a bottle is judged
by are copied from the profile when it is mixed, so that a bottle explains itself after the profile has changed.
A change of shape needs a new version and an upcaster in `storage/shelf.py`.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.planning.bottles import test_of
from wetside.domain.planning.setup import Material, SolutionFigures
from wetside.domain.profile.model import GRAVITY, Profile
from wetside.frozen import dataclass

LONGEST_LABEL = 40
"""Characters on a bottle's label, and in a kit's name."""


def figures_of(profile: Profile, id_: str) -> SolutionFigures:
    """The figures of a profile's solution. KeyError where it has none of that id."""
    solution = profile.solution(id_)
    signals = [profile.caution(caution).signal for caution in solution.needs_caution]
    return SolutionFigures(
        solution=solution.id,
        title=solution.title,
        storage=solution.storage,
        test=test_of(solution),
        capacity_per_l=solution.capacity_per_l,
        stretch_per_l=solution.stretch_per_l,
        life_full_days=solution.life_full_days,
        life_part_days=solution.life_part_days,
        looks_healthy=solution.looks_healthy,
        looks_spent=solution.looks_spent,
        disposal=solution.disposal,
        signal=min(signals, key=GRAVITY.index, default=None),
        hazards=tuple(hazard.text for hazard in solution.hazards),
    )


@dataclass(frozen=True, slots=True)
class MixedBottle:
    """One bottle of a kit. full: no air worth a word is left in it.

    used_rolls: rolls of 135-36 that had gone through it when the kit was written down.
    """

    id: str
    label: str
    volume_ml: float
    material: Material
    full: bool
    figures: SolutionFigures
    used_rolls: float = 0.0


def made_label(solution: str, kit: str) -> str:
    """What a bottle is called by itself: its solution and its kit's name, cut where that is too long."""
    return f"{solution}, {kit}"[:LONGEST_LABEL].rstrip(" ,")


@dataclass(frozen=True, slots=True)
class KitMixed:
    """A kit was mixed: several bottles at once. `number` counts the kits; price is that of the whole set."""

    on: str
    number: int
    name: str
    profile_id: str
    profile_title: str
    price: float | None
    bottles: tuple[MixedBottle, ...]
    kind: Literal["kit_mixed"] = "kit_mixed"


@dataclass(frozen=True, slots=True)
class KitTakenBack:
    """The kit of this number was written down by mistake: none of its bottles ever stood there."""

    on: str
    number: int
    reason: str
    kind: Literal["kit_taken_back"] = "kit_taken_back"


@dataclass(frozen=True, slots=True)
class BottleUsed:
    """A session sent film through the bottle. lost_ml: what did not go back into it (all of a one-shot bath).

    backed_rolls: of `rolls`, those that had their backing on.
    """

    on: str
    bottle: str
    session: str
    rolls: float
    lost_ml: float
    backed_rolls: float
    kind: Literal["bottle_used"] = "bottle_used"


@dataclass(frozen=True, slots=True)
class LeaderTested:
    """A scrap leader was dipped into the developer in room light."""

    on: str
    bottle: str
    went_dark: bool
    kind: Literal["leader_tested"] = "leader_tested"


@dataclass(frozen=True, slots=True)
class ClearingTested:
    """A scrap leader was cleared, in so many seconds; fresh_seconds is what the fresh solution took."""

    on: str
    bottle: str
    seconds: float
    fresh_seconds: float
    kind: Literal["clearing_tested"] = "clearing_tested"


@dataclass(frozen=True, slots=True)
class BleachTested:
    """A leader blackened in the developer went into the bleach-fix, or into the bleach and then good fixer."""

    on: str
    bottle: str
    cleared: bool
    kind: Literal["bleach_tested"] = "bleach_tested"


@dataclass(frozen=True, slots=True)
class BottleSuspected:
    """Something happened that makes the bottle doubtful. mark: which mishap of which session; why: in words."""

    on: str
    bottle: str
    mark: str
    why: str
    kind: Literal["bottle_suspected"] = "bottle_suspected"


@dataclass(frozen=True, slots=True)
class SuspicionLifted:
    """The person found that the bottle is good after all. marks: what is set aside by it."""

    on: str
    bottle: str
    marks: tuple[str, ...]
    reason: str
    kind: Literal["suspicion_lifted"] = "suspicion_lifted"


@dataclass(frozen=True, slots=True)
class ToppedUp:
    """Fresh solution was added; the bottle's date stays that of its oldest part."""

    on: str
    bottle: str
    volume_ml: float
    full: bool
    kind: Literal["topped_up"] = "topped_up"


@dataclass(frozen=True, slots=True)
class LevelNoted:
    """How much is in the bottle now, and whether it is full (little air) or part-full."""

    on: str
    bottle: str
    volume_ml: float
    full: bool
    kind: Literal["level_noted"] = "level_noted"


@dataclass(frozen=True, slots=True)
class BottleSqueezed:
    """The air was squeezed out and the bottle capped: from this day on it counts as full."""

    on: str
    bottle: str
    kind: Literal["bottle_squeezed"] = "bottle_squeezed"


@dataclass(frozen=True, slots=True)
class BottleNoted:
    """Free words about a bottle."""

    on: str
    bottle: str
    text: str
    kind: Literal["bottle_noted"] = "bottle_noted"


@dataclass(frozen=True, slots=True)
class BottleDiscarded:
    """The bottle's content is gone for good."""

    on: str
    bottle: str
    reason: str
    kind: Literal["bottle_discarded"] = "bottle_discarded"


Event = (
    KitMixed
    | KitTakenBack
    | BottleUsed
    | LeaderTested
    | ClearingTested
    | BleachTested
    | BottleSuspected
    | SuspicionLifted
    | ToppedUp
    | LevelNoted
    | BottleSqueezed
    | BottleNoted
    | BottleDiscarded
)
