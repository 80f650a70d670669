"""`wetside rolls`: the archive of developed rolls: lists, sleeve labels, XMP files for scans, densities."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from wetside.app.clock import SystemClock
from wetside.app.console import say
from wetside.app.session_start import rfc3339
from wetside.commands.common import in_columns, journal_to_read, json_text, print_lines, this_terminal, write_utf8
from wetside.domain.archive.drift import above_base
from wetside.domain.archive.numbering import DensitiesMeasured
from wetside.domain.archive.sleeve import MOST_FRAMES, cut_plan, frames_of, scan_name, strip_frames_of
from wetside.errors import JournalUnusable, Refused, UsageError
from wetside.export.density_drift import DensityDrift, density_drifts, drift_in_words
from wetside.export.roll_archive import (
    ArchivedRoll,
    Wanted,
    Which,
    archived_rolls,
    find_roll,
    measured,
    of_numbers,
)
from wetside.export.roll_formats import rolls_csv, rolls_data, sidecar
from wetside.files.atomic_write import write_whole
from wetside.files.density_file import RollDensities, read_densities, typed_densities
from wetside.files.settings import Places, read_settings
from wetside.files.units import day_or_none
from wetside.present.labels import sleeve_lines
from wetside.sanitize import escape_controls
from wetside.storage.archive import keep_densities
from wetside.storage.shelf import load_shelf
from wetside.storage.store import open_store


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """List the matching rolls, or run the subcommand."""
    match args.act:
        case "measure":
            _measure(args, places)
        case "sleeve":
            _sleeve(find_roll(archived(places, of_numbers(args.number)), args.number), args, places)
        case "sidecar":
            _sidecar(find_roll(archived(places, of_numbers(args.number)), args.number), args)
        case "drift":
            _drift(places)
        case _:
            wanted = _wanted(args)
            _list([roll for roll in archived(places) if wanted.fits(roll)], wanted, args)
    return 0


def archived(places: Places, *which: Which) -> tuple[ArchivedRoll, ...]:
    """The rolls of the journal, all or those of the sessions with a roll in `which`; () without a journal."""
    with journal_to_read(places) as store:
        return () if store is None else archived_rolls(store, *which, left_out=_left_out)


def _left_out(session: str, problem: JournalUnusable) -> None:
    say(f"left out: the rolls of {session}. {problem}")


def _wanted(args: argparse.Namespace) -> Wanted:
    since, until = (day_or_none(each) or "" if each else "" for each in (args.since, args.until))
    return Wanted(args.kit, args.bottle, args.fault, args.film, since, until)


def _list(rolls: Sequence[ArchivedRoll], wanted: Wanted, args: argparse.Namespace) -> None:
    if args.json:
        sys.stdout.write(json_text(rolls_data(rolls)))
    elif args.csv:
        write_utf8(rolls_csv(rolls))
    elif not rolls and wanted == Wanted():
        say("There is no developed roll; each gets its number when its evening closes, one of practice never.")
    elif not rolls:
        say("No developed roll is like that; `wetside rolls` lists them all.")
    else:
        print_lines(tuple(in_columns(map(_row, rolls))))


def _row(roll: ArchivedRoll) -> tuple[str, ...]:
    """The cells of a roll: number, day, label, film, kit or process, and how it came out."""
    kit = ", ".join(roll.kits) or roll.process
    edge = f"edge {roll.edge}: " if roll.edge else ""
    seen = edge + ("; ".join(roll.seen) or "not looked at yet")
    film = roll.film.stock or f"{roll.film.kind} {roll.film.format}"
    return tuple(map(escape_controls, (roll.number, roll.developed_on, roll.label, film, kit, seen)))


def _sleeve(roll: ArchivedRoll, args: argparse.Namespace, places: Places) -> None:
    film = roll.film
    strip = args.strip or strip_frames_of(film.format, read_settings(places.settings).strip_frames)
    frames = _frames(roll, args, strip)
    cut = cut_plan(frames, strip)
    names = (scan_name(roll.number, 1), scan_name(roll.number, frames))
    print_lines(sleeve_lines(roll.number, roll.developed_on, film, roll.process_title, cut, names))


def _frames(roll: ArchivedRoll, args: argparse.Namespace, strip: int) -> int:
    """The frames of the roll, as given or those of its format. Raises Refused for impossible ones, or strips."""
    frames: int = args.frames if args.frames is not None else frames_of(roll.film.format)
    if not (1 <= frames <= MOST_FRAMES and 1 <= strip <= MOST_FRAMES):
        raise Refused(
            f"A roll has 1 to {MOST_FRAMES} frames, and a strip as many: not {frames} in strips of {strip}."
        )
    return frames


def _sidecar(roll: ArchivedRoll, args: argparse.Namespace) -> None:
    frames = _frames(roll, args, 1)
    if (args.frame is None) == (args.folder is None):
        raise UsageError("Say --folder DIR for a file beside each scan, or --frame N for one to stdout.")
    if args.folder is None:
        if not 1 <= args.frame <= frames:
            raise Refused(f"Roll {roll.number} has frames 1 to {frames}: add --frames for more.")
        write_utf8(sidecar(roll, args.frame))
        return
    folder = Path(args.folder).expanduser()
    for frame in range(1, frames + 1):
        write_whole(folder / f"{scan_name(roll.number, frame)}.xmp", sidecar(roll, frame), force=args.force)
    first, last = scan_name(roll.number, 1), scan_name(roll.number, frames)
    say(f"{frames} files written: {first}.xmp to {last}.xmp.")


def _measure(args: argparse.Namespace, places: Places) -> None:
    """Store the typed densities of one roll, or all those of a file, in one transaction."""
    found = _densities(args)
    wall = SystemClock().now().wall
    with open_store(places) as store:
        rolls = archived_rolls(store, of_numbers(*(each.number for each in found)))
        kept = []
        for each in found:
            roll = find_roll(rolls, each.number)
            base, edge = each.base or roll.base, each.edge or roll.edge_print
            _refuse_swapped(roll, base, edge)
            kept.append(
                DensitiesMeasured(roll.session, roll.roll, wall.astimezone().date().isoformat(), base, edge)
            )
        keep_densities(store, kept, rfc3339(wall))
    say(f"Kept: densities of {', '.join(each.number for each in found)}.")


def _densities(args: argparse.Namespace) -> tuple[RollDensities, ...]:
    typed = args.base is not None or args.edge is not None
    if args.from_csv is not None and not typed and args.number is None:
        return read_densities(Path(args.from_csv).expanduser(), args.white)
    if args.from_csv is not None or args.number is None or not typed:
        raise UsageError("Say a roll's NUMBER with --base, --edge or both; or --from-csv FILE alone.")
    base, edge = (() if each is None else typed_densities(each, args.white) for each in (args.base, args.edge))
    return (RollDensities(args.number, base, edge),)


def _refuse_swapped(roll: ArchivedRoll, base: tuple[float, ...], edge: tuple[float, ...]) -> None:
    above = above_base(base, edge)
    if base and edge and above is None:
        raise Refused(f"Roll {roll.number}: base and edge need as many values each: one, or red/green/blue.")
    if above is not None and above < 0 and roll.yields == "negative":
        raise Refused(f"Roll {roll.number}: a negative's edge markings are no lighter than its base: swapped?")


def _drift(places: Places) -> None:
    drifts: tuple[DensityDrift, ...] = ()
    with journal_to_read(places) as store:
        if store is not None:
            now_rolls = {id_: bottle.worn_rolls for id_, bottle in load_shelf(store).bottles.items()}
            drifts = density_drifts(archived_rolls(store, measured), now_rolls)
    ascii_only = not this_terminal().utf8
    lines = [escape_controls(line) for drift in drifts for line in drift_in_words(drift, ascii_only)]
    if not lines:
        say("No densities yet; `wetside rolls measure` writes them down.")
    print_lines(tuple(lines))
