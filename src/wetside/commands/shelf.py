"""`wetside shelf`: prints the bottles as text or JSON, and records every change of them.

The arguments become commands of `domain/shelf`. Data goes to stdout, cautions and questions to stderr.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from datetime import date, datetime
from typing import TYPE_CHECKING

from wetside.app.clock import Clock, SystemClock
from wetside.app.console import say
from wetside.app.session_start import rfc3339
from wetside.commands.common import Ask, in_columns, journal_to_read, json_text
from wetside.domain.planning.setup import Material
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.decide import bottled, find
from wetside.domain.shelf.report import BottleReport, bottle_report, order_again
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.errors import UsageError
from wetside.files.settings import Places, read_settings
from wetside.files.units import number, volume_ml
from wetside.present.message_words import in_words, where_it_goes, worded
from wetside.present.shelf_text import order_text, report_json, status_text
from wetside.present.wording import volume
from wetside.storage.shelf import change_shelf, load_shelf
from wetside.storage.store import Store, open_store

if TYPE_CHECKING:
    from wetside.domain.profile.model import Profile


@worded()
def run(args: argparse.Namespace, places: Places, *, ask: Ask | None = None, clock: Clock | None = None) -> int:
    now = (clock or SystemClock()).now().wall
    today = now.astimezone().date()
    match args.act:
        case "guide":
            _print(_guide(args, places, today))
        case "show" | "label" | "list":
            with journal_to_read(places) as store:
                shelf = ShelfState() if store is None else load_shelf(store)
            {"show": _show, "label": _label, "list": _list}[args.act](shelf, args, places, today)
        case _:
            _change(args, places, now, ask)
    return 0


def _show(shelf: ShelfState, args: argparse.Namespace, places: Places, today: date) -> None:
    from wetside.tui.shelf_rows import record_lines

    found = bottle_report(shelf, find(shelf, args.bottle), today)
    if args.json:
        _print_json((found,), today)
    else:
        _print(record_lines(found, read_settings(places.settings).volume_unit))


def _label(shelf: ShelfState, args: argparse.Namespace, places: Places, today: date) -> None:
    from wetside.present.labels import label_of

    chosen = tuple(find(shelf, id_) for id_ in args.bottle) or shelf.standing()
    labels = (label_of(bottle_report(shelf, each, today)) for each in chosen)
    sys.stdout.write("\n".join("".join(f"{line}\n" for line in label) for label in labels))


def _list(shelf: ShelfState, args: argparse.Namespace, places: Places, today: date) -> None:
    discarded_last = sorted(shelf.bottles.values(), key=lambda bottle: bottle.discarded is not None)
    bottles = tuple(discarded_last) if args.all else shelf.standing()
    if bottles or args.json:
        _print_bottles(shelf, bottles, args, places, today)
    else:
        _print(("The shelf is empty: write a kit down with `wetside shelf mix`.",))


def _change(args: argparse.Namespace, places: Places, now: datetime, ask: Ask | None) -> None:
    """Record the change that the arguments ask for, and print the bottles it touched."""
    with open_store(places) as store:
        command = _command(args, places, store, now, ask)
        before = load_shelf(store).bottles
        after = change_shelf(store, command, rfc3339(now))
    named = getattr(args, "bottle", None)
    touched = tuple(
        each for id_, each in after.bottles.items() if id_ == named or (not named and id_ not in before)
    )
    if isinstance(command, c.TakeBackKit):
        removed = (each.label for id_, each in before.items() if id_ not in after.bottles)
        say(f"taken back, as if never written down: {', '.join(removed)}.")
        touched = after.standing()
    _print_bottles(after, touched, args, places, now.astimezone().date())


def _command(args: argparse.Namespace, places: Places, store: Store, now: datetime, ask: Ask | None) -> c.Command:
    today = now.astimezone().date().isoformat()
    on: str = args.on or today
    match args.act:
        case "mix":
            profile, bottles = _kit_of(args, places)
            price = number(args.price) if args.price is not None else None
            return c.MixKit(on, today, args.name, profile, bottles, price, number(args.used))
        case "take-back":
            return c.TakeBackKit(on, args.bottle, args.reason)
        case "test":
            if args.seconds is not None:
                return c.TimeClearing(on, args.bottle, args.seconds, args.fresh)
            if args.bleached is not None:
                return c.TryBleach(on, args.bottle, args.bleached)
            return c.TryLeader(on, args.bottle, bool(args.dark))
        case "trust":
            return c.Trust(on, args.bottle, args.reason)
        case "top-up":
            return c.TopUp(on, args.bottle, _volume(args.volume, places), not args.part_full)
        case "level":
            return c.NoteLevel(on, args.bottle, _volume(args.volume, places), not args.part_full)
        case "squeeze":
            return c.Squeeze(on, args.bottle)
        case "note":
            return c.NoteBottle(on, args.bottle, args.text)
        case "discard":
            _confirm_disposal(find(load_shelf(store), args.bottle), args, ask)
            return c.Discard(on, args.bottle, args.reason, cautioned=True)
        case _:
            raise UsageError(f"There is no `wetside shelf {args.act}`: see `wetside shelf --help`.")


def _confirm_disposal(bottle: ShelfBottle, args: argparse.Namespace, ask: Ask | None) -> None:
    """Print the disposal caution before anything is recorded; raise UsageError without `--yes` or a typed yes."""
    say(f"CAUTION: {where_it_goes(bottle.figures.disposal)}")
    if args.yes:
        return
    if ask is None:
        raise UsageError(f"Nothing was discarded: read the caution above, then add --yes ({bottle.id}).")
    if ask(f"Gloves on. Is {bottle.label} gone? Type yes:").strip().lower() != "yes":
        raise UsageError(f"Nothing was discarded: {bottle.label} stays on the shelf.")


def _kit_of(args: argparse.Namespace, places: Places) -> tuple[Profile, tuple[c.NewBottle, ...]]:
    from wetside.commands.tonight import profile_named

    profile = profile_named(args.profile, places)
    each_ml = _volume(args.volume, places)
    kept = bottled(profile)
    full = not getattr(args, "part_full", False)
    material: Material = getattr(args, "material", "soft")
    return profile, tuple(c.NewBottle(id_, each_ml, full=full, material=material) for id_ in args.only or kept)


def _guide(args: argparse.Namespace, places: Places, today: date) -> tuple[str, ...]:
    from wetside.commands.tonight import kit_request
    from wetside.present.mixing_sheet import guide_lines, mixing_plan

    profile, bottles = _kit_of(args, places)
    volumes = tuple((bottle.solution, bottle.volume_ml) for bottle in bottles)
    with journal_to_read(places) as store:
        kit = kit_request(store, read_settings(places.settings), today, "", volumes, None)
    return guide_lines(mixing_plan(profile, kit))


def _volume(text: str, places: Places) -> float:
    return volume_ml(text, read_settings(places.settings).volume_unit)


def _print_bottles(
    shelf: ShelfState, bottles: tuple[ShelfBottle, ...], args: argparse.Namespace, places: Places, today: date
) -> None:
    """Print a line for each kit and one for each of its bottles, with price and warnings; or the same as JSON."""
    reports = {bottle.id: bottle_report(shelf, bottle, today) for bottle in bottles}
    if args.json:
        _print_json(reports.values(), today)
        return
    unit = read_settings(places.settings).volume_unit
    rows = in_columns(
        (
            id_,
            each.bottle.label,
            volume(each.bottle.volume_ml, unit),
            f"to {each.best_before}" if each.best_before else "",
            status_text(each),
        )
        for id_, each in reports.items()
    )
    lines, indent = dict(zip(reports, rows, strict=True)), " " * max(map(len, reports), default=0)
    for kit in shelf.kits:
        mine = [id_ for id_ in kit.bottles if id_ in reports]
        price = f", {kit.price:.2f} for the set" if kit.price is not None else ""
        if mine:
            _print((f"{kit.name} ({kit.profile_title}), mixed on {kit.mixed_on}{price}",))
        if words := order_text(order_again((reports[id_] for id_ in mine), today)):
            _print((f"  {words}",))
        for id_ in mine:
            _print((f"  {lines[id_]}", *(f"  {indent}  ! {in_words(alert)}" for alert in reports[id_].alerts)))


def _print_json(bottles: Iterable[BottleReport], today: date) -> None:
    sys.stdout.write(json_text({"today": today.isoformat(), "bottles": [report_json(each) for each in bottles]}))


def _print(lines: Iterable[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)
