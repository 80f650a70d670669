"""The setup of one evening (rolls, tank, bottles, water, place) and the kit that a mixing evening makes.

Plain frozen values in base units; the TOML form is read and written in `files/setup_file.py`.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from wetside.domain.messages import Message
from wetside.domain.profile.model import FilmKind, SignalWord, Storage

TemperatureUnit = Literal["°C", "°F"]
VolumeUnit = Literal["ml", "US fl oz"]
Place = Literal["dark room", "changing bag"]
Material = Literal["soft", "glass", "steel", "pet"]
Loading = Literal["while warming", "after warming"]
"""Whether film is loaded while the bottles warm, or once they have been read in range."""
AgitationPace = Literal["as the process", "continuous", "each half minute", "each minute"]
AgitationWay = Literal["inversion", "rotation"]

Test = Literal["leader", "clearing", "bleach", "bleach-fix", "none"]
"""How a solution is tested with a scrap leader. "leader": it goes dark in a developer. "clearing": an undeveloped
one clears in a fixer, and is timed. "bleach": one blackened in the developer clears in the bleach, then in good
fixer. "bleach-fix": the blackened one clears in it, and an undeveloped one is timed. "none": a stabiliser or a
rinse."""


class Units(Struct, frozen=True):
    """The units in which a person reads temperatures and volumes."""

    temperature: TemperatureUnit = "°C"
    volume: VolumeUnit = "ml"


METRIC = Units()


class Roll(Struct, frozen=True):
    """One roll of film; `label` is the person's own name for it, push is in stops (0 = as exposed).

    For the record alone, empty or None where not given: stock, camera and place (`shot_at`) in the person's own
    words, the exposure index it was metered at, the ISO date `shot_on`.
    """

    label: str
    kind: FilmKind
    format: str = "135-36"
    push: float = 0.0
    stock: str = ""
    exposure_index: int | None = None
    camera: str = ""
    shot_at: str = ""
    shot_on: str | None = None


class Tank(Struct, frozen=True):
    """`cover_ml[i]` is the volume that covers i + 1 loaded reels; carry_over_ml is lost with each roll.

    No figure is published for what a drained reel carries over (5 to 15 ml for a 35 mm reel is an estimate from
    memory).
    """

    places: int
    cover_ml: tuple[float, ...]
    material: Literal["plastic", "steel"] = "plastic"
    places_for_120: int = 2
    carry_over_ml: float = 10.0


class Bottle(Struct, frozen=True):
    """One bottle of one solution.

    used_rolls: rolls of 135-36 already developed in it; backed_rolls: those of them with their backing on.
    mixed_on, best_before (the last good day), tested (the day since which every test of it is passed): ISO dates,
    None where not known. start_c: temperature before tempering (the room's when None). shelf_id: its id on the
    shelf, if it is kept there. reason: why it is used against a warning. spent: the alert of the test that
    found it spent. suspect: what happened to it that makes it doubtful.
    """

    solution: str
    label: str
    volume_ml: float
    material: Material = "soft"
    used_rolls: float = 0.0
    mixed_on: str | None = None
    full: bool = True
    start_c: float | None = None
    price: float | None = None
    shelf_id: str | None = None
    reason: str = ""
    spent: Message | None = None
    best_before: str | None = None
    suspect: Message | None = None
    tested: str | None = None
    backed_rolls: float = 0.0


class Water(Struct, frozen=True):
    """Taps, room and the tempering bath."""

    hot_c: float = 55.0
    cold_c: float = 15.0
    room_c: float = 21.0
    bath_ml: float = 8000.0
    bath_c: float | None = None
    humidity: float = 0.5
    covered: bool = True


class Setup(Struct, frozen=True):
    """One evening before it is planned. `invented` marks a demonstration scenario.

    loading: the order the person wants; the plan keeps to "after warming" where the forecast leaves no margin.
    agitation, agitated_by: how often and how the tank is agitated.
    """

    title: str
    profile: str
    rolls: tuple[Roll, ...]
    tank: Tank
    bottles: tuple[Bottle, ...]
    water: Water = Water()
    place: Place = "dark room"
    loading: Loading = "while warming"
    agitation: AgitationPace = "as the process"
    agitated_by: AgitationWay = "inversion"
    thermometer_error_c: float = 0.5
    developer_c: float | None = None
    who: str = ""
    note: str = ""
    invented: bool = False

    @property
    def poured_from(self) -> tuple[Bottle, ...]:
        """The bottles of the evening: of each solution the first that is named."""
        first: dict[str, Bottle] = {}
        for bottle in self.bottles:
            first.setdefault(bottle.solution, bottle)
        return tuple(first.values())


class SolutionFigures(Struct, frozen=True):
    """The profile's figures of a solution on the day it was mixed.

    Capacities are rolls of 135-36 per litre, lives days; None where the profile gives none. signal: the most
    severe signal word of its cautions, None without one; hazards: the texts of its hazard codes.
    """

    solution: str
    title: str
    storage: Storage
    test: Test
    capacity_per_l: float | None
    stretch_per_l: float | None
    life_full_days: float | None
    life_part_days: float | None
    looks_healthy: str
    looks_spent: str
    disposal: str
    signal: SignalWord | None = None
    hazards: tuple[str, ...] = ()


class BottleToFill(Struct, frozen=True):
    """One bottle that a mixing evening fills in its step `step`."""

    step: str
    volume_ml: float
    figures: SolutionFigures
    material: Material = "soft"


class KitToMix(Struct, frozen=True):
    """The kit that a mixing evening makes; price: of the set, in the person's own currency, None if unknown."""

    name: str
    price: float | None
    bottles: tuple[BottleToFill, ...]
