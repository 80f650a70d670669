"""Temperatures of a running session as curves and sentences: the bottles while they warm, and a developer. Pure.

The forecast is the thermal model of the plan's bench (bottles in a warm bath), fitted to the readings so far. It
only informs: the gate before the baths depends on readings alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.running_dose import temperature_at
from wetside.domain.calc.tempering import BATH, GUESSED_LOG, Forecast, TemperingBench, Uncertainty, forecast, later
from wetside.domain.calc.tempering_fit import BenchReading, Refit, refit
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Setup, TemperatureUnit, Units
from wetside.domain.planning.warm_bath import bench_of
from wetside.domain.planning.warming import HORIZON_S, warming
from wetside.domain.profile.model import Kind
from wetside.domain.session.developer import follows_readings, path_of
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.gates import beside_range
from wetside.domain.session.readings import valid_readings
from wetside.domain.session.state import State
from wetside.domain.session.unseen import as_read, first_bath_c, through
from wetside.present.temperature_plot import PlotLine
from wetside.present.tempering_text import answers_in_words
from wetside.present.wording import sentence, temperature

MOVES_EVERY_S: Final = 15.0
"""How often the forecast is computed again between readings; its sentences have a resolution of minutes."""

LOOK_BACK_S: Final = 1200.0
"""How much of the past the curves show."""

WATER_ADDED_C: Final = 1.5
"""A bath read this far from its forecast has had water added or replaced (our own number: a covered bucket drifts
about 1 °C in ten minutes). A new fit begins there."""

AHEAD_MIN: Final = (20, 30, 40, 60, 90, 120)
POINT_EVERY_S: Final = 30.0
_COURSE_POINT_EVERY_S: Final = 5.0


class TemperingForecast(Struct, frozen=True):
    """The forecast of the tempering at `now_s` (session seconds, as all times in `lines`).

    lines: the bottle with the narrowest range first, the other bottles, then the bath. ready_s, leaves_s: the time
    from now until all bottles are in range together, and until one leaves it; None where that does not happen
    within two hours. measured: whether the warming of any bottle is fitted to readings rather than assumed.
    words: the sentences; short: the most important ones, for where the plot needs the room.
    """

    lines: tuple[PlotLine, ...]
    now_s: float
    ready_s: float | None
    leaves_s: float | None
    measured: bool
    words: tuple[str, ...]
    unit: TemperatureUnit
    short: tuple[str, ...] = ()


class _Place(Struct, frozen=True):
    """A bottle in the bath. range_c: in which it is wanted in this step. in_range: it was read so in this step.

    new: it was put in after the earlier readings.
    """

    of: str
    title: str
    range_c: tuple[float, float] | None = None
    in_range: bool = False
    new: bool = False


class _Ask(Struct, frozen=True):
    """Everything the forecast depends on; it is the key of the cache. places: those with a range come first."""

    setup: Setup
    places: tuple[_Place, ...]
    first_bath_c: float
    before: tuple[ReadingTaken, ...]  # of these bottles and the bath, in earlier steps
    readings: tuple[ReadingTaken, ...]
    from_s: float
    now_s: float
    units: Units


def tempering_forecast(state: State, at: float) -> TemperingForecast | None:
    """The forecast in a `wait` step; None elsewhere, or where none of its bottles is on the bench.

    It uses the readings of this step and of a measuring step right before it, and is computed again every 15 s and
    after each reading.
    """
    step = state.step
    ask = _asked(state, at, step) if step is not None and step.kind is Kind.WAIT else None
    return None if ask is None else _worked_out(ask)


def _asked(state: State, at: float, step: PlannedStep) -> _Ask | None:
    """The input of the forecast; None without a bottle, or while the temperature of the bath is unknown."""
    plan = state.plan
    held = {bottle.solution for bottle in plan.setup.bottles}
    wanted_c = {ask.of: ask.range_c for ask in step.readings if ask.range_c is not None and ask.of in held}
    # Bottles without a reading in this step stand in the same bath and take heat from it.
    bottles = dict.fromkeys((*wanted_c, *(plan.tempering.bottles if plan.tempering is not None else ())))
    readings = valid_readings(_readings_of(state, plan, step, {*wanted_c, BATH}))
    before = _readings_before(state, plan, readings, {*bottles, BATH})
    bath_c = first_bath_c(plan, (*before, *readings))
    if not wanted_c or bath_c is None:
        return None
    # For a later tank fill a new bottle of each one-shot solution is put into the bath.
    one_shot = {each.solution for each in plan.steps if each.storage == "one-shot"}
    new = held & one_shot if before and step.batch not in (None, 1) else set()
    places = ((of, plan.title_of(of), wanted_c.get(of)) for of in bottles)
    return _Ask(
        setup=plan.setup,
        places=tuple(
            _Place(of, title, range_c, _read_in_range(state, of, range_c), of in new)
            for of, title, range_c in places
        ),
        first_bath_c=bath_c,
        before=before,
        readings=readings,
        from_s=readings[0].at if readings else state.opened_at,
        now_s=max(readings[-1].at if readings else state.opened_at, at // MOVES_EVERY_S * MOVES_EVERY_S),
        units=plan.units,
    )


def _readings_of(state: State, plan: Plan, step: PlannedStep, wanted: set[str]) -> tuple[ReadingTaken, ...]:
    """The readings of the solutions `wanted` in this step and in a measuring step right before it."""
    number = plan.number(step.id)
    before = plan.steps[max(0, number - 1)]
    steps = {step.id, before.id} if before.kind is Kind.MEASURE else {step.id}
    return tuple(reading for reading in state.readings if reading.step in steps and reading.of in wanted)


def _readings_before(
    state: State, plan: Plan, counted: tuple[ReadingTaken, ...], wanted: set[str]
) -> tuple[ReadingTaken, ...]:
    """The readings of the solutions `wanted` in earlier steps at the bath, without those in `counted`."""
    begins = counted[0].at if counted else state.opened_at
    at_bath = {step.id for step in plan.steps if step.kind.traits.reads}
    earlier = (r for r in state.readings if r.of in wanted and r.at < begins and r.step in at_bath)
    return valid_readings(tuple(r for r in earlier if r not in counted))


def _read_in_range(state: State, of: str, range_c: tuple[float, float] | None) -> bool:
    reading = state.last_reading(of)
    if reading is None or reading.at < state.opened_at or range_c is None:
        return False
    return beside_range(reading.temperature_c, range_c) is None


@lru_cache(maxsize=2)
def _worked_out(ask: _Ask) -> TemperingForecast:
    pieces = _pieces(replace(ask, now_s=ask.from_s))
    last = pieces[-1]
    bench = last.fit.bench if last.fit is not None else last.bench
    bench_s = last.from_s + (last.fit.at_s if last.fit is not None else 0.0)
    if ask.now_s > bench_s:
        bench = later(bench, ask.now_s - bench_s)
    ahead = forecast(bench, HORIZON_S, POINT_EVERY_S)
    water = ask.setup.water
    # The fitted heat transfer of a bottle stays valid after water was added.
    logs = [piece.fit.transfer_logs for piece in pieces if piece.fit is not None]
    known = tuple(map(min, zip(*logs, strict=True))) if logs else (GUESSED_LOG,) * len(ask.places)
    uncertainty = Uncertainty(known, ask.setup.thermometer_error_c)
    found = warming(
        bench, tuple(place.range_c for place in ask.places), water.hot_c, water.cold_c, ahead, uncertainty
    )
    words = answers_in_words(found, ask.units, tuple(p.in_range for p in ask.places if p.range_c is not None))
    measured = any(piece.fit is not None and piece.fit.measured - {BATH} for piece in pieces)
    basis, reason = _basis(len(ask.readings), measured)
    return TemperingForecast(
        lines=_lines(ask, pieces, ahead, _ahead_s(found.ready_s, found.leaves_range_s)),
        now_s=ask.now_s,
        ready_s=found.ready_s,
        leaves_s=found.leaves_range_s,
        measured=measured,
        words=tuple(map(sentence, (*words, f"{basis}{reason}"))),
        unit=ask.units.temperature,
        short=tuple(map(sentence, (*_most_needed(ask, words), basis))),
    )


def _most_needed(ask: _Ask, words: tuple[str, ...]) -> tuple[str, ...]:
    """The sentence of the bottle with the narrowest range, and that on the water to add.

    `words` has one sentence for each range, one for all together where there are several, then the water.
    """
    widths = [_width(place.range_c) for place in ask.places if place.range_c is not None]
    together = 1 if len(widths) > 1 else 0
    return (words[widths.index(min(widths))], *words[len(widths) + together :])


class _Piece(Struct, frozen=True):
    """A period in which no water was added: the bench at its start, and the fit to its readings or None."""

    from_s: float
    bench: TemperingBench
    fit: Refit | None


@lru_cache(maxsize=2)
def _pieces(ask: _Ask) -> tuple[_Piece, ...]:
    """The periods of the tempering: a new one begins where the bath was read far from its forecast."""
    names = {BATH: BATH, **{place.of: place.title for place in ask.places}}
    pieces = []
    from_s, bench, error_c = ask.from_s, _first_bench(ask), ask.setup.thermometer_error_c
    here: list[BenchReading] = []
    for reading in ask.readings:
        if reading.of == BATH and reading.at > from_s:
            fit = refit(bench, tuple(here), error_c) if here else None
            expected, since_s = (bench, from_s) if fit is None else (fit.bench, from_s + fit.at_s)
            now = later(expected, reading.at - since_s) if reading.at > since_s else expected
            if abs(now.bath_c - reading.temperature_c) > WATER_ADDED_C:
                pieces.append(_Piece(from_s, bench, fit))
                from_s, bench, here = reading.at, replace(now, bath_c=reading.temperature_c), []
        here.append(BenchReading(reading.at - from_s, names[reading.of], reading.temperature_c))
    pieces.append(_Piece(from_s, bench, refit(bench, tuple(here), error_c) if here else None))
    return tuple(pieces)


def _first_bench(ask: _Ask) -> TemperingBench:
    """The bench with the first readings; places without one as earlier readings imply, else as in the setup."""
    bench = bench_of(ask.setup, tuple((place.of, place.title) for place in ask.places), ask.first_bath_c)
    bottles = tuple(place.of for place in ask.places)
    if ask.before:
        began = zip(ask.places, bench.bottles, strict=True)
        new = {place.of: bottle.temperature_c for place, bottle in began if place.new}
        bench = as_read(through(bench, bottles, ask.before, ask.from_s), bottles, new)
    return as_read(bench, bottles, {r.of: r.temperature_c for r in reversed(ask.readings)})


def _lines(ask: _Ask, pieces: tuple[_Piece, ...], ahead: Forecast, ahead_s: float) -> tuple[PlotLine, ...]:
    """Past and forecast of each bottle and of the bath, as curves; the narrowest range first."""
    ends_s = (*(piece.from_s for piece in pieces[1:]), ask.now_s)
    past = (row for piece, end_s in zip(pieces, ends_s, strict=True) for row in _past_rows(piece, end_s))
    rows = [row for row in past if ask.now_s - LOOK_BACK_S <= row[0] < ask.now_s]
    rows += [row for row in _rows(ahead, ask.now_s) if row[0] <= ask.now_s + ahead_s]
    lines = [
        PlotLine(
            place.title,
            tuple((at_s, round(values[number], 2)) for at_s, values in rows),
            tuple((r.at, r.temperature_c) for r in ask.readings if r.of == place.of),
            place.range_c,
        )
        for number, place in enumerate((*ask.places, _Place(BATH, "Warm bath")))
        if place.of == BATH or place.range_c is not None
    ]
    return tuple(sorted(lines, key=lambda line: _width(line.range_c)))


def _rows(curves: Forecast, from_s: float) -> Iterator[tuple[float, tuple[float, ...]]]:
    """Rows (session s, temperatures of the bottles and of the bath) of a forecast that begins at `from_s`."""
    for at_s, bath_c, *bottles_c in zip(curves.times_s, curves.bath_c, *curves.bottles_c, strict=True):
        yield from_s + at_s, (*bottles_c, bath_c)


def _past_rows(piece: _Piece, end_s: float) -> Iterator[tuple[float, tuple[float, ...]]]:
    """The rows of a past period until `end_s`, with the heat transfers fitted to its readings."""
    if end_s <= piece.from_s:
        return
    bench = piece.bench
    if piece.fit is not None:
        fitted = piece.fit.bench
        bottles = tuple(
            replace(bottle, ua_w_per_k=better.ua_w_per_k)
            for bottle, better in zip(bench.bottles, fitted.bottles, strict=True)
        )
        bench = replace(bench, bottles=bottles, ua_env_w_per_k=fitted.ua_env_w_per_k)
    yield from _rows(forecast(bench, end_s - piece.from_s, POINT_EVERY_S), piece.from_s)


def _ahead_s(enters_s: float | None, leaves_s: float | None) -> float:
    """How far ahead (s) the plot shows: past the end of the common range if that is near, else past its start."""
    wanted_s = 1800.0 if enters_s is None else enters_s + 900.0
    if leaves_s is not None and leaves_s <= 3600.0:
        wanted_s = max(wanted_s, leaves_s * 1.15)
    return next((minutes * 60.0 for minutes in AHEAD_MIN if minutes * 60.0 >= wanted_s), HORIZON_S)


def _basis(readings: int, measured: bool) -> tuple[str, str]:
    """The basis of the forecast in words, and the rest of that sentence for where there is room."""
    if measured:
        return f"Fitted to {readings} readings of yours", ""
    if readings:
        return "Still partly a guess", ": three readings of a bottle over two minutes or more measure it"
    return "A guess until readings come in", ": bottles and bucket are taken as usual ones"


def _width(range_c: tuple[float, float] | None) -> float:
    return range_c[1] - range_c[0] if range_c is not None else float("inf")


def bath_course(state: State, at: float) -> TemperingForecast | None:
    """The temperature of a running developer from its start to its end, for a following terminal.

    None where no developer runs whose time depends on readings, or where it was not read.
    """
    plan, step = state.plan, state.step
    if step is None:
        return None
    clock = state.clocks.get(step.id)
    if clock is None or clock.end_s is None or at < clock.t0 or not follows_readings(step):
        return None
    path = path_of(state, step, clock)
    if path is None:
        return None
    count = int(max(clock.end_s, at - clock.t0) / _COURSE_POINT_EVERY_S) + 2
    times_s = (number * _COURSE_POINT_EVERY_S for number in range(count))
    curve = tuple((clock.t0 + at_s, temperature_at(path, at_s)) for at_s in times_s)
    mine = (each for each in valid_readings(state.readings) if each.of == step.solution and each.at >= clock.t0)
    line = PlotLine(
        step.solution_title, curve, tuple((each.at, each.temperature_c) for each in mine), step.range_c
    )
    now = temperature(temperature_at(path, at - clock.t0), plan.unit)
    words = (f"{step.solution_title} about {now} now.",)
    return TemperingForecast((line,), at, None, None, True, words, plan.unit, words)
