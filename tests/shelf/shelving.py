"""A shelf with one kit of the shipped two-bath process, mixed on an invented day."""

from __future__ import annotations

from functools import reduce

from tests.shipped import shipped_profile

from wetside.domain.shelf.commands import Command, MixKit, NewBottle
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.state import ShelfState, evolve

TWO_BATH = shipped_profile("two-bath")
MIXED = "2031-01-10"


def after(state: ShelfState, *commands: Command) -> ShelfState:
    """The shelf after these commands, one after another."""
    for command in commands:
        state = reduce(evolve, decide(state, command), state)
    return state


def kit(on: str = MIXED, ml: float = 1000.0, price: float | None = 36.0, full: bool = True) -> MixKit:
    """A kit of developer, bleach-fix and stabiliser."""
    bottles = tuple(NewBottle(id_, ml, full=full) for id_ in ("developer", "bleach-fix", "stabiliser"))
    return MixKit(on, "2031-12-31", "Spring kit", TWO_BATH, bottles, price)


def kit_shelf() -> ShelfState:
    """A shelf with that kit on it."""
    return after(ShelfState(), kit())
