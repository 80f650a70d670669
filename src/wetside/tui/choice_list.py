"""The list of options: the library's, with a sign before the marked option besides its reverse video."""

from __future__ import annotations

from collections.abc import Sequence

from rich.style import Style
from textual.content import Content
from textual.strip import Strip
from textual.widgets import OptionList

from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.rows import TextLayout, width

_MARK = Style(bold=True, reverse=True)

_EDGE = 5
"""Cells of an option besides its words."""


class ChoiceList(OptionList, can_focus=False):
    """Shows options as high as they need, or as there is room. The screen owns the marked index."""

    def __init__(self, layout: TextLayout) -> None:
        super().__init__(compact=True)
        self._layout = layout
        self._words: Sequence[str] = ()

    def show(self, options: Sequence[str], marked: int) -> None:
        """Show these options and mark one; −1 marks none."""
        before, self._words = self._words, tuple(options)
        was = -1 if self.highlighted is None else self.highlighted
        self.display = bool(options)
        if len(before) != len(options):
            self.set_options([self._line(number, marked) for number in range(len(options))])
            self.styles.max_height = len(options)
        else:
            for number, words in enumerate(options):
                if words != before[number] or (was != marked and number in (was, marked)):
                    self.replace_option_prompt_at_index(number, self._line(number, marked))
        self.highlighted = marked if marked >= 0 else None

    def cuts(self, words: str) -> bool:
        """Whether an option of these words is too long for the list."""
        return 0 < self.size.width < width(self._layout.text(words)) + _EDGE

    def on_resize(self) -> None:
        """Keep the marked option in sight, and let the screen see what is cut now."""
        self.scroll_to_highlight()
        if isinstance(self.screen, KeyedScreen):
            self.screen.redraw()

    def render_line(self, y: int) -> Strip:
        """The library's line, with an ellipsis that every terminal has; the marked one in reverse video.

        In this widget the library drops reverse video that a style sheet asks for.
        """
        strip = shown_in(self._layout, super().render_line(y))
        return strip.apply_style(_MARK) if y + self.scroll_offset.y == self.highlighted else strip

    def _line(self, number: int, marked: int) -> Content:
        sign = self._layout.text("→") if number == marked else ""
        return Content(f" {sign:<3}{self._layout.text(self._words[number])}")


def shown_in(layout: TextLayout, strip: Strip) -> Strip:
    """The strip as the terminal can show it: the library ends cut text with an ellipsis that ASCII has not."""
    if layout.utf8:
        return strip
    return Strip([each._replace(text=each.text.replace("…", "~")) for each in strip], strip.cell_length)
