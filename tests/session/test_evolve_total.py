"""`evolve` takes any event in any state: it never refuses, never crashes, and never runs its clock backward."""

from __future__ import annotations

from functools import reduce

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.session.small_evening import Evening, small_plan

from wetside.domain.session import events as e
from wetside.domain.session.state import State, evolve
from wetside.present.presenter import build_view

PLAN = small_plan()
STEPS = st.sampled_from([*(step.id for step in PLAN.steps), "no-such-step", ""])
TICKS = st.sampled_from([*(tick.id for step in PLAN.steps for tick in step.ticks), "no/such"])
NUMBERS = st.floats(allow_nan=True, allow_infinity=True)
AT = st.floats(min_value=0.0, max_value=1e7)
WALLS = st.sampled_from(["2024-03-01T19:00:00.000Z", "9999-12-31T23:59:59.000Z", "", "yesterday"])
TEXT = st.text(max_size=5)
SURE = st.sampled_from(["measured", "stated", "inferred", "unknown"])
CALLS = st.sampled_from(["ready", "drain", "over"])

ANY_EVENT: st.SearchStrategy[e.Event] = st.one_of(
    st.builds(
        e.SessionBegan, AT, TEXT, WALLS, st.just(0), TEXT, AT, TEXT, TEXT, st.just(PLAN), st.booleans(), AT, TEXT
    ),
    st.builds(e.SessionResumed, AT, WALLS, st.just(3600), TEXT, AT, TEXT, AT, st.just("same boot")),
    st.builds(e.ClockJumped, AT, st.sampled_from(["suspend", "wall step", "zone"]), NUMBERS),
    st.builds(e.StepOpened, AT, STEPS),
    st.builds(e.TickMade, AT, TICKS, SURE, TEXT),
    st.builds(e.TickUndone, AT, TICKS),
    st.builds(e.GateOverridden, AT, STEPS, TEXT, TEXT, TEXT),
    st.builds(e.ReadingTaken, AT, STEPS, st.sampled_from(["developer", "bath"]), NUMBERS, TEXT),
    st.builds(e.ClockStarted, AT, STEPS, AT),
    st.builds(e.ClockCorrected, AT, STEPS, NUMBERS, TEXT),
    st.builds(e.EndMoved, AT, STEPS, AT, AT, AT, TEXT),
    st.builds(e.PauseBegan, AT, STEPS),
    st.builds(e.PauseEnded, AT, STEPS),
    st.builds(e.DrainBegan, AT, STEPS, SURE),
    st.builds(e.DrainTakenBack, AT, STEPS),
    st.builds(e.StepEnded, AT, STEPS, NUMBERS, st.integers(0, 9)),
    st.builds(e.CueGiven, AT, STEPS, CALLS, AT),
    st.builds(e.CueMissed, AT, STEPS, CALLS, AT, TEXT),
    st.builds(e.CueAnswered, AT, STEPS, CALLS),
    st.builds(e.HoldBegan, AT),
    st.builds(e.HoldEnded, AT),
    st.builds(e.NoteAdded, AT, TEXT, st.sampled_from(["note", "dark", "look"]), st.none()),
    st.builds(e.SessionClosed, AT, st.sampled_from(["complete", "abandoned", "unknown"]), st.just(0), TEXT),
)


@given(st.lists(ANY_EVENT, max_size=25), st.booleans())
@settings(max_examples=300, deadline=None)
def test_evolve_accepts_any_events_in_any_order(events: list[e.Event], begun: bool) -> None:
    state = Evening(PLAN).state if begun else State()
    for event in events:
        before = state
        state = evolve(state, event)
        assert state.at >= before.at or isinstance(event, e.SessionBegan)
    assert reduce(evolve, events, Evening(PLAN).state if begun else State()) == state or _has_nan(events)


def _has_nan(events: list[e.Event]) -> bool:
    return "nan" in repr(events)


@given(st.lists(st.sampled_from(range(200)), max_size=40))
@settings(max_examples=40, deadline=None)
def test_view_can_be_built_for_every_state_at_any_time(after: list[int]) -> None:
    evening = Evening(PLAN)
    for seconds in after:
        if evening.state.current is None:
            break
        build_view(evening.state, evening.at + seconds)
        evening.pass_step()
    assert build_view(evening.state, evening.at).session == "s1"
