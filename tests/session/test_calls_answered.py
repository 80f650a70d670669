"""What SPACE and ENTER do when they answer calls, at whatever moment and in whatever state: nothing else."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.session.guides import in_bath, in_developer, is_developer, remaining
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import SETUPS, shipped_plan

from wetside.domain.session import events as e
from wetside.domain.session.cues import ANSWERED_S, SHOWN_S, all_cues
from wetside.domain.session.gates import AT_ONCE_S, drain_lead_s
from wetside.present.prompts import Choice, Number

LATEST_S = 15.0
"""A person with both hands on the tank answers a call so late."""

LETTERS = "awltesugihpndrvkq"
RANDOM_KEYS = st.sampled_from(["space", "space", "enter", "enter", "backspace", *LETTERS, *"0123456789.,-"])
PRESSES = st.lists(st.tuples(RANDOM_KEYS, st.sampled_from([0.2, 0.5, 1.3, 4.0, 11.0])), max_size=25)
ANSWERS = st.lists(
    st.lists(st.tuples(st.sampled_from(["space", "enter"]), st.floats(0.3, 4.0)), max_size=8), max_size=12
)


def early_s(guide: Guide, event: e.DrainBegan) -> float:
    """By how much pouring out began before its moment."""
    state = guide.state
    clock = state.clocks[event.step]
    assert clock.end_s is not None
    return clock.t0 + clock.paused_s + clock.end_s - drain_lead_s(state.plan.step(event.step)) - event.at


def kept(guide: Guide) -> list[e.Event]:
    event_sink = guide.controller._event_sink
    return event_sink.events  # type: ignore[attr-defined, no-any-return]  # the tests' own event sink


def wait_for_call(guide: Guide) -> bool:
    """Until the next call is made; False where none comes."""
    now = guide.now
    coming = [cue.at for cue in all_cues(guide.state) if cue.at > now]
    if not coming:
        return False
    guide.wait(min(coming) - now + 0.3)
    return True


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(setup=st.sampled_from(SETUPS), after_s=st.floats(1.0, 150.0), keys=PRESSES, answers=ANSWERS)
def test_answering_calls_with_space_and_enter_ends_no_developer_early(
    setup: str, after_s: float, keys: list[tuple[str, float]], answers: list[list[tuple[str, float]]]
) -> None:
    guide = in_developer(setup)
    guide.wait(after_s)
    for key, gap_s in keys:
        guide.press(key)
        guide.wait(gap_s)
    for run in answers:
        state = guide.state
        if state.outcome is not None or not wait_for_call(guide):
            return
        before, answered_s = len(kept(guide)), 0.3
        for key, gap_s in run:
            answered_s += gap_s
            if answered_s > LATEST_S:
                break
            guide.wait(gap_s)
            guide.press(key)
        done = kept(guide)[before:]
        developing = state.current is not None and is_developer(shipped_plan(setup).step(state.current))
        if not developing:
            continue
        poured = [event for event in done if isinstance(event, e.DrainBegan)]
        for event in poured:
            assert early_s(guide, event) <= AT_ONCE_S, (event, run)
        if poured:
            return
        never = (e.StepEnded, e.SessionClosed, e.ClockCorrected, e.ReadingTaken, e.EndMoved)
        assert not [event for event in done if isinstance(event, never)], (done, run)
        ticked = [n for n, event in enumerate(done) if isinstance(event, e.TickMade)]
        # Only the call that asks for the lines due before the pour leaves SPACE to them, once it is answered.
        asked = [n for n, event in enumerate(done) if isinstance(event, e.CueAnswered) and event.call == "ready"]
        assert not ticked or (asked and asked[0] < ticked[0]), (done, run)


@dataclass
class LateGuide(Guide):
    """Answers every call with SPACE, 1 to 15 s late, whatever is on the screen then."""

    rng: random.Random = field(default_factory=lambda: random.Random(12))
    pending: list[tuple[float, str]] = field(default_factory=list)
    answers: int = 0

    def wait(self, seconds: float, poll_s: float = 0.5) -> None:
        """Time passes; calls are heard, and those heard before are answered."""
        while seconds > 0:
            step = min(poll_s, seconds)
            self.clock.advance(step)
            for cue in self.controller.poll():
                self.cues.append(cue.call)
                self.pending.append((self.controller.now() + self.rng.uniform(1.0, LATEST_S), cue.step))
            seconds -= step
            self._answer()

    def _answer(self) -> None:
        clocks, ended = self.controller.state.clocks, self.controller.state.ended
        # Who pours a bath out has answered all its calls.
        self.pending = [
            (at, step) for at, step in self.pending if step not in ended and clocks[step].drained_at is None
        ]
        due = [answer for answer in self.pending if answer[0] <= self.controller.now()]
        for answer in due:
            self.pending.remove(answer)
            before = len(self.event_sink.events)
            self.controller.press("space")
            self.answers += 1
            done = self.event_sink.events[before:]
            assert not [event for event in done if isinstance(event, e.TickMade | e.StepEnded | e.ClockStarted)], (
                done
            )
            for event in done:
                if isinstance(event, e.DrainBegan):
                    assert early_s(self, event) <= AT_ONCE_S, event


class LatePerson(Walker):
    """Does nothing else while a call waits for its answer, and pours out only when called to."""

    def step(self) -> bool:
        guide = self.guide
        assert isinstance(guide, LateGuide)
        if guide.pending or guide.keys.space == "pouring out now":
            guide.wait(1.0)
            return True
        return super().step()


@pytest.mark.parametrize("setup", SETUPS)
def test_late_answers_end_no_bath_and_confirm_no_item(setup: str) -> None:
    plan = shipped_plan(setup)
    begun = guide_for(plan)
    guide = LateGuide(begun.controller, begun.clock, begun.event_sink)
    LatePerson(guide).lead(30_000)
    state = guide.state
    assert state.outcome is not None
    assert guide.answers > 20
    developers = {step.id for step in plan.steps if is_developer(step)}
    poured = [event for event in guide.events if isinstance(event, e.DrainBegan)]
    assert developers <= {event.step for event in poured}
    assert all(early_s(guide, event) <= AT_ONCE_S for event in poured)
    assert all(event.early_s <= 0.0 for event in state.early)


# --- one at a time


def test_space_answers_a_call_until_ten_seconds_after_its_end() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("u", "enter")
    assert guide.keys.space == "confirms the marked line"
    guide.wait(6.0)
    assert guide.controller.cue_words() == "Turn it over."
    assert guide.keys.space == "answers the call"
    guide.press("space")
    assert guide.message == "Heard."
    assert [event.call for event in guide.events if isinstance(event, e.CueAnswered)] == ["agitate"]
    for _ in range(int(SHOWN_S + ANSWERED_S) - 3):
        guide.wait(1.0)
        assert guide.keys.space == ""
        assert not any(tick.up for tick in (*guide.view.ticks, *guide.view.meanwhile))
    guide.press("space", "enter")
    assert guide.state.clocks["b1.dev"].drained_at is None
    guide.wait(2.0)
    assert guide.keys.space == "confirms the marked line"


def test_running_developer_offers_no_key_that_ends_it() -> None:
    guide = in_bath(for_s=61.0)
    guide.wait(24.0)
    for _ in range(3):
        guide.press("space")
        guide.wait(1.2)
    assert (guide.keys.space, guide.keys.enter) == ("", "")
    guide.press("space")
    assert guide.message.endswith("To end it early: key e, or the menu.")
    guide.wait(1.5)
    guide.press("enter")
    assert guide.state.clocks["b1.dev"].drained_at is None


def test_a_call_over_an_open_panel_is_answered_before_the_panel_goes_on() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("e", "space", "space")
    panel = guide.panel
    assert isinstance(panel, Choice)
    assert guide.keys.enter == "chooses: Pour it out NOW, too early"
    guide.wait(7.0)
    assert (guide.keys.space, guide.keys.enter) == ("answers the call", "")
    guide.press("enter", "space")
    guide.wait(1.0)
    guide.press("space", "enter")
    assert guide.state.clocks["b1.dev"].drained_at is None
    assert guide.panel == panel
    guide.press("backspace")
    assert guide.panel is None


def test_other_keys_continue_number_entry_during_a_call() -> None:
    guide = in_bath(for_s=55.0)
    guide.press("t", "3", "8")
    guide.wait(7.0)
    guide.press("enter")
    assert isinstance(guide.panel, Number)
    guide.press(".", "1")
    guide.wait(1.0)
    guide.press("enter")
    assert [reading.text for reading in guide.state.readings][-1] == "38.1 °C"


def test_answering_an_earlier_call_does_not_pour_out() -> None:
    guide = in_bath()
    guide.wait(remaining(guide) - 11.0)
    assert guide.keys.space == "answers the call", "to get ready: pouring out would be a second early"
    guide.wait(1.5)
    assert guide.keys.space == "pouring out now"
    guide.press("space")
    assert guide.message == "Its time has come: SPACE when you start pouring the developer out."
    guide.wait(1.0)
    guide.press("space")
    assert guide.state.clocks["b1.dev"].drained_at is not None
