"""What was measured, as a table for a person: median and 95th percentile, beside a yardstick of the same run."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from datetime import date
from os import cpu_count, sysconf
from statistics import median

from msgspec import Struct


class Measured(Struct, frozen=True):
    """One line. samples: of the thing itself; against: of the yardstick; aim: in words, "" for none."""

    what: str
    unit: str
    samples: tuple[float, ...]
    yardstick: str = ""
    against: tuple[float, ...] = ()
    aim: str = ""

    @property
    def ratio(self) -> float | None:
        """Median over the yardstick's median."""
        return median(self.samples) / median(self.against) if self.against else None


def percentile(samples: Sequence[float], part: float) -> float:
    """The smallest sample that at least this part of them does not exceed."""
    ordered = sorted(samples)
    return ordered[min(len(ordered) - 1, max(0, -(-int(part * 1000) * len(ordered) // 1000) - 1))]


def heading() -> str:
    """The machine and the day."""
    memory = sysconf("SC_PAGE_SIZE") * sysconf("SC_PHYS_PAGES") / 2**30
    return (
        f"{cpu_count()} cores ({platform.machine()}), {memory:.0f} GiB, {platform.system()}, "
        f"Python {platform.python_version()}, {date.today():%Y-%m-%d}"
    )


HEAD = ("| what | median | p95 | yardstick in the same run | ratio | aim |", "|---|--:|--:|---|--:|---|")


def row(measured: Measured) -> str:
    """One line of the table, in Markdown."""
    middle, high = median(measured.samples), percentile(measured.samples, 0.95)
    yard = ""
    if measured.against:
        yard_high = _number(percentile(measured.against, 0.95))
        yard = f"{measured.yardstick}: {_number(median(measured.against))}, p95 {yard_high}"
    ratio = f"{measured.ratio:.2f} ×" if measured.ratio is not None else ""
    spread = f"{_number(high)} {measured.unit}" if len(measured.samples) > 1 else ""
    return (
        f"| {measured.what} | {_number(middle)} {measured.unit} | {spread} | {yard} | {ratio} | {measured.aim} |"
    )


def _number(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.1f}" if abs(value) >= 10 else f"{value:.2f}"
