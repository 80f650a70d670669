"""Where a stepped temperature begins: near the last reading or below the range, and never in range unasked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.session.small_evening import small_plan

from wetside.domain.planning.plan import Plan, PlannedReading, WaterPlan
from wetside.domain.planning.setup import TemperatureUnit
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State
from wetside.present.action_effects import FAR_C, reading_panel
from wetside.present.prompts import Number, to_celsius

LOW_C, HIGH_C = 37.8, 39.0


def evening(of: str, range_c: tuple[float, float] | None, unit: TemperatureUnit = "°C") -> Plan:
    """The small evening, its first measuring step asking for one thing."""
    plan = small_plan()
    first = next(step for step in plan.steps if step.readings and not step.timed)
    asked = replace(first, readings=(PlannedReading(of, "It", range_c),), solution=None, target_c=None)
    steps = tuple(asked if step.id == first.id else step for step in plan.steps)
    return replace(plan, steps=steps, unit=unit, water=WaterPlan(43.5, 8000.0, None, None, ()))


def suggested(plan: Plan, *read_c: float) -> float:
    """The first number that SPACE would put in, in °C."""
    step = next(step for step in plan.steps if step.readings and not step.timed)
    (ask,) = step.readings
    readings = tuple(ReadingTaken(float(n), "before", ask.of, value_c, "") for n, value_c in enumerate(read_c))
    panel = reading_panel(State(plan=plan, current=step.id, opened_at=100.0, readings=readings), step, 100.0)
    assert isinstance(panel, Number)
    assert panel.value is None, "nothing is in the field before a key is pressed"
    value_c = to_celsius(f"{panel.suggestion}", plan.unit)
    assert value_c is not None
    return value_c


def test_the_warm_bath_begins_at_the_plans_water() -> None:
    assert suggested(evening("bath", None)) == 43.5
    assert suggested(evening("bath", None), 41.2) == 41.2
    assert suggested(replace(evening("bath", None), water=None)) == 20.0
    assert suggested(evening("developer", None)) == 20.0


@pytest.mark.parametrize(
    ("read_c", "begins_c"),
    [
        (20.0, LOW_C - 0.2),
        (LOW_C - FAR_C - 0.1, LOW_C - 0.2),
        (LOW_C - FAR_C + 0.1, LOW_C - FAR_C + 0.1),
        (HIGH_C + FAR_C - 0.1, HIGH_C + FAR_C - 0.1),
        (50.0, LOW_C - 0.2),
        (LOW_C + 0.1, LOW_C - 0.2),
    ],
)
def test_a_far_last_reading_begins_just_below_the_range(read_c: float, begins_c: float) -> None:
    assert suggested(evening("developer", (LOW_C, HIGH_C)), read_c) == pytest.approx(begins_c)


@given(
    st.floats(20.0, 45.0),
    st.floats(0.3, 8.0),
    st.sampled_from(("°C", "°F")),
    st.none() | st.floats(0.0, 60.0),
)
def test_no_suggested_number_is_within_the_range(
    low_c: float, width_c: float, unit: TemperatureUnit, read_c: float | None
) -> None:
    plan = evening("developer", (low_c, low_c + width_c), unit)
    begins_c = suggested(plan, *(() if read_c is None else (read_c,)))
    if read_c is None or abs(begins_c - read_c) > 0.06 or low_c <= read_c <= low_c + width_c:
        assert begins_c < low_c


def test_what_is_unread_is_asked_first_and_then_what_was_read_longest_ago() -> None:
    plan = evening("developer", (LOW_C, HIGH_C))
    step = next(step for step in plan.steps if step.readings and not step.timed)
    asks = tuple(PlannedReading(of, of, (LOW_C, HIGH_C)) for of in ("developer", "bleach-fix", "stabiliser"))
    plan = replace(plan, steps=tuple(replace(s, readings=asks) if s.id == step.id else s for s in plan.steps))

    def next_of(*read: tuple[str, float]) -> str:
        readings = tuple(ReadingTaken(101.0 + n, step.id, of, value_c, "") for n, (of, value_c) in enumerate(read))
        state = State(plan=plan, current=step.id, opened_at=100.0, readings=readings)
        panel = reading_panel(state, plan.step(step.id), 200.0)
        assert panel is not None
        return panel.about

    assert next_of() == "developer"
    assert next_of(("developer", 30.0)) == "bleach-fix"
    assert next_of(("developer", 30.0), ("bleach-fix", 30.0)) == "stabiliser"
    assert next_of(("developer", 30.0), ("stabiliser", 30.0), ("bleach-fix", 38.0)) == "developer"
    assert next_of(("stabiliser", 30.0), ("developer", 30.0), ("bleach-fix", 30.0)) == "stabiliser"
