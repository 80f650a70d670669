"""Laws of the keyboard, tried at every moment of both shipped evenings at which a person would press a key."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable
from functools import cache, reduce
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace
from tests.session.decided import decided
from tests.session.walker import TWO_BATH, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.clocks import AskFirst
from wetside.domain.session.state import State, evolve
from wetside.errors import Refused
from wetside.present.action_effects import available
from wetside.present.actions import ACTIONS
from wetside.present.key_handler import bells_rung, current_key_state, keys, press_key
from wetside.present.key_state import KeyState, refused
from wetside.present.presenter import build_view, is_dark, next_tick
from wetside.present.prompts import Answer, Choice, Menu, Number, Page, Panel, Words, panel_keys, press_panel

GATES = (e.ClockStarted, e.StepEnded, e.DrainBegan, e.SessionClosed)
REPEAT_RATES_S = (1 / 30, 1 / 11)


class Moment(Struct, frozen=True):
    """A state, the hand over the keys, and the time."""

    state: State
    key_state: KeyState
    at: float

    @property
    def step(self) -> PlannedStep:
        assert self.state.current is not None
        return self.state.plan.step(self.state.current)


@cache
def walked(setup: str, one_answer: bool = False) -> tuple[tuple[Moment, ...], Moment]:
    """Every moment at which the walker looks at the screen, and the one after the end.

    one_answer: with one answer for a screen of plain lines.
    """
    guide = guide_for(shipped_plan(setup), one_answer=one_answer)
    walker = Walker(guide)
    found = []
    while walker.step():
        if guide.state.current is not None:
            found.append(Moment(guide.state, guide.controller.key_state, guide.now))
    return tuple(found), Moment(guide.state, guide.controller.key_state, guide.now)


def moments(setup: str, one_answer: bool = False) -> tuple[Moment, ...]:
    """Every moment at which the walker looks at the screen."""
    return walked(setup, one_answer)[0]


def one_of_each_step(setup: str) -> tuple[Moment, ...]:
    """The first lit moment in each step, and one with its clock running."""
    found: dict[tuple[str, bool], Moment] = {}
    for moment in moments(setup):
        found.setdefault((moment.step.id, moment.step.id in moment.state.clocks), moment)
    return tuple(moment for moment in found.values() if not is_dark(moment.state))


def pressed(moment: Moment, presses: Iterable[tuple[str, float]]) -> tuple[Moment, list[e.Event]]:
    """Keys, each after some seconds: where they lead, and what they did."""
    state, key_state, at = moment.state, moment.key_state, moment.at
    done: list[e.Event] = []
    for key, after_s in presses:
        at += after_s
        result = press_key(state, key_state, key, at)
        key_state = result.key_state
        if result.wish == "ring":
            key_state = bells_rung(state, key_state, 3, at)
        if result.command is None:
            continue
        try:
            events = decided(state, result.command)
        except AskFirst:
            continue
        except Refused as refusal:
            key_state = refused(key_state, str(refusal))
            continue
        done += events
        state = reduce(evolve, events, state)
        key_state = current_key_state(key_state, state, at)
    return Moment(state, key_state, at), done


def gates(events: list[e.Event], moment: Moment) -> int:
    """How many gates were passed; a background step that ends because it is joined is part of another's."""
    plan = moment.state.plan
    assert plan is not None
    return sum(
        isinstance(event, GATES) and not (isinstance(event, e.StepEnded) and plan.step(event.step).background)
        for event in events
        if not isinstance(event, e.SessionClosed)
    )


def starts_at_once(events: list[e.Event], moment: Moment) -> bool:
    """Whether these are the ENTER for the empty tank, and the next one, a second or more later, for what follows.

    The developer works in the film until then, so no other key stands between the two.
    """
    plan = moment.state.plan
    assert plan is not None
    if [type(event) for event in events] != [e.StepEnded, e.StepOpened, e.ClockStarted]:
        return False
    ended, _, started = events
    assert isinstance(ended, e.StepEnded)
    assert isinstance(started, e.ClockStarted)
    return plan.step(ended.step).ends == "on time" and started.at - ended.at >= 1.0


EVERY = [4, pytest.param(1, marks=pytest.mark.long)]
"""Every moment in the long form, each fourth of them in the short one."""


@pytest.mark.parametrize("every", EVERY)
@pytest.mark.parametrize(("setup", "one_answer"), [*((setup, False) for setup in TWO_BATH), ("three-rolls", True)])
@pytest.mark.parametrize("key", ["enter", "space"])
def test_one_key_alone_never_passes_more_than_one_gate(setup: str, key: str, one_answer: bool, every: int) -> None:
    rng = random.Random(f"{setup} {key}")
    passed = 0
    for moment in moments(setup, one_answer)[::every]:
        for pace in (REPEAT_RATES_S, (0.0, 0.3, 2.0), (5.0, 60.0, 400.0)):
            _, events = pressed(moment, [(key, rng.choice(pace)) for _ in range(12)])
            names = [type(event).__name__ for event in events]
            assert gates(events, moment) <= 1 or starts_at_once(events, moment), (moment.step.id, names)
            passed += gates(events, moment)
    assert passed > 20, "the keys hardly do anything here"


def ready_to_go_on() -> tuple[Moment, ...]:
    """With one answer for plain lines: each moment at which ENTER would confirm some and go on."""
    found = [m for m in moments("three-rolls", True) if not is_dark(m.state)]
    return tuple(m for m in found if keys(m.state, m.key_state, m.at).enter.startswith("confirms "))


def test_enter_that_confirms_lines_passes_one_gate_even_held_down_or_repeated() -> None:
    found = ready_to_go_on()
    assert len({moment.step.id for moment in found}) > 8
    for moment in found:
        for rate_s in (*REPEAT_RATES_S, 0.3, 2.0, 60.0):
            _, events = pressed(replace(moment, at=moment.at + 2.0), [("enter", rate_s)] * 30)
            made = [event for event in events if isinstance(event, (*GATES, e.TickMade))]
            assert gates(events, moment) == 1, (moment.step.id, events)
            assert len({event.at for event in made}) == 1, (moment.step.id, events)


@pytest.mark.parametrize("setup", TWO_BATH)
@pytest.mark.parametrize("key", ["enter", "space", "backspace"])
def test_a_key_held_down_acts_at_most_once(setup: str, key: str) -> None:
    for moment in one_of_each_step(setup):
        for rate_s in REPEAT_RATES_S:
            start = replace(moment, at=moment.at + 2.0)
            _, events = pressed(start, [(key, rate_s) for _ in range(60)])
            acts = [event for event in events if isinstance(event, (*GATES, e.TickMade, e.ReadingTaken))]
            assert len([a for a in acts if not isinstance(a, e.StepEnded)]) <= 1, (moment.step.id, acts)


@pytest.mark.parametrize("setup", TWO_BATH)
def test_a_critical_item_can_be_confirmed_only_after_a_second_on_screen(setup: str) -> None:
    asked = 0
    for moment in moments(setup):
        up = next_tick(moment.state, moment.step, moment.at)
        if up is None or not up.killer or up.asks != "yes" or is_dark(moment.state):
            continue
        fresh = replace(moment, key_state=KeyState(step=moment.step.id, opened_at=moment.at - 60))
        soon, events = pressed(fresh, [("enter", 0.0), ("space", 0.9)])
        assert events == []
        assert soon.key_state.message == f"Wait a second and read it, then SPACE: {up.text}."
        _, held = pressed(soon, [("space", 1 / 30)] * 200)
        assert not any(isinstance(event, e.TickMade) for event in held)
        _, read = pressed(soon, [("space", 0.2)])
        assert [event.tick for event in read if isinstance(event, e.TickMade)] == [up.id]
        asked += 1
    assert asked >= 15


@pytest.mark.parametrize("every_s", [0.3, 0.6, 0.9])
def test_repeated_taps_confirm_a_critical_item_after_a_second(every_s: float) -> None:
    moment = next(
        m
        for m in moments("three-rolls")
        if (up := next_tick(m.state, m.step, m.at)) and up.killer and m.key_state.panel is None
    )
    fresh = replace(moment, key_state=KeyState(step=moment.step.id, opened_at=moment.at - 60))
    _, events = pressed(fresh, [("enter", 0.0), *[("space", every_s)] * 4])
    assert len([event for event in events if isinstance(event, e.TickMade)]) >= 1


def does_something(moment: Moment, key: str) -> bool:
    """Whether the key changes anything but the message on the screen."""
    before = current_key_state(moment.key_state, moment.state, moment.at)
    result = press_key(moment.state, before, key, moment.at)
    after = result.key_state
    kept = (after.panel, after.moved, after.confirmed, after.far)
    return (
        result.command is not None
        or result.wish is not None
        or kept
        != (
            before.panel,
            before.moved,
            before.confirmed,
            before.far,
        )
    )


def assert_labels_are_true(moment: Moment) -> int:
    """Each large key does something if its label says so, a second later where it asks for that; else nothing."""
    shown = keys(moment.state, moment.key_state, moment.at)
    for key, label in (("space", shown.space), ("enter", shown.enter), ("backspace", shown.backspace)):
        acts = does_something(moment, key)
        if label and not acts:
            waited = replace(moment, key_state=current_key_state(moment.key_state, moment.state, moment.at))
            acts = does_something(replace(waited, at=moment.at + 1.1), key)
        assert acts is bool(label), (moment.step.id, key, label, moment.key_state.panel)
    return sum(bool(label) for label in (shown.space, shown.enter))


@pytest.mark.parametrize(("setup", "one_answer"), [*((setup, False) for setup in TWO_BATH), ("three-rolls", True)])
def test_a_label_is_shown_exactly_for_a_key_that_does_something(setup: str, one_answer: bool) -> None:
    lit = [moment for moment in moments(setup, one_answer) if not is_dark(moment.state)]
    # Keys that come within a quarter second of a new step are not taken, whatever they mean.
    shown = sum(assert_labels_are_true(replace(moment, at=moment.at + 0.5)) for moment in lit)
    assert shown > len(lit) / 5


@pytest.mark.parametrize("setup", TWO_BATH)
def test_a_label_is_shown_exactly_for_a_key_that_does_something_on_every_panel(setup: str) -> None:
    rng, seen = random.Random(setup), set()
    big, letters = ["space", "space", "enter", "backspace"], list("awlmtegndrkq0385,-x")
    for moment in one_of_each_step(setup):
        now = moment
        for _ in range(25):
            now, _ = pressed(now, [(rng.choice([*big, *letters]), rng.choice([0.4, 2.0]))])
            if is_dark(now.state) or now.state.current is None:
                break
            assert_labels_are_true(replace(now, at=now.at + 0.5))
            seen.add((type(now.key_state.panel).__name__, getattr(now.key_state.panel, "what", "")))
    assert len(seen) > 12, seen


@pytest.mark.parametrize("setup", TWO_BATH)
def test_a_letter_does_something_exactly_where_the_menu_offers_it(setup: str) -> None:
    offered = set()
    for moment in one_of_each_step(setup):
        later = replace(
            moment, at=moment.at + 0.5, key_state=replace(moment.key_state, panel=None, confirmed=False)
        )
        here = {action.id for action in available(later.state, later.at)}
        assert {action.id for action in ACTIONS if does_something(later, action.letter)} == here
        assert {"first aid", "safe way out"} <= here
        offered |= here
    assert len(offered) > 11


PRINTABLE = [chr(n) for n in range(33, 127)] + ["é", "ß", "字", "\u202e", "٣", "²", "\x00", "\x1b", "\t", "\x7f"]
STRANGE = ["escape", "f1", "up", "down", "ctrl+c", "tab", "pageup", "[A", "<paste>", "", "0123456789"]


@pytest.mark.parametrize("setup", TWO_BATH)
def test_five_hundred_stray_keys_change_nothing_in_any_step(setup: str) -> None:
    rng = random.Random(setup)
    for moment in one_of_each_step(setup):
        after, events = pressed(moment, [(rng.choice(PRINTABLE + STRANGE), rng.random()) for _ in range(500)])
        assert events == []
        assert after.state == moment.state
        assert build_view(after.state, after.at).step == moment.step.id
        keys(after.state, after.key_state, after.at)


@pytest.mark.parametrize("every", EVERY)
@pytest.mark.parametrize("setup", TWO_BATH)
def test_any_five_hundred_keys_never_crash_and_the_view_can_always_be_drawn(setup: str, every: int) -> None:
    rng = random.Random(setup)
    chosen = ["space", "enter", "backspace"] * 40 + PRINTABLE + STRANGE
    for moment in one_of_each_step(setup)[::every]:
        now = moment
        for _ in range(50):
            now, _ = pressed(now, [(rng.choice(chosen), rng.choice([0.0, 0.03, 0.4, 3.0])) for _ in range(10)])
            build_view(now.state, now.at)
            keys(now.state, now.key_state, now.at)


def dark_moment() -> Moment:
    return next(moment for moment in moments("three-rolls") if is_dark(moment.state))


def test_in_the_dark_only_the_leave_pair_acts_and_other_keys_are_counted() -> None:
    moment = dark_moment()
    rng = random.Random(1)
    stray = [rng.choice([*PRINTABLE, *STRANGE, "enter", "backspace"]) for _ in range(200)]
    after, events = pressed(moment, [(key, 0.5) for key in stray])
    assert events == []
    after, events = pressed(after, [("space", 1.0), ("x", 1.0), ("enter", 1.0), ("space", 1.0), ("space", 1.0)])
    assert events == []
    _, events = pressed(after, [("enter", 1.0)])
    ended = [event for event in events if isinstance(event, e.StepEnded)]
    assert [event.keys_ignored for event in ended] == [200 + 3 + 1]
    assert keys(moment.state, moment.key_state, moment.at).space == ""


def panels() -> tuple[Panel, ...]:
    """One of each, with an act behind it."""
    return (
        Menu(tuple(each for each in ACTIONS if each.id in ("first aid", "hold"))),
        Choice("safe way out", "Out", (), (("stay", "Stay"), ("abandon", "Abandon"))),
        Number("late", "Late?", "b1.developer", "s", 10.0, 5.0),
        Number("temperature", "Developer", "developer", "°C", 38.0, 0.2),
        Number("bells", "Heard?", "sound/bells", "bells", 1.0, 1.0, hidden="3"),
        Words("note", "A note", ""),
        Page("help", "Help", ("one", "two")),
    )


@pytest.mark.parametrize("panel", panels(), ids=lambda p: f"{type(p).__name__} {getattr(p, 'what', '')}")
def test_stray_keys_on_any_panel_change_nothing(panel: Panel) -> None:
    moment = next(
        m for m in moments("three-rolls") if m.step.id == "b1.developer" and m.state.clocks.get(m.step.id)
    )
    rng = random.Random(type(panel).__name__)
    start = replace(moment, key_state=replace(moment.key_state, panel=panel))
    after, events = pressed(start, [(rng.choice(PRINTABLE + STRANGE), rng.random()) for _ in range(500)])
    assert events == []
    assert after.state == moment.state


def shortest(moment: Moment, wanted: str, at_most: int, letters: str = "") -> int | None:
    """Fewest presses of the big keys (and the letters named) until something in `wanted` is on screen or done."""
    frontier = [replace(moment, at=moment.at + 2.0)]
    for count in range(1, at_most + 1):
        after = []
        for here in frontier:
            for key in ("backspace", "space", "enter", *letters):
                there, events = pressed(here, [(key, 0.3)])
                if _reached(there, events, wanted):
                    return count
                after.append(there)
        frontier = after
    return None


def _reached(moment: Moment, events: list[e.Event], wanted: str) -> bool:
    panel = moment.key_state.panel
    if wanted in ("first aid", "safe way out"):
        return panel is not None and getattr(panel, "what", "") == wanted
    return any(isinstance(event, e.ClockCorrected) and f"{event.by_s:.0f}" == wanted for event in events)


@pytest.mark.parametrize("setup", TWO_BATH)
def test_first_aid_takes_two_presses_and_the_safe_way_out_three(setup: str) -> None:
    for moment in one_of_each_step(setup):
        assert (shortest(moment, "first aid", 2) or 9) <= 2, moment.step.id
        assert (shortest(moment, "safe way out", 3) or 9) <= 3, moment.step.id


def earlier_on_screen(state: State, by_s: float) -> State:
    """The same with its step opened, and all before it ended, so much earlier."""
    ended = {step: at - by_s for step, at in state.ended.items()}
    return replace(state, opened_at=state.opened_at - by_s, ended=ended)


@pytest.mark.parametrize("by_s", ["5", "10", "30"])
def test_a_clock_started_late_can_be_corrected_in_three_presses(by_s: str) -> None:
    """Where it stood on the screen a minute before its clock began: a lateness that cannot be is asked about."""
    baths = [
        replace(moment, at=moment.at + 20.0, state=earlier_on_screen(moment.state, 60.0))
        for moment in one_of_each_step("three-rolls")
        if moment.step.kind is Kind.BATH and moment.step.id in moment.state.clocks
    ]
    assert len(baths) >= 3
    for moment in baths:
        assert shortest(moment, by_s, 3, "l") is not None, moment.step.id


def test_a_number_can_be_cleared_and_its_field_left_without_an_answer() -> None:
    panel: Panel | None = Number("temperature", "Developer", "developer", "°C", 38.0, 0.1)
    for key in ("space", "space", "3", "backspace", "backspace"):
        assert isinstance(panel, Number)
        after = press_panel(panel, key)
        assert not isinstance(after, Answer)
        panel = after
    assert panel is None


LARGE_KEYS = ("space", "enter", "backspace")
PRESSED, HELD = 1, 150
"""How often a key comes that is pressed once, and one that is held down for five seconds."""


def repeated(key: str, times: int) -> list[tuple[str, float]]:
    return [(key, 0.3), *[(key, REPEAT_RATES_S[0])] * (times - 1)]


def left_within(moment: Moment, acts: int) -> bool:
    """Whether the panel can be closed, with nothing recorded, by so many presses or holds of the large keys."""
    if moment.key_state.panel is None:
        return True
    for key, times in itertools.product(LARGE_KEYS, (PRESSED, HELD)) if acts else ():
        after, events = pressed(moment, repeated(key, times))
        if not events and left_within(after, acts - 1):
            return True
    return False


@pytest.mark.parametrize("panel", panels(), ids=lambda p: f"{type(p).__name__} {getattr(p, 'what', '')}")
@given(acts=st.lists(st.tuples(st.sampled_from(LARGE_KEYS), st.integers(1, 30)), max_size=4))
def test_two_presses_of_the_large_keys_leave_any_panel_without_an_effect(
    panel: Panel, acts: list[tuple[str, int]]
) -> None:
    moment = next(m for m in moments("three-rolls") if m.step.id == "b1.developer")
    there = replace(moment, key_state=replace(moment.key_state, panel=panel))
    for key, times in acts:
        after, events = pressed(there, repeated(key, times))
        if events or after.key_state.panel is None:
            break
        there = after
    assert left_within(there, 2)


def test_stepping_a_temperature_below_its_start_passes_the_choice_not_read() -> None:
    shown, panel = [], Number("temperature", "Developer", "developer", "°C", 38.0, 0.2)
    for key in ("space", "space", "backspace", "backspace", "backspace", "backspace", "space", "space"):
        after = press_panel(panel, key)
        assert isinstance(after, Number)
        shown.append(after.shown)
        panel = after
    assert shown == ["38.0 °C", "38.2 °C", "38.0 °C", "not read", "37.8 °C", "37.6 °C", "37.8 °C", "not read"]
    assert panel_keys(panel).enter == "leaves: nothing is kept"
    assert press_panel(panel, "enter") is None


@pytest.mark.parametrize("what", ["temperature", "late", "bells"])
def test_space_changes_no_typed_number(what: Literal["temperature", "late", "bells"]) -> None:
    typed = Number(what, "Developer", "developer", "°C", 38.0, 0.2, typed="7")
    assert press_panel(typed, "space") == typed, "SPACE, ENTER keeps what was typed"
    assert panel_keys(typed).space == ""
    assert press_panel(typed, "enter") == Answer(typed, "7")


def test_a_single_bell_can_be_answered() -> None:
    shown = [Number("bells", "How many?", "", "bells", 1.0, 1.0, typed=typed).shown for typed in ("1", "2")]
    assert shown == ["1 bell", "2 bells"]


def test_between_two_baths_at_most_two_ticks_are_asked() -> None:
    for setup in TWO_BATH:
        plan = shipped_plan(setup)
        for before, step in zip(plan.steps, plan.steps[1:], strict=False):
            if before.kind is step.kind is Kind.BATH and not step.background and not before.background:
                own = [t for t in step.ticks if (t.due_step, t.due_at) == (step.id, "start")]
                assert len(own) <= 2, step.id


def test_space_pressed_for_an_item_does_not_pour_out() -> None:
    """The minimum is reached while a line "while you wait" is marked: for a second SPACE only says so."""
    fixing = next(
        m for m in moments("three-rolls") if m.step.id == "b1.bleach-fix" and m.step.id in m.state.clocks
    )
    assert any(next_tick(fixing.state, fixing.step, fixing.at + s) is not None for s in range(60))
    clock = fixing.state.clocks[fixing.step.id]
    opens_at = clock.t0 + (clock.end_s or 0.0) - fixing.step.drain_lead_s
    moment = replace(fixing, at=opens_at)
    assert keys(moment.state, moment.key_state, opens_at + 0.1).space == "pouring out now"
    assert next_tick(moment.state, moment.step, opens_at + 0.1) is None
    warned, events = pressed(moment, [("space", 0.5)])
    assert events == []
    assert warned.key_state.message == "Its time has come: SPACE when you start pouring the bleach-fix out."
    _, events = pressed(warned, [("space", 0.8)])
    assert [type(event) for event in events] == [e.DrainBegan]


def test_commands_name_the_step_on_screen_only() -> None:
    """A key pressed just as the step changes cannot act on the step before."""
    for moment in one_of_each_step("three-rolls"):
        result = press_key(moment.state, replace(moment.key_state, moved=True), "enter", moment.at + 5.0)
        if isinstance(result.command, c.StartStep | c.EndStep):
            assert result.command.step == moment.step.id


@pytest.mark.parametrize("setup", TWO_BATH)
def test_enter_held_down_at_the_end_does_not_leave_the_closed_session(setup: str) -> None:
    closed = walked(setup)[1]
    state, at = closed.state, closed.at
    assert state.outcome is not None
    key_state = replace(closed.key_state, last_key="enter", last_at=at)
    for pace in (*REPEAT_RATES_S, 0.3, 2.0, 60.0):
        for _ in range(12):
            at += pace
            result = press_key(state, key_state, "enter", at)
            key_state = result.key_state
            assert result.wish is None
    assert keys(state, key_state, at).enter == ""
    key_state = press_key(state, key_state, "space", at + 1.0).key_state
    assert keys(state, key_state, at + 2.0).enter == "leaves"
    assert press_key(state, key_state, "enter", at + 2.0).wish == "leave"
