"""Puts a session's picture together for a size: frame, rail, and the step, a panel or the far view. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from wetside.screens.far import far_rows
from wetside.screens.fitting import Form
from wetside.screens.frame import Notices, bottom_rows, notice_rows, top_line
from wetside.screens.panel_box import panel_rows
from wetside.screens.pen import Pen, beside
from wetside.screens.picture import Picture, Row, Span
from wetside.screens.rail import rail_rows
from wetside.screens.sheet import clock_role, clock_words, sheet_rows, shown_clock, wanted_words
from wetside.session.hand import Hand
from wetside.session.keys import Keys
from wetside.session.panels import Number, Panel
from wetside.session.view import View

if TYPE_CHECKING:
    from wetside.session.forecast import TemperingForecast

_RAIL_FROM: Final = 72
"""Columns from which the rail is shown."""

_WIDEST: Final = 100
"""Longer lines than this are hard to follow with the eye."""


def guide_picture(
    view: View,
    hand: Hand,
    keys: Keys,
    notices: Notices,
    pen: Pen,
    columns: int,
    rows: int,
    forecast: TemperingForecast | None = None,
) -> Picture:
    """The whole screen. The bottom line, the clock and the marked tick are inside it at 40 by 12 and more."""
    top = top_line(view, notices, pen, columns)
    bottom = bottom_rows(keys, pen, columns)
    far = hand.far and hand.panel is None
    beneath = replace(notices, cue="") if far else notices
    said = notice_rows(beneath, pen, columns, 2 if columns >= 60 else 3)
    if rows >= 16 and not said:
        said = [()]
    room = rows - 1 - len(bottom) - len(said)
    if far:
        middle = far_rows(view, notices.cue, pen, columns, room)
    else:
        middle = _middle(view, hand, pen, columns, room, forecast)
    filled = [*middle, *[()] * (room - len(middle))]
    return (top, *filled, *said, *bottom)


def small_clocks(view: View, pen: Pen, cells: int) -> Form:
    """The running clock in one row, what it is before all that may be cut; () where none runs."""
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        words = pen.cut(f" {clock.words}: {view.title}", cells - len(clock.digits))
        return [(Span(clock.digits, clock_role(clock)), Span(words))]
    return [pen.row(clock.words, cells, "strong") for clock in view.background[:1]]


def _middle(view: View, hand: Hand, pen: Pen, columns: int, rows: int, forecast: TemperingForecast | None) -> Form:
    rail = 0 if columns < _RAIL_FROM else 20 if columns < 100 else 28
    gap = 2 if rail else 0
    cells = min(columns - rail - gap, _WIDEST)
    body = _body(view, hand, pen, cells, rows, forecast)
    if not rail:
        return body
    return beside(rail_rows(view.rail, pen, rail, rows), rail + gap, body)


def _body(view: View, hand: Hand, pen: Pen, cells: int, rows: int, forecast: TemperingForecast | None) -> Form:
    if hand.panel is None:
        return sheet_rows(view, pen, cells, rows, tallest=5 if rows < 34 else rows // 4, forecast=forecast)
    clocks = _clock_rows(view, pen, cells)
    return [*clocks, *panel_rows(hand.panel, pen, cells, rows - len(clocks), _known(view, hand.panel))]


def _known(view: View, panel: Panel) -> tuple[str, ...]:
    """What was read and what is wanted of the thing a temperature is asked for."""
    if not isinstance(panel, Number) or panel.what != "temperature":
        return ()
    return tuple(
        f"{'Last read ' + reading.value if reading.value else 'Not read yet'}; {wanted_words(reading)}."
        for reading in view.readings
        if reading.of == panel.about
    )


def _clock_rows(view: View, pen: Pen, cells: int) -> Form:
    """With a panel open the clocks stay in sight, small."""
    rows: list[Row] = []
    if view.clock is not None and view.clock.face != "still":
        clock = shown_clock(view.clock, view.held)
        words = pen.cut(f" {clock_words(clock)}: {view.title}", cells - len(clock.digits))
        rows.append((Span(clock.digits, clock_role(clock)), Span(words)))
    rows += [pen.row(clock.words, cells) for clock in view.background[:1]]
    return [*rows, ()] if rows else []
