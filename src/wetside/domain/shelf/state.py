"""The state of the shelf: the fold of its events, independent of the day. `report.py` judges it on a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import reduce
from math import fsum
from typing import assert_never

from msgspec import Struct, field
from msgspec.structs import replace

from wetside.domain.planning.setup import Material, SolutionFigures
from wetside.domain.shelf import events as e
from wetside.structs import made_of


class Kit(Struct, frozen=True):
    """A kit that was mixed; `bottles` are the ids of what it filled."""

    number: int
    name: str
    mixed_on: str
    profile_id: str
    profile_title: str
    price: float | None
    bottles: tuple[str, ...]


class ShelfBottle(Struct, frozen=True):
    """One bottle.

    worn_per_l: rolls of 135-36 that each litre of what is in it now has done; what is spilt takes its use away,
    and fresh solution dilutes it. part_since: since when it has been part-full, None while it is full; aired: the
    spells (from, to) before that. used_before: rolls of 135-36 done when it was recorded. put_in_ml: all that was
    ever put into it.
    """

    id: str
    kit: int
    label: str
    material: Material
    figures: SolutionFigures
    mixed_on: str
    volume_ml: float
    worn_per_l: float
    part_since: str | None
    aired: tuple[tuple[str, str], ...] = ()
    uses: tuple[e.BottleUsed, ...] = ()
    leaders: tuple[e.LeaderTested, ...] = ()
    clearings: tuple[e.ClearingTested, ...] = ()
    bleachings: tuple[e.BleachTested, ...] = ()
    suspicions: tuple[e.BottleSuspected, ...] = ()
    lifted: tuple[e.SuspicionLifted, ...] = ()
    notes: tuple[e.BottleNoted, ...] = ()
    discarded: e.BottleDiscarded | None = None
    used_before: float = 0.0
    put_in_ml: float = 0.0

    @property
    def worn_rolls(self) -> float:
        """Rolls of 135-36 that the present content has done."""
        return self.worn_per_l * self.volume_ml / 1000.0

    @property
    def full(self) -> bool:
        """Whether it is full, so that there is little air in it."""
        return self.part_since is None

    @property
    def rolls(self) -> float:
        """Rolls of 135-36 that went through it."""
        return fsum((self.used_before, *(use.rolls for use in self.uses)))

    @property
    def suspected(self) -> tuple[e.BottleSuspected, ...]:
        """The suspicions that were not lifted."""
        gone = {mark for lifted in self.lifted for mark in lifted.marks}
        return tuple(each for each in self.suspicions if each.mark not in gone)

    @property
    def backed_rolls(self) -> float:
        """Rolls of 135-36 that went through it with their backing on."""
        return fsum(use.backed_rolls for use in self.uses)

    @property
    def fresh(self) -> bool:
        """Whether no film has gone through it yet."""
        return not self.uses and self.used_before == 0


class ShelfState(Struct, frozen=True):
    """Kits in the order they were mixed, and every recorded bottle by id, without those taken back.

    numbered: the highest number of a kit, as a number is not given twice.
    """

    kits: tuple[Kit, ...] = ()
    bottles: Mapping[str, ShelfBottle] = field(default_factory=dict)
    numbered: int = 0

    def kit_of(self, bottle: ShelfBottle) -> Kit:
        """The kit a bottle was mixed from."""
        return next(kit for kit in self.kits if kit.number == bottle.kit)

    def standing(self) -> tuple[ShelfBottle, ...]:
        """The bottles that have not been discarded, the oldest kit first."""
        return tuple(bottle for bottle in self.bottles.values() if bottle.discarded is None)


def replay(events: Iterable[e.Event]) -> ShelfState:
    """The shelf after all `events` in order."""
    return reduce(evolve, events, ShelfState())


def evolve(state: ShelfState, event: e.Event) -> ShelfState:
    """The shelf after `event`. Total: an event about an unknown bottle changes nothing."""
    match event:
        case e.KitMixed():
            return _mixed(state, event)
        case e.KitTakenBack():
            return replace(
                state,
                kits=tuple(kit for kit in state.kits if kit.number != event.number),
                bottles={id_: each for id_, each in state.bottles.items() if each.kit != event.number},
            )
        case _:
            bottle = state.bottles.get(event.bottle)
            if bottle is None:
                return state
            return replace(state, bottles={**state.bottles, event.bottle: _changed(bottle, event)})


def _changed(bottle: ShelfBottle, event: e.BottleEvent) -> ShelfBottle:
    match event:
        case e.BottleUsed():
            return _used(bottle, event)
        case e.ToppedUp():
            return _topped_up(bottle, event)
        case e.LevelNoted():
            return _filled(replace(bottle, volume_ml=event.volume_ml), event.on, event.full)
        case e.BottleSqueezed():
            return _filled(bottle, event.on, full=True)
        case e.BottleDiscarded():
            return replace(bottle, discarded=event)
        case e.LeaderTested():
            return replace(bottle, leaders=(*bottle.leaders, event))
        case e.ClearingTested():
            return replace(bottle, clearings=(*bottle.clearings, event))
        case e.BleachTested():
            return replace(bottle, bleachings=(*bottle.bleachings, event))
        case e.BottleSuspected():
            return replace(bottle, suspicions=(*bottle.suspicions, event))
        case e.SuspicionLifted():
            return replace(bottle, lifted=(*bottle.lifted, event))
        case e.BottleNoted():
            return replace(bottle, notes=(*bottle.notes, event))
        case _:
            assert_never(event)


def _mixed(state: ShelfState, event: e.KitMixed) -> ShelfState:
    fresh = {
        bottle.id: made_of(
            bottle,
            ShelfBottle,
            kit=event.number,
            mixed_on=event.on,
            worn_per_l=bottle.used_rolls / (bottle.volume_ml / 1000.0),
            part_since=None if bottle.full else event.on,
            used_before=bottle.used_rolls,
            put_in_ml=bottle.volume_ml,
        )
        for bottle in event.bottles
    }
    kit = Kit(event.number, event.name, event.on, event.profile_id, event.profile_title, event.price, tuple(fresh))
    return ShelfState((*state.kits, kit), {**state.bottles, **fresh}, max(state.numbered, event.number))


def _used(bottle: ShelfBottle, event: e.BottleUsed) -> ShelfBottle:
    """The bottle after a use; a one-shot bath takes its use away with it, and a loss leaves air behind."""
    worn_per_l = bottle.worn_per_l
    litres = bottle.volume_ml / 1000.0
    if bottle.figures.storage != "one-shot" and litres > 0.0:
        worn_per_l += event.rolls / litres
    left_ml = max(0.0, bottle.volume_ml - event.lost_ml)
    used = replace(bottle, uses=(*bottle.uses, event), volume_ml=left_ml, worn_per_l=worn_per_l)
    return _filled(used, event.on, full=False) if event.lost_ml > 0 else used


def _topped_up(bottle: ShelfBottle, event: e.ToppedUp) -> ShelfBottle:
    now_ml = bottle.volume_ml + event.volume_ml
    added = replace(
        bottle,
        volume_ml=now_ml,
        worn_per_l=bottle.worn_per_l * bottle.volume_ml / now_ml,
        put_in_ml=bottle.put_in_ml + event.volume_ml,
    )
    return _filled(added, event.on, event.full)


def _filled(bottle: ShelfBottle, on: str, full: bool) -> ShelfBottle:
    """The bottle full or part-full from day `on`; a past spell with air is kept in `aired`."""
    if not full:
        return bottle if bottle.part_since is not None else replace(bottle, part_since=on)
    if bottle.part_since is None:
        return bottle
    return replace(bottle, part_since=None, aired=(*bottle.aired, (bottle.part_since, on)))
