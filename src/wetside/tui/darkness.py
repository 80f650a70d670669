"""Keeps the dark dark: what is drawn, and what is not, around a step in which any light fogs the film.

On entering, the terminal is cleared, its cursor hidden, and the line to it silenced: whatever a screen would
draw, and whatever key is pressed, not one byte goes out until the leave pair. Only a bell that the person
asked for may pass. A guide started anew in a dark step has lit the room already; it says so once, and falls
silent at the first key.
"""

from __future__ import annotations

from collections.abc import Callable

from wetside.tui.styled_rows import Picture, StyledText
from wetside.tui.terminal_driver import TerminalLine
from wetside.tui.text_layout import TextLayout

STARTED_ANEW = (
    "This session is in its dark step.",
    "If film is open in this room, this screen has lit it: cover it now.",
    "The lid is on and the light is on: SPACE, then ENTER.",
    "Still loading: press SPACE, and the screen goes dark and stays so until SPACE, then ENTER.",
)


class Darkness:
    """Whether the screens may draw. `line` is None in a test without a terminal."""

    def __init__(self, line: TerminalLine | None, redraw_all: Callable[[], None]) -> None:
        self._line = line
        self._redraw_all = redraw_all
        self._fallen = False

    @property
    def fallen(self) -> bool:
        """Whether nothing may be drawn now."""
        return self._fallen

    def settle(self, dark: bool) -> None:
        """Fall silent, or speak and draw everything anew, as the session now wants."""
        if dark and not self._fallen:
            self._fallen = True
            if self._line is not None:
                self._line.silence()
        elif not dark and self._fallen:
            self._fallen = False
            if self._line is not None:
                self._line.speak()
            self._redraw_all()

    def ring(self) -> None:
        """One bell, in the dark too."""
        if self._line is not None:
            self._line.ring(even_silent=True)


def started_anew_picture(pen: TextLayout, columns: int, rows: int) -> Picture:
    """What a guide says that was started anew in the dark step."""
    lines = [line for words in STARTED_ANEW for line in (*pen.wrap(words, columns - 4), "")]
    return tuple((StyledText(f"  {line}", "strong"),) for line in ["", *lines])[:rows]
