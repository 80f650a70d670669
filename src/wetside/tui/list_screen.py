"""The base of screens with a list: one line is marked, and ENTER does what it says."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Sequence

from msgspec import Struct
from textual.widgets import Static

from wetside.present.prompts import BOTH_WAYS, Keys
from wetside.tui.choice_list import ChoiceList
from wetside.tui.page_screen import WidgetScreen


class ListLine(Struct, frozen=True):
    """One line. does: what ENTER does there, for the bottom line; act does it."""

    title: str
    does: str
    act: Callable[[], object]
    value: str = ""


class ListScreen(WidgetScreen):
    """Subclasses implement `lines` in place of `press_page`. index: of the marked line."""

    index = 0

    @abstractmethod
    def lines(self) -> Sequence[ListLine]:
        """What is listed now: at least one line."""

    def leave(self) -> None:
        """What BACKSPACE does."""
        self.dismiss()

    def keys(self, leaves: str) -> Keys:
        """The labels of the keys. leaves: that of BACKSPACE."""
        return Keys("moves", self.lines()[self.index].does, leaves, BOTH_WAYS)

    def show_values(self, shown: ChoiceList, whole: Static, titles: int, cells: int) -> None:
        """Show the lines with their values in `shown`, the marked one in full in `whole` where the list cuts it.

        titles: cells of the titles; cells: of `whole`.
        """
        lines = self.lines()
        words = [f"{line.title:<{titles}} {line.value}" for line in lines]
        shown.show(words, self.index)
        cut = shown.cuts(words[self.index])
        full = f"{lines[self.index].title}: {lines[self.index].value}"
        self.put(whole, self.text_layout.lines(full, cells, "faint") if cut else [])

    def press_page(self, key: str) -> None:
        """ENTER does what the marked line says, BACKSPACE leaves, the others move the mark."""
        if key == "enter":
            self.lines()[self.index].act()
        elif key in ("backspace", "escape"):
            self.leave()
        else:
            self.index = _moved(self.index, key, len(self.lines()))


def _moved(index: int, key: str, count: int) -> int:
    """The marked line after a key: SPACE and the arrows wrap around, other keys do not."""
    moves = {"up": (index - 1) % count, "pagedown": min(count - 1, index + 10), "pageup": max(0, index - 10)}
    moves |= {"home": 0, "end": count - 1, **dict.fromkeys(("space", "down"), (index + 1) % count)}
    return moves.get(key, index)
