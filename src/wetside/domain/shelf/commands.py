"""The commands of the shelf, decided in `decide.py`. Days are ISO dates, volumes ml."""

from __future__ import annotations

from msgspec import Struct

from wetside.domain.planning.setup import KitToMix, Material
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import events as e

UseBottle = e.BottleUsed
TryLeader = e.LeaderTested
TryBleach = e.BleachTested
Suspect = e.BottleSuspected
TopUp = e.ToppedUp
NoteLevel = e.LevelNoted
Squeeze = e.BottleSqueezed
NoteBottle = e.BottleNoted
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


class TakeBackKit(e.OfBottle, frozen=True):
    """Remove the kit of this bottle, recorded by mistake, with all its bottles."""

    reason: str


class TimeClearing(e.OfBottle, frozen=True):
    """Record in how many seconds a scrap leader cleared. fresh_seconds None: this bottle's own time when fresh."""

    seconds: float
    fresh_seconds: float | None = None


class Trust(e.OfBottle, frozen=True):
    """Lift the suspicions of a bottle."""

    reason: str


class Discard(e.OfBottle, frozen=True):
    """Record that the content is discarded. cautioned: the disposal caution was shown and confirmed."""

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
