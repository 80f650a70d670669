"""The arguments of every command, with their help. A command's own module is imported only to run it."""

from __future__ import annotations

import argparse
from typing import Any, Final

from wetside.commands.parser import add_command
from wetside.commands.run_session import PRACTICE_SETUP, PRACTICE_SPEED

SHARED: Final[dict[str, dict[str, Any]]] = {
    # It may also stand before the command, whose value a default here would replace.
    "--plain": {
        "action": "store_true",
        "default": argparse.SUPPRESS,
        "help": "line by line, without the full screen",
    },
    "--json": {"action": "store_true", "help": "as JSON, with stable keys"},
    "--readings": {
        "metavar": "FILE|-|TTY",
        "help": "a thermometer's lines, such as developer,38.5 (name,°C; a bare number is the developer's), from a"
        " file that grows, a pipe, or a serial line whose speed is set; typing goes on beside it",
    },
    "--force": {"action": "store_true", "help": "replace FILE if it is there"},
    "setup": {"metavar": "SETUP", "help": "a setup file, or the name of a setup"},
    "session": {"metavar": "SESSION", "nargs": "?", "help": 'an id, a unique beginning of one, or "last"'},
    "profile": {"metavar": "PROFILE", "help": "the process the kit is for: a name or a file"},
    "--volume": {"default": "1 l", "help": 'of each bottle (default: "1 l")'},
    "--only": {"action": "append", "metavar": "SOLUTION", "help": "this solution alone; may be repeated"},
    "--price": {"metavar": "N", "help": 'what the whole set cost, in your own currency: 36 or "12,50"'},
    "--material": {
        "choices": ("soft", "glass", "steel", "pet"),
        "default": "soft",
        "help": "of the bottles (default: soft)",
    },
}
"""The arguments that several commands have, as `ArgumentParser.add_argument` takes them."""

FORMATS: Final = ("toml", "csv", "jsonl", "markdown", "html")
"""The forms of a session's record."""

KIT: Final = ("profile", "--volume", "--only")
"""The arguments that name a kit and its volume."""


def add_shared(parser: argparse.ArgumentParser, *names: str) -> None:
    """Add arguments of `SHARED`."""
    for name in names:
        parser.add_argument(name, **SHARED[name])


def decimal(text: str) -> float:
    """The `type` of an option that takes a number with decimals."""
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{text}" is no number') from None


def whole(text: str) -> int:
    """The `type` of an option that takes a whole number."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{text}" is no whole number') from None


def add_start(parser: argparse.ArgumentParser) -> None:
    add_shared(parser, "setup", "--plain", "--readings")


def add_resume(parser: argparse.ArgumentParser) -> None:
    add_shared(parser, "session")
    parser.add_argument("--take-over", action="store_true", help="take it from another terminal without asking")
    add_shared(parser, "--plain", "--readings")


def add_follow(parser: argparse.ArgumentParser) -> None:
    add_shared(parser, "session", "--plain")


def add_practise(parser: argparse.ArgumentParser) -> None:
    setup = f"a file, or the name of a setup (default: {PRACTICE_SETUP})"
    parser.add_argument("setup", metavar="SETUP", nargs="?", help=setup)
    tour = "two minutes with every key instead: no film, nothing poured"
    parser.add_argument("--tour", action="store_true", help=tour)
    speed = f"times as fast as real (default: {PRACTICE_SPEED:.0f}; the tour: 1)"
    parser.add_argument("--speed", type=decimal, metavar="N", help=speed)
    add_shared(parser, "--plain", "--readings")


def add_plan(parser: argparse.ArgumentParser) -> None:
    add_shared(parser, "setup", "--json")


def add_review(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", metavar="SETUP|PROFILE", help="a file, or the name of a setup or a profile")
    parser.add_argument("--format", choices=("text", "markdown"), default="text", help="default: text")


def add_profiles(parser: argparse.ArgumentParser) -> None:
    copy = "write FILE: a setup, or a short profile based on ID"
    parser.add_argument("--copy", nargs=2, metavar=("ID", "FILE"), help=copy)
    whole = "the whole of a profile, value by value: your own, taken over, or worked out"
    parser.add_argument("--whole", metavar="ID", help=whole)
    new = "write or change your own by questions, line by line"
    parser.add_argument("--new", nargs="?", const="", metavar="NAME", help=new)
    add_shared(parser, "--force")
    show = "every figure of a profile with its source, to hold beside the kit's sheet"
    parser.add_argument("--show", metavar="ID", help=show)
    add_shared(parser, "--plain")
    parser.add_argument("--json", action="store_true", help="with --show: as JSON, with stable keys")


def add_check(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", metavar="FILE", nargs="+", help="a file, or the name of a setup or a profile")


def add_shelf(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    acts = parser.add_subparsers(dest="act", metavar="ACT", title="acts", required=False)
    parser.set_defaults(act="list", all=False, json=False)
    listing = _act(acts, "list", "every bottle on the shelf (the default)", bottle=False)
    listing.add_argument("--all", action="store_true", help="discarded ones too")
    _act(acts, "show", "all about one bottle")
    guide = _act(acts, "guide", "how to mix: order, water, cautions", bottle=False)
    add_shared(guide, *KIT)
    mix = _act(acts, "mix", "write down a kit that was mixed: several bottles at once", bottle=False)
    add_shared(mix, *KIT)
    mix.add_argument("--name", required=True, help="what the kit is called, in your own words")
    add_shared(mix, "--price", "--material")
    used = "rolls of 135-36 already developed in it (default: 0)"
    mix.add_argument("--used", default="0", metavar="ROLLS", help=used)
    mix.add_argument("--part-full", action="store_true", help="air is left in the bottles")
    _on(mix)
    label = _act(acts, "label", "labels as plain text, for any printer", bottle=False)
    label.add_argument("bottle", metavar="BOTTLE", nargs="*", help="of these bottles (default: of all)")
    _on(
        _act(
            acts, "take-back", "a kit was written down by mistake: all its bottles go", reason="what the slip was"
        )
    )
    _tests(_act(acts, "test", "write down a test with a scrap leader"))
    for name, words in (("top-up", "write down fresh solution added"), ("level", "say how much is in a bottle")):
        measured = _act(acts, name, words)
        measured.add_argument("volume", metavar="VOLUME", help='like "200 ml"')
        measured.add_argument("--part-full", action="store_true", help="there is air in the bottle now")
        _on(measured)
    _on(_act(acts, "squeeze", "the air is out and the cap is on"))
    trust = "a bottle that a mishap made suspect is good after all"
    _on(_act(acts, "trust", trust, reason="what was looked at or tested"))
    note = _act(acts, "note", "keep some words about a bottle")
    note.add_argument("text", metavar="TEXT")
    _on(note)
    words = "a bottle's content is gone; the disposal caution comes first"
    discard = _act(acts, "discard", words, reason="spent, past its date, spoilt")
    discard.add_argument("--yes", action="store_true", help="I have read where it goes")
    _on(discard)


def _act(acts: Any, name: str, words: str, *, bottle: bool = True, reason: str = "") -> argparse.ArgumentParser:
    """Add a subcommand. reason: the help of a required `--reason`; "" for none."""
    parser = add_command(acts, name, words)
    if bottle:
        parser.add_argument("bottle", metavar="BOTTLE", help="its id, as `wetside shelf` lists it")
    _json(parser)
    if reason:
        parser.add_argument("--reason", required=True, help=f"why: {reason}")
    return parser


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="as JSON, with stable keys")


def _tests(parser: argparse.ArgumentParser) -> None:
    said = parser.add_mutually_exclusive_group(required=True)
    said.add_argument("--dark", action="store_true", help="developer: the leader went dark")
    said.add_argument("--pale", action="store_true", help="developer: the leader stayed pale")
    seconds = "fixer or bleach-fix: seconds until an undeveloped leader was clear; this tests fixing"
    said.add_argument("--seconds", type=decimal, metavar="N", help=seconds)
    bleached = (
        "a leader blackened in the developer came out clear: of the bleach-fix, or of the bleach and then good"
        " fixer; this tests bleaching"
    )
    said.add_argument("--bleached", action="store_true", default=None, help=bleached)
    said.add_argument("--not-bleached", dest="bleached", action="store_false", help="it stayed dark")
    parser.add_argument("--fresh", type=decimal, metavar="N", help="seconds the fresh solution took")
    _on(parser)


def _on(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--on", metavar="DAY", help="the day it happened (default: today)")


def add_mix(parser: argparse.ArgumentParser) -> None:
    add_shared(parser, *KIT)
    parser.add_argument("--name", help='what the kit is called, in your own words (default: "Kit of" its day)')
    add_shared(parser, "--price", "--material")
    parser.add_argument("--hot", metavar="TEMP", help="what the hot tap gives")
    parser.add_argument("--cold", metavar="TEMP", help="what the cold tap gives")
    add_shared(parser, "--plain")


def add_sessions(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--went", action="store_true", help="also how the latest ten went, and your own trends")
    parser.add_argument("--all", action="store_true", help="every session; with --went, how each of them went")
    add_shared(parser, "--json")


def add_rolls(parser: argparse.ArgumentParser) -> None:
    asked = (
        ("--kit", "NAME", "developed with a bottle of this kit"),
        ("--bottle", "NAME", "with this bottle: its id on the shelf, or part of its label"),
        ("--fault", "WORDS", 'seen on them: "cast", "thin", "edge numbers weak"'),
        ("--film", "WORDS", "label, stock, kind, format, camera or place"),
        ("--since", "DAY", "developed on this day or later, like 2031-03-01"),
        ("--until", "DAY", "developed on this day or earlier"),
    )
    for option, name, words in asked:
        parser.add_argument(option, metavar=name, default="", help=words)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="as JSON, with stable keys and a format number")
    form.add_argument("--csv", action="store_true", help="as CSV, for a table program")
    acts = parser.add_subparsers(dest="act", metavar="ACT", title="acts", required=False)
    for act, words in (("sleeve", "label, cut plan and scan names"), ("sidecar", "XMP files for its scans")):
        sub = add_command(acts, act, words)
        sub.add_argument("number", metavar="NUMBER", help="the roll's number")
        sub.add_argument("--frames", type=whole, metavar="N", help="frames on it (default: those of its format)")
        if act == "sleeve":
            sub.add_argument("--strip", type=whole, metavar="N", help="frames in a strip (default: your settings)")
        else:
            sub.add_argument("--frame", type=whole, metavar="N", help="this frame alone, to stdout")
            sub.add_argument("--folder", metavar="DIR", help="where the scans lie: a file for each frame")
            sub.add_argument("--force", action="store_true", help="replace files that are there")
    measure = add_command(acts, "measure", "write down densities")
    measure.add_argument("number", metavar="NUMBER", nargs="?", help="the roll's number")
    measure.add_argument("--base", metavar="D", help="of the clear base: 0.62, or red/green/blue")
    measure.add_argument("--edge", metavar="D", help="of the edge markings, the same")
    measure.add_argument("--from-csv", metavar="FILE", help="of many rolls, from a table")
    measure.add_argument("--white", type=decimal, metavar="N", help="values are linear, and bare light reads N")
    add_command(acts, "drift", "how densities drift")


def add_export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("session", metavar="SESSION", help='an id, a unique beginning of one, or "last"')
    parser.add_argument("--format", choices=FORMATS, required=True, help="how it is written")
    parser.add_argument("--ticks", action="store_true", help="on a page: every statement confirmed, too")
    parser.add_argument("--output", metavar="FILE", help="a file to write, instead of stdout")
    add_shared(parser, "--force")


def add_settings(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--write", action="store_true", help="write the explained file, if there is none yet")
    force = "write it over the one there is, keeping what is good in it"
    parser.add_argument("--force", action="store_true", help=force)


def add_salvage(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("to", metavar="NEW", help="the new journal; there must be no such file yet")
    source = "the damaged one, if it is another"
    parser.add_argument("--from", dest="source", metavar="FILE", action="append", help=source)
