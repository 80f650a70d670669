"""What the commands' arguments have in common, and how their help is laid out."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING, Any, Final

from wetside.app.terminal import Terminal, examine

if TYPE_CHECKING:
    from wetside.app.probe import Probe
from wetside.app.console import HelpInWords, write_lines

JSON_FORMAT: Final = 1
"""Stands first in every JSON; it rises when a reader of an older one would be misled."""

EXITS = "exit codes: 0 done; 1 refused or failed check; 2 usage; 3 a file or the data cannot be used."

PRICE: Final = 'what the whole set cost, in your own currency: 36 or "12,50"'
MATERIALS: Final = ("soft", "glass", "steel", "pet")


def command_parser(
    subparsers: argparse._SubParsersAction[Any], name: str, words: str, epilog: str
) -> argparse.ArgumentParser:
    """A command's parser: one line of what it does, and an epilog with units, defaults and an example."""
    parser: argparse.ArgumentParser = subparsers.add_parser(
        name,
        help=words,
        description=f"{words[:1].upper()}{words[1:]}.",
        epilog=f"{epilog}\n--data DIR moves the data folder.\n\n{EXITS}\n",
        formatter_class=HelpInWords,
    )
    return parser


def add_plain(parser: argparse.ArgumentParser) -> None:
    """`--plain`, which may also stand before the command."""
    parser.add_argument(
        "--plain", action="store_true", default=argparse.SUPPRESS, help="line by line, without the full screen"
    )


def add_readings(parser: argparse.ArgumentParser) -> None:
    """`--readings`: a thermometer that feeds itself."""
    parser.add_argument(
        "--readings",
        metavar="FILE|-|TTY",
        help="a thermometer's lines, such as developer,38.5 (name,°C; a bare number is the developer's), from a"
        " file that grows, a pipe, or a serial line whose speed is set; typing goes on beside it",
    )


def the_probe(where: str | None) -> Probe | None:
    """The thermometer of `--readings`. Before anything looks at the terminal: "-" gives standard input away."""
    if where is None:
        return None
    from wetside.app.probe import Probe
    from wetside.app.probe_feed import open_feed

    return Probe(open_feed(where))


def add_kit(parser: argparse.ArgumentParser) -> None:
    """Add what says which kit is meant, and how much of it."""
    parser.add_argument("profile", metavar="PROFILE", help="the process the kit is for: a name or a file")
    parser.add_argument("--volume", default="1 l", help='of each bottle (default: "1 l")')
    parser.add_argument("--only", action="append", metavar="SOLUTION", help="this solution alone; may be repeated")


def this_terminal() -> Terminal:
    """The terminal this program runs on, looked at once."""
    return examine(os.environ, sys.stdin, sys.stdout)


def text_width(terminal: Terminal) -> int:
    """The columns to write text in: the terminal's, at most 100; 80 for a file or a pipe."""
    return min(terminal.columns, 100) if terminal.is_tty else 80


def print_lines(lines: tuple[str, ...]) -> None:
    """Lines of data to stdout."""
    write_lines(lines, sys.stdout)


def json_text(data: dict[str, Any]) -> str:
    """JSON with its format number first; keys in their order."""
    import json

    return json.dumps({"format": JSON_FORMAT, **data}, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
