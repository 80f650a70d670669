"""Fits a bench to readings: the heat transfers of its bottles, and its temperatures.

Least squares with wide priors, so that a few noisy readings do not dominate. `tempering` forecasts the fitted
bench.
"""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.least_squares import dot, inverse
from wetside.domain.calc.tempering import (
    BATH,
    GUESSED_LOG,
    TemperingBench,
    later,
    liquid_c,
    states_at,
)

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
# A transfer seven times the guess or more is an error of the readings.
_FURTHEST_LOG: Final = 2.0


class BenchReading(Struct, frozen=True):
    """A measured temperature `at_s` seconds after the bench's instant; `where` is "bath" or a bottle's name."""

    at_s: float
    where: str
    temperature_c: float


class Refit(Struct, frozen=True):
    """The fitted bench at the instant `at_s` of the last reading.

    bottles_measured: for each bottle, whether its transfer comes from readings or is still a guess; room_measured:
    the same of the bath's loss; measured: of any bottle. transfer_logs: one standard deviation of the logarithm of
    each bottle's transfer.
    """

    bench: TemperingBench
    measured: bool
    at_s: float
    bottles_measured: tuple[bool, ...]
    room_measured: bool
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
    places = {b.name: i for i, b in enumerate(bench.bottles)} | {BATH: len(bench.bottles)}
    ordered = tuple(sorted(readings, key=lambda r: r.at_s))
    unknowns = _unknowns(bench, ordered, places, error_c)
    values, spreads = _least_squares(bench, ordered, places, unknowns)
    fitted = _moved(bench, unknowns, values)
    pinned = {
        u.place
        for u, value, spread in zip(unknowns, values, spreads, strict=True)
        if u.is_transfer and spread < _MEASURED_LOG and abs(value) < _FURTHEST_LOG
    }
    bottles_measured = tuple(i in pinned for i in range(len(bench.bottles)))
    return Refit(
        bench=_restarted(fitted, ordered, places),
        measured=any(bottles_measured),
        at_s=ordered[-1].at_s,
        bottles_measured=bottles_measured,
        room_measured=len(bench.bottles) in pinned,
        transfer_logs=_logs(bench, unknowns, spreads),
    )


def _logs(bench: TemperingBench, unknowns: tuple[_Unknown, ...], spreads: list[float]) -> tuple[float, ...]:
    """One standard deviation of each bottle's log transfer, at most a guess's, as the fit's prior is wider."""
    fitted = {u.place: spread for u, spread in zip(unknowns, spreads, strict=True) if u.is_transfer}
    return tuple(min(fitted.get(place, GUESSED_LOG), GUESSED_LOG) for place in range(len(bench.bottles)))


def _unknowns(
    bench: TemperingBench, readings: tuple[BenchReading, ...], places: dict[str, int], error_c: float
) -> tuple[_Unknown, ...]:
    bath = places[BATH]
    unknowns = [_Unknown(place, False, _START_C) for place in range(bath + 1)]
    transfers = [b.ua_w_per_k for b in bench.bottles] + [bench.ua_env_w_per_k]
    for place, transfer in enumerate(transfers):
        times = {r.at_s for r in readings if places[r.where] == place}
        if transfer > 0.0 and len(times) >= _FEWEST and max(times) - min(times) >= _SHORTEST_S:
            unknowns.append(_Unknown(place, True, _ROOM_LOG if place == bath else _BOTTLE_LOG))
    if error_c > 0.0:
        unknowns.append(_Unknown(bath + 1, False, error_c))
    return tuple(unknowns)


def _moved(bench: TemperingBench, unknowns: tuple[_Unknown, ...], values: list[float]) -> TemperingBench:
    """The bench with each unknown changed by its value."""
    bottles = list(bench.bottles)
    bath_c, room_c, ua_env = bench.bath_c, bench.room_c, bench.ua_env_w_per_k
    for unknown, value in zip(unknowns, values, strict=True):
        if unknown.place > len(bottles):
            room_c = min(max(room_c + value, 0.0), 50.0)
        elif unknown.place == len(bottles):
            if unknown.is_transfer:
                ua_env *= math.exp(value)
            else:
                bath_c += value
        else:
            bottle = bottles[unknown.place]
            bottles[unknown.place] = (
                replace(bottle, ua_w_per_k=bottle.ua_w_per_k * math.exp(value))
                if unknown.is_transfer
                else replace(bottle, temperature_c=liquid_c(bottle.temperature_c + value))
            )
    return replace(bench, bottles=tuple(bottles), bath_c=liquid_c(bath_c), room_c=room_c, ua_env_w_per_k=ua_env)


def _residuals(bench: TemperingBench, readings: tuple[BenchReading, ...], places: dict[str, int]) -> list[float]:
    """Reading minus curve in °C, one each."""
    rows = states_at(bench, [r.at_s for r in readings])
    return [r.temperature_c - row[places[r.where]] for r, row in zip(readings, rows, strict=True)]


def _least_squares(
    bench: TemperingBench,
    readings: tuple[BenchReading, ...],
    places: dict[str, int],
    unknowns: tuple[_Unknown, ...],
) -> tuple[list[float], list[float]]:
    """Gauss-Newton with priors: the values of the unknowns and one standard deviation of each.

    A round changes an unknown by at most 1 (a factor e on a transfer), so that an outlier cannot make it diverge.
    """
    values = [0.0] * len(unknowns)
    weight = 1.0 / (_READING_C * _READING_C)
    for _ in range(_MOST_ROUNDS):
        residuals = _residuals(_moved(bench, unknowns, values), readings, places)
        slopes = [_slopes(bench, readings, places, unknowns, values, k, residuals) for k in range(len(unknowns))]
        normal = [[weight * dot(a, b) for b in slopes] for a in slopes]
        right = [weight * dot(a, residuals) for a in slopes]
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


def _slopes(
    bench: TemperingBench,
    readings: tuple[BenchReading, ...],
    places: dict[str, int],
    unknowns: tuple[_Unknown, ...],
    values: list[float],
    which: int,
    residuals: list[float],
) -> list[float]:
    """The derivative of each residual by one unknown, from a small step."""
    small = 1e-3
    nudged = [value + small if k == which else value for k, value in enumerate(values)]
    after = _residuals(_moved(bench, unknowns, nudged), readings, places)
    return [(before - now) / small for before, now in zip(residuals, after, strict=True)]


def _restarted(
    fitted: TemperingBench, readings: tuple[BenchReading, ...], places: dict[str, int]
) -> TemperingBench:
    """The fitted bench forecast through the last reading of each place, where it takes the temperature read."""
    last = {places[r.where]: r for r in readings}
    now_s, bench = 0.0, fitted
    for reading in sorted(last.values(), key=lambda r: r.at_s):
        if reading.at_s > now_s:
            bench = later(bench, reading.at_s - now_s)
            now_s = reading.at_s
        if reading.where == BATH:
            bench = replace(bench, bath_c=reading.temperature_c)
        else:
            bottles = list(bench.bottles)
            place = places[reading.where]
            bottles[place] = replace(bottles[place], temperature_c=reading.temperature_c)
            bench = replace(bench, bottles=tuple(bottles))
    return bench
