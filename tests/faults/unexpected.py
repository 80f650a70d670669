"""Runs the program as a person starts it, with a fault built in: WHERE ARGUMENT…

WHERE says what raises ZeroDivisionError: "key" the desk, at the first key; "draw" the first picture of the step;
"beat" the timer; "read" the thread that reads the keys.
"""

from __future__ import annotations

import sys
from typing import Any

from wetside.cli import main
from wetside.desk import Desk
from wetside.screens.driver import TerminalLine

FAULTS: dict[str, tuple[type[Any], str]] = {
    "key": (Desk, "press"),
    "draw": (Desk, "view"),
    "beat": (Desk, "beat"),
    "read": (TerminalLine, "run_input_thread"),
}


def broken(*_: object) -> None:
    """What nobody expects."""
    raise ZeroDivisionError("[b]in the middle[/b]")


if __name__ == "__main__":
    where, *arguments = sys.argv[1:]
    owner, name = FAULTS[where]
    setattr(owner, name, broken)
    sys.exit(main(arguments))
