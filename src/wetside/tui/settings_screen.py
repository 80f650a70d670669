"""The settings screen: each setting with its title and value, to be changed one by one; and the files' places."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from wetside.app.terminal import Terminal
from wetside.files.settings import Settings
from wetside.files.settings_form import SettingLine, setting_lines
from wetside.present.prompts import BOTH_WAYS, Keys, asked, panel_keys
from wetside.tui.frame import WIDEST, Body, Edge, PageView, moved, page_view, text_rows, titled
from wetside.tui.page_screen import PageScreen, WidgetScreen
from wetside.tui.prompt_rows import question_body
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
        left: Callable[[], None],
    ) -> None:
        super().__init__(terminal)
        self.settings = settings
        self.index = 0
        self._terminal = terminal
        self._change = change
        self._files = files
        self._left = left

    def draw(self, columns: int, rows: int) -> PageView:
        """The list, or the question about one of them."""
        question = self.question
        if question is not None:
            keys = panel_keys(question)
        else:
            does = "shows it" if self._marked() is None else "changes it"
            keys = Keys("moves", does, "goes back", BOTH_WAYS)
        return page_view(Edge("Settings", "", keys, self.message), self.text_layout, columns, rows, self._body)

    def press_page(self, key: str) -> None:
        """ENTER opens the marked line, BACKSPACE leaves, the others move."""
        if key == "enter":
            self._open()
        elif key in ("backspace", "escape"):
            self._left()
        else:
            self.index = moved(self.index, key, len(setting_lines(self.settings)) + 1)

    def _marked(self) -> SettingLine | None:
        lines = setting_lines(self.settings)
        return lines[self.index] if self.index < len(lines) else None

    def _open(self) -> None:
        line = self._marked()
        if line is None:
            self.app.push_screen(PageScreen(self._terminal, "Where files live", self._files_body))
            return
        answers = [answer for answer, _ in line.options]
        said = (line.about,) if line.options else (line.about, f"Now: {line.value}")
        index = answers.index(line.chosen) if line.options else 0

        def put(answer: str) -> None:
            if answer:
                self.settings = self._change(line.name, answer)
                self.message = "Kept."

        self.ask(asked(line.title, said, line.options, index=index, optional=True), put)

    def _body(self, columns: int, rows: int) -> Body:
        cells = min(columns, WIDEST)
        if self.question is not None:
            return question_body(self.question, self.text_layout, cells, rows)
        lines = [(line.title, line.value) for line in setting_lines(self.settings)]
        return titled([*lines, ("Where files live", "")], self.index, self.text_layout, cells, rows, TITLE_CELLS)

    def _files_body(self, layout: TextLayout, cells: int) -> RowList:
        return text_rows(self._files, layout, cells)
