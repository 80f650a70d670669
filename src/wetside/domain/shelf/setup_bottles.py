"""The bottles that the shelf offers a setup, and the kits as an evening leaves them.

A bottle that is past its date or spent is a warning to be overridden with a reason; one that was discarded or is
empty is refused. `present/shelf_text.py` words these values.
"""

from __future__ import annotations

from datetime import date
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.messages import Refusal, Unfit, message, refused
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.debit import planned_through
from wetside.domain.shelf.decide import find
from wetside.domain.shelf.report import (
    SLACK_ROLLS,
    STATUSES,
    BottleReport,
    OrderAgain,
    best_before,
    bottle_report,
    left_rolls,
    order_again,
    passed_on,
    spent_by_test,
    suspicion,
)
from wetside.domain.shelf.state import Kit, ShelfBottle, ShelfState


class BottleOffer(Struct, frozen=True):
    """A bottle that can be taken from the shelf, as a setup has it, and its report of today."""

    bottle: Bottle
    report: BottleReport


class KitOffer(Struct, frozen=True):
    """A kit of which bottles can be taken from the shelf.

    profile_id: of the process it was mixed for. bottles: the best one of each solution. worst: the report of the
    one that limits the kit; alike: all have its status. gone: titles of the solutions it has no more.
    """

    number: int
    name: str
    profile_id: str
    bottles: tuple[Bottle, ...]
    worst: BottleReport
    alike: bool
    gone: tuple[str, ...]

    def fills(self, solution: str) -> bool:
        """Whether it has a bottle of this solution."""
        return any(bottle.solution == solution for bottle in self.bottles)

    def holds(self, setup: Setup) -> bool:
        """Whether every bottle of the setup is one of its own."""
        return {bottle.shelf_id for bottle in setup.bottles} <= {bottle.shelf_id for bottle in self.bottles}


def with_shelf(setup: Setup, shelf: ShelfState) -> Setup:
    """The setup with the shelf's figures of each bottle that has a shelf id.

    Raises Unfit with one message for each bottle that cannot be used: unknown (naming the nearest), of another
    solution, discarded, empty, named twice.
    """
    ids = [bottle.shelf_id for bottle in setup.bottles if bottle.shelf_id is not None]
    findings = [message("named twice", id=id_) for id_ in sorted(set(ids)) if ids.count(id_) > 1]
    bottles = []
    for bottle in setup.bottles:
        try:
            bottles.append(bottle if bottle.shelf_id is None else _from_shelf(bottle, bottle.shelf_id, shelf))
        except Refusal as refusal:
            findings.append(refusal.why)
    if findings:
        raise Unfit(tuple(findings))
    return replace(setup, bottles=tuple(bottles))


def offers(shelf: ShelfState, today: date) -> tuple[BottleOffer, ...]:
    """Every bottle that can be taken, the best first; those that need a reason come last.

    Of the good ones the one mixed first comes first, so that an open kit is finished before the next.
    """
    return tuple(BottleOffer(_as_in_a_setup(each, shelf), each) for each in _judged(shelf, today))


def kit_offers(shelf: ShelfState, today: date) -> tuple[KitOffer, ...]:
    """Every kit of which a bottle can be taken, in the order of `offers` by its worst bottle.

    The worst has the worst status, and of several the fewest rolls left.
    """

    def badness(each: BottleReport) -> tuple[int, float]:
        return STATUSES.index(each.status), -inf if each.left_rolls is None else -each.left_rolls

    judged = _judged(shelf, today)
    found = []
    for kit in shelf.kits:
        best = {each.bottle.figures.solution: each for each in reversed(judged) if each.bottle.id in kit.bottles}
        if best:
            worst = max(best.values(), key=badness)
            figures = [shelf.bottles[id_].figures for id_ in kit.bottles]
            offer = KitOffer(
                kit.number,
                kit.name,
                kit.profile_id,
                tuple(_as_in_a_setup(each, shelf) for each in best.values()),
                worst,
                len({each.status for each in best.values()}) == 1,
                tuple(dict.fromkeys(each.title for each in figures if each.solution not in best)),
            )
            found.append(offer)
    return tuple(sorted(found, key=lambda offer: _rank(offer.worst)))


def _judged(shelf: ShelfState, today: date) -> tuple[BottleReport, ...]:
    """The bottles on the shelf that are not empty, the best first."""
    standing = (bottle for bottle in shelf.standing() if bottle.volume_ml > 0)
    return tuple(sorted((bottle_report(shelf, bottle, today) for bottle in standing), key=_rank))


def _rank(judged: BottleReport) -> tuple[int, str, str]:
    return STATUSES.index(judged.status), judged.bottle.mixed_on, judged.bottle.id


def _as_in_a_setup(judged: BottleReport, shelf: ShelfState) -> Bottle:
    of = judged.bottle
    blank = Bottle(of.figures.solution, of.label, of.volume_ml, shelf_id=of.id)
    return _from_shelf(blank, of.id, shelf)


def of_another_process(profile: Profile, setup: Setup, shelf: ShelfState) -> tuple[tuple[str, str], ...]:
    """(label, title of its process) of each bottle whose kit was mixed for a process other than `profile`."""
    found = []
    for bottle in setup.bottles:
        kept = shelf.bottles.get(bottle.shelf_id or "")
        kit = shelf.kit_of(kept) if kept is not None else None
        if kit is not None and kit.profile_id != profile.id:
            found.append((bottle.label, kit.profile_title))
    return tuple(found)


class KitLeft(Struct, frozen=True):
    """A kit after an evening: rolls of 135-36 left in it, negative beyond its capacity.

    first_used_up: titles of the solutions that limit it, () where all do. order: when to order again, the evening
    not counted; None where no end is known.
    """

    kit: str
    rolls: float
    first_used_up: tuple[str, ...]
    order: OrderAgain | None


def left_after(plan: Plan, shelf: ShelfState, today: date | None = None) -> tuple[KitLeft, ...]:
    """Each shelf kit of the plan that has a capacity, as it is when the evening is done; without `today` no order.

    A kit is used up when its first solution is; bottles that were discarded or are empty do not count.
    """
    tonight = planned_through(plan)
    used = {bottle.kit for id_, rolls in tonight.items() if rolls > 0 and (bottle := shelf.bottles.get(id_))}
    found = (_kit_left(kit, tonight, shelf, today) for kit in shelf.kits if kit.number in used)
    return tuple(left for left in found if left is not None)


def _kit_left(kit: Kit, tonight: dict[str, float], shelf: ShelfState, today: date | None) -> KitLeft | None:
    bottles = [shelf.bottles[id_] for id_ in kit.bottles]
    left: dict[str, float] = {}
    for bottle in bottles:
        rolls = left_rolls(bottle)
        if rolls is not None and bottle.discarded is None and bottle.volume_ml > 0:
            title = bottle.figures.title
            left[title] = left.get(title, 0.0) + rolls - tonight.get(bottle.id, 0.0)
    if not left:
        return None
    rolls = min(left.values())
    ending = tuple(title for title, each in left.items() if each < rolls + SLACK_ROLLS)
    order = None
    if today is not None:
        order = order_again((bottle_report(shelf, each, today) for each in bottles), today)
    return KitLeft(kit.name, rolls, ending if len(ending) < len(left) else (), order)


def taken(bottle: Bottle, id_: str, kept: tuple[Bottle, ...]) -> Bottle:
    """The setup's bottle replaced by the one of the shelf with this id; an unknown id unlinks it from the shelf.

    Its temperature before the warming stays. A reason to use it was given for one bottle alone, so it is dropped.
    """
    if id_ == bottle.shelf_id:
        return bottle
    chosen = next((each for each in kept if each.shelf_id == id_), None)
    if chosen is None:
        return replace(bottle, shelf_id=None, spent=None, suspect=None, tested=None, best_before=None, reason="")
    return replace(chosen, start_c=bottle.start_c)


def taken_from(bottles: tuple[Bottle, ...], kit: KitOffer) -> tuple[Bottle, ...]:
    """A setup's bottles with the first of each solution that the kit has replaced by the kit's."""
    offered = {each.solution: each for each in kit.bottles}
    found = []
    for bottle in bottles:
        mine = offered.pop(bottle.solution, None)
        found.append(bottle if mine is None else taken(bottle, mine.shelf_id or "", (mine,)))
    return tuple(found)


def _from_shelf(bottle: Bottle, id_: str, shelf: ShelfState) -> Bottle:
    known = find(shelf, id_)
    _refuse_unfit(bottle, known)
    last_day = best_before(known)
    return replace(
        bottle,
        label=known.label,
        volume_ml=known.volume_ml,
        material=known.material,
        used_rolls=known.worn_rolls,
        backed_rolls=known.backed_rolls if known.figures.storage == "bottle" else 0.0,
        mixed_on=known.mixed_on,
        full=known.full,
        price=shelf.kit_of(known).price,
        best_before=None if last_day is None else last_day.isoformat(),
        spent=spent_by_test(known),
        suspect=suspicion(known),
        tested=passed_on(known),
    )


def _refuse_unfit(bottle: Bottle, known: ShelfBottle) -> None:
    label, id_, gone = known.label, known.id, known.discarded
    if known.figures.solution != bottle.solution:
        holds = known.figures.title.lower()
        raise refused("other solution", label=label, id=id_, holds=holds, wanted=bottle.solution)
    if gone is not None:
        raise refused("gone", label=label, id=id_, on=gone.on, reason=gone.reason)
    if known.volume_ml <= 0:
        raise refused("emptied", label=label, id=id_)
