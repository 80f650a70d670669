"""Lays out the step for a width and a height: cautions, act, clock, readings, checklist, what comes next. Pure.

Where room is short, spaces are dropped first, then what comes next, facts, and lines that are not marked; the
marked line is kept longest, then the clock, the act, the cautions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from wetside.present.view_model import ClockView, ReadingRow, StandingLine, TickRow, View
from wetside.present.wording import minutes_seconds
from wetside.tui.large_digits import rows_of, scales
from wetside.tui.rows import Row, RowBlock, RowList, StyledText, TextLayout, around, fit, width
from wetside.tui.theme import Role

if TYPE_CHECKING:
    from wetside.present.tempering_forecast import TemperingForecast

_TALLEST_PLOT: Final = 14
_LABEL: Final = 7
"""Cells of the status word before a checklist line or a reading."""


def step_rows(
    view: View,
    layout: TextLayout,
    cells: int,
    rows: int,
    *,
    tallest: int = 5,
    forecast: TemperingForecast | None = None,
) -> RowList:
    """The whole step in `rows` rows of `cells` cells. tallest: rows of the large digits at most."""
    if not view.in_bath:
        return fit(_blocks(view, layout, cells, tallest, forecast), rows)
    head = bath_head(view, layout, cells, tallest)
    return [*head, *fit(_blocks(view, layout, cells, tallest, forecast), rows - len(head))][:rows]


def bath_head(view: View, layout: TextLayout, cells: int, tallest: int) -> RowList:
    """A bath's title, digits and their caption: always the same rows, whatever else is shown.

    tallest: rows of the digits at most; a single row if not even the smallest large digits fit.
    """
    if view.clock is None:
        return _title(view, layout, cells)[0]
    clock = shown_clock(view.clock, view.held)
    role = clock_role(clock)
    # The size is chosen for the longest text of this clock, so that it never changes during a bath.
    widest = max(clock.digits, minutes_seconds(clock.total_s or 0), key=len)
    found = scales(widest, cells, tallest, layout)
    digits = rows_of(clock.digits, found[0], layout) if found else (clock.digits,)
    large: RowList = [(StyledText(line, role),) for line in digits]
    return [*_title(view, layout, cells)[0], *large, layout.row(clock_words(clock, cells), cells)]


def _blocks(
    view: View, layout: TextLayout, cells: int, tallest: int, forecast: TemperingForecast | None
) -> list[RowBlock]:
    blocks = [] if view.in_bath else [RowBlock(45, _title(view, layout, cells))]
    if view.cautions:
        blocks += [_space(1), _cautions(view, layout, cells)]
    blocks += [_space(4), RowBlock(75, _act(view, layout, cells))]
    if view.fill:
        # Film of another fill in this bath would be lost: only the first caution has a higher weight.
        blocks.append(RowBlock(59, (layout.lines(view.fill, cells, "strong"), [])))
    if view.remember:
        blocks += [_space(1), RowBlock((50, 61), _remember(view.remember, layout, cells))]
    if view.clock is not None and not view.in_bath:
        blocks += [_space(4), _clock(shown_clock(view.clock, view.held), layout, cells, tallest)]
    if view.readings:
        forms = _readings(view.readings, layout, cells)
        # The reading that is wanted next is dropped only after the tempering forecast.
        blocks += [_space(1), RowBlock((*(55 for _ in forms[2:]), 58), forms)]
    if forecast is not None:
        blocks += [_space(1), _forecast(forecast, layout, cells, in_bath=view.in_bath)]
    if view.ticks:
        blocks += [_space(4), RowBlock(28, _ticks(view.ticks, layout, cells))]
    if view.meanwhile:
        blocks += [_space(1), RowBlock(26, _meanwhile(view.meanwhile, layout, cells))]
    if view.facts:
        blocks += [_space(0), RowBlock(20, _facts(view.facts, layout, cells))]
    if view.background:
        blocks += [_space(1), RowBlock(65, _background(view, layout, cells))]
    if view.standing:
        blocks += [_space(0), RowBlock((5, 30), _standing(view.standing, layout, cells))]
    if view.next:
        blocks += [_space(0), RowBlock(10, ([layout.row(f"Next: {view.next}", cells, "faint")], []))]
    return blocks


def _space(weight: int) -> RowBlock:
    return RowBlock(weight, ([()], []))


def _title(view: View, layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    words = f"{view.title}: {view.place}" if view.place else view.title
    return ([layout.row(words, cells, "strong")], [])


def _cautions(view: View, layout: TextLayout, cells: int) -> RowBlock:
    """The cautions in shorter and shorter forms: whole; without the consequence; only how to avoid it, whole; the
    first of these; a row each; the signal words."""
    cautions = view.cautions

    def rows(signal: str, words: str, most: int = 9) -> RowList:
        return layout.labelled(StyledText(f" {signal} ", "signal"), words, cells, most=most)

    full = [row for each in cautions for row in rows(each.signal, each.sentence)]
    avoided = [row for each in cautions for row in rows(each.signal, f"{each.hazard} {each.avoid}")]
    whole = [row for each in cautions for row in rows(each.signal, each.avoid)]
    short = [row for each in cautions for row in rows(each.signal, each.avoid, 1)]
    first = [*rows(cautions[0].signal, cautions[0].avoid), *short[1:]]
    least = rows(" + ".join(each.signal for each in cautions), cautions[0].avoid, 1)
    running = view.clock is not None and view.clock.face not in ("still", "since")
    # Once the act has begun they have been read. Before it their weight is high: they vanish only for a call or a
    # refusal that leaves five rows at 40 by 12.
    weights = (3, 24, 24, 24, 60, 61) if running else (40, 50, 56, 58, 62, 74)
    return RowBlock(weights, (full, avoided, whole, first, short, least, []))


def _act(view: View, layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    whole = len(layout.wrap(view.act, cells))
    return tuple(layout.lines(view.act, cells, "strong", most) for most in range(whole, 0, -1))


def _remember(remember: tuple[str, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    head: Row = (StyledText("Remember"),)
    rows = [layout.row(f"  {number}  {words}", cells, "strong") for number, words in enumerate(remember, 1)]
    return ([head, *rows], rows, [])


def shown_clock(clock: ClockView, held: bool) -> ClockView:
    """The clock, marked if the guide is on hold; its digits go on, because the chemistry does."""
    if not held or clock.face not in ("down", "over", "up"):
        return clock
    what = {"down": "left", "over": "OVER" if clock.late else "past", "up": "so far"}
    return replace(clock, words=f"{what[clock.face]}; the guide waits, the bath does not")


def clock_role(clock: ClockView) -> Role:
    """The role of the clock; a bath to be ended on time that has run over has its own, besides the words."""
    return "late" if clock.late else "strong"


def clock_words(clock: ClockView, cells: int) -> str:
    """The clock's caption, such as "left, then pour out; 0:10 to drain, until 19:52", as far as it fits."""
    parts = [clock.words]
    if clock.drain_s:
        parts.append(f"{minutes_seconds(clock.drain_s)} to drain")
    if clock.end_clock:
        parts.append(f"until {clock.end_clock}")
    if clock.total_s is not None and clock.face in ("down", "over"):
        parts.append(f"{minutes_seconds(clock.total_s)} in all")
    while len(parts) > 1 and width("; ".join(parts)) > cells:
        parts.pop()
    return "; ".join(parts)


def _clock(clock: ClockView, layout: TextLayout, cells: int, tallest: int) -> RowBlock:
    words, role = clock_words(clock, cells), clock_role(clock)
    one_row = [(StyledText(clock.digits, role), *layout.row(f" {words}", cells - len(clock.digits)))]
    if clock.face == "still":
        return RowBlock(78, (one_row,))
    forms: list[RowList] = []
    for scale in scales(clock.digits, cells, tallest, layout):
        large: RowList = [(StyledText(line, role),) for line in rows_of(clock.digits, scale, layout)]
        forms.append([*large, layout.row(words, cells)])
    steps = tuple(57 for _ in forms[1:])
    # Between two baths the next one's caution is more important than large digits.
    return RowBlock((*steps, 59 if clock.face == "since" else 76), (*forms, one_row))


def _readings(readings: tuple[ReadingRow, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    rows = [_reading(reading, layout, cells) for reading in readings]
    wanting = [n for n, r in enumerate(readings) if r.required and r.verdict != "in range"]
    return (*around(rows, wanting[0] if wanting else 0, 1), [])


def wanted_words(reading: ReadingRow) -> str:
    """What is wanted of a reading: "wanted 37.8 to 39.0 °C"."""
    if reading.wanted:
        return f"wanted {reading.wanted}"
    return "any value" if reading.required else "key t if you like"


def _reading(reading: ReadingRow, layout: TextLayout, cells: int) -> Row:
    good = reading.verdict in ("in range", "read")
    value = f"{reading.value} {reading.verdict}" if reading.value else reading.verdict
    role: Role = "done" if good else "strong" if reading.verdict in ("too cold", "too hot") else ""
    forms = (f"{value}, {wanted_words(reading)}", *_what_matters(reading, value))
    fitting = (words for words in forms if width(layout.text(f"{reading.title}: {words}")) <= cells)
    return layout.row(f"{reading.title}: {next(fitting, forms[-1])}", cells, role)


def _what_matters(reading: ReadingRow, value: str) -> tuple[str, ...]:
    """The parts of a reading in the order of importance: the wanted range until it is reached, then the value."""
    if not reading.value:
        return (wanted_words(reading),)
    if reading.verdict not in ("too cold", "too hot"):
        return (value,)
    asked = wanted_words(reading)
    return (f"{reading.verdict}, {asked}", f"{reading.verdict}, {reading.wanted}", asked)


def _forecast(forecast: TemperingForecast, layout: TextLayout, cells: int, *, in_bath: bool) -> RowBlock:
    """When the bottles are ready and too warm, in words, with curves as high as there is room.

    in_bath: the temperature during a bath, for a follower: a low curve, but above its sentences.
    """
    from wetside.present.temperature_plot import LEAST_HEIGHT, LEAST_WIDTH, plot

    words, short = _strong(forecast.words, layout, cells), _strong(forecast.short, layout, cells)
    forms: list[RowList] = []
    if forecast.lines and cells >= LEAST_WIDTH:
        # Under the smallest plots the words that it is partly a guess are left out; larger screens have them.
        for over in (words, short, _strong(forecast.short[:-1], layout, cells)):
            for height in range(LEAST_HEIGHT + 2 if in_bath else _TALLEST_PLOT, LEAST_HEIGHT - 1, -1):
                if forms and len(over) + height >= len(forms[-1]):
                    continue  # each form must be shorter than the one before it
                drawn = plot(forecast.lines, forecast.now_s, cells, height, not layout.utf8, forecast.unit)
                forms.append([*over, *(layout.row(line, cells) for line in drawn)])
    # Sentences are not cut: the rest may hold the minutes or the amount of water.
    fewer = tuple(_strong(forecast.words[:count], layout, cells) for count in range(len(forecast.words), 0, -1))
    return RowBlock((*(22 if in_bath else 12 for _ in forms), *(27 for _ in fewer[1:]), 57), (*forms, *fewer, []))


def _strong(sentences: tuple[str, ...], layout: TextLayout, cells: int) -> RowList:
    return layout.paragraphs(sentences, cells, "strong")


def _ticks(ticks: tuple[TickRow, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    rows: RowList = []
    marked = (-1, 0)
    for tick in ticks:
        drawn = _tick(tick, layout, cells)
        if tick.up:
            marked = (len(rows), len(drawn))
        rows += drawn
    if marked[0] < 0:
        return (*around(rows, 0, 1), [])
    alone = rows[marked[0] : marked[0] + marked[1]]
    # The marked line must not be cut.
    wider = [form for form in around(rows, marked[0] + marked[1] - 1, marked[1]) if all(r in form for r in alone)]
    return (*wider, alone)


def _tick(tick: TickRow, layout: TextLayout, cells: int) -> RowList:
    """The status word, then the line to confirm; the marked one in reverse video."""
    word = "done" if tick.made else "passed" if tick.overridden else "SPACE" if tick.up else "open"
    words = f"{tick.text} ({tick.due})" if tick.due else tick.text
    words = f"! {words}" if tick.killer and not tick.made else words
    role: Role = "mark" if tick.up else "done" if tick.made else ""
    label = (f" {word}" if tick.up else word).ljust(_LABEL)
    return layout.labelled(StyledText(label, role), words, cells, "strong" if tick.up else role)


def _meanwhile(meanwhile: tuple[TickRow, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    """Lines to confirm meanwhile; what they are due before is said once, above them, unless only one fits."""
    dues = {tick.due for tick in meanwhile}
    if len(dues) > 1:
        head: Row = (StyledText("While you wait", "faint"),)
        forms = _ticks(meanwhile, layout, cells)
        return ([head, *forms[0]], *forms)
    (due,) = dues
    head = (StyledText(layout.cut(f"While you wait, {due}", cells), "faint"),)
    below = [[head, *form] for form in _ticks(tuple(replace(tick, due="") for tick in meanwhile), layout, cells)]
    alone = _ticks(meanwhile, layout, cells)[-1]
    return (*below, alone) if len(alone) < len(below[-1]) else tuple(below)


def _facts(facts: tuple[str, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    """All facts, then fewer and fewer, the first ones dropped; none is cut."""
    whole: list[RowList] = [layout.lines(fact, cells, "faint") for fact in facts]
    return (*([row for form in whole[first:] for row in form] for first in range(len(whole))), [])


def _background(view: View, layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    rows = [layout.row(clock.words, cells, "strong" if clock.done else "") for clock in view.background]
    soonest = min(view.background, key=lambda clock: (not clock.done, clock.seconds))
    others = f" (and {len(view.background) - 1} more)" if len(view.background) > 1 else ""
    return (rows, [layout.row(soonest.words + others, cells, "strong")])


def _standing(standing: tuple[StandingLine, ...], layout: TextLayout, cells: int) -> tuple[RowList, ...]:
    """The standing lines whole where there is room, then a row each, then the last one and their number."""
    whole = layout.paragraphs((line.words for line in standing), cells)
    rows = [layout.row(line.words, cells) for line in standing]
    if len(rows) == 1:
        return (whole, rows)
    return (whole, rows, [layout.row(f"{len(rows)} rules set aside; the last: {standing[-1].text}", cells)])
