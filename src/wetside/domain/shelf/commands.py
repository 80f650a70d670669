"""The commands of the shelf, decided in `decide.py`. Days are ISO dates, volumes ml, rolls of 135-36."""

from __future__ import annotations

from wetside.domain.planning.setup import KitToMix, Material
from wetside.domain.profile.model import Profile
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class NewBottle:
    """One bottle to be filled."""

    solution: str
    volume_ml: float
    full: bool = True
    material: Material = "soft"


@dataclass(frozen=True, slots=True)
class MixKit:
    """Record a kit mixed on the day `on`. price: of the whole set; used_rolls: already developed in it."""

    on: str
    today: str
    name: str
    profile: Profile
    bottles: tuple[NewBottle, ...]
    price: float | None = None
    used_rolls: float = 0.0


@dataclass(frozen=True, slots=True)
class FillFromKit:
    """Record the bottles that a mixing evening begun on the day `on` has filled."""

    on: str
    profile_id: str
    profile_title: str
    kit: KitToMix


@dataclass(frozen=True, slots=True)
class TakeBackKit:
    """Remove the kit of this bottle, recorded by mistake, with all its bottles."""

    on: str
    bottle: str
    reason: str


@dataclass(frozen=True, slots=True)
class UseBottle:
    """Record the rolls a session developed in it. lost_ml: not poured back; backed_rolls: with backing on."""

    on: str
    bottle: str
    session: str
    rolls: float
    lost_ml: float = 0.0
    backed_rolls: float = 0.0


@dataclass(frozen=True, slots=True)
class TryLeader:
    """Record whether a scrap leader went dark in the developer, in room light."""

    on: str
    bottle: str
    went_dark: bool


@dataclass(frozen=True, slots=True)
class TimeClearing:
    """Record in how many seconds a scrap leader cleared. fresh_seconds None: this bottle's own time when fresh."""

    on: str
    bottle: str
    seconds: float
    fresh_seconds: float | None = None


@dataclass(frozen=True, slots=True)
class TryBleach:
    """Record whether a leader blackened in developer cleared in the bleach-fix, or in bleach and good fixer."""

    on: str
    bottle: str
    cleared: bool


@dataclass(frozen=True, slots=True)
class Suspect:
    """Mark the bottle as doubtful after a mishap. mark: which mishap of which session; why: in words."""

    on: str
    bottle: str
    mark: str
    why: str


@dataclass(frozen=True, slots=True)
class Trust:
    """Lift the suspicions of a bottle."""

    on: str
    bottle: str
    reason: str


@dataclass(frozen=True, slots=True)
class TopUp:
    """Add fresh solution. full: the bottle is full now."""

    on: str
    bottle: str
    volume_ml: float
    full: bool = True


@dataclass(frozen=True, slots=True)
class NoteLevel:
    """Record how much is in the bottle, and whether it is full."""

    on: str
    bottle: str
    volume_ml: float
    full: bool


@dataclass(frozen=True, slots=True)
class Squeeze:
    """Record that the air was squeezed out of the bottle."""

    on: str
    bottle: str


@dataclass(frozen=True, slots=True)
class NoteBottle:
    """Keep a note about a bottle."""

    on: str
    bottle: str
    text: str


@dataclass(frozen=True, slots=True)
class Discard:
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
