"""The parser of the command line: its errors as one sentence, its help texts from the files in `help/`."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, Final, NoReturn

from wetside.app.console import rows_of
from wetside.errors import UsageError

_TEXTS: Final = Path(__file__).with_name("help")
_EVERY_COMMAND: Final = """\
--data DIR moves the data folder.

exit codes: 0 done; 1 refused or failed check; 2 usage; 3 a file or the data cannot be used.
"""
_LONG: Final = 80


class _HelpInWords(argparse.HelpFormatter):
    """Keeps the paragraphs of a description or epilog, each wrapped to the terminal's width.

    A line of the source is joined with the next one when it is long and ends in mid-sentence; an example never is.
    """

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        paragraphs: list[str] = []
        goes_on = False
        for line in text.splitlines():
            if goes_on:
                paragraphs[-1] += f" {line.strip()}"
            else:
                paragraphs.append(f"{indent}{line}")
            whole = line.endswith((".", ":", ";")) or line.startswith("example:")
            goes_on = len(line) > _LONG and not whole
        return "\n".join(row for line in paragraphs for row in rows_of(line, width))


class CommandParser(argparse.ArgumentParser):
    """Raises UsageError with one sentence where argparse would print and exit."""

    def __init__(self, **settings: Any) -> None:
        self._choices: dict[str, str] = {}
        super().__init__(formatter_class=_HelpInWords, **settings)

    def add_argument(self, *names: Any, **settings: Any) -> argparse.Action:
        if settings.get("required") and "choices" in settings:
            self._choices[names[0]] = ", ".join(settings["choices"])
        return super().add_argument(*names, **settings)

    def error(self, message: str) -> NoReturn:
        if "arguments are required" in message:  # argparse names the choices only where one is wrong
            for name, choices in self._choices.items():
                message = message.replace(name, f"{name} ({choices})")
        raise UsageError(f"{message[:1].upper()}{message[1:]}; see `{self.prog} --help`.")

    def format_help(self) -> str:
        """The help; that of a command ends with the text of its file, which is read for nothing else."""
        program, _, command = self.prog.partition(" ")
        text = _TEXTS / f"{command or program}.txt"
        if text.exists():
            self.epilog = text.read_text("utf-8") + (_EVERY_COMMAND if command else "")
        return super().format_help()


def add_command(parsers: argparse._SubParsersAction[Any], name: str, words: str, **settings: Any) -> CommandParser:
    """Add the parser of a command, or of an act of one. words: one line on what it does."""
    description = f"{words[:1].upper()}{words[1:]}."
    parser: CommandParser = parsers.add_parser(name, help=words, description=description, **settings)
    return parser
