"""The command line: parses the arguments, runs the command, and turns errors into exit codes.

Only small modules are imported here, so that `--version`, `--help` and a misspelt command are quick. Data goes to
stdout, every message to stderr.
"""

from __future__ import annotations

import argparse
import errno
import gc
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from typing import Final, TextIO

from wetside import __version__
from wetside.app.console import columns_of, give_up, rows_of, say
from wetside.commands import arguments
from wetside.commands.parser import CommandParser, add_command
from wetside.domain.nearest import nearest_of
from wetside.errors import FileUnusable, Unusable, UsageError, WetsideError
from wetside.files.settings import DATA_VARIABLE, find_places
from wetside.sanitize import printable

DEBUG_VARIABLE: Final = "WETSIDE_DEBUG"
_LONGEST_MESSAGE: Final = 2_000
_SIGHUP: Final = 1
_SIGPIPE: Final = 13
_COLLECT_EVERY: Final = 200_000
"""Allocations between two garbage collections, instead of 700: objects made at the start stay in use, and scanning
them hundreds of times delays the first screen by 13 ms."""
_SIGINT: Final = 2


COMMANDS: Final = {
    "start": ("session_commands:start", "begin a session from a setup: straight to its review"),
    "resume": ("session_commands:resume", "go on with an unfinished session"),
    "follow": ("session_commands:follow", "watch a session from a second terminal, read-only"),
    "practise": ("session_commands:practise", "a dry run with a fast clock, kept apart from real sessions"),
    "plan": ("plan:plan", "what tonight works out to: times, volumes, water, order, warnings"),
    "review": ("plan:review", "the safety and gear checklist as text"),
    "profiles": ("profiles:profiles", "the processes and setups that ship, and your own"),
    "check": ("profiles:check", "check profile or setup files, and prove that they are sound"),
    "shelf": ("shelf:run", "the bottles: their age, what is left in them, mixing, tests, discarding"),
    "mix": ("mix:run", "mix a kit, step by step; at its end it stands on the shelf"),
    "sessions": ("sessions:run", "past and unfinished sessions, and how they went"),
    "rolls": ("rolls:run", "the archive of developed rolls: find, label, sleeve, scans, densities"),
    "export": ("export:run", "the record of a session as TOML, CSV, JSON lines, Markdown or HTML"),
    "settings": ("settings:run", "your settings, explained"),
    "salvage": ("salvage:run", "copy what can still be read of a damaged journal into a new one"),
}
"""Each command with what runs it ("module:function" in `commands/`), and its line in `--help`.

The function `add_NAME` of `commands/arguments.py` adds its arguments to a parser; the end of its help is in
`commands/help/NAME.txt`.
"""

DESCRIPTION: Final = "Stands beside the tank while you develop colour-negative film: leads, gates, times, records."


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    data_folder = ""
    gc.set_threshold(_COLLECT_EVERY)
    try:
        _replace_unencodable(sys.stdout)
        given, data = _split_data_option(sys.argv[1:] if argv is None else argv)
        args = _parsed(given)
        if sys.stdout is None:
            raise Unusable("Standard output is closed, so nothing can be shown: leave out >&-, or name a file.")
        places = find_places(os.environ, data)
        data_folder = str(places.data)
        code: int = args.run(args, places, ask=_ask_if_interactive())
        sys.stdout.flush()
        return code
    except WetsideError as problem:
        _say(str(problem))
        return problem.exit_code
    except KeyboardInterrupt:
        return 128 + _SIGINT
    except BrokenPipeError:
        give_up(sys.stdout)
        return 128 + _SIGPIPE
    except SystemExit as leaving:  # argparse leaves so after --help and --version
        return leaving.code if isinstance(leaving.code, int) else 0
    except Exception as unexpected:
        if isinstance(unexpected, OSError) and unexpected.errno == errno.EIO:
            # the terminal has gone away, so no message can be shown
            give_up(sys.stdout)
            give_up(sys.stderr)
            return 128 + _SIGHUP
        if isinstance(unexpected, OSError) and unexpected.errno == errno.ENOSPC and unexpected.filename is None:
            give_up(sys.stdout)
            _say("What was to be said cannot be written: the disk is full. Make room, or write it elsewhere.")
            return FileUnusable.exit_code
        if os.environ.get(DEBUG_VARIABLE) == "1":
            raise
        return _unexpected(unexpected, data_folder)


def _parsed(given: list[str]) -> argparse.Namespace:
    """The parsed arguments, with the function to `run`. Only the module of the named command is imported."""
    wanted = next((each for each in given if not each.startswith("-")), None)
    parser = CommandParser(prog="wetside", description=DESCRIPTION)
    parser.add_argument("--version", action="version", version=f"wetside {__version__}")
    parser.add_argument("--data", metavar="DIR", help=f"the data folder (else {DATA_VARIABLE}, else the system's)")
    parser.add_argument("--plain", action="store_true", help="without the full screen, line by line")
    if wanted is not None and wanted not in COMMANDS:
        near = None if wanted == "help" else nearest_of(wanted, COMMANDS)
        hint = f"did you mean {near}?" if near else "`wetside --help` lists them."
        raise UsageError(f'There is no command "{wanted[:40]}": {hint}')
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    for name, (_, words) in COMMANDS.items():
        if wanted in (None, name):  # all of them for the help of the program alone
            added = add_command(subparsers, name, words)
            if wanted is not None:
                getattr(arguments, f"add_{wanted}")(added)
    args, unknown = parser.parse_known_args(given)
    if unknown:
        program = f"wetside {wanted}" if wanted else "wetside"
        raise UsageError(f"Unrecognized arguments: {' '.join(unknown)}; see `{program} --help`.")
    module, _, function = (COMMANDS[wanted][0] if wanted else "home:run").partition(":")
    args.run = getattr(importlib.import_module(f"wetside.commands.{module}"), function)
    return args


def _split_data_option(arguments: Sequence[str]) -> tuple[list[str], str | None]:
    """The arguments without the option `--data DIR`, which may stand anywhere before `--`, and DIR or None."""
    parser = CommandParser(prog="wetside", add_help=False, allow_abbrev=False)
    parser.add_argument("--data")
    found, rest = parser.parse_known_args(arguments)
    if found.data == "":
        raise UsageError("--data needs a folder: write --data DIR.")
    return rest, found.data


def _ask_if_interactive() -> Callable[[str], str] | None:
    """The function that asks the person at the terminal; None where stdin or stderr is no terminal."""
    try:
        both = sys.stdin is not None and sys.stdin.isatty() and sys.stderr is not None and sys.stderr.isatty()
    except ValueError:  # a stream is closed
        return None
    return _ask if both else None


def _ask(question: str) -> str:
    print("\n".join(rows_of(printable(question), columns_of(sys.stderr))), end=" ", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip()


def _say(text: str) -> None:
    """Print each line of the message on stderr, without raising where that fails."""
    for line in text[:_LONGEST_MESSAGE].splitlines() or [""]:
        say(line)


def _unexpected(problem: Exception, data_folder: str) -> int:
    what = f"{type(problem).__name__}: {problem}".rstrip(": ")
    kept = f" What was entered is kept in {data_folder}; `wetside resume` goes on with it." if data_folder else ""
    _say(f"This should not happen ({what[:300]}).{kept} {DEBUG_VARIABLE}=1 shows where it happened.")
    return 1


def _replace_unencodable(stream: TextIO | None) -> None:
    """Make the stream write "?" for a character that its encoding lacks, instead of raising UnicodeEncodeError."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
