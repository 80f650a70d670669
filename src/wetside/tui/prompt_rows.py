"""Rows of prompts: the panels of a running session. Pure.

What a key does to a prompt is in `present/prompts.py`.
"""

from __future__ import annotations

from collections.abc import Iterable

from wetside.present.prompts import NOT_READ, Choice, Menu, Number, Page, Panel, Words
from wetside.tui.large_digits import SHAPES, rows_of, scales
from wetside.tui.rows import Row, RowBlock, RowList, StyledText, TextLayout, around, fit, width


def panel_rows(panel: Panel, layout: TextLayout, cells: int, rows: int, about: tuple[str, ...] = ()) -> RowList:
    """The panel in at most `rows` rows of `cells` cells, its marked line always among them.

    about: lines about a number that is asked for, such as its wanted range.
    """
    match panel:
        case Menu():
            return _list("Menu", (), _menu_rows(panel, layout, cells), panel.index, layout, cells, rows)
        case Choice():
            options = [
                _option(words, n == panel.index, layout, cells) for n, (_, words) in enumerate(panel.options)
            ]
            return _list(panel.title, panel.lines, options, panel.index, layout, cells, rows)
        case Number():
            return _number(panel, about, layout, cells, rows)
        case Words():
            field = field_rows(panel, layout, cells)
            return _list(panel.title, (), field, len(field) - 1, layout, cells, rows)
        case Page():
            return _page(panel, layout, cells, rows)


def _above(title: str, lines: Iterable[str], layout: TextLayout, cells: int) -> list[RowBlock]:
    """A title and the lines under it, before the options or the field."""
    said = layout.paragraphs(lines, cells)
    return [
        RowBlock(90, (layout.lines(title, cells, "strong", most=2),)),
        RowBlock(1, ([()], [])),
        RowBlock(50, around(said, 0, min(1, len(said)))),
    ]


def _list(
    title: str, lines: tuple[str, ...], options: RowList, marked: int, layout: TextLayout, cells: int, rows: int
) -> RowList:
    gap = [RowBlock(1, ([()], []))] if lines else []
    return fit([*_above(title, lines, layout, cells), *gap, RowBlock(60, around(options, marked, 1))], rows)


def _menu_rows(menu: Menu, layout: TextLayout, cells: int) -> RowList:
    rows: RowList = []
    for number, each in enumerate(menu.items):
        text = layout.cut(each.title, cells - 8)
        text += " " * (cells - 8 - width(text)) + f"  {each.letter}"
        rows.append(_option(text, number == menu.index, layout, cells))
    return rows


def _option(words: str, marked: bool, layout: TextLayout, cells: int) -> Row:
    sign = layout.text("→") if marked else ""
    text = layout.cut(words, cells - 5)
    return (StyledText(f" {sign:<2} {text} ", "mark" if marked else ""),)


def _number(panel: Number, about: tuple[str, ...], layout: TextLayout, cells: int, rows: int) -> RowList:
    """A number field; its digits are large if there is room, to be read while holding a wet thermometer."""
    field: list[RowList] = [[(StyledText(f"  {layout.cut(panel.shown, cells - 4)}  ", "mark"),)]]
    number, unit = panel.parts
    digits = number.replace(",", ".")
    if digits and all(character in SHAPES for character in digits):
        for scale in scales(digits, cells - 2 - len(unit), 5, layout)[-1::-1]:
            large = rows_of(digits, scale, layout)
            rows_large: RowList = [(StyledText(f"  {line}", "strong"),) for line in large]
            rows_large[-1] = (*rows_large[-1], StyledText(f"  {layout.text(unit)}", "strong"))
            field.insert(0, rows_large)
    said: RowList = layout.paragraphs(_number_help(panel), cells)
    blocks = [
        RowBlock(90, (layout.lines(panel.title, cells, "strong", most=2),)),
        RowBlock(1, ([()], [])),
        RowBlock(20, (said, [])),
        RowBlock(40, ([layout.row(words, cells) for words in about],)),
        RowBlock(1, ([()], [])),
        RowBlock(30, tuple(field)),
    ]
    return fit(blocks, rows)


def _number_help(panel: Number) -> tuple[str, ...]:
    if panel.what == "late":
        return ("Take off what has passed. Type seconds, or step with SPACE and BACKSPACE.",)
    if panel.what == "bells":
        return ("Type the number, or step to it with SPACE.",)
    if panel.not_read:
        return ("ENTER leaves and keeps nothing. SPACE goes on up, BACKSPACE on down.",)
    if panel.steps is not None:
        back = "BACKSPACE" if panel.steps > 0 else "SPACE"
        return (f'To keep nothing, hold {back}: it stops at "{NOT_READ}", where ENTER leaves.',)
    return ("Type it with digits, or step with SPACE and BACKSPACE.",)


def _page(page: Page, layout: TextLayout, cells: int, rows: int) -> RowList:
    head: RowList = [layout.row(page.title, cells, "strong"), ()]
    body = [row for words in page.lines[page.top :] for row in layout.hanging(words, cells)]
    room = rows - len(head)
    if len(body) > room:
        body = [*body[: room - 1], layout.row("more below", cells, "faint")]
    return [*head, *body][:rows]


def field_rows(question: Words, layout: TextLayout, cells: int) -> RowList:
    """The typed text with a cursor."""
    if not question.typed and question.default:
        return [(StyledText(f" {layout.cut(question.default, cells - 3)} ", "faint"), StyledText(" ", "bar"))]
    lines = layout.wrap(question.typed, cells - 2)
    if question.typed.endswith(" "):
        lines[-1] += " "
    field: RowList = [(StyledText(f" {line}", "strong"),) for line in lines]
    field[-1] = (*field[-1], StyledText(" ", "bar"))
    return field
