"""The callbacks of the plan screen: files, the shelf, the plan itself, and the next screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Final

from msgspec import Struct

from wetside.app.setup_fields import Option
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitLeft, KitOffer

EMPTY_BENCH: Final[Option] = ("an empty bench", "an empty bench")
"""The key of the built-in empty bench, which is in no file."""

EMPTY_SAID: Final = "An empty bench: what is marked ? is a guess. Open each and correct it."

EXAMPLE_SAID: Final = "An invented example: what is marked ? is not yours yet. Open each and correct it."

GUESSED: Final = ("tank", "bottles", "water")
"""The groups of the empty bench that hold guesses."""

LAST_BENCH: Final[Option] = ("my last bench", "my last bench")
"""The key of the bench of the last evening, which is offered if there is one."""


class PlanPorts(Struct, frozen=True):
    """Each callback may raise a WetsideError, whose first sentence is shown.

    benches, processes: return (key, words) of the existing setups and profiles. save: writes a setup under a name
    into the person's own folder and returns the path. review: continues with the plan.
    kept, kits: return the bottles that can be taken from the shelf, and their kits. after: returns what is left
    in the kits after this plan, in words.
    """

    benches: tuple[Option, ...]
    processes: tuple[Option, ...]
    bench: Callable[[str], Setup]
    process: Callable[[str], Profile]
    make: Callable[[Profile, Setup], Plan]
    save: Callable[[Setup, str], str]
    review: Callable[[Plan, Profile, Setup], None]
    starts_at: Callable[[], datetime | None] = lambda: None
    kept: Callable[[], tuple[BottleOffer, ...]] = lambda: ()
    kits: Callable[[], tuple[KitOffer, ...]] = lambda: ()
    after: Callable[[Plan], tuple[KitLeft, ...]] = lambda plan: ()
