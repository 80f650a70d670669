"""The screen "my kit's sheet": asks its questions one by one, with a preview of the sheet below."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from wetside.app.kit_sheet import KitSheet, begun_with, drafts
from wetside.app.terminal import Terminal
from wetside.files.atomic_write import shown_path
from wetside.present.kit_questions import HEAD, how_to_answer
from wetside.present.prompts import BOTH_WAYS, Asked, Choice, Keys, Words, asked, press_asked
from wetside.present.proof_text import finding_text
from wetside.sanitize import checked_text
from wetside.tui.frame import WIDEST, Body, Edge, PageView, page_view
from wetside.tui.page_screen import WidgetScreen
from wetside.tui.prompt_rows import field_rows, question_body
from wetside.tui.rows import RowBlock, RowList, around, fit

NEW: Final = "a new kit"
_AT_END: Final = "All is asked. Now it is proved on every path of an evening, and written."


class KitSheetScreen(WidgetScreen):
    """Asks which kit, then its questions. left: called with a message for the home screen, "" for none."""

    def __init__(self, terminal: Terminal, own_dir: Path, left: Callable[[str], None]) -> None:
        super().__init__(terminal)
        self.sheet: KitSheet | None = None
        self._own_dir = own_dir
        self._left = left
        self._proved: tuple[str, ...] | None = None
        self.question = self._which()

    def _which(self) -> Asked:
        """The question which kit: a new one, an unfinished one, or one of the person's own."""
        unfinished = drafts(self._own_dir)
        own = sorted(path.stem for path in self._own_dir.glob("*.toml")) if self._own_dir.is_dir() else []
        options = ((NEW, "A new kit"), *((name, f"Go on: {name}, not finished") for name in unfinished))
        options += tuple((name, f"Change: {name}") for name in own if name not in unfinished)
        return asked("Which kit? Have its printed sheet beside you.", options=options)

    # -- keys

    def press_question(self, question: Asked, key: str) -> None:
        """ENTER takes the answer; BACKSPACE rubs out, and on an empty field goes back; up and down, too."""
        if self.sheet is None:
            self._press_first(question, key)
        elif key == "escape":
            self._leave(self.sheet)
        else:
            self._press_field(self.sheet, question, key)

    def press_page(self, key: str) -> None:
        """After the last question ENTER runs the proof, then writes the file; BACKSPACE goes back."""
        sheet = self.sheet
        assert sheet is not None
        if key == "escape":
            self._leave(sheet)
        elif key in ("backspace", "up"):
            sheet.back()
            self._ask(sheet)
        elif key == "enter" and self._proved is None:
            found = sheet.proved()
            if found:
                sheet.reopen(found[0])
                self._ask(sheet)
                self.message = finding_text(found[0])
            else:
                self._proved = sheet.notes()
        elif key == "enter":
            sheet.write()
            self._left(f"Written: {shown_path(sheet.path)}. Plan an evening with {sheet.called}.")

    def _press_first(self, question: Asked, key: str) -> None:
        after = press_asked(question, key)
        if isinstance(after, Choice | Words):
            self.question = after
        elif after is None:
            if isinstance(question, Choice):
                self._left("")
            else:
                self.question = self._which()
        elif isinstance(question, Choice) and after.value == NEW:
            self.question = self._asked_title()
        elif isinstance(question, Choice):
            self._open(KitSheet(self._own_dir / f"{after.value}.toml", self._own_dir))
        else:
            self._open(begun_with(after.value, self._own_dir))

    @staticmethod
    def _asked_title() -> Asked:
        first = HEAD[0]
        return asked(first.words, (f"Answer: {first.unit}; for example: {first.example}.", "It names the file."))

    def _open(self, sheet: KitSheet) -> None:
        self.sheet = sheet
        self._ask(sheet)

    def _ask(self, sheet: KitSheet) -> None:
        wanted = sheet.question
        self._proved = None
        self.question = None
        if wanted is not None:
            there = (f"There are: {', '.join(sheet.choices)}.",) if sheet.choices else ()
            said = (how_to_answer(wanted), sheet.left_out, *there)
            self.question = asked(wanted.words, said, typed=sheet.answered, optional=True)

    def _press_field(self, sheet: KitSheet, question: Asked, key: str) -> None:
        assert isinstance(question, Words)
        if key in ("enter", "down"):
            answer = question.typed if key == "enter" else sheet.answered
            sheet.answer(checked_text(answer, "") if answer.strip() else "")
        elif key == "up" or (key == "backspace" and not question.typed):
            if not sheet.back():
                self._leave(sheet)
                return
        elif key == "end":
            sheet.open_end()
        else:
            after = press_asked(question, key)
            self.question = after if isinstance(after, Words) else question
            return
        self._ask(sheet)

    def _leave(self, sheet: KitSheet) -> None:
        kept = sheet.draft.exists()
        self._left(f"{sheet.called} is not finished: your answers are kept." if kept else "")

    # -- what is shown

    def draw(self, columns: int, rows: int) -> PageView:
        """The question, and the sheet as it will read."""
        sheet = self.sheet
        place = ""
        if sheet is not None and sheet.question is not None:
            place = f"{sheet.index + 1} of {len(sheet.questions)}"
        name = "My kit's sheet" if sheet is None else sheet.path.stem
        return page_view(
            Edge(name, place, self._keys(), self.message), self.text_layout, columns, rows, self._body
        )

    def _keys(self) -> Keys:
        question, sheet = self.question, self.sheet
        if isinstance(question, Choice):
            return Keys("moves", "opens it", "goes back", BOTH_WAYS)
        if sheet is None or question is None:
            rubs = question is not None and question.typed
            if question is not None:
                return Keys("is a space", "takes it" if rubs else "", "rubs out" if rubs else "goes back")
            return Keys("", "proves it" if self._proved is None else "writes it", "the question before")
        needed = sheet.question is not None and not sheet.question.without
        enter = "takes it" if question.typed.strip() else "" if needed else "leaves it out"
        before = "the question before" if sheet.index else "leaves; answers are kept"
        return Keys("is a space", enter, "rubs out" if question.typed else before, "before, next")

    def _body(self, columns: int, rows: int) -> Body:
        cells = min(columns, WIDEST)
        question, sheet = self.question, self.sheet
        if sheet is None and question is not None:
            return question_body(question, self.text_layout, cells, rows)
        assert sheet is not None
        if isinstance(question, Words):
            title, said, answer = question.title, question.lines, field_rows(question, self.text_layout, cells)
        else:
            sound = () if self._proved is None else ("Sound. ENTER writes it.", *self._proved)
            title, said, answer = _AT_END, sound, []
        wrapped: RowList = self.text_layout.paragraphs(said, cells)
        blocks = [
            RowBlock(90, (self.text_layout.lines(title, cells, "strong", most=2),)),
            RowBlock(30, around(wrapped, 0, min(2, len(wrapped)))),
            RowBlock(95, (answer,)),
            RowBlock(5, ([()], [])),
            RowBlock(40 if question is None else 20, self._sheet_rows(sheet, cells)),
        ]
        return Body(fit(blocks, rows))

    def _sheet_rows(self, sheet: KitSheet, cells: int) -> tuple[RowList, ...]:
        """Previews of decreasing length, from the bath asked about on; short ones from its figure on."""
        lines = sheet.lines()
        rows = [
            self.text_layout.row(each.text, cells, "strong" if each.text[:1].strip() else "faint")
            for each in lines
        ]
        bath, figure = sheet.place()
        forms = []
        for height in range(len(rows), 0, -1):
            top = bath if figure - bath + 2 <= height else figure
            forms.append(rows[min(top, len(rows) - height) :][:height])
        return tuple(forms) or ([],)
