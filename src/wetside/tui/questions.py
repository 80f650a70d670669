"""A question over a page as rows and a list. Pure; what a key does to it is in `present/prompts.py`."""

from __future__ import annotations

from wetside.present.prompts import Asked, Words
from wetside.tui.fitting import Form, RowBlock, around, fit
from wetside.tui.page_frame import Body, around_list, option
from wetside.tui.styled_rows import StyledText
from wetside.tui.text_layout import TextLayout


def question_body(question: Asked, pen: TextLayout, cells: int, rows: int) -> Body:
    """The question in at most `rows` rows; the marked option or the typed field is always among them."""
    said: Form = [(StyledText(line),) for words in question.lines for line in pen.wrap(words, cells)]
    above = [
        RowBlock(90, ([(StyledText(line, "strong"),) for line in pen.wrap(question.title, cells, 2)],)),
        RowBlock(1, ([()], [])),
        RowBlock(50, around(said, 0, min(1, len(said)))),
        RowBlock(1, ([()], [])),
    ]
    if isinstance(question, Words):
        return Body(fit([*above, RowBlock(60, (field_rows(question, pen, cells),))], rows))
    listed = [option(words, n == question.index, pen, cells) for n, (_, words) in enumerate(question.options)]
    return around_list(above, listed, question.index, [], rows, weight=60)


def field_rows(question: Words, pen: TextLayout, cells: int) -> Form:
    """What is typed, with the place of the next letter."""
    if not question.typed and question.default:
        return [(StyledText(f" {pen.cut(question.default, cells - 3)} ", "faint"), StyledText(" ", "bar"))]
    lines = pen.wrap(question.typed, cells - 2)
    if question.typed.endswith(" "):
        lines[-1] += " "
    field: Form = [(StyledText(f" {line}", "strong"),) for line in lines]
    field[-1] = (*field[-1], StyledText(" ", "bar"))
    return field
