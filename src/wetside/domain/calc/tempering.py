"""Bottles in a bath of warm water: the forecast of their temperatures, and when each is in its range.

Each bottle and the bath is one well-stirred lump, with solutions counted as water:

    C_i dT_i/dt = UA_i (T_b − T_i)
    C_b dT_b/dt = Σ UA_i (T_i − T_b) + UA_env (T_room − T_b) − evaporation

`tempering_fit` fits them to readings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.water import check_volume_ml, check_water_c, mix, vapour_pressure_kpa

HEAT_J_PER_ML_K: Final = 4.16
"""Heat capacity of 1 ml of water in J/K. Density × cp from IAPWS is 4.177 at 20 °C, 4.150 at 37.8 °C, 4.115 at 60
°C; one figure keeps the heat balance exact and is within 1.1 % from 15 to 60 °C."""

EVAPORATION_W_PER_M2_KPA: Final = 89.0
"""Into still air: the pool equation of the ASHRAE handbook at no wind, from memory."""

BATH: Final = "bath"
"""The place of a reading of the bath itself."""

Material = Literal["soft", "glass", "steel", "pet"]

_WALL_W_PER_M2_K: Final[dict[Material, float]] = {"soft": 115.0, "glass": 103.0, "steel": 149.0, "pet": 115.0}
"""Heat transfer through the wall with water on both sides at 300 W/m²K, a guess until fitted: computed from wall
conductivities seen in reprinted tables (1 mm polyethylene, 3 mm glass, 0.7 mm steel, 0.4 mm PET)."""

_BOTTLE_AREA_M2_PER_LITRE: Final = 0.055

_COVERED_10_L_W_PER_K: Final = 2.2
"""Covered 10 l bucket, 40 °C in a 20 °C room: wall 32 W, lid by radiation and air 12 W (computed), over 20 K."""

_STEP_SHARE: Final = 0.4
"""The largest step of the integrator, as a share of the shortest time constant; the error is below 0.003 °C."""


class ThermalBottle(Struct, frozen=True):
    """A closed bottle in the bath: contents in ml and °C, heat transfer in W/K."""

    name: str
    volume_ml: float
    temperature_c: float
    ua_w_per_k: float

    def __post_init__(self) -> None:
        check_volume_ml(self.volume_ml)
        check_water_c(self.temperature_c)

    @property
    def time_constant_s(self) -> float:
        """Seconds in which its distance to a steady bath falls to 37 %; infinite without transfer."""
        return self.volume_ml * HEAT_J_PER_ML_K / self.ua_w_per_k if self.ua_w_per_k > 0.0 else math.inf


class TemperingBench(Struct, frozen=True):
    """A bath with bottles in it at one instant.

    ua_env_w_per_k: loss of the bath to the room in W/K, without evaporation. open_area_m2: uncovered water
    surface, 0 with a lid. humidity: of the room, a share from 0 to 1.
    """

    bottles: tuple[ThermalBottle, ...]
    bath_ml: float
    bath_c: float
    room_c: float
    ua_env_w_per_k: float
    open_area_m2: float = 0.0
    humidity: float = 0.5

    def __post_init__(self) -> None:
        check_volume_ml(self.bath_ml)
        check_water_c(self.bath_c)
        if len({BATH, *(b.name for b in self.bottles)}) <= len(self.bottles):
            raise ValueError(f"each bottle has a name of its own, and none is called {BATH}")


class Forecast(Struct, frozen=True):
    """Temperatures to come, one value for each of `times_s`: of the bath, and `bottles_c[i]` of bottle i."""

    times_s: tuple[float, ...]
    bath_c: tuple[float, ...]
    bottles_c: tuple[tuple[float, ...], ...]


class Window(Struct, frozen=True):
    """When something is in its range, in s from the bench's instant; None where the forecast ends first.

    leaves_s: the first exit after entering; leaves_upward: that exit is by becoming too hot.
    """

    enters_s: float | None
    leaves_s: float | None
    leaves_upward: bool


def default_ua_w_per_k(volume_ml: float, material: Material) -> float:
    """The guessed heat transfer (W/K) of a bottle in still water up to its neck; 6.3 W/K for a soft one of 1 l."""
    return _WALL_W_PER_M2_K[material] * _BOTTLE_AREA_M2_PER_LITRE * _surface_ratio(volume_ml, 1000.0)


def default_ua_env_w_per_k(bath_ml: float) -> float:
    """The guessed loss (W/K) of a bath to the room without evaporation; 2.2 W/K for a 10 l plastic bucket."""
    return _COVERED_10_L_W_PER_K * _surface_ratio(bath_ml, 10000.0)


def tank_drop_c(
    developer_ml: float, developer_c: float, tank_c: float, tank_heat_capacity_j_per_k: float
) -> float:
    """By how many K the developer drops when it is poured into a tank of another temperature (below 0: it rises).

    `tank_heat_capacity_j_per_k` is that of tank, reels and film; 200 g of plastic have about 260 J/K.
    """
    developer_j_per_k = check_volume_ml(developer_ml) * HEAT_J_PER_ML_K
    start_c = check_water_c(developer_c)
    heat_j = developer_j_per_k * start_c + tank_heat_capacity_j_per_k * tank_c
    return start_c - heat_j / (developer_j_per_k + tank_heat_capacity_j_per_k)


def with_water(bench: TemperingBench, added_ml: float, added_c: float) -> TemperingBench:
    """The bench right after `added_ml` of water at `added_c` is stirred into its bath."""
    if added_ml == 0.0:
        return bench
    bath = mix(((bench.bath_ml, bench.bath_c), (added_ml, added_c)))
    return replace(bench, bath_ml=bath.volume_ml, bath_c=bath.temperature_c)


def forecast(bench: TemperingBench, duration_s: float, every_s: float = 30.0) -> Forecast:
    """The bench's temperatures at 0, `every_s`, 2 `every_s` … and at `duration_s`.

    Within 0.05 °C of an adaptive integrator on the same equations.
    """
    count = math.ceil(duration_s / every_s - 1e-9)
    times = [every_s * k for k in range(count)] + [duration_s]
    rows = states_at(bench, times)
    columns = tuple(zip(*rows, strict=True))
    return Forecast(tuple(times), columns[-1], columns[:-1])


def later(bench: TemperingBench, after_s: float) -> TemperingBench:
    """The same bench `after_s` seconds later, with temperatures kept within 0 and 100 °C."""
    row = [liquid_c(t_c) for t_c in states_at(bench, (after_s,))[0]]
    bottles = tuple(replace(b, temperature_c=t_c) for b, t_c in zip(bench.bottles, row, strict=False))
    return replace(bench, bottles=bottles, bath_c=row[-1])


def liquid_c(temperature_c: float) -> float:
    """The temperature (°C) clamped to liquid water, as an open bath in dry air may be computed below freezing."""
    return min(max(temperature_c, 0.0), 100.0)


def window_in(curves: Forecast, bottle_index: int, low_c: float, high_c: float) -> Window:
    """When one bottle of a forecast enters a range (0 if it starts inside) and when it first leaves it."""
    ranges: list[tuple[float, float] | None] = [None] * len(curves.bottles_c)
    ranges[bottle_index] = (low_c, high_c)
    return all_in_range_in(curves, tuple(ranges))


def all_in_range_in(curves: Forecast, ranges: tuple[tuple[float, float] | None, ...]) -> Window:
    """When all bottles with a range are inside it, from a forecast, linear between its instants.

    `ranges` has one entry a bottle, None for any temperature. Raises ValueError if no bottle has a range.
    """
    wanted = [
        (curve, *between) for curve, between in zip(curves.bottles_c, ranges, strict=True) if between is not None
    ]
    if not wanted:
        raise ValueError("no bottle has a range to reach")
    enters_s: float | None = None
    for k in range(len(curves.times_s)):
        if enters_s is not None and k > 0:
            exits = [_crossing(curves.times_s, w, k, entering=False) for w in wanted]
            leaving = [(exit_s, w) for exit_s, w in zip(exits, wanted, strict=True) if exit_s is not None]
            if leaving:
                leaves_s, (curve, _, high_c) = min(leaving, key=lambda pair: pair[0])
                return Window(enters_s, max(leaves_s, enters_s), curve[k] > high_c)
        elif all(low_c <= curve[k] <= high_c for curve, low_c, high_c in wanted):
            entries = [_crossing(curves.times_s, w, k, entering=True) for w in wanted]
            enters_s = max((s for s in entries if s is not None), default=curves.times_s[k])
    return Window(enters_s, None, False)


def first_above(curves: Forecast, limits_c: tuple[float | None, ...]) -> tuple[int, float] | None:
    """(bottle, seconds) of the first forecast instant at which a bottle is above its limit; None if none is.

    `limits_c` has one entry a bottle, None for a bottle that may take any temperature.
    """
    for k, at_s in enumerate(curves.times_s):
        for bottle, (curve, limit_c) in enumerate(zip(curves.bottles_c, limits_c, strict=True)):
            if limit_c is not None and curve[k] > limit_c:
                return bottle, at_s
    return None


def _crossing(
    times_s: tuple[float, ...], wanted: tuple[tuple[float, ...], float, float], k: int, *, entering: bool
) -> float | None:
    """The instant between k − 1 and k at which a curve enters (leaves) its range, None if it does not."""
    curve, low_c, high_c = wanted
    inside, outside = (k, k - 1) if entering else (k - 1, k)
    if k == 0:
        return times_s[0]
    if not low_c <= curve[inside] <= high_c or low_c <= curve[outside] <= high_c:
        return None
    edge_c = low_c if curve[outside] < low_c else high_c
    share = (edge_c - curve[k - 1]) / (curve[k] - curve[k - 1])
    return times_s[k - 1] + share * (times_s[k] - times_s[k - 1])


def states_at(bench: TemperingBench, times_s: Sequence[float]) -> list[tuple[float, ...]]:
    """Temperatures (°C) of the bottles and then the bath, one row for each of `times_s` (rising, from 0 on)."""
    rates = _Rates(bench)
    state = [b.temperature_c for b in bench.bottles] + [bench.bath_c]
    slope = rates.slopes(state)
    longest_s = _STEP_SHARE / rates.fastest_per_s if rates.fastest_per_s > 0.0 else math.inf
    rows: list[tuple[float, ...]] = []
    now_s = 0.0
    pending = 0
    end_s = times_s[-1]
    while now_s < end_s:
        step_s = (end_s - now_s) / math.ceil((end_s - now_s) / longest_s) if longest_s < math.inf else end_s
        after, after_slope = rates.step(state, slope, step_s)
        then_s = end_s if end_s - now_s - step_s < 1e-6 else now_s + step_s
        while pending < len(times_s) and times_s[pending] <= then_s:
            rows.append(_between(state, slope, after, after_slope, step_s, times_s[pending] - now_s))
            pending += 1
        state, slope, now_s = after, after_slope, then_s
    rows.extend(tuple(state) for _ in times_s[pending:])
    return rows


def _between(
    a: list[float], a_slope: list[float], b: list[float], b_slope: list[float], step_s: float, at_s: float
) -> tuple[float, ...]:
    """The cubic through both ends of a step and their slopes, `at_s` after its start."""
    u = at_s / step_s
    from_b = u * u * (3.0 - 2.0 * u)
    bend_a = at_s * (1.0 - u) * (1.0 - u)
    bend_b = -at_s * u * (1.0 - u)
    return tuple(
        [
            p + (q - p) * from_b + dp * bend_a + dq * bend_b
            for p, dp, q, dq in zip(a, a_slope, b, b_slope, strict=True)
        ]
    )


class _Rates:
    """The bench's equations with their constants; a state is [bottles …, bath] in °C."""

    __slots__ = ("air_kpa", "bath_ml_heat", "env", "evaporation", "fastest_per_s", "pulls", "room_c", "uas")

    def __init__(self, bench: TemperingBench) -> None:
        self.uas = [b.ua_w_per_k for b in bench.bottles]
        self.pulls = [b.ua_w_per_k / (b.volume_ml * HEAT_J_PER_ML_K) for b in bench.bottles]
        self.bath_ml_heat = bench.bath_ml * HEAT_J_PER_ML_K
        self.env = bench.ua_env_w_per_k
        self.room_c = bench.room_c
        self.evaporation = bench.open_area_m2 * EVAPORATION_W_PER_M2_KPA
        self.air_kpa = bench.humidity * vapour_pressure_kpa(bench.room_c) if self.evaporation else 0.0
        hottest_c = max([bench.bath_c, bench.room_c, *(b.temperature_c for b in bench.bottles)])
        low_c, high_c = (hottest_c - 1.0, hottest_c) if hottest_c >= 1.0 else (0.0, 1.0)
        steepest_kpa_per_k = vapour_pressure_kpa(high_c) - vapour_pressure_kpa(low_c)
        bath_w_per_k = 2.0 * sum(self.uas) + self.env + self.evaporation * steepest_kpa_per_k
        # no eigenvalue of the bench is larger than its largest row sum
        self.fastest_per_s = max([bath_w_per_k / self.bath_ml_heat, *(2.0 * pull for pull in self.pulls)])

    def slopes(self, state: list[float]) -> list[float]:
        """dT/dt in K/s for each entry of the state."""
        bath_c = state[-1]
        slopes: list[float] = []
        into_bath_w = self.env * (self.room_c - bath_c)
        for t_c, ua, pull in zip(state, self.uas, self.pulls, strict=False):
            gap = bath_c - t_c
            slopes.append(pull * gap)
            into_bath_w -= ua * gap
        if self.evaporation:
            # on a bath colder than the dew point vapour condenses and warms it
            into_bath_w -= self.evaporation * (vapour_pressure_kpa(max(bath_c, 0.0)) - self.air_kpa)
        slopes.append(into_bath_w / self.bath_ml_heat)
        return slopes

    def step(self, state: list[float], first: list[float], step_s: float) -> tuple[list[float], list[float]]:
        """One classical fourth-order Runge-Kutta step: the state after it and the slopes there."""
        half_s = 0.5 * step_s
        second = self.slopes([t + half_s * k for t, k in zip(state, first, strict=True)])
        third = self.slopes([t + half_s * k for t, k in zip(state, second, strict=True)])
        fourth = self.slopes([t + step_s * k for t, k in zip(state, third, strict=True)])
        sixth_s = step_s / 6.0
        after = [
            t + sixth_s * (k1 + 2.0 * (k2 + k3) + k4)
            for t, k1, k2, k3, k4 in zip(state, first, second, third, fourth, strict=True)
        ]
        return after, self.slopes(after)


def _surface_ratio(volume_ml: float, of_ml: float) -> float:
    """The ratio of the surfaces of two vessels of one shape."""
    return math.pow(check_volume_ml(volume_ml) / of_ml, 2.0 / 3.0)


GUESSED_LOG: Final = 0.3
"""One standard deviation of the logarithm of a guessed transfer (our own number; steel and glass differ by
0.37)."""

Ranges = tuple[tuple[float, float] | None, ...]


class Uncertainty(Struct, frozen=True):
    """The uncertainty of a bench: one standard deviation of the logarithm of each bottle's transfer, and by how
    many °C the thermometer is off at most."""

    transfer_logs: tuple[float, ...]
    thermometer_c: float = 0.0


class ReadySpans:
    """The earliest and the latest moment at which bottles of one bench are ready.

    The bench is forecast again with all transfers one standard deviation better and worse. The thermometer's
    error, common to all readings, is taken as a shift of the ranges.
    """

    def __init__(self, bench: TemperingBench, ahead: Forecast, uncertainty: Uncertainty) -> None:
        """`ahead` is the bench's own forecast."""
        self._ahead, self._error_c = ahead, uncertainty.thermometer_c
        every_s = ahead.times_s[1] - ahead.times_s[0]
        self._others = []
        for sign in (1.0, -1.0):
            bottles = tuple(
                replace(bottle, ua_w_per_k=bottle.ua_w_per_k * math.exp(sign * log))
                for bottle, log in zip(bench.bottles, uncertainty.transfer_logs, strict=True)
            )
            self._others.append(forecast(replace(bench, bottles=bottles), ahead.times_s[-1], every_s))

    def enters_s(self, ranges: Ranges) -> tuple[float, float | None] | None:
        """When all bottles with a range are in it: earliest and latest, in s from the bench's instant.

        The latest is None where they may not get there; None altogether where they are not forecast to.
        """
        middle_s = all_in_range_in(self._ahead, ranges).enters_s
        if middle_s is None:
            return None
        found = [all_in_range_in(other, ranges).enters_s for other in self._others]
        errors_c = (self._error_c, -self._error_c) if self._error_c > 0.0 else ()
        read = [all_in_range_in(self._ahead, _shifted(ranges, by_c)).enters_s for by_c in errors_c]
        moments = [each for each in (*found, *read) if each is not None]
        early_s = middle_s - math.hypot(*(max(0.0, middle_s - each) for each in moments))
        late_s = middle_s + math.hypot(*(max(0.0, each - middle_s) for each in moments))
        return max(0.0, early_s), None if None in found else late_s


def _shifted(ranges: Ranges, by_c: float) -> Ranges:
    return tuple(None if each is None else (each[0] + by_c, each[1] + by_c) for each in ranges)
