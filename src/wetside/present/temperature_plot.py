"""Draws temperatures over time as lines of text: forecast, readings, the wanted range, and the present moment.

The scale is chosen around the wanted range, so that a curve in the shaded rows is in range. A reading outside the
plot is marked by an arrow at its edge.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from wetside.domain.planning.setup import TemperatureUnit
from wetside.present.wording import degrees, span

LEAST_WIDTH: Final = 30
LEAST_HEIGHT: Final = 5
ROW_C: Final = 1.2
"""The approximate height of a row, K: nine rows show the last third of warming from room temperature to 38 °C."""

_TICKS_MIN: Final = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240)
_CELLS_PER_TICK: Final = 11
_LABEL_CELLS: Final = 6


class PlotLine(Struct, frozen=True):
    """The temperatures of one bottle or bath. points, readings: (s, °C), the points in order of time."""

    name: str
    points: tuple[tuple[float, float], ...]
    readings: tuple[tuple[float, float], ...] = ()
    range_c: tuple[float, float] | None = None


_IN_ASCII: Final = str.maketrans("▀▄·●○░│↑↓−", "'.:Oo=|^v-", "°")


class _Scale(Struct, frozen=True):
    """Converts instants to columns and temperatures to rows. Row 0 is the uppermost; `top_c` is its upper edge."""

    columns: int
    rows: int
    start_s: float
    end_s: float
    top_c: float
    row_c: float

    def column(self, at_s: float) -> int:
        share = (at_s - self.start_s) / (self.end_s - self.start_s)
        return min(self.columns - 1, max(0, int(share * self.columns)))

    def at_s(self, column: int) -> float:
        return self.start_s + (column + 0.5) / self.columns * (self.end_s - self.start_s)

    def half_row(self, value_c: float) -> int:
        """Half rows from the top, negative above the plot."""
        return int((self.top_c - value_c) / self.row_c * 2.0 // 1)

    def middle_c(self, row: int) -> float:
        return self.top_c - (row + 0.5) * self.row_c


def plot(
    lines: tuple[PlotLine, ...],
    now_s: float,
    width: int,
    height: int,
    ascii_only: bool = False,
    unit: TemperatureUnit = "°C",
) -> tuple[str, ...]:
    """Exactly `height` lines of at most `width` cells: rows of temperature, the times from now, the legend.

    The first line is drawn solid, with its range shaded; the others are dotted. Each curve ends in its letter of
    the legend. Raises ValueError for a size under 30 by 5, for no line, or a first line without two points.
    """
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        raise ValueError(f"a plot needs at least {LEAST_WIDTH} by {LEAST_HEIGHT} cells, not {width} by {height}")
    if not lines or len(lines[0].points) < 2:
        raise ValueError("a plot needs a first line with at least two points")
    letters = _letters(lines)
    scale = _scale(lines, now_s, width - _LABEL_CELLS, height - 2)
    cells = _ground(lines[0], scale, now_s)
    for number in reversed(range(len(lines))):
        _draw_curve(cells, lines[number], letters[number], scale, solid=number == 0)
    for number in reversed(range(len(lines))):
        _draw_readings(cells, lines[number], scale, "●" if number == 0 else "○")
    drawn = [f"{degrees(scale.middle_c(row), unit):>5}│{''.join(line)}".rstrip() for row, line in enumerate(cells)]
    drawn += [_times(scale, now_s), _legend(lines, letters, width, unit)]
    if ascii_only:  # a letter of a name that has no form of its own in ASCII is a question mark
        drawn = [line.translate(_IN_ASCII).encode("ascii", "replace").decode("ascii") for line in drawn]
    return tuple(drawn)


def _scale(lines: tuple[PlotLine, ...], now_s: float, columns: int, rows: int) -> _Scale:
    """The scale on which the edges of the wanted range are edges of rows, where the range is wide enough."""
    first = lines[0]
    start_s, end_s = first.points[0][0], first.points[-1][0]
    low_c, high_c = first.range_c or (first.points[-1][1] - ROW_C / 2, first.points[-1][1] + ROW_C / 2)
    wide_c = high_c - low_c
    shaded = max(1, min(rows // 3, round(wide_c / ROW_C)))
    row_c = max(wide_c / shaded, 0.8)
    middle_c = (low_c + high_c) / 2.0
    cooling = first.points[0][1] > high_c and _at(first, now_s) > middle_c
    spare = rows - shaded
    above = spare - spare // 4 if cooling else max(1, spare // 4)
    top_c = middle_c + (shaded / 2.0 + above) * row_c
    return _Scale(columns, rows, start_s, end_s, top_c, row_c)


def _ground(first: PlotLine, scale: _Scale, now_s: float) -> list[list[str]]:
    """Empty cells, the wanted rows shaded, and the mark of the present moment."""
    cells = []
    for row in range(scale.rows):
        middle_c = scale.middle_c(row)
        shaded = first.range_c is not None and (
            first.range_c[0] <= middle_c <= first.range_c[1]
            or abs(middle_c - sum(first.range_c) / 2.0) < scale.row_c / 2.0
        )
        cells.append(["░" if shaded else " "] * scale.columns)
    if scale.start_s <= now_s <= scale.end_s:
        for line in cells:
            line[scale.column(now_s)] = "│"
    return cells


def _draw_curve(cells: list[list[str]], line: PlotLine, letter: str, scale: _Scale, solid: bool) -> None:
    shown: tuple[int, int] | None = None
    for column in range(scale.columns):
        at_s = scale.at_s(column)
        if not line.points or not line.points[0][0] <= at_s <= line.points[-1][0]:
            continue
        half = scale.half_row(_at(line, at_s))
        row = half // 2
        if not 0 <= row < scale.rows:
            continue
        shown = row, column
        if solid:
            cells[row][column] = "▀" if half % 2 == 0 else "▄"
        elif column % 2 == 0:  # dotted in every other cell, so that it cannot be taken for the solid one
            cells[row][column] = "·"
    if shown is not None:
        row, column = shown
        while cells[row][column].isupper() and column > 0:
            column -= 1  # another curve ends in the same cell
        cells[row][column] = letter


def _draw_readings(cells: list[list[str]], line: PlotLine, scale: _Scale, sign: str) -> None:
    for at_s, value_c in line.readings:
        if not scale.start_s <= at_s <= scale.end_s:
            continue
        row = scale.half_row(value_c) // 2
        if row < 0:
            cells[0][scale.column(at_s)] = "↑"
        elif row >= scale.rows:
            cells[-1][scale.column(at_s)] = "↓"
        else:
            cells[row][scale.column(at_s)] = sign


def _at(line: PlotLine, at_s: float) -> float:
    """The temperature (°C) of a curve at an instant: linear between its points, constant beyond its ends."""
    before = line.points[0]
    for point in line.points:
        if point[0] >= at_s:
            if point[0] == before[0]:
                return point[1]
            share = (at_s - before[0]) / (point[0] - before[0])
            return before[1] + max(0.0, share) * (point[1] - before[1])
        before = point
    return before[1]


def _times(scale: _Scale, now_s: float) -> str:
    """The line of times under the plot: "−10 min", "now", "in 10 min"."""
    line = [" "] * scale.columns
    _put(line, scale.column(now_s), "now")
    span_s = scale.end_s - scale.start_s
    step_s = 60.0 * next(
        (minutes for minutes in _TICKS_MIN if minutes * 60.0 / span_s * scale.columns >= _CELLS_PER_TICK),
        _TICKS_MIN[-1],
    )
    ahead = 1
    while now_s + ahead * step_s <= scale.end_s:
        _put(line, scale.column(now_s + ahead * step_s), f"in {span(ahead * step_s)}")
        ahead += 1
    back = 1
    while now_s - back * step_s >= scale.start_s:
        _put(line, scale.column(now_s - back * step_s), f"−{back * step_s / 60.0:.0f} min")
        back += 1
    return (" " * _LABEL_CELLS + "".join(line)).rstrip()


def _put(line: list[str], column: int, text: str) -> None:
    """Write `text` from `column` on, moved left at the end of the line; left out where another text stands."""
    start = min(column, len(line) - len(text))
    if start >= 0 and set(line[max(0, start - 1) : start + len(text) + 1]) == {" "}:
        line[start : start + len(text)] = text


def _letters(lines: tuple[PlotLine, ...]) -> list[str]:
    """A letter for each line: the first free one of its name, else of the alphabet."""
    letters: list[str] = []
    for line in lines:
        candidates = [sign for sign in line.name.upper() if sign.isascii() and sign.isalpha() and sign != "O"]
        free = [sign for sign in (*candidates, *"ABCDEFGHIJKLMNPQRSTUVWXYZ") if sign not in letters]
        letters.append(free[0] if free else "+")
    return letters


def _legend(lines: tuple[PlotLine, ...], letters: list[str], width: int, unit: TemperatureUnit) -> str:
    """The meaning of the signs, the most important first, as far as it fits."""
    parts = [f"{letter} {line.name}" for letter, line in zip(letters, lines, strict=True)]
    range_c = lines[0].range_c
    if range_c is not None:
        low, high = (degrees(value_c, unit) for value_c in range_c)
        parts.insert(0, f"░ {low} to {high} {unit}")
    if any(line.readings for line in lines):
        parts.append("● read")
    text = ""
    for part in parts:
        longer = f"{text}  {part}" if text else part
        if len(longer) <= width:
            text = longer
    return text[:width]
