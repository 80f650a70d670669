"""Learn a bench from readings: how well its bottles take heat, and where its temperatures really are.

Least squares on the heat transfers, held by wide priors so that a few noisy readings cannot run away with them.
It must not forecast or advise: it gives back a bench that `tempering` and `tempering_aim` take from there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from wetside.domain.calc.tempering import (
    BATH,
    GUESSED_LOG,
    TemperingBench,
    ThermalBottle,
    later,
    liquid_c,
    states_at,
)
from wetside.domain.calc.water import check_water_c
from wetside.errors import Refused
from wetside.frozen import dataclass

# One standard deviation each. A reading of a good thermometer; a start, which is a reading a little older. Starts
# left wider than this take up what the transfers should explain: at 1 °C six readings no longer give 5 %.
_READING_C: Final = 0.1
_START_C: Final = 0.3
# How far the guessed transfers may be off, as logarithms: a factor of 2.7 for a bottle, 1.6 for the room.
_BOTTLE_LOG: Final = 1.0
_ROOM_LOG: Final = 0.5

# A transfer is fitted from this many readings at its place over at least this long; else the guess stands.
_FEWEST: Final = 3
_SHORTEST_S: Final = 120.0
# and counts as measured once the readings pin it to this share (one standard deviation)
_MEASURED_LOG: Final = 0.15
_MOST_ROUNDS: Final = 8
# no bottle takes heat seven times better or worse than its guess; readings that say so are of something else
_FURTHEST_LOG: Final = 2.0


@dataclass(frozen=True, slots=True)
class BenchReading:
    """One measured temperature: `at_s` from the bench's instant, `where` is "bath" or a bottle's name."""

    at_s: float
    where: str
    temperature_c: float


@dataclass(frozen=True, slots=True)
class Refit:
    """A bench as the readings show it, at the instant `at_s` of the last one.

    `bottles_measured[i]` says whether bottle i's transfer comes from readings, `room_measured` whether the bath's
    loss does, `measured` whether any bottle's does; the others are still guesses. `transfer_logs` is one standard
    deviation of the logarithm of each bottle's transfer, of a guess where none was fitted.
    """

    bench: TemperingBench
    measured: bool
    at_s: float
    bottles_measured: tuple[bool, ...]
    room_measured: bool
    transfer_logs: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class _Unknown:
    """One thing the fit may move: a start (°C, added) or the logarithm of a transfer; place n is the bath.

    Place n + 1 is the room (°C, added).
    """

    place: int
    is_transfer: bool
    prior: float


def refit(bench: TemperingBench, readings: tuple[BenchReading, ...], error_c: float = 0.0) -> Refit:
    """The bench fitted to readings taken since its instant, restarted at the last reading of each place.

    Six readings with ±0.1 °C recover a bottle's transfer within 5 %. With fewer than three readings of a place, or
    all within two minutes, its guess stands and only temperatures move. The bench's own temperatures count as
    readings at its instant: begin it with measured ones, and begin again from the returned bench when water is
    added. `error_c` is what all readings of the thermometer may be off by alike: between a bottle and its bath it
    cancels, and only the room, read by another or guessed, is that much less known. Refused without readings, at a
    time before the bench's, or at a place it does not have.
    """
    places = {b.name: i for i, b in enumerate(bench.bottles)} | {BATH: len(bench.bottles)}
    _check(readings, places)
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
    """How unsure each bottle's transfer is; the fit's prior is wide, and says no more than the guess did."""
    fitted = {u.place: spread for u, spread in zip(unknowns, spreads, strict=True) if u.is_transfer}
    return tuple(min(fitted.get(place, GUESSED_LOG), GUESSED_LOG) for place in range(len(bench.bottles)))


def _check(readings: tuple[BenchReading, ...], places: dict[str, int]) -> None:
    if not readings:
        raise Refused("There is no reading to learn from: measure the bath or a bottle first.")
    for reading in readings:
        check_water_c(reading.temperature_c)
        if reading.where not in places:
            known = ", ".join(places)
            raise Refused(f"There is no {reading.where} on this bench: a reading belongs to one of {known}.")
        if not 0.0 <= reading.at_s < math.inf:
            raise Refused(f"A reading at {reading.at_s:g} s lies before the bench began: give 0 s or later.")


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
    """The bench with every unknown moved by its value."""
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
            bottles[unknown.place] = _moved_bottle(bottles[unknown.place], unknown.is_transfer, value)
    return replace(bench, bottles=tuple(bottles), bath_c=liquid_c(bath_c), room_c=room_c, ua_env_w_per_k=ua_env)


def _moved_bottle(bottle: ThermalBottle, is_transfer: bool, value: float) -> ThermalBottle:
    if is_transfer:
        return replace(bottle, ua_w_per_k=bottle.ua_w_per_k * math.exp(value))
    return replace(bottle, temperature_c=liquid_c(bottle.temperature_c + value))


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
    """Gauss–Newton with priors: the values of the unknowns and one standard deviation of each.

    Each round moves an unknown by 1 at most (a factor e on a transfer), so that a wild reading cannot throw the
    search away.
    """
    values = [0.0] * len(unknowns)
    weight = 1.0 / (_READING_C * _READING_C)
    for _ in range(_MOST_ROUNDS):
        residuals = _residuals(_moved(bench, unknowns, values), readings, places)
        slopes = [_slopes(bench, readings, places, unknowns, values, k, residuals) for k in range(len(unknowns))]
        normal = [[weight * _dot(a, b) for b in slopes] for a in slopes]
        right = [weight * _dot(a, residuals) for a in slopes]
        for k, unknown in enumerate(unknowns):
            normal[k][k] += 1.0 / unknown.prior**2
            right[k] -= values[k] / unknown.prior**2
        inverse = _inverse(normal)
        moves = [min(max(_dot(row, right), -1.0), 1.0) for row in inverse]
        values = [_held(u, value + move) for u, value, move in zip(unknowns, values, moves, strict=True)]
        if max(abs(move) for move in moves) < 1e-3:
            break
    return values, [math.sqrt(inverse[k][k]) for k in range(len(unknowns))]


def _held(unknown: _Unknown, value: float) -> float:
    return min(max(value, -_FURTHEST_LOG), _FURTHEST_LOG) if unknown.is_transfer else value


def _slopes(
    bench: TemperingBench,
    readings: tuple[BenchReading, ...],
    places: dict[str, int],
    unknowns: tuple[_Unknown, ...],
    values: list[float],
    which: int,
    residuals: list[float],
) -> list[float]:
    """How each curve value moves with one unknown, by a small step in it."""
    small = 1e-3
    nudged = [value + small if k == which else value for k, value in enumerate(values)]
    after = _residuals(_moved(bench, unknowns, nudged), readings, places)
    return [(before - now) / small for before, now in zip(residuals, after, strict=True)]


def _dot(a: list[float], b: list[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))


def _inverse(matrix: list[list[float]]) -> list[list[float]]:
    """Inverse of a small positive definite matrix; the priors keep every pivot above 0."""
    size = len(matrix)
    rows = [row[:] + [1.0 if i == k else 0.0 for i in range(size)] for k, row in enumerate(matrix)]
    for k in range(size):
        pivot = rows[k][k]
        rows[k] = [value / pivot for value in rows[k]]
        for other in range(size):
            if other != k and (factor := rows[other][k]) != 0.0:
                rows[other] = [a - factor * b for a, b in zip(rows[other], rows[k], strict=True)]
    return [row[size:] for row in rows]


def _restarted(
    fitted: TemperingBench, readings: tuple[BenchReading, ...], places: dict[str, int]
) -> TemperingBench:
    """The fitted bench run on through its readings: at each, that place takes the temperature that was read."""
    last = {places[r.where]: r for r in readings}
    now_s, bench = 0.0, fitted
    for reading in sorted(last.values(), key=lambda r: r.at_s):
        if reading.at_s > now_s:
            bench = later(bench, reading.at_s - now_s)
            now_s = reading.at_s
        bench = _with_reading(bench, places[reading.where], reading.temperature_c)
    return bench


def _with_reading(bench: TemperingBench, place: int, temperature_c: float) -> TemperingBench:
    if place == len(bench.bottles):
        return replace(bench, bath_c=temperature_c)
    bottles = tuple(
        replace(b, temperature_c=temperature_c) if i == place else b for i, b in enumerate(bench.bottles)
    )
    return replace(bench, bottles=bottles)
