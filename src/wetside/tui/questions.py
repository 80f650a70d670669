"""One question over a page: typed, or one of several; what a key does to it, and how it is drawn. Pure.

SPACE, ENTER and BACKSPACE do everything. A question with `guarded` options opens with none marked, so that ENTER
alone answers nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from wetside.present.key_legend import BOTH_WAYS, Keys
from wetside.tui.fitting import Form, RowBlock, around, fit
from wetside.tui.page_frame import Body, around_list, option
from wetside.tui.styled_rows import StyledText
from wetside.tui.text_layout import TextLayout

LONGEST_TYPED = 200


@dataclass(frozen=True, slots=True)
class Question:
    """options: (what it stands for, its words); none where it is typed. default: what an empty answer means.

    lines: cautions and help, in sight with the question. optional: an empty answer leaves things as they were.
    """

    title: str
    lines: tuple[str, ...] = ()
    options: tuple[tuple[str, str], ...] = ()
    default: str = ""
    typed: str = ""
    index: int = 0
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer: what the option stands for, or what was typed."""

    value: str


def guarded(title: str, lines: tuple[str, ...], options: tuple[tuple[str, str], ...]) -> Question:
    """A question that needs SPACE before ENTER."""
    return Question(title, lines, options, index=-1)


def press_question(question: Question, key: str) -> Question | Answered | None:
    """What `key` does: the question as it is then, its answer, or None when it is left."""
    if key == "escape" or (key == "backspace" and not question.typed):
        return None
    if question.options:
        return _press_options(question, key)
    if key == "enter":
        text = question.typed.strip() or question.default
        unanswered = None if question.optional else question
        return Answered(text) if text else unanswered
    if key == "backspace":
        return replace(question, typed=question.typed[:-1])
    letter = " " if key == "space" else key
    if len(letter) == 1 and letter.isprintable():
        return replace(question, typed=(question.typed + letter)[:LONGEST_TYPED])
    return question


def _press_options(question: Question, key: str) -> Question | Answered:
    count = len(question.options)
    match key:
        case "space" | "down":
            return replace(question, index=(question.index + 1) % count)
        case "up":
            return replace(question, index=(max(question.index, 0) - 1) % count)
        case "enter" if question.index >= 0:
            return Answered(question.options[question.index][0])
    return question


def question_keys(question: Question) -> Keys:
    """What the three keys do, in words."""
    if question.options:
        chosen = "takes the marked one" if question.index >= 0 else ""
        return Keys("moves" if chosen else "marks the first", chosen, "leaves it as it was", BOTH_WAYS)
    if question.typed:
        return Keys("is a space", "puts it in", "rubs out")
    empty = "leaves it as it was" if question.optional else ""
    return Keys("is a space", f"takes {question.default}" if question.default else empty, "leaves it as it was")


def question_body(question: Question, pen: TextLayout, cells: int, rows: int) -> Body:
    """The question in at most `rows` rows; the marked option or the typed field is always among them."""
    said: Form = [(StyledText(line),) for words in question.lines for line in pen.wrap(words, cells)]
    if question.options:
        listed = [option(words, n == question.index, pen, cells) for n, (_, words) in enumerate(question.options)]
    else:
        listed = []
    above = [
        RowBlock(90, ([(StyledText(line, "strong"),) for line in pen.wrap(question.title, cells, 2)],)),
        RowBlock(1, ([()], [])),
        RowBlock(50, around(said, 0, min(1, len(said)))),
        RowBlock(1, ([()], [])),
    ]
    if listed:
        return around_list(above, listed, question.index, [], rows, weight=60)
    return Body(fit([*above, RowBlock(60, (field_rows(question, pen, cells),))], rows))


def field_rows(question: Question, pen: TextLayout, cells: int) -> Form:
    """What is typed, with the place of the next letter."""
    if not question.typed and question.default:
        return [(StyledText(f" {pen.cut(question.default, cells - 3)} ", "faint"), StyledText(" ", "bar"))]
    lines = pen.wrap(question.typed, cells - 2)
    if question.typed.endswith(" "):
        lines[-1] += " "
    field: Form = [(StyledText(f" {line}", "strong"),) for line in lines]
    field[-1] = (*field[-1], StyledText(" ", "bar"))
    return field
