"""Words the shelf: status of bottles and kits, tests, when to order again, what an evening leaves in a kit."""

from __future__ import annotations

from wetside.domain.planning.setup import Bottle, Setup
from wetside.domain.shelf import setup_bottles
from wetside.domain.shelf.commands import Command
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.events import BleachTested, ClearingTested, Event, LeaderTested, SuspicionLifted
from wetside.domain.shelf.report import SLACK_ROLLS, BottleReport, OrderAgain
from wetside.domain.shelf.setup_bottles import BottleOffer, KitLeft, KitOffer
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.present.message_words import in_words, worded
from wetside.present.wording import counted


@worded()
def with_shelf(setup: Setup, shelf: ShelfState) -> Setup:
    """As `setup_bottles.with_shelf`. Raises CheckFailed with one sentence for each bottle that cannot be used."""
    return setup_bottles.with_shelf(setup, shelf)


@worded()
def decided(shelf: ShelfState, command: Command) -> tuple[Event, ...]:
    """As `domain.shelf.decide`, but raises Refused with a sentence."""
    return decide(shelf, command)


NOT_ON_SHELF = "not on the shelf"

LEFT_AFTER = "Left in the kit after tonight, in rolls of 135-36"
"""The heading of `kit_left_text`."""

ROLLS_ARE = "Rolls are counted as 135-36 by area: a 120 is 0.9, a 135-24 is 0.7."
"""How films are counted as rolls of the shelf."""


_Test = LeaderTested | ClearingTested | BleachTested | SuspicionLifted


def status_text(report: BottleReport) -> str:
    """The status of a bottle in one line: "good, 2.0 rolls left, 160 days"."""
    bottle, status = report.bottle, report.status
    if bottle.discarded is not None:
        return f"discarded on {bottle.discarded.on}: {bottle.discarded.reason}"
    if status == "empty":
        return status
    parts: list[str] = [f"{status}: mix fresh" if report.long_past else status]
    left, days = report.left_rolls, report.left_days
    if left is not None:
        parts.append(f"{left:.1f} rolls left" if left >= 0 else f"{-left:.1f} rolls over")
    if days is not None and report.age_days >= 0:
        parts.append(counted(days, "day") if days >= 0 else f"{counted(-days, 'day')} past")
    if not bottle.full:
        parts.append("part-full")
    if bottle.backed_rolls > 0:
        parts.append("backed film went through it")
    return ", ".join(parts)


def result_lines(bottle: ShelfBottle) -> tuple[str, ...]:
    """Every test of a bottle and every lifted suspicion, by day."""
    tests: tuple[_Test, ...] = (*bottle.leaders, *bottle.clearings, *bottle.bleachings, *bottle.lifted)
    return tuple(f"{on}: {words}" for on, words in sorted((each.on, _result(each)) for each in tests))


def note_lines(bottle: ShelfBottle) -> tuple[str, ...]:
    """The notes on a bottle, by day."""
    return tuple(f"{note.on}: {note.text}" for note in bottle.notes)


def _result(test: _Test) -> str:
    match test:
        case LeaderTested(went_dark=went_dark):
            return f"leader {'went dark' if went_dark else 'stayed pale'}"
        case ClearingTested(seconds=seconds, fresh_seconds=fresh_s):
            return f"leader cleared in {seconds:.0f} s (fresh {fresh_s:.0f} s)"
        case BleachTested(cleared=cleared):
            return f"blackened leader {'cleared' if cleared else 'stayed dark'}"
        case SuspicionLifted(reason=reason):
            return f"good after all: {reason}"


def report_json(report: BottleReport) -> dict[str, object]:
    """A report with the published keys of `wetside shelf --json`."""
    bottle, kit = report.bottle, report.kit
    return {
        "id": bottle.id,
        "kit": kit.name,
        "process": kit.profile_title,
        "label": bottle.label,
        "solution": bottle.figures.solution,
        "title": bottle.figures.title,
        "status": report.status,
        "words": status_text(report),
        "mixed_on": bottle.mixed_on,
        "age_days": report.age_days,
        "best_before": report.best_before,
        "left_days": report.left_days,
        "full": bottle.full,
        "volume_ml": bottle.volume_ml,
        "rolls": bottle.rolls,
        "used_before": bottle.used_before,
        "capacity_rolls": report.capacity_rolls,
        "left_rolls": report.left_rolls,
        "stretch_left_rolls": report.stretch_left_rolls,
        "kit_price": kit.price,
        "cost_so_far": report.cost_so_far,
        "cost_at_capacity": report.cost_at_capacity,
        "sessions": [use.session for use in bottle.uses],
        "tests": result_lines(bottle),
        "notes": note_lines(bottle),
        "warnings": [{"code": each.code, "text": in_words(each)} for each in report.alerts],
        "used_up_on": report.used_up_on,
        "order_by": report.order_by,
    }


def order_text(order: OrderAgain | None) -> str:
    """When to order again, in a sentence; "" for None."""
    if order is None:
        return ""
    ends = f"{order.why} {order.on}"
    if order.why == "used up":
        ends = f"used up about {order.on} at this pace"
    elif order.why.startswith("is "):
        ends = order.why
    return f"{order.title} {ends}: order again {f'by {order.by}' if order.by is not None else 'now'}."


def offer_text(offer: BottleOffer) -> str:
    """A bottle that can be taken from the shelf, with its status."""
    return f"{offer.bottle.label}: {status_text(offer.report)}"


def offer_choices(bottle: Bottle, kept: tuple[BottleOffer, ...]) -> tuple[tuple[str, str], ...]:
    """The choices for a setup's bottle as (shelf id, words), the last one "not on the shelf"; () without any."""
    mine = tuple((o.bottle.shelf_id or "", offer_text(o)) for o in kept if o.bottle.solution == bottle.solution)
    return (*mine, (NOT_ON_SHELF, NOT_ON_SHELF)) if mine or bottle.shelf_id is not None else ()


def kit_text(kit: KitOffer) -> str:
    """A kit that can be taken from the shelf, with the status of its worst bottle and the missing bottles."""
    whose = "" if kit.alike else f"{kit.worst.bottle.figures.title.lower()} "
    missing = "".join(f", no {title.lower()}" for title in kit.gone)
    return f"{kit.name}: {whose}{status_text(kit.worst)}{missing}"


def kit_left_in_short(left: KitLeft) -> str:
    """The rolls left in a kit after an evening, on one line."""
    if left.rolls < -SLACK_ROLLS:
        return f"{left.kit}: none, {-left.rolls:.1f} rolls beyond its capacity"
    if left.rolls < SLACK_ROLLS:
        return f"{left.kit}: none, it has then done all it can"
    return f"{left.kit}: {left.rolls:.1f} rolls"


def kit_left_text(left: KitLeft) -> str:
    """The rolls left in a kit after an evening, the solution that limits them, and when to order again."""
    ending = " and the ".join(title.lower() for title in left.first_used_up)
    first = f"; the {ending} will be the first used up" if ending else ""
    return f"{kit_left_in_short(left)}{first}. {order_text(left.order)}".rstrip()
