"""The developer's temperature while it runs, for whoever watches from a second terminal. Pure."""

from __future__ import annotations

from typing import Final

from wetside.domain.calc.running_dose import temperature_at
from wetside.domain.calc.wording import temperature
from wetside.domain.session.developer import follows_readings, path_of
from wetside.domain.session.readings import reckoned
from wetside.domain.session.state import State
from wetside.present.temperature_plot import PlotLine
from wetside.present.tempering_forecast import TemperingForecast

_POINT_EVERY_S: Final = 5.0


def bath_course(state: State, at: float) -> TemperingForecast | None:
    """The curve from its start to its end, with what was read in it; None where none runs, or none was read."""
    plan = state.plan
    if plan is None or state.current is None:
        return None
    step, clock = plan.step(state.current), state.clocks.get(state.current)
    if clock is None or clock.end_s is None or at < clock.t0 or not follows_readings(step):
        return None
    path = path_of(state, step, clock)
    if path is None:
        return None
    points = int(max(clock.end_s, at - clock.t0) / _POINT_EVERY_S) + 2
    curve = tuple((n * _POINT_EVERY_S, temperature_at(path, n * _POINT_EVERY_S)) for n in range(points))
    mine = (each for each in reckoned(state.readings) if each.of == step.solution and each.at >= clock.t0)
    read = tuple((each.at, each.temperature_c) for each in mine)
    on_the_clock = tuple((clock.t0 + at_s, value_c) for at_s, value_c in curve)
    line = PlotLine(step.solution_title, on_the_clock, read, step.range_c)
    words = (f"{step.solution_title} about {temperature(temperature_at(path, at - clock.t0), plan.unit)} now.",)
    return TemperingForecast((line,), at, None, None, True, words, plan.unit, words)
