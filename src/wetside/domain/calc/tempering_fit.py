"""Fits a bench to readings: the heat transfers of its bottles, and its temperatures.

Least squares with wide priors, so that a few noisy readings do not dominate. `tempering` forecasts the fitted
bench.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.least_squares import dot, inverse
from wetside.domain.calc.tempering import BATH, GUESSED_LOG, TemperingBench, later, liquid_c, states_at

# One standard deviation each: of a reading, and of a start, which is an older reading. A wider start absorbs what
# the transfers should explain: at 1 °C six readings no longer give a transfer within 5 %.
_READING_C: Final = 0.1
_START_C: Final = 0.3
# One standard deviation of the logarithm of a guessed transfer: a factor of 2.7 for a bottle, 1.6 for the room.
_BOTTLE_LOG: Final = 1.0
_ROOM_LOG: Final = 0.5

# A transfer is fitted from at least so many readings at its place over so long, and counts as measured when the
# fit gives its logarithm within _MEASURED_LOG (one standard deviation).
_FEWEST: Final = 3
_SHORTEST_S: Final = 120.0
_MEASURED_LOG: Final = 0.15
_MOST_ROUNDS: Final = 8
_NUDGE: Final = 1e-3
# A transfer seven times the guess or more is an error of the readings.
_FURTHEST_LOG: Final = 2.0


class BenchReading(Struct, frozen=True):
    """A measured temperature `at_s` seconds after the bench's instant; `where` is "bath" or a bottle's name."""

    at_s: float
    where: str
    temperature_c: float


class Refit(Struct, frozen=True):
    """The fitted bench at the instant `at_s` of the last reading.

    measured: the places whose transfer comes from readings and is no guess any more; BATH: its loss to the room.
    transfer_logs: one standard deviation of the logarithm of each bottle's transfer.
    """

    bench: TemperingBench
    at_s: float
    measured: frozenset[str]
    transfer_logs: tuple[float, ...] = ()


class _Unknown(Struct, frozen=True):
    """One fitted value: a start (°C, added) or the logarithm of a transfer, of bottle 0 to n − 1, of the bath at
    place n, of the room at place n + 1."""

    place: int
    is_transfer: bool
    prior: float


def refit(bench: TemperingBench, readings: tuple[BenchReading, ...], error_c: float = 0.0) -> Refit:
    """The bench fitted to readings taken since its instant, restarted at the last reading of each place.

    Six readings with ±0.1 °C give a bottle's transfer within 5 %. With fewer than three readings of a place, or
    all within two minutes, its guess is kept and only temperatures are fitted. The bench's own temperatures count
    as readings at its instant; when water is added, fit again from the returned bench. `error_c` is the
    thermometer's error, common to all readings: it cancels between bottle and bath, and widens only the room.
    """
    places = [*(bottle.name for bottle in bench.bottles), BATH]
    ordered = sorted(readings, key=lambda r: r.at_s)
    unknowns = _unknowns(bench, ordered, places, error_c)

    def residuals(values: Sequence[float]) -> list[float]:
        """Reading minus curve in °C, with each unknown changed by its value."""
        rows = states_at(_moved(bench, unknowns, values), [r.at_s for r in ordered])
        return [r.temperature_c - row[places.index(r.where)] for r, row in zip(ordered, rows, strict=True)]

    values, spreads = _least_squares(residuals, unknowns)
    transfers = [each for each in zip(unknowns, values, spreads, strict=True) if each[0].is_transfer]
    known = {u.place: spread for u, _, spread in transfers}
    return Refit(
        bench=_restarted(_moved(bench, unknowns, values), ordered),
        at_s=ordered[-1].at_s,
        measured=frozenset(
            places[u.place]
            for u, value, spread in transfers
            if spread < _MEASURED_LOG and abs(value) < _FURTHEST_LOG
        ),
        # the fit's prior is wider than a guess
        transfer_logs=tuple(
            min(known.get(place, GUESSED_LOG), GUESSED_LOG) for place in range(len(bench.bottles))
        ),
    )


def _unknowns(
    bench: TemperingBench, readings: Sequence[BenchReading], places: list[str], error_c: float
) -> tuple[_Unknown, ...]:
    bath = len(bench.bottles)
    unknowns = [_Unknown(place, False, _START_C) for place in range(bath + 1)]
    transfers = [b.ua_w_per_k for b in bench.bottles] + [bench.ua_env_w_per_k]
    for place, transfer in enumerate(transfers):
        times = {r.at_s for r in readings if r.where == places[place]}
        if transfer > 0.0 and len(times) >= _FEWEST and max(times) - min(times) >= _SHORTEST_S:
            unknowns.append(_Unknown(place, True, _ROOM_LOG if place == bath else _BOTTLE_LOG))
    if error_c > 0.0:
        unknowns.append(_Unknown(bath + 1, False, error_c))
    return tuple(unknowns)


def _moved(bench: TemperingBench, unknowns: tuple[_Unknown, ...], values: Sequence[float]) -> TemperingBench:
    """The bench with each unknown changed by its value."""
    pairs = list(zip(unknowns, values, strict=True))
    added_c = {u.place: value for u, value in pairs if not u.is_transfer}
    factors = {u.place: math.exp(value) for u, value in pairs if u.is_transfer}
    bath = len(bench.bottles)
    bottles = tuple(
        replace(
            bottle,
            temperature_c=liquid_c(bottle.temperature_c + added_c.get(place, 0.0)),
            ua_w_per_k=bottle.ua_w_per_k * factors.get(place, 1.0),
        )
        for place, bottle in enumerate(bench.bottles)
    )
    return replace(
        bench,
        bottles=bottles,
        bath_c=liquid_c(bench.bath_c + added_c.get(bath, 0.0)),
        ua_env_w_per_k=bench.ua_env_w_per_k * factors.get(bath, 1.0),
        room_c=min(max(bench.room_c + added_c.get(bath + 1, 0.0), 0.0), 50.0),
    )


def _least_squares(
    residuals: Callable[[Sequence[float]], list[float]], unknowns: tuple[_Unknown, ...]
) -> tuple[list[float], list[float]]:
    """Gauss-Newton with priors: the values of the unknowns and one standard deviation of each.

    A round changes an unknown by at most 1 (a factor e on a transfer), so that an outlier cannot make it diverge.
    """
    values = [0.0] * len(unknowns)
    weight = 1.0 / (_READING_C * _READING_C)
    for _ in range(_MOST_ROUNDS):
        now = residuals(values)
        slopes = []
        for k in range(len(unknowns)):
            nudged = residuals([*values[:k], values[k] + _NUDGE, *values[k + 1 :]])
            slopes.append([(before - after) / _NUDGE for before, after in zip(now, nudged, strict=True)])
        normal = [[weight * dot(a, b) for b in slopes] for a in slopes]
        right = [weight * dot(a, now) for a in slopes]
        for k, unknown in enumerate(unknowns):
            normal[k][k] += 1.0 / unknown.prior**2
            right[k] -= values[k] / unknown.prior**2
        inverted = inverse(normal)  # the priors keep every pivot above 0
        moves = [min(max(dot(row, right), -1.0), 1.0) for row in inverted]
        values = [
            min(max(value + move, -_FURTHEST_LOG), _FURTHEST_LOG) if u.is_transfer else value + move
            for u, value, move in zip(unknowns, values, moves, strict=True)
        ]
        if max(abs(move) for move in moves) < 1e-3:
            break
    return values, [math.sqrt(inverted[k][k]) for k in range(len(unknowns))]


def _restarted(bench: TemperingBench, readings: Sequence[BenchReading]) -> TemperingBench:
    """The bench forecast through the last reading of each place, where it takes the temperature read."""
    now_s = 0.0
    for reading in sorted({r.where: r for r in readings}.values(), key=lambda r: r.at_s):
        if reading.at_s > now_s:
            bench, now_s = later(bench, reading.at_s - now_s), reading.at_s
        read_c = reading.temperature_c
        bottles = (
            replace(each, temperature_c=read_c) if each.name == reading.where else each for each in bench.bottles
        )
        bench = replace(bench, bottles=tuple(bottles), bath_c=read_c if reading.where == BATH else bench.bath_c)
    return bench
