"""What may be asked of the shelf. Imperative; days and "today" arrive inside as ISO dates.

Nothing is decided here: see `decide.py`.
"""

from __future__ import annotations

from wetside.domain.planning.setup import KitToMix, Material
from wetside.domain.profile.model import Profile
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class NewBottle:
    """One bottle to be filled. `label` "" becomes the solution's title and the kit's name."""

    solution: str
    volume_ml: float
    label: str = ""
    full: bool = True
    material: Material = "soft"


@dataclass(frozen=True, slots=True)
class MixKit:
    """A kit has been mixed on day `on`. `price` is that of the whole set, in the person's own currency.

    used_rolls: rolls of 135-36 already developed in it; whatever is poured back has done them.
    """

    on: str
    today: str
    name: str
    profile: Profile
    bottles: tuple[NewBottle, ...]
    price: float | None = None
    used_rolls: float = 0.0


@dataclass(frozen=True, slots=True)
class FillFromKit:
    """A mixing evening begun on day `on` has filled these bottles of its kit."""

    on: str
    profile_id: str
    profile_title: str
    kit: KitToMix


@dataclass(frozen=True, slots=True)
class TakeBackKit:
    """The kit that this bottle belongs to was written down by mistake: all of its bottles go."""

    on: str
    bottle: str
    reason: str


@dataclass(frozen=True, slots=True)
class UseBottle:
    """A session sent `rolls` (of 135-36) through the bottle; lost_ml did not go back into it.

    backed_rolls: those of them that had their backing on.
    """

    on: str
    bottle: str
    session: str
    rolls: float
    lost_ml: float = 0.0
    backed_rolls: float = 0.0


@dataclass(frozen=True, slots=True)
class TryLeader:
    """A scrap leader in the developer, in room light: did it go dark?"""

    on: str
    bottle: str
    went_dark: bool


@dataclass(frozen=True, slots=True)
class TimeClearing:
    """A scrap leader cleared in so many seconds. fresh_seconds None: what this bottle took when it was fresh."""

    on: str
    bottle: str
    seconds: float
    fresh_seconds: float | None = None


@dataclass(frozen=True, slots=True)
class TryBleach:
    """A leader blackened in the developer: did it clear in the bleach-fix, or in bleach and then good fixer?"""

    on: str
    bottle: str
    cleared: bool


@dataclass(frozen=True, slots=True)
class Suspect:
    """A mishap of a session makes the bottle doubtful. mark: which of which session; why: in words."""

    on: str
    bottle: str
    mark: str
    why: str


@dataclass(frozen=True, slots=True)
class Trust:
    """A suspect bottle is good after all."""

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
    """Say how much is in the bottle, and whether it is full."""

    on: str
    bottle: str
    volume_ml: float
    full: bool


@dataclass(frozen=True, slots=True)
class Squeeze:
    """The air is out and the cap is on."""

    on: str
    bottle: str


@dataclass(frozen=True, slots=True)
class NoteBottle:
    """Keep some words about a bottle."""

    on: str
    bottle: str
    text: str


@dataclass(frozen=True, slots=True)
class Discard:
    """The bottle's content is gone. cautioned: the disposal caution was shown and answered."""

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
