"""A screen that asks questions one after the other: each a list of options or a field to type in.

The questions are a generator: it yields each, and is sent the answer. BACKSPACE goes back a question: the
generator is begun anew with the answers so far, so it must change nothing before its last answer.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable
from typing import Final

from msgspec.structs import replace
from textual import events
from textual.widget import Widget
from textual.widgets import Input, Static

from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.present.prompts import LONGEST_WORDS, Answer, Asked, Choice, Words, panel_keys, press_asked
from wetside.tui.choice_list import ChoiceList
from wetside.tui.frame import WIDEST
from wetside.tui.page_screen import Edge, WidgetScreen
from wetside.tui.rows import RowList

Flow = Generator[Asked, str, str]
"""Yields questions, is sent answers, and returns a message for the page beneath.

A WetsideError that it raises is shown, and the last question is asked again.
"""


LEAST_OPTIONS: Final = 3
"""The options for which a long question leaves room."""


class AskAgain(Exception):
    """What the last answer opened on top was left: the last question is asked again, without a message."""


class Field(Input, inherit_bindings=False):
    """A line to type in. What a key means is decided by the screen, which hands on those of the field."""

    _EDITS: Final = {
        "backspace": Input.action_delete_left,
        "delete": Input.action_delete_right,
        "left": Input.action_cursor_left,
        "right": Input.action_cursor_right,
        "home": Input.action_home,
        "end": Input.action_end,
    }

    def __init__(self) -> None:
        super().__init__(compact=True, select_on_focus=False, max_length=LONGEST_WORDS)
        self.cursor_blink = False  # a blinking cursor would write to the terminal for ever

    def put(self, text: str, default: str = "") -> None:
        """Begin with this text; `default` is shown while the field is empty."""
        self.value, self.placeholder = text, default
        self.cursor_position = len(text)

    def edit(self, key: str) -> bool:
        """Whether the key types or edits; if so, it is done."""
        character = " " if key == "space" else key
        if len(character) == 1 and character.isprintable():
            self.insert_text_at_cursor(character)
        elif (self.value or key not in ("backspace", "home", "end")) and key in self._EDITS:
            self._EDITS[key](self)
        else:
            return False
        return True

    def restricted(self) -> None:
        """Ring no bell for a character too many: a bell is a call."""

    def on_key(self, event: events.Key) -> None:
        """Leave the key to the screen."""
        event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()


class DialogScreen(WidgetScreen):
    """Asks the questions of `flow`. Its result is what the flow returns; None if it was left before."""

    def __init__(self, terminal: Terminal, title: str, flow: Callable[[], Flow]) -> None:
        super().__init__(terminal)
        self._dialog_title = title
        self._make = flow
        self._said = Static(id="said")
        self._list = ChoiceList(self.text_layout)
        self._flow = flow()
        self._answers: list[str] = []
        self._question = next(self._flow)

    def contents(self) -> Iterable[Widget]:
        self.field = Field()
        self._open(self._question)
        return self._said, self._list, self.field

    @property
    def question(self) -> Asked:
        """The open question, with what was typed."""
        open_one = self._question
        return replace(open_one, typed=self.field.value) if isinstance(open_one, Words) else open_one

    @property
    def typed(self) -> bool:
        return isinstance(self._question, Words) and bool(self.field.value)

    def edge(self) -> Edge:
        keys = panel_keys(self.question)
        if self._answers and not self.typed:
            keys = replace(keys, backspace="goes back a question")
        return Edge(self._dialog_title, "", keys)

    def fill(self, columns: int, rows: int) -> None:
        question, layout, cells = self._question, self.text_layout, min(columns, WIDEST)
        options: tuple[str, ...] = ()
        marked = -1
        if isinstance(question, Choice):
            options, marked = tuple(words for _, words in question.options), question.index
        self._list.show(options, marked)
        self.field.display = not options
        title, lines = layout.lines(question.title, cells, "strong"), layout.paragraphs(question.lines, cells)
        needed = max(1, len(options))
        gap: RowList = [()] if len(title) + len(lines) + needed + 2 <= rows else []
        said = [*title, *(gap if lines else []), *lines, *gap]
        self.put(self._said, said[: max(1, rows - min(needed, LEAST_OPTIONS))])
        if self.is_mounted:
            self.set_focus(None if options else self.field)

    def on_mount(self) -> None:
        """Show the cursor in the field."""
        self.redraw()

    def press_page(self, key: str) -> None:
        """The keys of the field type; the others are those of the question."""
        if isinstance(self._question, Words) and self.field.edit(key):
            return
        after = press_asked(self.question, key)
        if isinstance(after, Answer):
            self._answer(after.value)
        elif after is not None:
            self._question = after
        elif self._answers:
            *earlier, last = self._answers
            self._ask_again(earlier, last)
        else:
            self.dismiss(None)

    def _answer(self, value: str) -> None:
        try:
            question = self._flow.send(value)
        except StopIteration as over:
            self.dismiss(over.value)
        except AskAgain:
            self._ask_again(self._answers, value)
        except WetsideError:
            self._ask_again(self._answers, value)
            raise
        else:
            self._answers.append(value)
            self._open(question)

    def _ask_again(self, answers: list[str], typed: str = "") -> None:
        """Ask the question after these answers; typed: what a field begins with."""
        self._flow, self._answers = self._make(), answers
        question = next(self._flow)
        for answer in answers:
            question = self._flow.send(answer)
        self._open(question, typed)

    def _open(self, question: Asked, typed: str = "") -> None:
        self._question = question
        if isinstance(question, Words):
            self.field.put(question.typed or (typed if typed != question.default else ""), question.default)


def ask(
    page: WidgetScreen, title: str, flow: Callable[[], Flow], then: Callable[[str], None] | None = None
) -> None:
    """Ask the questions of `flow` over this page; `then` gets what it returns, else the page says it."""

    def answered(returned: str | None) -> None:
        if then is not None and returned is not None:
            then(returned)
        else:
            page.say(returned or "")

    page.app.push_screen(DialogScreen(page.terminal, title, flow), answered)
