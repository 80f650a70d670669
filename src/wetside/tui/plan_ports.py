"""What the plan screen asks others for: files, the shelf, the plan itself, and the way on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from wetside.app.setup_fields import Option
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitLeft, KitOffer

EMPTY_BENCH: Final[Option] = ("an empty bench", "an empty bench")
"""A bench with nobody's film on it, which no file holds."""

EMPTY_SAID: Final = "An empty bench: what is marked ? is a guess. Open each and correct it."

EXAMPLE_SAID: Final = "An invented example: what is marked ? is not yours yet. Open each and correct it."

GUESSED: Final = ("tank", "bottles", "water")
"""The groups of an empty bench whose figures nobody has measured."""

LAST_BENCH: Final[Option] = ("my last bench", "my last bench")
"""The bench of the person's own last evening; offered where there is one."""


@dataclass(frozen=True, slots=True)
class PlanPorts:
    """Each may raise a WetsideError, whose first sentence is shown.

    benches, processes: (key, words) of the setups and profiles there are. save: keeps a setup under a name as a
    file of the person's own and gives back where it lies. review: goes on with the plan.
    kept, kits: the bottles that can be taken from the shelf, and the kits whose bottles these are. after: what is
    left in its kits after this plan, in words.
    """

    benches: tuple[Option, ...]
    processes: tuple[Option, ...]
    bench: Callable[[str], Setup]
    process: Callable[[str], Profile]
    make: Callable[[Profile, Setup], Plan]
    save: Callable[[Setup, str], str]
    review: Callable[[Plan, Profile, Setup], None]
    left: Callable[[], None]
    starts_at: Callable[[], datetime | None] = lambda: None
    kept: Callable[[], tuple[BottleOffer, ...]] = lambda: ()
    kits: Callable[[], tuple[KitOffer, ...]] = lambda: ()
    after: Callable[[Plan], tuple[KitLeft, ...]] = lambda plan: ()
