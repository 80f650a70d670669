"""Rows of what is asked: the prompts of a running session, and the questions over a page. Pure.

What a key does to a prompt is in `present/prompts.py`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

from wetside.present.prompts import Asked, Choice, Menu, Number, Page, Panel, Words
from wetside.tui.frame import Body, around_list, option
from wetside.tui.large_digits import SHAPES, rows_of, scales
from wetside.tui.rows import Form, Row, RowBlock, StyledText, TextLayout, around, fit, width


def panel_rows(panel: Panel, pen: TextLayout, cells: int, rows: int, about: tuple[str, ...] = ()) -> Form:
    """The panel in at most `rows` rows of `cells` cells, its marked line always among them.

    about: what the session knows of a number that is asked for, such as the range that is wanted.
    """
    match panel:
        case Menu():
            return _list("Menu", (), _menu_rows(panel, pen, cells), panel.index, pen, cells, rows)
        case Choice():
            options = [_option(words, n == panel.index, pen, cells) for n, (_, words) in enumerate(panel.options)]
            return _list(panel.title, panel.lines, options, panel.index, pen, cells, rows)
        case Number():
            return _number(panel, about, pen, cells, rows)
        case Words():
            field = field_rows(panel, pen, cells)
            return _list(panel.title, (), field, len(field) - 1, pen, cells, rows)
        case Page():
            return _page(panel, pen, cells, rows)
        case _:
            assert_never(panel)


def _above(title: str, lines: Iterable[str], pen: TextLayout, cells: int) -> list[RowBlock]:
    """A title, and what is said under it before the options or the field."""
    said = pen.paragraphs(lines, cells)
    return [
        RowBlock(90, (pen.lines(title, cells, "strong", most=2),)),
        RowBlock(1, ([()], [])),
        RowBlock(50, around(said, 0, min(1, len(said)))),
    ]


def _list(
    title: str, lines: tuple[str, ...], options: Form, marked: int, pen: TextLayout, cells: int, rows: int
) -> Form:
    gap = [RowBlock(1, ([()], []))] if lines else []
    return fit([*_above(title, lines, pen, cells), *gap, RowBlock(60, around(options, marked, 1))], rows)


def _menu_rows(menu: Menu, pen: TextLayout, cells: int) -> Form:
    rows: Form = []
    for number, (_, title, letter) in enumerate(menu.items):
        text = pen.cut(title, cells - 8)
        text += " " * (cells - 8 - width(text)) + f"  {letter}"
        rows.append(_option(text, number == menu.index, pen, cells))
    return rows


def _option(words: str, marked: bool, pen: TextLayout, cells: int) -> Row:
    sign = pen.text("→") if marked else ""
    text = pen.cut(words, cells - 5)
    return (StyledText(f" {sign:<2} {text} ", "mark" if marked else ""),)


def _number(panel: Number, about: tuple[str, ...], pen: TextLayout, cells: int, rows: int) -> Form:
    """The field; where there is room its digits are large, since a wet thermometer is in the other hand."""
    field: list[Form] = [[_field(panel.shown, pen, cells)]]
    number, unit = panel.parts
    digits = number.replace(",", ".")
    if digits and all(character in SHAPES for character in digits):
        for scale in scales(digits, cells - 2 - len(unit), 5, pen)[-1::-1]:
            large = rows_of(digits, scale, pen)
            rows_large: Form = [(StyledText(f"  {line}", "strong"),) for line in large]
            rows_large[-1] = (*rows_large[-1], StyledText(f"  {pen.text(unit)}", "strong"))
            field.insert(0, rows_large)
    said: Form = pen.paragraphs(_number_help(panel), cells)
    blocks = [
        RowBlock(90, (pen.lines(panel.title, cells, "strong", most=2),)),
        RowBlock(1, ([()], [])),
        RowBlock(20, (said, [])),
        RowBlock(40, ([pen.row(words, cells) for words in about],)),
        RowBlock(1, ([()], [])),
        RowBlock(30, tuple(field)),
    ]
    return fit(blocks, rows)


def _number_help(panel: Number) -> tuple[str, ...]:
    if panel.what == "late":
        return ("Take off what has passed. Type seconds, or step with SPACE and BACKSPACE.",)
    if panel.what == "bells":
        return ("Type the number, or step to it with SPACE.",)
    if panel.value is not None:
        return ("To keep none of it, type a digit and rub it out: the field can then be left.",)
    return ("Type it with digits, or step with SPACE and BACKSPACE.",)


def _field(words: str, pen: TextLayout, cells: int) -> Row:
    return (StyledText(f"  {pen.cut(words, cells - 4)}  ", "mark"),)


def _page(page: Page, pen: TextLayout, cells: int, rows: int) -> Form:
    head: Form = [pen.row(page.title, cells, "strong"), ()]
    body = [row for words in page.lines[page.top :] for row in pen.hanging(words, cells)]
    room = rows - len(head)
    if len(body) > room:
        body = [*body[: room - 1], pen.row("more below", cells, "faint")]
    return [*head, *body][:rows]


def question_body(question: Asked, pen: TextLayout, cells: int, rows: int) -> Body:
    """The question in at most `rows` rows; the marked option or the typed field is always among them."""
    above = [*_above(question.title, question.lines, pen, cells), RowBlock(1, ([()], []))]
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
