"""Lays out the view model for the size of the terminal, in the near or the far view. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from wetside.present.key_state import KeyState
from wetside.present.prompts import Keys, Number, Panel
from wetside.present.view_model import Mark, RailRow, View
from wetside.present.wording import minutes_seconds
from wetside.tui.frame import WIDEST, Notices, bottom_rows, call_block, notice_rows, top_line
from wetside.tui.large_digits import columns, rows_of, scales
from wetside.tui.prompt_rows import panel_rows
from wetside.tui.rows import Picture, Row, RowList, StyledText, TextLayout, beside, padded, width
from wetside.tui.step_rows import clock_role, clock_words, shown_clock, step_rows, wanted_words
from wetside.tui.theme import Role

if TYPE_CHECKING:
    from wetside.present.tempering_forecast import TemperingForecast


MARKS: Final[dict[Mark, tuple[str, Role]]] = {
    "done": ("done", "done"),
    "now": ("now", "strong"),
    "next": ("next", ""),
    "later": ("", "faint"),
    "running": ("runs", "strong"),
    "not done": ("not done", "faint"),
    "in part": ("in part", "faint"),
}
"""How a row of the rail is marked: the word beside it and its role."""


def rail_rows(rail: tuple[RailRow, ...], layout: TextLayout, cells: int, rows: int) -> RowList:
    """The list of steps at the side in at most `rows` rows, the current step always among them."""
    drawn: list[Row] = []
    now = 0
    for row in rail:
        if row.mark == "now":
            now = len(drawn)
        drawn += _rows(row, layout, cells)
    top = min(max(0, now - rows // 2), max(0, len(drawn) - rows))
    return drawn[top : top + rows]


def _rows(row: RailRow, layout: TextLayout, cells: int) -> list[Row]:
    """One step: its title, wrapped, with its status word at the right of the first row."""
    (word, role), indent = MARKS[row.mark], "  " * row.depth
    first, *more = layout.wrap(row.text, cells - len(indent) - max(len(word) + 1, 2)) or [""]
    spare = " " * (cells - len(indent) - width(first) - len(word))
    return [
        (StyledText(f"{indent}{first}{spare}{word}", role),),
        *((StyledText(f"{indent}  {line}", role),) for line in more),
    ]


_CALL: Final = "CALL  "


def far_rows(view: View, cue: str, layout: TextLayout, cells: int, rows: int, tallest: int) -> RowList:
    """The far view in at most `rows` rows, centred. cue: a call's words, or "".

    tallest: rows of the digits at most. The title and the digits keep their rows, whatever the call says.
    """
    named = _centred(f"{view.title}: {view.place}" if view.place else view.title, layout, cells, strong=True)
    below = _words_below(view, cue, layout, cells, rows)
    if view.clock is None:
        gap: RowList = [() for _ in range(max(0, (rows - len(below) - 1) // 2))]
        return [*gap, named, *below][:rows]
    clock = shown_clock(view.clock, view.held)
    role = clock_role(clock)
    caption = _centred(clock_words(clock, cells), layout, cells)
    widest = max(clock.digits, minutes_seconds(clock.total_s or 0), key=len)
    if not view.in_bath:
        tallest = max(0, min(tallest, rows - len(below) - 2))  # lines to confirm before the act take precedence
    # Keep a margin: tall digits that touch an edge are hard to read.
    found = scales(widest, cells - 2, tallest, layout)
    large: RowList = [_centred(clock.digits, layout, cells, strong=True)]
    if found:
        left = " " * ((cells - columns(clock.digits, found[0])) // 2)
        large = [(StyledText(left + line, role),) for line in rows_of(clock.digits, found[0], layout)]
    spare = max(0, min(tallest, rows - 3) - len(large))
    over, under = [()] * (spare // 2), [()] * (spare - spare // 2)
    return [named, *over, *large, caption, *under, *below][:rows]


def _words_below(view: View, cue: str, layout: TextLayout, cells: int, rows: int) -> RowList:
    below: RowList = []
    if cue:
        words = view.act if cue in view.act else cue
        below = call_block(words, layout, cells, 2) if view.by_eye else _called(words, layout, cells)
    # A call often repeats the act; from afar, one of them is enough.
    if not cue or (cue not in view.act and view.act.rstrip(".") not in cue):
        below += [
            _centred(line, layout, cells, strong=True)
            for line in layout.wrap(view.act, cells, 2 if rows > 7 else 1)
        ]
    up = next((tick for tick in (*view.ticks, *view.meanwhile) if tick.up), None)
    if up is not None:
        below.append(_centred(f"SPACE: {up.text}", layout, cells, strong=True))
    below += [_centred(clock.words, layout, cells) for clock in view.background[: 1 if rows < 14 else 3]]
    return below


def _called(words: str, layout: TextLayout, cells: int) -> RowList:
    first, *more = layout.wrap(words, cells - len(_CALL), 2)
    left = " " * ((cells - len(_CALL) - width(first)) // 2)
    return [
        (StyledText(left), StyledText(_CALL.strip(), "signal"), StyledText(f"  {first}", "strong")),
        *(_centred(line, layout, cells, strong=True) for line in more),
    ]


def _centred(words: str, layout: TextLayout, cells: int, *, strong: bool = False) -> Row:
    text = layout.cut(words, cells)
    return (StyledText(" " * ((cells - width(text)) // 2) + text, "strong" if strong else ""),)


_RAIL_FROM: Final = 72
"""The least columns at which the list of steps is shown."""


def guide_picture(
    view: View,
    key_state: KeyState,
    keys: Keys,
    notices: Notices,
    layout: TextLayout,
    columns: int,
    rows: int,
    forecast: TemperingForecast | None = None,
) -> Picture:
    """The whole screen. From 40 by 12 on, the bottom line, the clock and the marked line are always on it."""
    top = top_line(view, notices, layout, columns)
    bottom = bottom_rows(keys, layout, columns)
    far = key_state.far and key_state.panel is None
    beneath = replace(notices, cue="") if far else notices
    large = view.by_eye and not far
    said = notice_rows(beneath, layout, columns, 2 if columns >= 60 or view.in_bath else 3, large=large)
    if rows >= 16 and not said:
        said = [()]
    if view.in_bath:
        # The title, the digits and their caption keep their rows: a notice that is too long is cut first.
        said = said[: max(0, rows - 1 - len(bottom) - 2 - digit_rows(rows))]
    room = rows - 1 - len(bottom) - len(said)
    if far:
        middle = far_rows(view, notices.cue, layout, columns, room, digit_rows(rows, far=True))
    else:
        tallest = digit_rows(rows) if view.in_bath else 5 if room < 34 else room // 4
        middle = _middle(view, key_state.panel, layout, columns, room, tallest, forecast)
    filled = [*middle, *[()] * (room - len(middle))]
    return (top, *filled, *said, *bottom)


def shows_all_marked(picture: Picture, view: View) -> bool:
    """Whether all lines that SPACE would confirm now are on the picture; True if it is only one."""
    marked = sum(tick.up for tick in (*view.ticks, *view.meanwhile))
    # The label of a line is indented by a cell; the key's name in the bottom row is not, and does not count.
    shown = sum(span.role == "mark" and span.text.rstrip() == " SPACE" for row in picture for span in row)
    return marked < 2 or shown >= marked


def small_clocks(view: View, layout: TextLayout, cells: int) -> RowList:
    """The running clock, else the first one in the background, in one row; empty if there is none."""
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        words = layout.cut(f" {clock.words}: {view.title}", cells - len(clock.digits))
        return [(StyledText(clock.digits, clock_role(clock)), StyledText(words))]
    return [layout.row(clock.words, cells, "strong") for clock in view.background[:1]]


def _middle(
    view: View,
    panel: Panel | None,
    layout: TextLayout,
    columns: int,
    rows: int,
    tallest: int,
    forecast: TemperingForecast | None,
) -> RowList:
    """The step, or the open panel under the clocks; where there is room beside the list of steps."""
    rail = 0 if columns < _RAIL_FROM else 19 if columns < 100 else 28
    rule = StyledText(f" {layout.text('│')} ", "faint")
    beside_body = rail + width(rule.text) if rail else 0
    cells = min(columns - beside_body, WIDEST)
    if panel is None:
        body = step_rows(view, layout, cells, rows, tallest=tallest, forecast=forecast)
    else:
        body = _clock_rows(view, layout, cells)
        body += panel_rows(panel, layout, cells, rows - len(body), _known(view, panel))
    if not rail:
        return body
    steps = rail_rows(view.rail, layout, rail, rows)
    filled = [*steps, *[()] * (rows - len(steps))]
    return beside([(*padded(row, rail), rule) for row in filled], beside_body, body)


def digit_rows(rows: int, *, far: bool = False) -> int:
    """How many rows of a screen of `rows` the large digits may take, independent of the other contents."""
    if rows < 16:
        return 3
    return rows - 11 if far else 5 if rows < 37 else rows // 4


def _known(view: View, panel: Panel) -> tuple[str, ...]:
    """The last reading and the wanted range of what the panel asks the temperature of."""
    if not isinstance(panel, Number) or panel.what != "temperature":
        return ()
    missing = {"not read": "Not read yet", "not read lately": "Not read lately"}
    return tuple(
        f"{missing.get(reading.verdict, f'Read {reading.value}')}; {wanted_words(reading)}."
        for reading in view.readings
        if reading.of == panel.about
    )


def _clock_rows(view: View, layout: TextLayout, cells: int) -> RowList:
    """The clocks in small digits, to be shown above an open panel."""
    rows: list[Row] = []
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        room = cells - len(clock.digits) - width(f" : {view.title}")
        words = layout.cut(f" {clock_words(clock, room)}: {view.title}", cells - len(clock.digits))
        rows.append((StyledText(clock.digits, clock_role(clock)), StyledText(words)))
    rows += [layout.row(clock.words, cells) for clock in view.background[:1]]
    return [*rows, ()] if rows else []
