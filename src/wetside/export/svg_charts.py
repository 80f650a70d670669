"""Curves and bars as SVG, to be read on paper too: black on white, told apart by dashes and marks, not by colour.

One job: put numbers into a picture. Every mark of a measured value carries it as a title. The page has the style.
"""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Sequence

from wetside.frozen import dataclass

WIDTH = 720.0
HEIGHT = 240.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 12.0, 14.0, 34.0
_BAR = 34.0
_ROUND_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)

Points = tuple[tuple[float, float], ...]
Say = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Curve:
    """One line of a chart; style: class of the style sheet. marks: measured points, with their titles."""

    name: str
    style: str
    points: Points = ()
    marks: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """Plan against actual of one thing; None where there was none. said: both in words."""

    name: str
    planned: float
    actual: float | None
    said: str


def line_chart(
    name: str,
    curves: Sequence[Curve],
    x_said: str,
    say_x: Say,
    say_y: Say,
    band: tuple[float, float] | None = None,
    spans: Sequence[tuple[float, float, str]] = (),
) -> str:
    """Curves over x, which is in seconds. ValueError without a single point.

    band: y from and to that are shaded; spans: x from and to that are, with a name each.
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
        parts.append(_text(_LEFT - 5.0, y_at(tick) + 4.0, say_y(tick), "small end"))
    for tick in x_ticks:
        parts.append(_line("grid", x_at(tick), floor, x_at(tick), floor + 4.0))
        parts.append(_text(x_at(tick), floor + 15.0, say_x(tick), "small middle"))
    parts.append(_text((_LEFT + WIDTH - _RIGHT) / 2.0, HEIGHT - 4.0, x_said, "small middle"))
    for curve in curves:
        if curve.points:
            path = " ".join(f"{x_at(x):.1f},{y_at(y):.1f}" for x, y in curve.points)
            parts.append(f'<polyline class="{curve.style}" points="{path}"/>')
        parts += [_mark(curve.style, x_at(x), y_at(y), said) for x, y, said in curve.marks]
    legend = "; ".join(f"{curve.name}: {curve.style.replace('-', ' ')}" for curve in curves)
    return _svg(f"{name}. {legend}.", HEIGHT, parts)


def bar_chart(name: str, bars: Sequence[Bar]) -> str:
    """For each thing an outline as long as planned, and a full bar as long as it was."""
    longest = max((max(bar.planned, bar.actual or 0.0) for bar in bars), default=1.0) or 1.0
    room = WIDTH - _RIGHT - _LEFT
    parts = []
    for number, bar in enumerate(bars):
        top = number * _BAR
        parts.append(_text(0.0, top + 12.0, f"{bar.name}: {bar.said}", "small"))
        if bar.actual is not None:
            parts.append(_rect("actual", 0.0, top + 18.0, bar.actual / longest * room, 8.0))
        parts.append(_rect("planned", 0.0, top + 16.0, bar.planned / longest * room, 12.0))
    return _svg(f"{name}. Outline: planned; full: actual.", len(bars) * _BAR + 4.0, parts)


def _scale(
    values: tuple[float, float], px: tuple[float, float], step_of: Callable[[float], float], whole: bool = False
) -> tuple[Callable[[float], float], list[float]]:
    """Where a value stands, and about seven round values to write; whole: the ends become round ones."""
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
    """The same in seconds, minutes and hours."""
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
