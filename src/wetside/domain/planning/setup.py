"""What is on the bench tonight: rolls, tank, bottles, water, and where film is loaded.

Plain frozen values in base units. Reading and writing the TOML form is not done here.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.profile.model import FilmKind
from wetside.frozen import dataclass

Place = Literal["dark room", "changing bag"]
Material = Literal["soft", "glass", "steel", "pet"]
Loading = Literal["while warming", "after warming"]
"""Whether film is loaded while the bottles warm, or once they have been read in range."""
AgitationPace = Literal["as the process", "continuous", "each half minute", "each minute"]
AgitationWay = Literal["inversion", "rotation"]


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll of film. `label` is the person's own words; push is in stops (0 = as exposed).

    stock, camera, shot_at: the film, the camera and the place in the person's own words. exposure_index: what the
    film was metered at. shot_on: ISO date. All for the record alone; empty or None where not said.
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


@dataclass(frozen=True, slots=True)
class Tank:
    """`cover_ml[i]` is the volume that covers i + 1 loaded reels."""

    places: int
    cover_ml: tuple[float, ...]
    material: Literal["plastic", "steel"] = "plastic"
    places_for_120: int = 2
    carry_over_ml: float = 10.0


@dataclass(frozen=True, slots=True)
class Bottle:
    """One bottle of one solution as it stands tonight.

    used_rolls: rolls (of 135-36) already through it. backed_rolls: those of them that had their backing on.
    mixed_on: ISO date or None when unknown. start_c: its
    temperature before tempering (room when None). shelf_id: the bottle on the shelf it is, if it is kept there.
    reason: why it is used although it is past its date, beyond its capacity or spent. spent: what a test said that
    found it spent. suspect: what happened to it that makes it doubtful. tested: the day (ISO) on which it last
    passed every test there is of its solution, with nothing said against it since. best_before: the last good
    day (ISO) where the shelf knows it better than the two above tell.
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
    spent: str = ""
    best_before: str | None = None
    suspect: str = ""
    tested: str | None = None
    backed_rolls: float = 0.0


@dataclass(frozen=True, slots=True)
class Water:
    """Taps, room and the tempering bath."""

    hot_c: float = 55.0
    cold_c: float = 15.0
    room_c: float = 21.0
    bath_ml: float = 8000.0
    bath_c: float | None = None
    humidity: float = 0.5
    covered: bool = True


@dataclass(frozen=True, slots=True)
class Setup:
    """One evening before it is planned. `invented` marks a demonstration scenario.

    loading: the order the person wants; where the forecast leaves no room the plan keeps to "after warming".
    agitation, agitated_by: how often the tank is moved, and how.
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


def bottle_of(setup: Setup, solution: str) -> Bottle | None:
    """The bottle of this solution tonight, or None."""
    return next((bottle for bottle in setup.bottles if bottle.solution == solution), None)
