"""The commands of the shelf, decided in `decide.py`. Days are ISO dates, volumes ml."""

from __future__ import annotations

from msgspec import Struct

from wetside.domain.planning.setup import KitToMix, Material
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.events import (
    BleachTested,
    BottleNoted,
    BottleSqueezed,
    BottleSuspected,
    BottleUsed,
    LeaderTested,
    LevelNoted,
    ToppedUp,
)

UseBottle = BottleUsed
TryLeader = LeaderTested
TryBleach = BleachTested
Suspect = BottleSuspected
TopUp = ToppedUp
NoteLevel = LevelNoted
Squeeze = BottleSqueezed
NoteBottle = BottleNoted
"""Commands that ask for one event are that event, under an imperative name."""


class NewBottle(Struct, frozen=True):
    """One bottle to be filled."""

    solution: str
    volume_ml: float
    full: bool = True
    material: Material = "soft"


class MixKit(Struct, frozen=True):
    """Record a kit mixed on the day `on`. price: of the whole set; used_rolls: already developed in it."""

    on: str
    today: str
    name: str
    profile: Profile
    bottles: tuple[NewBottle, ...]
    price: float | None = None
    used_rolls: float = 0.0


class FillFromKit(Struct, frozen=True):
    """Record the bottles that a mixing evening begun on the day `on` has filled."""

    on: str
    profile_id: str
    profile_title: str
    kit: KitToMix


class TakeBackKit(Struct, frozen=True):
    """Remove the kit of this bottle, recorded by mistake, with all its bottles."""

    on: str
    bottle: str
    reason: str


class TimeClearing(Struct, frozen=True):
    """Record in how many seconds a scrap leader cleared. fresh_seconds None: this bottle's own time when fresh."""

    on: str
    bottle: str
    seconds: float
    fresh_seconds: float | None = None


class Trust(Struct, frozen=True):
    """Lift the suspicions of a bottle."""

    on: str
    bottle: str
    reason: str


class Discard(Struct, frozen=True):
    """Record that the content is discarded. cautioned: the disposal caution was shown and confirmed."""

    on: str
    bottle: str
    reason: str
    cautioned: bool = False


Command = (
    MixKit
    | FillFromKit
    | TakeBackKit
    | UseBottle
    | TryLeader
    | TimeClearing
    | TryBleach
    | Suspect
    | Trust
    | TopUp
    | NoteLevel
    | Squeeze
    | NoteBottle
    | Discard
)
