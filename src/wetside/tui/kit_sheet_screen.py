"""The screens "my kit's sheet": which kit; then its questions one by one, with a preview of the sheet below."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from wetside.app.kit_sheet import KitSheet, begun_with, drafts
from wetside.app.terminal import Terminal
from wetside.files.atomic_write import shown_path
from wetside.present.kit_questions import HEAD, how_to_answer
from wetside.present.prompts import Keys, asked
from wetside.present.proof_text import finding_text
from wetside.tui.dialog import Field, Flow
from wetside.tui.frame import WIDEST
from wetside.tui.page_screen import Edge, WidgetScreen
from wetside.tui.rows import RowList

NEW: Final = "a new kit"
LEAST_SHEET: Final = 3
"""The rows that a long question leaves for the field and the sheet."""

_AT_END: Final = "All is asked. Now it is proved on every path of an evening, and written."


def which_kit(own_dir: Path) -> Flow:
    """Ask for a new kit and its title, an unfinished one, or one of the person's own; returns its file."""
    unfinished = drafts(own_dir)
    own = sorted(path.stem for path in own_dir.glob("*.toml")) if own_dir.is_dir() else []
    options = ((NEW, "A new kit"), *((name, f"Go on: {name}, not finished") for name in unfinished))
    options += tuple((name, f"Change: {name}") for name in own if name not in unfinished)
    name = yield asked("Which kit? Have its printed sheet beside you.", options=options)
    if name != NEW:
        return str(own_dir / f"{name}.toml")
    first = HEAD[0]
    lines = (f"Answer: {first.unit}; for example: {first.example}.", "It names the file.")
    return str(begun_with((yield asked(first.words, lines)), own_dir).path)


class KitSheetScreen(WidgetScreen):
    """Asks the questions of `sheet`. Its result is a message for the home screen, "" for none."""

    def __init__(self, terminal: Terminal, sheet: KitSheet) -> None:
        super().__init__(terminal)
        self.sheet = sheet
        self._proved: tuple[str, ...] | None = None
        self._said, self._sheet_rows = Static(id="said"), Static(id="sheet")
        self._preview = VerticalScroll(self._sheet_rows, can_focus=False)

    def contents(self) -> Iterable[Widget]:
        self.field = Field()
        self._ask()
        return self._said, self.field, self._preview

    @property
    def typed(self) -> bool:
        return self.sheet.question is not None and bool(self.field.value)

    # -- keys

    def press_page(self, key: str) -> None:
        """ENTER takes the answer, up and down go to the question before and the next, END to the last.

        BACKSPACE rubs out, and on an empty field goes back. After the last question ENTER runs the proof, then
        writes the file.
        """
        sheet = self.sheet
        if key == "escape":
            self._leave()
        elif key == "end":
            sheet.open_end()
            self._ask()
        elif sheet.question is not None and self.field.edit(key):
            return
        elif key in ("backspace", "up"):
            if sheet.back():
                self._ask()
            else:
                self._leave()
        elif sheet.question is None and key == "enter":
            self._finish()
        elif key in ("enter", "down") and sheet.question is not None:
            answer = self.field.value if key == "enter" else sheet.answered
            sheet.answer(answer)
            self._ask()

    def _finish(self) -> None:
        sheet = self.sheet
        if self._proved is not None:
            sheet.write()
            self.dismiss(f"Written: {shown_path(sheet.path)}. Plan an evening with {sheet.called}.")
        elif found := sheet.proved():
            sheet.reopen(found[0])
            self._ask()
            self.message = finding_text(found[0])
        else:
            self._proved = sheet.notes()

    def _ask(self) -> None:
        self._proved = None
        self.field.put(self.sheet.answered if self.sheet.question is not None else "")

    def _leave(self) -> None:
        kept = self.sheet.draft.exists()
        self.dismiss(f"{self.sheet.called} is not finished: your answers are kept." if kept else "")

    # -- what is shown

    def edge(self) -> Edge:
        sheet, question = self.sheet, self.sheet.question
        if question is None:
            enter = "proves it" if self._proved is None else "writes it"
            return Edge(sheet.path.stem, "", Keys("", enter, "the question before"))
        enter = "takes it" if self.field.value.strip() else "leaves it out" if question.without else ""
        before = "the question before" if sheet.index else "leaves; answers are kept"
        keys = Keys("is a space", enter, "rubs out" if self.field.value else before, "before, next")
        return Edge(sheet.path.stem, f"{sheet.index + 1} of {len(sheet.questions)}", keys)

    def fill(self, columns: int, rows: int) -> None:
        sheet, layout, cells = self.sheet, self.text_layout, min(columns, WIDEST)
        question = sheet.question
        if question is not None:
            there = (f"There are: {', '.join(sheet.choices)}.",) if sheet.choices else ()
            title, said = question.words, (how_to_answer(question), sheet.left_out, *there)
        else:
            title, said = _AT_END, () if self._proved is None else ("Sound. ENTER writes it.", *self._proved)
        shown: RowList = [*layout.lines(title, cells, "strong", most=2), *layout.paragraphs(said, cells)]
        self.put(self._said, shown[: rows - LEAST_SHEET])
        self.field.display = question is not None
        self.put(
            self._sheet_rows,
            [
                layout.row(line.text, cells, "strong" if line.text[:1].strip() else "faint")
                for line in sheet.lines()
            ],
        )
        bath, figure = sheet.place()
        room = self._preview.size.height
        self._preview.scroll_to(y=bath if figure - bath + 2 <= room else figure, animate=False)
        if self.is_mounted:
            self.set_focus(self.field if question is not None else None)

    def on_mount(self) -> None:
        """Show the cursor in the field."""
        self.redraw()
