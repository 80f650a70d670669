"""The settings screen: each setting with its title and value, to be changed one by one; and the files' places."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import Final

from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.files.settings import Settings
from wetside.files.settings_form import SettingLine, setting_lines
from wetside.present.prompts import asked
from wetside.tui.choice_list import ChoiceList
from wetside.tui.dialog import Flow, ask
from wetside.tui.frame import WIDEST
from wetside.tui.list_screen import ListLine, ListScreen
from wetside.tui.page_screen import Edge, PageScreen, text_of

TITLE_CELLS: Final = 23


class SettingsScreen(ListScreen):
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
        self._change = change
        self._files = files
        self._list = ChoiceList(self.text_layout)
        self._whole = Static(id="whole")

    def contents(self) -> Iterable[Widget]:
        return self._list, self._whole

    def edge(self) -> Edge:
        return Edge("Settings", "", self.keys("goes back"))

    def fill(self, columns: int, rows: int) -> None:
        self.show_values(self._list, self._whole, TITLE_CELLS, min(columns, WIDEST))

    def lines(self) -> list[ListLine]:
        found = [
            ListLine(line.title, "changes it", partial(self._ask, line), line.value)
            for line in setting_lines(self.settings)
        ]
        return [*found, ListLine("Where files live", "shows it", self._show_files)]

    def _show_files(self) -> None:
        self.app.push_screen(PageScreen(self.terminal, "Where files live", text_of(self._files)))

    def _ask(self, line: SettingLine) -> None:
        said = (line.about,) if line.options else (line.about, f"Now: {line.value}")

        def flow() -> Flow:
            answer = yield asked(line.title, said, line.options, chosen=line.chosen, optional=True)
            self.settings = self._change(line.name, answer)
            return "Kept."

        ask(self, "Settings", flow)
