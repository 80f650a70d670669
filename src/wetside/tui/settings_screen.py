"""The settings screen: each setting with its title and value, to be changed one by one; and the files' places."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.files.settings import Settings
from wetside.files.settings_form import SettingLine, setting_lines
from wetside.present.prompts import BOTH_WAYS, Keys, asked
from wetside.tui.choice_list import ChoiceList, moved
from wetside.tui.dialog import Flow, ask
from wetside.tui.frame import WIDEST, text_rows
from wetside.tui.page_screen import Edge, PageScreen, WidgetScreen
from wetside.tui.rows import RowList, TextLayout

TITLE_CELLS: Final = 23


class SettingsScreen(WidgetScreen):
    """Lists `settings`. change: saves one answer and returns the new settings, or raises a WetsideError.

    files: lines on where files are.
    """

    def __init__(
        self,
        terminal: Terminal,
        settings: Settings,
        change: Callable[[str, str], Settings],
        files: tuple[str, ...],
    ) -> None:
        super().__init__(terminal)
        self.settings = settings
        self.index = 0
        self._change = change
        self._files = files
        self._list = ChoiceList(self.text_layout)
        self._whole = Static(id="whole")

    def contents(self) -> Iterable[Widget]:
        """The list, and the marked line in full where the list cuts it."""
        return self._list, self._whole

    def edge(self) -> Edge:
        """What ENTER does with the marked line."""
        does = "shows it" if self._marked() is None else "changes it"
        return Edge("Settings", "", Keys("moves", does, "goes back", BOTH_WAYS))

    def fill(self, columns: int, rows: int) -> None:
        """Each setting with its value."""
        lines = [*((line.title, line.value) for line in setting_lines(self.settings)), ("Where files live", "")]
        words = [f"{title:<{TITLE_CELLS}} {value}" for title, value in lines]
        self._list.show(words, self.index)
        whole = ": ".join(lines[self.index]) if self._list.cuts(words[self.index]) else ""
        self.put(self._whole, self.text_layout.lines(whole, min(columns, WIDEST), "faint") if whole else [])

    def press_page(self, key: str) -> None:
        """ENTER opens the marked line, BACKSPACE leaves, the others move."""
        if key == "enter":
            self._open()
        elif key in ("backspace", "escape"):
            self.dismiss()
        else:
            self.index = moved(self.index, key, len(setting_lines(self.settings)) + 1)

    def _marked(self) -> SettingLine | None:
        lines = setting_lines(self.settings)
        return lines[self.index] if self.index < len(lines) else None

    def _open(self) -> None:
        line = self._marked()
        if line is None:
            self.app.push_screen(PageScreen(self.terminal, "Where files live", self._files_rows))
            return
        answers = [answer for answer, _ in line.options]
        said = (line.about,) if line.options else (line.about, f"Now: {line.value}")
        index = answers.index(line.chosen) if line.options else 0

        def flow() -> Flow:
            answer = yield asked(line.title, said, line.options, index=index, optional=True)
            self.settings = self._change(line.name, answer)
            return "Kept."

        ask(self, "Settings", flow)

    def _files_rows(self, layout: TextLayout, cells: int) -> RowList:
        return text_rows(self._files, layout, cells)
