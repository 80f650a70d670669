"""The far view: digits as tall as fit, the next act and the call in words, to be read across a kitchen. Pure."""

from __future__ import annotations

from typing import Final

from wetside.domain.calc.wording import minutes_seconds
from wetside.present.view_model import View
from wetside.tui.fitting import Form
from wetside.tui.frame import call_block
from wetside.tui.glyphs import width
from wetside.tui.large_digits import columns, rows_of, scales
from wetside.tui.step_rows import clock_role, clock_words, shown_clock
from wetside.tui.styled_rows import Row, StyledText
from wetside.tui.text_layout import TextLayout

_CALL: Final = "CALL  "


def far_rows(view: View, cue: str, pen: TextLayout, cells: int, rows: int, tallest: int) -> Form:
    """The far view in exactly `rows` rows or fewer, all in the middle. cue: a call's words, or empty.

    tallest: rows of the digits at most. What is named and the digits keep their rows, whatever is called.
    """
    named = _centred(f"{view.title}: {view.place}" if view.place else view.title, pen, cells, strong=True)
    below = _words_below(view, cue, pen, cells, rows)
    if view.clock is None:
        gap: Form = [() for _ in range(max(0, (rows - len(below) - 1) // 2))]
        return [*gap, named, *below][:rows]
    clock = shown_clock(view.clock, view.held)
    role = clock_role(clock)
    caption = _centred(clock_words(clock, cells), pen, cells)
    widest = max(clock.digits, minutes_seconds(clock.total_s or 0), key=len)
    if not view.in_bath:
        tallest = max(0, min(tallest, rows - len(below) - 2))  # what is asked before the act comes first
    # Touching an edge, tall digits run into it.
    found = scales(widest, cells - 2, tallest, pen.signs)
    large: Form = [_centred(clock.digits, pen, cells, strong=True)]
    if found:
        left = " " * ((cells - columns(clock.digits, found[0])) // 2)
        large = [(StyledText(left + line, role),) for line in rows_of(clock.digits, found[0], pen.signs)]
    spare = max(0, min(tallest, rows - 3) - len(large))
    over, under = [()] * (spare // 2), [()] * (spare - spare // 2)
    return [named, *over, *large, caption, *under, *below][:rows]


def _words_below(view: View, cue: str, pen: TextLayout, cells: int, rows: int) -> Form:
    below: Form = []
    if cue:
        words = view.act if cue in view.act else cue
        below = call_block(words, pen, cells, 2) if view.by_eye else _called(words, pen, cells)
    # A call mostly says the act, or the act the call: read from afar, once is enough.
    if not cue or (cue not in view.act and view.act.rstrip(".") not in cue):
        below += [
            _centred(line, pen, cells, strong=True) for line in pen.wrap(view.act, cells, 2 if rows > 7 else 1)
        ]
    up = next((tick for tick in (*view.ticks, *view.meanwhile) if tick.up), None)
    if up is not None:
        below.append(_centred(f"SPACE: {up.text}", pen, cells, strong=True))
    below += [_centred(clock.words, pen, cells) for clock in view.background[: 1 if rows < 14 else 3]]
    return below


def _called(words: str, pen: TextLayout, cells: int) -> Form:
    first, *more = pen.wrap(words, cells - len(_CALL), 2)
    left = " " * ((cells - len(_CALL) - width(first)) // 2)
    return [
        (StyledText(left), StyledText(_CALL.strip(), "signal"), StyledText(f"  {first}", "strong")),
        *(_centred(line, pen, cells, strong=True) for line in more),
    ]


def _centred(words: str, pen: TextLayout, cells: int, *, strong: bool = False) -> Row:
    text = pen.cut(words, cells)
    return (StyledText(" " * ((cells - width(text)) // 2) + text, "strong" if strong else ""),)
