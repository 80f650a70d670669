"""The command line: reads the arguments, runs the one command that is meant, and turns errors into exit codes.

Nothing large is imported here: `--version`, `--help` and a misspelt command need the standard library only. Data
goes to stdout, everything said about it to stderr.
"""

from __future__ import annotations

import argparse
import errno
import gc
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from types import ModuleType
from typing import Final, NoReturn, TextIO

from wetside import __version__
from wetside.app.console import HelpInWords, columns_of, give_up, rows_of, say
from wetside.domain.nearest import nearest_of
from wetside.errors import FileUnusable, UsageError, WetsideError
from wetside.files.settings import DATA_VARIABLE, find_places
from wetside.frozen import dataclass
from wetside.sanitize import printable

DEBUG_VARIABLE: Final = "WETSIDE_DEBUG"
_LONGEST_SAID: Final = 2_000
_SIGHUP: Final = 1
_SIGPIPE: Final = 13
_COLLECT_EVERY: Final = 200_000
"""New objects between two looks for garbage, instead of 700: what is loaded at the start is no garbage, and
looking through it hundreds of times takes 13 ms of the first picture."""
_SIGINT: Final = 2


@dataclass(frozen=True, slots=True)
class Named:
    """A command: its name, its module in `commands/`, and what `--help` says of it.

    The function `add_NAME` of the module adds its parser, which has the function that runs it as `run`.
    """

    name: str
    module: str
    words: str


COMMANDS: Final = (
    Named("start", "session_commands", "begin a session from a setup: straight to its review"),
    Named("resume", "session_commands", "go on with an unfinished session"),
    Named("follow", "session_commands", "watch a session from a second terminal, read-only"),
    Named("practise", "session_commands", "a dry run with a fast clock, kept apart from real sessions"),
    Named("plan", "plan", "what tonight works out to: times, volumes, water, order, warnings"),
    Named("review", "plan", "the safety and gear checklist as text"),
    Named("profiles", "profiles", "the processes and setups that ship, and your own"),
    Named("check", "profiles", "check profile or setup files, and prove that they are sound"),
    Named("shelf", "shelf", "the bottles: their age, what is left in them, mixing, tests, discarding"),
    Named("mix", "mix", "mix a kit, step by step; at its end it stands on the shelf"),
    Named("sessions", "sessions", "past and unfinished sessions"),
    Named("rolls", "rolls", "the archive of developed rolls: find, label, sleeve, scans, densities"),
    Named("export", "export", "the record of a session as TOML, CSV, JSON lines, Markdown or HTML"),
    Named("settings", "settings", "your settings, explained"),
    Named("salvage", "salvage", "copy what can still be read of a damaged journal into a new one"),
)

DESCRIPTION: Final = "Stands beside the tank while you develop colour-negative film: leads, gates, times, records."
EPILOG: Final = f"""\
Without a command the full screen opens: go on with an unfinished session, plan a new one, practise.
A SETUP or PROFILE is a file, or the name of one that ships or is yours ("three-rolls", "two-bath").
A SESSION is an id, a unique beginning of one, or "last".

units: files and typed text carry their unit ("102 F", "38.9 C", "3:30", "1 l", "20 US fl oz"); what is shown
  goes by your settings (default: °C and ml). JSON has seconds, °C and millilitres.
defaults: data folder and settings lie where your system keeps such files; --data DIR or {DATA_VARIABLE} move
  the data folder.
exit codes: 0 done; 1 refused or failed check; 2 usage; 3 a file or the data cannot be used;
  128 + n ended by signal n.

example: wetside practise three-rolls --plain --speed 60
"""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence, by raising UsageError."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message[:1].upper()}{message[1:]}; see `{self.prog} --help`.")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; gives the exit code."""
    where = ""
    gc.set_threshold(_COLLECT_EVERY)
    try:
        _never_fail_on_a_letter(sys.stdout)
        given, data = _take_data([*(sys.argv[1:] if argv is None else argv)])
        args = _understood(given)
        places = find_places(os.environ, data)
        where = str(places.data)
        code: int = args.run(args, places, ask=_asker())
        if sys.stdout is not None:
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
            # the terminal has gone away: there is nobody to tell
            give_up(sys.stdout)
            give_up(sys.stderr)
            return 128 + _SIGHUP
        if isinstance(unexpected, OSError) and unexpected.errno == errno.ENOSPC and unexpected.filename is None:
            give_up(sys.stdout)
            _say("What was to be said cannot be written: the disk is full. Make room, or write it elsewhere.")
            return FileUnusable.exit_code
        if os.environ.get(DEBUG_VARIABLE) == "1":
            raise
        return _unexpected(unexpected, where)


def _understood(given: list[str]) -> argparse.Namespace:
    """The arguments, with the function to `run`. Of all commands only the module of this one is imported."""
    wanted = next((each for each in given if not each.startswith("-")), None)
    parser = _Parser(prog="wetside", description=DESCRIPTION, epilog=EPILOG, formatter_class=HelpInWords)
    parser.add_argument("--version", action="version", version=f"wetside {__version__}")
    parser.add_argument("--data", metavar="DIR", help=f"the data folder (else {DATA_VARIABLE}, else the system's)")
    parser.add_argument("--plain", action="store_true", help="without the full screen, line by line")
    known = [command.name for command in COMMANDS]
    if wanted is not None and wanted not in known:
        near = None if wanted == "help" else nearest_of(wanted, known)
        hint = f"did you mean {near}?" if near else "`wetside --help` lists them."
        raise UsageError(f'There is no command "{wanted[:40]}": {hint}')
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    for command in COMMANDS:
        if command.name == wanted:
            getattr(_module(command.module), f"add_{wanted}")(subparsers)
        else:
            subparsers.add_parser(command.name, help=command.words, add_help=False)
    if wanted is None:
        parser.set_defaults(run=_module("home").run)
    return parser.parse_args(given)


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"wetside.commands.{name}")


def _take_data(given: list[str]) -> tuple[list[str], str | None]:
    """The arguments without `--data DIR`, wherever it stands, and DIR; `--` ends the search."""
    rest: list[str] = []
    data: str | None = None
    while given:
        each = given.pop(0)
        if each == "--":
            return [*rest, each, *given], data
        if each == "--data":
            if not given:
                raise UsageError("--data needs a folder: write --data DIR.")
            data = given.pop(0)
        elif each.startswith("--data="):
            data = each.removeprefix("--data=")
        else:
            rest.append(each)
    if data == "":
        raise UsageError("--data needs a folder: write --data DIR.")
    return rest, data


def _asker() -> Callable[[str], str] | None:
    """A way to ask the person at the terminal; None when nobody is there."""
    try:
        here = sys.stdin is not None and sys.stdin.isatty() and sys.stderr is not None and sys.stderr.isatty()
    except ValueError:  # a stream is closed
        return None
    return _ask if here else None


def _ask(question: str) -> str:
    print("\n".join(rows_of(printable(question), columns_of(sys.stderr))), end=" ", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip()


def _say(text: str) -> None:
    """One line on stderr for each finding; never a reason to fail."""
    for line in text[:_LONGEST_SAID].splitlines() or [""]:
        say(line)


def _unexpected(problem: Exception, where: str) -> int:
    what = f"{type(problem).__name__}: {problem}".rstrip(": ")
    kept = f" What was entered is kept in {where}; `wetside resume` goes on with it." if where else ""
    _say(f"This should not happen ({what[:300]}).{kept} {DEBUG_VARIABLE}=1 shows where it happened.")
    return 1


def _never_fail_on_a_letter(stream: TextIO | None) -> None:
    """A letter that the terminal's encoding lacks is written as "?" instead of ending the program."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
