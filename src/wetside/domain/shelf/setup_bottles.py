"""The shelf and tonight: what it knows about the bottles a setup names, which it offers, what is left after them.

Pure. A bottle that is past its date or spent is a warning with a reason, not a refusal; one that was discarded or
is empty is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from math import inf

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.debit import planned_through
from wetside.domain.shelf.decide import find
from wetside.domain.shelf.report import (
    SLACK_ROLLS,
    STANDINGS,
    BottleReport,
    best_before,
    bottle_report,
    left_rolls,
    order_words,
    passed_on,
    spent_by_test,
    suspect_words,
)
from wetside.domain.shelf.state import Kit, ShelfState
from wetside.domain.shelf.state import ShelfBottle as ShelfBottle
from wetside.errors import CheckFailed, Refused
from wetside.frozen import dataclass

Kept = tuple[tuple[Bottle, str], ...]
"""Bottles that can be taken from the shelf, as a setup has them, and how each stands in words."""

NOT_ON_SHELF = "not on the shelf"


@dataclass(frozen=True, slots=True)
class ShelfKit:
    """A kit on the shelf: those of its bottles that can be taken tonight, as a setup has them, and how it stands.

    bottles: one of each solution, the best there is. profile_id: of the process it was mixed for.
    """

    number: int
    name: str
    profile_id: str
    bottles: tuple[Bottle, ...]
    words: str

    def fills(self, solution: str) -> bool:
        """Whether it has a bottle of this solution."""
        return any(bottle.solution == solution for bottle in self.bottles)

    def holds(self, setup: Setup) -> bool:
        """Whether every bottle of the setup is one of its own."""
        return {bottle.shelf_id for bottle in setup.bottles} <= {bottle.shelf_id for bottle in self.bottles}


def with_shelf(setup: Setup, shelf: ShelfState) -> Setup:
    """The setup with what the shelf knows about each bottle that has a shelf id.

    Filled in: label, volume, material, rolls through it, mixing date, full or not, price of its set, best before,
    and what a test said that found it spent. CheckFailed with one sentence for each bottle that cannot be used:
    unknown (naming the nearest), of another solution, discarded, empty, named twice.
    """
    findings: list[str] = []
    bottles = []
    ids = [bottle.shelf_id for bottle in setup.bottles if bottle.shelf_id is not None]
    findings += [f"Bottle {id_} is named twice in the setup." for id_ in sorted(set(ids)) if ids.count(id_) > 1]
    for bottle in setup.bottles:
        try:
            bottles.append(bottle if bottle.shelf_id is None else _from_shelf(bottle, bottle.shelf_id, shelf))
        except Refused as refusal:
            findings.append(str(refusal))
    if findings:
        raise CheckFailed(tuple(findings))
    return replace(setup, bottles=tuple(bottles))


def offers(shelf: ShelfState, today: date) -> Kept:
    """Every bottle that can be taken tonight, as a setup has it, and how it stands in words; the best first.

    Of the good ones the one mixed first comes first, so that an open kit is finished before the next; those that
    need a reason come last.
    """
    return tuple((_offered(each, shelf), f"{each.label}: {each.words}") for each in _judged(shelf, today))


def kit_offers(shelf: ShelfState, today: date) -> tuple[ShelfKit, ...]:
    """Every kit of which a bottle can be taken tonight; the best first, as `offers` by its worst bottle."""
    judged = _judged(shelf, today)
    found = []
    for kit in shelf.kits:
        best = {each.solution: each for each in reversed(judged) if each.id in kit.bottles}
        if best:
            worst = max(best.values(), key=_how_bad)
            bottles = tuple(_offered(each, shelf) for each in best.values())
            words = _kit_words(kit, best, worst, shelf)
            found.append((_rank(worst), ShelfKit(kit.number, kit.name, kit.profile_id, bottles, words)))
    return tuple(kept for _, kept in sorted(found, key=lambda each: each[0]))


def _how_bad(judged: BottleReport) -> tuple[int, float]:
    """What stands worst, then what has least left; what has no capacity is never used up."""
    left = judged.left_rolls
    return STANDINGS.index(judged.status), -inf if left is None else -left


def _kit_words(kit: Kit, best: Mapping[str, BottleReport], worst: BottleReport, shelf: ShelfState) -> str:
    """A kit stands as its worst bottle does; what it has no more is named."""
    alike = len({each.status for each in best.values()}) == 1
    figures = [shelf.bottles[id_].figures for id_ in kit.bottles]
    gone = dict.fromkeys(each.title.lower() for each in figures if each.solution not in best)
    whose = "" if alike else f"{worst.title.lower()} "
    return f"{kit.name}: {whose}{worst.words}{''.join(f', no {title}' for title in gone)}"


def _judged(shelf: ShelfState, today: date) -> tuple[BottleReport, ...]:
    """What stands on the shelf and is not empty, the best first."""
    standing = (bottle for bottle in shelf.standing() if bottle.volume_ml > 0)
    return tuple(sorted((bottle_report(shelf, bottle, today) for bottle in standing), key=_rank))


def _offered(judged: BottleReport, shelf: ShelfState) -> Bottle:
    blank = Bottle(judged.solution, judged.label, judged.volume_ml, shelf_id=judged.id)
    return _from_shelf(blank, judged.id, shelf)


def of_another_process(profile: Profile, setup: Setup, shelf: ShelfState) -> tuple[str, ...]:
    """A sentence for each bottle of tonight whose kit was mixed for another process than `profile`."""
    said = []
    for bottle in setup.bottles:
        kept = shelf.bottles.get(bottle.shelf_id or "")
        kit = next((kit for kit in shelf.kits if kept is not None and kit.number == kept.kit), None)
        if kit is not None and kit.profile_id != profile.id:
            which = f"{bottle.label} was mixed for {kit.profile_title}, not for {profile.title}"
            said.append(f"{which}: is it the same solution?")
    return tuple(said)


LEFT_AFTER = "Left in the kit after tonight, in rolls of 135-36"
"""Over what `left_after` says."""


def left_after(plan: Plan, shelf: ShelfState, today: date | None = None) -> tuple[str, ...]:
    """For each shelf kit of tonight, how many rolls of 135-36 are left in it when the evening is done.

    A kit does what its first solution to be used up does; bottles that were discarded or are empty count no more.
    Nothing is said of a kit without a capacity. With `today` it is said when to order again, tonight not counted.
    """
    tonight = planned_through(plan)
    used = [bottle for id_, rolls in tonight.items() if rolls > 0 and (bottle := shelf.bottles.get(id_))]
    kits = dict.fromkeys(bottle.kit for bottle in used)
    said = (_kit_left(kit, tonight, shelf, today) for kit in shelf.kits if kit.number in kits)
    return tuple(words for words in said if words)


def in_short(words: str) -> str:
    """One of the sentences of `left_after` where there is room for a line: the kit and its rolls."""
    return words.partition(";")[0].partition(". ")[0].rstrip(".")


def _kit_left(kit: Kit, tonight: Mapping[str, float], shelf: ShelfState, today: date | None) -> str:
    left: dict[str, float] = {}
    for id_ in kit.bottles:
        bottle = shelf.bottles[id_]
        rolls = left_rolls(bottle)
        if rolls is not None and bottle.discarded is None and bottle.volume_ml > 0:
            title = bottle.figures.title
            left[title] = left.get(title, 0.0) + rolls - tonight.get(id_, 0.0)
    if not left:
        return ""
    rolls = min(left.values())
    ending = [title.lower() for title, each in left.items() if each < rolls + SLACK_ROLLS]
    first = "" if len(ending) == len(left) else f"; the {' and the '.join(ending)} will be the first used up"
    bottles = [shelf.bottles[id_] for id_ in kit.bottles]
    again = (
        order_words((bottle_report(shelf, each, today) for each in bottles), today) if today is not None else ""
    )
    more = f"{first}.{' ' if again else ''}{again}"
    if rolls < -SLACK_ROLLS:
        return f"{kit.name}: none, {-rolls:.1f} rolls beyond its capacity{more}"
    if rolls < SLACK_ROLLS:
        return f"{kit.name}: none, it has then done all it can{more}"
    return f"{kit.name}: {rolls:.1f} rolls{more}"


def choices(bottle: Bottle, kept: Kept) -> tuple[tuple[str, str], ...]:
    """What a setup's bottle can be on the shelf: (shelf id, words), and that it is not there; () for nothing."""
    mine = tuple((each.shelf_id or "", words) for each, words in kept if each.solution == bottle.solution)
    return (*mine, (NOT_ON_SHELF, NOT_ON_SHELF)) if mine or bottle.shelf_id is not None else ()


def taken(bottle: Bottle, id_: str, kept: Kept) -> Bottle:
    """The setup's bottle when it is that one of the shelf; what it is warmed from stays tonight's.

    A reason to use it all the same was given for one bottle: another needs its own.
    """
    if id_ == bottle.shelf_id:
        return bottle
    chosen = next((each for each, _ in kept if each.shelf_id == id_), None)
    if chosen is None:
        return replace(bottle, shelf_id=None, spent="", suspect="", tested=None, best_before=None, reason="")
    return replace(chosen, start_c=bottle.start_c)


def taken_from(bottles: tuple[Bottle, ...], kit: ShelfKit) -> tuple[Bottle, ...]:
    """A setup's bottles, the first of each solution that the kit has being the kit's."""
    offered = {each.solution: each for each in kit.bottles}
    found = []
    for bottle in bottles:
        mine = offered.pop(bottle.solution, None)
        found.append(bottle if mine is None else taken(bottle, mine.shelf_id or "", ((mine, ""),)))
    return tuple(found)


def _rank(judged: BottleReport) -> tuple[int, str, str]:
    return STANDINGS.index(judged.status), judged.mixed_on, judged.id


def _from_shelf(bottle: Bottle, id_: str, shelf: ShelfState) -> Bottle:
    known = find(shelf, id_)
    _refuse_unfit(bottle, known)
    spent = spent_by_test(known)
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
        spent=spent.text if spent is not None else "",
        suspect=suspect_words(known),
        tested=passed_on(known),
    )


def _refuse_unfit(bottle: Bottle, known: ShelfBottle) -> None:
    if known.figures.solution != bottle.solution:
        raise Refused(
            f"{known.label} ({known.id}) holds {known.figures.title.lower()}, not {bottle.solution}:"
            " choose another."
        )
    if known.discarded is not None:
        raise Refused(
            f"{known.label} ({known.id}) was discarded on {known.discarded.on} ({known.discarded.reason}):"
            " choose another, or mix fresh."
        )
    if known.volume_ml <= 0:
        raise Refused(f"{known.label} ({known.id}) is empty: choose another, or mix fresh.")
