"""Panels as rows: menu, choice, number, words, page. Pure; what a key does to them is in `session/panels.py`."""

from __future__ import annotations

from typing import assert_never

from wetside.screens.digits import SHAPES, rows_of, scales
from wetside.screens.fitting import Block, Form, around, fit
from wetside.screens.pen import Pen
from wetside.screens.picture import Row, Span
from wetside.screens.signs import width
from wetside.session.panels import Choice, Menu, Number, Page, Panel, Words


def panel_rows(panel: Panel, pen: Pen, cells: int, rows: int, about: tuple[str, ...] = ()) -> Form:
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
            return _words(panel, pen, cells, rows)
        case Page():
            return _page(panel, pen, cells, rows)
        case _:
            assert_never(panel)


def _list(title: str, lines: tuple[str, ...], options: Form, marked: int, pen: Pen, cells: int, rows: int) -> Form:
    said: Form = [(Span(line),) for words in lines for line in pen.wrap(words, cells)]
    blocks = [
        Block(90, ([(Span(line, "strong"),) for line in pen.wrap(title, cells, 2)],)),
        Block(1, ([()], [])),
        Block(50, around(said, 0, min(1, len(said)))),
        Block(1, ([()], [])) if said else Block(1, ([],)),
        Block(60, around(options, marked, 1)),
    ]
    return fit(blocks, rows)


def _menu_rows(menu: Menu, pen: Pen, cells: int) -> Form:
    rows: Form = []
    for number, (_, title, letter) in enumerate(menu.items):
        text = pen.cut(title, cells - 8)
        text += " " * (cells - 8 - width(text)) + f"  {letter}"
        rows.append(_option(text, number == menu.index, pen, cells))
    return rows


def _option(words: str, marked: bool, pen: Pen, cells: int) -> Row:
    sign = pen.signs.text("→") if marked else ""
    text = pen.cut(words, cells - 4)
    return (Span(f" {sign:<2} {text} ", "mark" if marked else ""),)


def _number(panel: Number, about: tuple[str, ...], pen: Pen, cells: int, rows: int) -> Form:
    """The field; where there is room its digits are large, since a wet thermometer is in the other hand."""
    field: list[Form] = [[_field(panel.shown, pen, cells)]]
    digits = panel.shown.split(" ")[0].replace(",", ".")
    if digits and all(character in SHAPES for character in digits):
        unit = panel.shown.partition(" ")[2]
        for scale in scales(digits, cells - 2 - len(unit), 5, pen.signs)[-1::-1]:
            large = rows_of(digits, scale, pen.signs)
            rows_large: Form = [(Span(f"  {line}", "strong"),) for line in large]
            rows_large[-1] = (*rows_large[-1], Span(f"  {pen.signs.text(unit)}", "strong"))
            field.insert(0, rows_large)
    said: Form = [(Span(line),) for words in _number_help(panel) for line in pen.wrap(words, cells)]
    blocks = [
        Block(90, ([(Span(line, "strong"),) for line in pen.wrap(panel.title, cells, 2)],)),
        Block(1, ([()], [])),
        Block(20, (said, [])),
        Block(40, ([pen.row(words, cells) for words in about],)),
        Block(1, ([()], [])),
        Block(30, tuple(field)),
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


def _field(words: str, pen: Pen, cells: int) -> Row:
    return (Span(f"  {pen.cut(words, cells - 4)}  ", "mark"),)


def _words(panel: Words, pen: Pen, cells: int, rows: int) -> Form:
    typed = pen.wrap(panel.typed, cells - 2)
    if panel.typed.endswith(" "):
        typed[-1] += " "
    field: Form = [(Span(f" {line}", "strong"),) for line in typed]
    field[-1] = (*field[-1], Span(" ", "bar"))
    return _list(panel.title, (), field, len(field) - 1, pen, cells, rows)


def _page(page: Page, pen: Pen, cells: int, rows: int) -> Form:
    head: Form = [pen.row(page.title, cells, "strong"), ()]
    body: Form = []
    for words in page.lines[page.top :]:
        lines = pen.wrap(words, cells - 2)
        body += [(Span(line if number == 0 else f"  {line}"),) for number, line in enumerate(lines)]
    room = rows - len(head)
    if len(body) > room:
        body = [*body[: room - 1], pen.row("more below", cells, "faint")]
    return [*head, *body][:rows]
