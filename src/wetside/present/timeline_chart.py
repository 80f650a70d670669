"""Draws a timeline as lines of text: one line for each row, and a letter where each piece of work begins.

Every character it adds is one cell wide; the labels come from the caller and have no line breaks.
"""

from __future__ import annotations

import string
import unicodedata
from datetime import datetime
from typing import Final

from wetside.domain.calc.timeline import ROW_NAMES, RowName, Timeline, TimeRow
from wetside.present.wording import time_of_day
from wetside.sanitize import in_ascii

LEAST_WIDTH: Final = 32
LETTERS: Final = string.ascii_letters
TICK_MINUTES: Final = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 1440)
CELLS_PER_TICK: Final = 9


_IN_ASCII: Final = str.maketrans("─▒→", "-#>")


def chart(
    timeline: Timeline,
    width: int,
    ascii_only: bool = False,
    *,
    starts_at: datetime | None = None,
) -> tuple[str, ...]:
    """Draw the evening in lines of at most `width` cells. Raises ValueError for a width under 32.

    The lines are a ruler with start and finish, a line for each row in use (more where work overlaps), and the
    legend. Times are h:mm from the start; with `starts_at` they are times of day. The scale ends when the handwork
    is done: film that hangs longer ends outside the chart, and the last line says when.
    """
    if width < LEAST_WIDTH:
        raise ValueError(f"a chart needs at least {LEAST_WIDTH} cells, not {width}")
    if not timeline.rows or timeline.total_s <= 0:
        return ("Nothing is planned yet.",)
    span_s = _span_s(timeline)
    names_width = max(len(_title(row.row)) for row in timeline.rows) + 1
    cells = width - names_width
    letters = _letters(timeline.rows)
    lines = _ruler(span_s, cells, names_width, starts_at)
    for name in ROW_NAMES:
        for number, lane in enumerate(_lanes(timeline.rows, name)):
            title = _title(name) if number == 0 else ""
            drawn = _lane(lane, span_s, cells, letters)
            lines.append(f"{title:<{names_width}}{drawn}".rstrip())
    lines += _legend(timeline.rows, letters, width, ascii_only)
    lines += _wrapped(_last_words(timeline, starts_at), width, " · " if not ascii_only else ", ")
    return tuple(line.translate(_IN_ASCII) if ascii_only else line for line in lines)


def _title(name: RowName) -> str:
    """The title of a row; that of the last bath is "jar", as not every process has a stabiliser in it."""
    return "jar" if name == "stabiliser" else name


def _span_s(timeline: Timeline) -> float:
    """The time the chart covers, s: to the end of all work except hanging; all of it where film only hangs."""
    return max((row.end_s for row in timeline.rows if row.row != "hanging"), default=timeline.total_s)


def _letters(rows: tuple[TimeRow, ...]) -> dict[str, str]:
    """A letter for each label, in the order the work begins; labels beyond the alphabet share a +."""
    labels = dict.fromkeys(row.label for row in sorted(rows, key=lambda row: row.start_s))
    return {label: LETTERS[number] if number < len(LETTERS) else "+" for number, label in enumerate(labels)}


def _lanes(rows: tuple[TimeRow, ...], name: RowName) -> list[list[TimeRow]]:
    """The bars of one row on as few lines as none overlap; hanging film shares one, as only its start matters."""
    lanes: list[list[TimeRow]] = []
    for row in sorted((row for row in rows if row.row == name), key=lambda row: row.start_s):
        for lane in lanes:
            if name == "hanging" or lane[-1].end_s <= row.start_s:
                lane.append(row)
                break
        else:
            lanes.append([row])
    return lanes


def _lane(lane: list[TimeRow], span_s: float, cells: int, letters: dict[str, str]) -> str:
    """One line of bars. Every bar has a cell for its letter: a short one moves those after it to the right."""
    line = [" "] * cells
    free = 0
    for number, row in enumerate(lane):
        last = cells - (len(lane) - number)  # the bars after this one need a cell each
        end_s = min(row.end_s, lane[number + 1].start_s) if number + 1 < len(lane) else row.end_s
        start = max(free, min(_cell(row.start_s, span_s, cells), last))
        free = max(start + 1, min(_cell(end_s, span_s, cells), last + 1))
        fill = letters[row.label] + ("▒" if row.dark else "─") * (free - start - 1)
        for cell, sign in zip(range(start, min(free, cells)), fill, strict=False):
            line[cell] = sign
    if lane[-1].end_s > span_s and line[-1] == "─":
        line[-1] = "→"
    return "".join(line)


def _cell(at_s: float, span_s: float, cells: int) -> int:
    """The cell of an instant; the 1e-9 absorbs the rounding error of an end that equals the span."""
    return min(cells, int(min(1.0, at_s / span_s) * cells + 1e-9))


def _ruler(span_s: float, cells: int, indent: int, starts_at: datetime | None) -> list[str]:
    """The line of times: start at the left, finish at the right, round times between where they fit."""
    finish = _clock(span_s, starts_at)
    line = list(_clock(0.0, starts_at).ljust(cells))
    line[cells - len(finish) :] = finish
    offset_s = 0.0 if starts_at is None else starts_at.hour * 3600.0 + starts_at.minute * 60.0 + starts_at.second
    step_s = 60.0 * next(
        (step for step in TICK_MINUTES if step * 60.0 / span_s * cells >= CELLS_PER_TICK), TICK_MINUTES[-1]
    )
    at_s = (offset_s // step_s + 1) * step_s - offset_s
    while at_s < span_s:
        text, cell = _clock(at_s, starts_at), int(at_s / span_s * cells)
        around = line[max(0, cell - 1) : cell + len(text) + 1]
        if cell + len(text) < cells and set(around) == {" "}:
            line[cell : cell + len(text)] = text
        at_s += step_s
    return [" " * indent + "".join(line)]


def _legend(rows: tuple[TimeRow, ...], letters: dict[str, str], width: int, ascii_only: bool) -> list[str]:
    dark = {row.label for row in rows if row.dark}
    parts = [
        f"{letter} {in_ascii(label) if ascii_only else label}" + (" (▒ in the dark)" if label in dark else "")
        for label, letter in letters.items()
        if letter != "+"
    ]
    if "+" in letters.values():
        parts.append("+ more work")
    return _wrapped(parts, width, "  ")


def _last_words(timeline: Timeline, starts_at: datetime | None) -> list[str]:
    span_s = _span_s(timeline)
    word = "at" if starts_at is not None else "after"
    parts = [f"work done {word} {_clock(span_s, starts_at)}"]
    if timeline.total_s > span_s:
        parts.append(f"dry {word} about {_clock(timeline.total_s, starts_at)}")
    if timeline.dark_s > 0:
        parts.append(f"in the dark {_clock(timeline.dark_s, None)}")
    return parts


def _wrapped(parts: list[str], width: int, between: str) -> list[str]:
    """Join the parts into as few lines as hold them; a part longer than a line is cut."""
    lines: list[str] = []
    for part in (_cut(part, width) for part in parts):
        if lines and _cells(lines[-1]) + len(between) + _cells(part) <= width:
            lines[-1] += between + part
        else:
            lines.append(part)
    return lines


def _cells(text: str) -> int:
    """The cells of a text on a terminal: wide signs take two, combining ones none."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def _cut(text: str, width: int) -> str:
    while _cells(text) > width:
        text = text[:-1]
    return text


def _clock(seconds: float, starts_at: datetime | None) -> str:
    """h:mm from the start, or hh:mm of the day when the start is known; to the nearest minute."""
    if starts_at is not None:
        return time_of_day(starts_at, seconds)
    minutes = int(seconds / 60.0 + 0.5)
    return f"{minutes // 60}:{minutes % 60:02d}"
