"""The events of the shelf. Days are ISO dates ("2026-05-01"), volumes ml, use in rolls of 135-36 by area.

The figures a bottle is judged by are copied from the profile when it is mixed. A change of shape needs a new
version and an upcaster in `storage/shelf.py`.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from wetside.domain.messages import Message
from wetside.domain.planning.bottles import test_of
from wetside.domain.planning.setup import Material, SolutionFigures
from wetside.domain.profile.model import GRAVITY, Profile
from wetside.structs import made_of

LONGEST_LABEL = 40
"""The most characters of a bottle's label and a kit's name."""


def figures_of(profile: Profile, id_: str) -> SolutionFigures:
    """The figures of a profile's solution. Raises KeyError for an unknown id."""
    solution = profile.solution(id_)
    signals = [profile.caution(caution).signal for caution in solution.needs_caution]
    return made_of(
        solution,
        SolutionFigures,
        solution=solution.id,
        test=test_of(solution),
        signal=min(signals, key=GRAVITY.index, default=None),
        hazards=tuple(hazard.text for hazard in solution.hazards),
    )


class MixedBottle(Struct, frozen=True):
    """One bottle of a kit. full: there is little air in it; used_rolls: done when the kit was recorded."""

    id: str
    label: str
    volume_ml: float
    material: Material
    full: bool
    figures: SolutionFigures
    used_rolls: float = 0.0


def made_label(solution: str, kit: str) -> str:
    """A bottle's default label: its solution and its kit's name, cut where that is too long."""
    return f"{solution}, {kit}"[:LONGEST_LABEL].rstrip(" ,")


class KitMixed(Struct, frozen=True):
    """A kit was mixed. number: counts the kits; price: of the whole set."""

    on: str
    number: int
    name: str
    profile_id: str
    profile_title: str
    price: float | None
    bottles: tuple[MixedBottle, ...]
    kind: Literal["kit_mixed"] = "kit_mixed"


class KitTakenBack(Struct, frozen=True):
    """The kit of this number was recorded by mistake, and is removed with its bottles."""

    on: str
    number: int
    reason: str
    kind: Literal["kit_taken_back"] = "kit_taken_back"


class OfBottle(Struct, frozen=True):
    """An event of one bottle, on one day."""

    on: str
    bottle: str


class BottleUsed(OfBottle, frozen=True):
    """A session developed film in the bottle. lost_ml: not poured back (all of a one-shot bath); backed_rolls: of
    `rolls`, those with their backing on."""

    session: str
    rolls: float
    lost_ml: float = 0.0
    backed_rolls: float = 0.0
    kind: Literal["bottle_used"] = "bottle_used"


class LeaderTested(OfBottle, frozen=True):
    """A scrap leader was tried in the developer, in room light."""

    went_dark: bool
    kind: Literal["leader_tested"] = "leader_tested"


class ClearingTested(OfBottle, frozen=True):
    """A scrap leader cleared in so many seconds; fresh_seconds: in the fresh solution."""

    seconds: float
    fresh_seconds: float
    kind: Literal["clearing_tested"] = "clearing_tested"


class BleachTested(OfBottle, frozen=True):
    """A leader blackened in the developer was tried in the bleach-fix, or in the bleach and then good fixer."""

    cleared: bool
    kind: Literal["bleach_tested"] = "bleach_tested"


class BottleSuspected(OfBottle, frozen=True):
    """A mishap made the bottle doubtful. mark: which mishap of which session."""

    mark: str
    why: Message
    kind: Literal["bottle_suspected"] = "bottle_suspected"


class SuspicionLifted(OfBottle, frozen=True):
    """The person found that the bottle is good. marks: of the suspicions that are lifted."""

    marks: tuple[str, ...]
    reason: str
    kind: Literal["suspicion_lifted"] = "suspicion_lifted"


class ToppedUp(OfBottle, frozen=True):
    """Fresh solution was added; the bottle keeps the date of its oldest part. full: it is full now."""

    volume_ml: float
    full: bool = True
    kind: Literal["topped_up"] = "topped_up"


class LevelNoted(OfBottle, frozen=True):
    """The level was read: the volume now in the bottle, and whether it is full or part-full."""

    volume_ml: float
    full: bool
    kind: Literal["level_noted"] = "level_noted"


class BottleSqueezed(OfBottle, frozen=True):
    """The air was squeezed out: from this day on the bottle counts as full."""

    kind: Literal["bottle_squeezed"] = "bottle_squeezed"


class BottleNoted(OfBottle, frozen=True):
    """A note about a bottle."""

    text: str
    kind: Literal["bottle_noted"] = "bottle_noted"


class BottleDiscarded(OfBottle, frozen=True):
    """The content was discarded."""

    reason: str
    kind: Literal["bottle_discarded"] = "bottle_discarded"


BottleEvent = (
    BottleUsed
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
Event = KitMixed | KitTakenBack | BottleEvent
