"""Puts a session's picture together for a size: frame, rail, and the step, a panel or the far view. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from wetside.present.key_legend import Keys
from wetside.present.key_state import KeyState
from wetside.present.prompts import Number, Panel
from wetside.present.view_model import View
from wetside.tui.far_view import far_rows
from wetside.tui.fitting import Form
from wetside.tui.frame import Notices, bottom_rows, notice_rows, top_line
from wetside.tui.glyphs import width
from wetside.tui.prompt_rows import panel_rows
from wetside.tui.rail import rail_rows
from wetside.tui.step_rows import clock_role, clock_words, shown_clock, step_rows, wanted_words
from wetside.tui.styled_rows import Picture, Row, StyledText
from wetside.tui.text_layout import TextLayout, beside

if TYPE_CHECKING:
    from wetside.present.tempering_forecast import TemperingForecast

_RAIL_FROM: Final = 72
"""Columns from which the rail is shown."""

_WIDEST: Final = 100
"""Longer lines than this are hard to follow with the eye."""


def guide_picture(
    view: View,
    key_state: KeyState,
    keys: Keys,
    notices: Notices,
    pen: TextLayout,
    columns: int,
    rows: int,
    forecast: TemperingForecast | None = None,
) -> Picture:
    """The whole screen. The bottom line, the clock and the marked tick are inside it at 40 by 12 and more."""
    top = top_line(view, notices, pen, columns)
    bottom = bottom_rows(keys, pen, columns)
    far = key_state.far and key_state.panel is None
    beneath = replace(notices, cue="") if far else notices
    large = view.by_eye and not far
    said = notice_rows(beneath, pen, columns, 2 if columns >= 60 or view.in_bath else 3, large=large)
    if rows >= 16 and not said:
        said = [()]
    if view.in_bath:
        # Its name, its digits and what they are keep their rows: a sentence that is too long is cut before them.
        said = said[: max(0, rows - 1 - len(bottom) - 2 - digit_rows(rows))]
    room = rows - 1 - len(bottom) - len(said)
    if far:
        middle = far_rows(view, notices.cue, pen, columns, room, digit_rows(rows, far=True))
    else:
        middle = _middle(view, key_state, pen, columns, room, digit_rows(rows) if view.in_bath else None, forecast)
    filled = [*middle, *[()] * (room - len(middle))]
    return (top, *filled, *said, *bottom)


def shows_all_marked(picture: Picture, view: View) -> bool:
    """Whether every line that SPACE would confirm now stands on the picture; true too where it is only one."""
    marked = sum(tick.up for tick in (*view.ticks, *view.meanwhile))
    # The label of a line is set in by a cell; the key's own name in the bottom row is not, and is no line.
    shown = sum(span.role == "mark" and span.text.rstrip() == " SPACE" for row in picture for span in row)
    return marked < 2 or shown >= marked


def small_clocks(view: View, pen: TextLayout, cells: int) -> Form:
    """The running clock in one row, what it is before all that may be cut; () where none runs."""
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        words = pen.cut(f" {clock.words}: {view.title}", cells - len(clock.digits))
        return [(StyledText(clock.digits, clock_role(clock)), StyledText(words))]
    return [pen.row(clock.words, cells, "strong") for clock in view.background[:1]]


def _middle(
    view: View,
    key_state: KeyState,
    pen: TextLayout,
    columns: int,
    rows: int,
    tallest: int | None,
    forecast: TemperingForecast | None,
) -> Form:
    rail = 0 if columns < _RAIL_FROM else 20 if columns < 100 else 28
    gap = 2 if rail else 0
    cells = min(columns - rail - gap, _WIDEST)
    tallest = tallest or (5 if rows < 34 else rows // 4)
    body = _body(view, key_state, pen, cells, rows, tallest, forecast)
    if not rail:
        return body
    return beside(rail_rows(view.rail, pen, rail, rows), rail + gap, body)


def digit_rows(rows: int, *, far: bool = False) -> int:
    """How many rows of a screen of `rows` the large digits may take, whatever else stands on it."""
    if rows < 16:
        return 3
    return rows - 11 if far else 5 if rows < 37 else rows // 4


def _body(
    view: View,
    key_state: KeyState,
    pen: TextLayout,
    cells: int,
    rows: int,
    tallest: int,
    forecast: TemperingForecast | None,
) -> Form:
    if key_state.panel is None:
        return step_rows(view, pen, cells, rows, tallest=tallest, forecast=forecast)
    clocks = _clock_rows(view, pen, cells)
    return [*clocks, *panel_rows(key_state.panel, pen, cells, rows - len(clocks), _known(view, key_state.panel))]


def _known(view: View, panel: Panel) -> tuple[str, ...]:
    """What was read and what is wanted of the thing a temperature is asked for."""
    if not isinstance(panel, Number) or panel.what != "temperature":
        return ()
    return tuple(
        f"{'Last read ' + reading.value if reading.value else 'Not read yet'}; {wanted_words(reading)}."
        for reading in view.readings
        if reading.of == panel.about
    )


def _clock_rows(view: View, pen: TextLayout, cells: int) -> Form:
    """With a panel open the clocks stay in sight, small."""
    rows: list[Row] = []
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        room = cells - len(clock.digits) - width(f" : {view.title}")
        words = pen.cut(f" {clock_words(clock, room)}: {view.title}", cells - len(clock.digits))
        rows.append((StyledText(clock.digits, clock_role(clock)), StyledText(words)))
    rows += [pen.row(clock.words, cells) for clock in view.background[:1]]
    return [*rows, ()] if rows else []
