"""Runs the program as a person starts it, with a fault built in: WHERE AFTER ARGUMENT…

WHERE says what raises ZeroDivisionError, once AFTER keys have been taken: "key" the controller, at the next key;
"draw" the next picture of the step; "poll" the timer; "read" the reading of the keys; "paint" a line
asked for by the library. With "leave" nothing is
raised: the screen draws once more while it is being closed.
"""

from __future__ import annotations

import sys
from typing import Any

from msgspec.structs import replace

from wetside.app.controller import SessionController
from wetside.cli import main
from wetside.tui.canvas import Canvas
from wetside.tui.guide_screen import GuideScreen
from wetside.tui.terminal_driver import TerminalDriver

FAULTS: dict[str, tuple[type[Any], str]] = {
    "key": (SessionController, "press"),
    "draw": (SessionController, "view"),
    "poll": (SessionController, "poll"),
    "read": (TerminalDriver, "_read"),
    "paint": (Canvas, "render_line"),
}


def draw_on_leaving() -> None:
    """The guide's screen draws when the terminal has been restored already."""
    unmount = GuideScreen.on_unmount

    async def late(screen: GuideScreen) -> None:
        screen.controller.key_state = replace(screen.controller.key_state, message="Too late.")
        GuideScreen.redraw(screen)
        await unmount(screen)

    GuideScreen.on_unmount = late  # type: ignore[method-assign,assignment]


def break_it(where: str, after: int) -> None:
    """Build the fault in."""
    taken = 0
    owner, name = FAULTS[where]
    works, press = getattr(owner, name), SessionController.press

    def broken(*given: Any) -> Any:
        if taken >= after:
            raise ZeroDivisionError("[b]in the middle[/b]")
        return works(*given)

    def counted(*given: Any) -> Any:
        nonlocal taken
        does = broken if where == "key" else press
        answer = does(*given)
        taken += 1
        return answer

    setattr(owner, name, broken)
    SessionController.press = counted  # type: ignore[method-assign,assignment]


if __name__ == "__main__":
    if sys.argv[1] == "leave":
        draw_on_leaving()
    else:
        break_it(sys.argv[1], int(sys.argv[2]))
    sys.exit(main(sys.argv[3:]))
