"""The charts of the HTML page as SVG: temperatures, plan against actual, the developer's work.

They show the numbers of the tables, black on white, with dashes and marks instead of colours, so that they can be
read on paper. Every mark of a measured value has the value as its title. The style sheet is `page.css`.
"""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from wetside.domain.planning.plan import BATH_READING
from wetside.export.page_rows import is_bath, percent_of_plan, step_name, when
from wetside.export.session_log import ReadingLog, SessionLog
from wetside.export.step_logs import StepLog
from wetside.present.wording import minutes_seconds, on_scale, temperatures
from wetside.sanitize import escape_controls

WIDTH = 720.0
HEIGHT = 240.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 12.0, 14.0, 34.0
_BAR = 34.0
_ROUND_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)

_Chart = tuple[str, str]
"""A picture as SVG, and its caption."""
Points = tuple[tuple[float, float], ...]
Format = Callable[[float], str]


class Curve(Struct, frozen=True):
    """One line of a chart; style: class of the style sheet. marks: measured points, with their titles."""

    name: str
    style: str
    points: Points = ()
    marks: tuple[tuple[float, float, str], ...] = ()


def charts(log: SessionLog) -> tuple[_Chart, ...]:
    """The charts that have something to show, in the order of the evening: each as SVG, and its caption."""
    developers = [step for step in log.steps if step.ends == "on time" and is_bath(step)]
    found = [_evening(log, developers), _baths(log)]
    for step in developers:
        found += [_in_the_bath(log, step), _dose(log, step)]
    return tuple(chart for chart in found if chart is not None)


def _evening(log: SessionLog, developers: list[StepLog]) -> _Chart | None:
    """Developer and warm bath from the first reading to the last developer's end, over the forecast."""
    solutions = {step.solution for step in developers}
    read = [each for each in log.readings if each.of in (*solutions, BATH_READING) and each.stands]
    if not read or not developers:
        return None
    began_s = log.began.at
    spans = [
        (s.started.at - began_s, s.ended.at - began_s, escape_controls(step_name(log, s)))
        for s in developers
        if s.started is not None and s.ended is not None
    ]
    end_s = max([each.when.at - began_s for each in read] + [span[1] for span in spans])
    bath = [each for each in read if each.of == BATH_READING]
    plan_bath, plan_developer = _forecast(log, bath[0].when.at - began_s if bath else None, end_s)
    curves = (
        Curve(
            "developer as read", "full", (), tuple(_reading(log, each) for each in read if each.of != BATH_READING)
        ),
        Curve("warm bath as read", "open", (), tuple(_reading(log, each) for each in bath)),
        Curve("developer as forecast", "dashed", plan_developer),
        Curve("warm bath as forecast", "dotted", plan_bath),
    )
    range_c = log.plan.step(developers[0].id).range_c
    svg = line_chart(
        "Temperatures",
        curves,
        f"minutes from the beginning at {when(log, log.began)}",
        lambda at: f"{at / 60.0:g}",
        lambda value: f"{value:g} {log.plan.unit}",
        _band(log, range_c),
        spans,
    )
    wanted = "" if range_c is None else f" Shaded: the developer's range, {temperatures(range_c, log.plan.unit)}."
    caption = (
        "Temperatures. Full dots: developer as read; rings: warm bath as read; dashed and dotted: their forecast."
    )
    return svg, caption + wanted


def _forecast(log: SessionLog, from_s: float | None, until_s: float) -> tuple[Points, Points]:
    """The plan's curves of bath and developer, from the first reading of the bath; empty without a forecast."""
    tempering = log.plan.tempering
    if tempering is None or from_s is None:
        return (), ()
    rows = [(from_s + at_s, bath_c, developer_c) for at_s, bath_c, developer_c in tempering.curve]
    rows = [row for row in rows if row[0] <= until_s]
    bath, developer = (tuple((row[0], on_scale(row[column], log.plan.unit)) for row in rows) for column in (1, 2))
    return bath, developer


def _reading(log: SessionLog, read: ReadingLog) -> tuple[float, float, str]:
    said = f"{when(log, read.when)} {escape_controls(read.title)} {read.value:.2f} {read.unit}"
    return read.when.at - log.began.at, on_scale(read.value, log.plan.unit), said


def _band(log: SessionLog, range_c: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if range_c is None else (on_scale(range_c[0], log.plan.unit), on_scale(range_c[1], log.plan.unit))


def _baths(log: SessionLog) -> _Chart | None:
    """For each bath an outline of its time as due and a full bar of its actual one."""
    bars = [
        (escape_controls(step_name(log, step)), step.due_s, step.actual_s)
        for step in log.steps
        if is_bath(step) and step.due_s is not None and step.actual_s is not None
    ]
    if not bars:
        return None
    a_second = (WIDTH - _RIGHT - _LEFT) / (max(max(due_s, actual_s) for _, due_s, actual_s in bars) or 1.0)
    parts = []
    for number, (name, due_s, actual_s) in enumerate(bars):
        top = number * _BAR
        said = f"{name}: {minutes_seconds(due_s)} due, {minutes_seconds(actual_s)} was"
        parts.append(_text(0.0, top + 12.0, said, "small"))
        parts.append(_rect("actual", 0.0, top + 18.0, actual_s * a_second, 8.0))
        parts.append(_rect("planned", 0.0, top + 16.0, due_s * a_second, 12.0))
    svg = _svg("Plan against actual. Outline: planned; full: actual.", len(bars) * _BAR + 4.0, parts)
    return svg, "Each bath up to pouring out. Outline: as due; grey: as it was."


def _in_the_bath(log: SessionLog, step: StepLog) -> _Chart | None:
    """The developer's readings over the time in the bath."""
    if step.started is None or step.ended is None or not step.read_within_c:
        return None
    t0, until = step.started.at, step.ended.at
    within = [e for e in log.readings if e.of == step.solution and t0 <= e.when.at <= until and e.stands]
    marks = tuple((at - (t0 - log.began.at), c, said) for at, c, said in (_reading(log, each) for each in within))
    planned = log.plan.step(step.id)
    target_c = planned.target_c
    target: Points = (
        () if target_c is None else tuple((at, on_scale(target_c, log.plan.unit)) for at in (0.0, until - t0))
    )
    svg = line_chart(
        f"{escape_controls(step_name(log, step))}: temperature",
        (Curve("as read", "full", (), marks), Curve("as planned", "dashed", target)),
        "time in the bath",
        minutes_seconds,
        lambda value: f"{value:g} {log.plan.unit}",
        _band(log, planned.range_c),
    )
    return svg, f"{step_name(log, step)}: as read in the bath (dots), as planned (dashed), its range (shaded)."


def _dose(log: SessionLog, step: StepLog) -> _Chart | None:
    """The share of the developer's work done over time, by its readings, beside the planned one."""
    if not step.doses or step.last_planned_s is None:
        return None
    at_s, share = step.doses[-1]
    planned = ((0.0, 0.0), (step.planned_s or step.last_planned_s, 1.0))
    said = f"{percent_of_plan(share)} at {minutes_seconds(at_s)}"
    svg = line_chart(
        f"{escape_controls(step_name(log, step))}: dose",
        (
            Curve("by the readings", "solid", step.doses, ((at_s, share, said),)),
            Curve("as planned", "dashed", planned),
        ),
        "time in the bath",
        minutes_seconds,
        lambda part: f"{part * 100.0:.0f} %",
    )
    caption = (
        f"{step_name(log, step)}: its work by the readings (line), as planned (dashed): {said}, draining counted."
    )
    return svg, caption


def line_chart(
    name: str,
    curves: Sequence[Curve],
    x_label: str,
    format_x: Format,
    format_y: Format,
    band: tuple[float, float] | None = None,
    spans: Sequence[tuple[float, float, str]] = (),
) -> str:
    """Curves over x in seconds. Raises ValueError without a single point.

    band: the shaded range of y; spans: shaded ranges of x with their names (from, to, name).
    """
    drawn = [point for curve in curves for point in (*curve.points, *((x, y) for x, y, _ in curve.marks))]
    xs = [x for x, _ in drawn] + [edge for low, high, _ in spans for edge in (low, high)]
    ys = [y for _, y in drawn] + list(band or ())
    x_at, x_ticks = _scale((min(xs), max(xs)), (_LEFT, WIDTH - _RIGHT), _time_step)
    y_at, y_ticks = _scale((min(ys), max(ys)), (HEIGHT - _BOTTOM, _TOP), _step, whole=True)
    floor = HEIGHT - _BOTTOM
    parts = []
    for low, high, said in spans:
        left, right = x_at(low), x_at(high)
        parts.append(_rect("span", left, _TOP, right - left, floor - _TOP))
        parts.append(_text(left + 3.0, _TOP + 11.0, said, "small"))
    if band is not None:
        parts.append(_rect("band", _LEFT, y_at(band[1]), WIDTH - _RIGHT - _LEFT, y_at(band[0]) - y_at(band[1])))
    for tick in y_ticks:
        parts.append(_line("grid", _LEFT, y_at(tick), WIDTH - _RIGHT, y_at(tick)))
        parts.append(_text(_LEFT - 5.0, y_at(tick) + 4.0, format_y(tick), "small end"))
    for tick in x_ticks:
        parts.append(_line("grid", x_at(tick), floor, x_at(tick), floor + 4.0))
        parts.append(_text(x_at(tick), floor + 15.0, format_x(tick), "small middle"))
    parts.append(_text((_LEFT + WIDTH - _RIGHT) / 2.0, HEIGHT - 4.0, x_label, "small middle"))
    for curve in curves:
        if curve.points:
            path = " ".join(f"{x_at(x):.1f},{y_at(y):.1f}" for x, y in curve.points)
            parts.append(f'<polyline class="{curve.style}" points="{path}"/>')
        parts += [_mark(curve.style, x_at(x), y_at(y), said) for x, y, said in curve.marks]
    legend = "; ".join(f"{curve.name}: {curve.style.replace('-', ' ')}" for curve in curves)
    return _svg(f"{name}. {legend}.", HEIGHT, parts)


def _scale(
    values: tuple[float, float], px: tuple[float, float], step_of: Callable[[float], float], whole: bool = False
) -> tuple[Callable[[float], float], list[float]]:
    """The function from a value to its pixel, and about seven tick values; whole: the ends become round."""
    low, high = values
    if high - low < 1e-9:
        low, high = low - 1.0, high + 1.0
    step = step_of((high - low) / 7.0)
    if whole:
        low, high = math.floor(low / step) * step, math.ceil(high / step) * step
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return (
        lambda value: px[0] + (value - low) / (high - low) * (px[1] - px[0]),
        [number * step for number in range(first, last + 1)],
    )


def _step(least: float) -> float:
    """The smallest of 1, 2, 5, 10, 20 … (and 0.1, 0.2 …) that is at least this."""
    power = 10.0 ** math.floor(math.log10(least))
    return next((step * power for step in (1.0, 2.0, 5.0) if step * power >= least - 1e-12), 10.0 * power)


def _time_step(least_s: float) -> float:
    """The smallest round number of seconds, minutes or hours that is at least this."""
    return next((float(step) for step in _ROUND_S if step >= least_s), 3600.0 * _step(least_s / 3600.0))


def _mark(style: str, x: float, y: float, said: str) -> str:
    return f'<circle class="{style}" cx="{x:.1f}" cy="{y:.1f}" r="3.5"><title>{html.escape(said)}</title></circle>'


def _rect(style: str, x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="{style}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _line(style: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{style}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _text(x: float, y: float, text: str, style: str) -> str:
    return f'<text class="{style}" x="{x:.1f}" y="{y:.1f}">{html.escape(text)}</text>'


def _svg(said: str, height: float, parts: Sequence[str]) -> str:
    label = html.escape(said)
    inner = "\n".join(parts)
    return f'<svg role="img" aria-label="{label}" viewBox="0 0 {WIDTH:.0f} {height:.0f}">\n{inner}\n</svg>'
