"""Given what has happened, when this is asked, then these events follow: every step kind, gate and clock."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.session.small_evening import Evening, changed, small_plan, tick

from wetside.domain.profile.model import Agitation
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.cues import agitation_periods, all_cues, overtaken, ready_ahead_s, schedule
from wetside.domain.session.gates import beside_range, blockers_now, follows_at_once, open_ticks
from wetside.domain.session.state import evolve
from wetside.errors import Refused
from wetside.present.action_effects import open_action
from wetside.present.announcements import announced
from wetside.present.developer_words import end_words
from wetside.present.presenter import build_view
from wetside.present.prompts import Choice


def kinds(events: tuple[e.Event, ...]) -> list[str]:
    return [event.kind for event in events]


def in_developer(for_s: float = 0.0, lead_in_s: float = 0.0) -> Evening:
    evening = Evening().goto("b1.dev")
    evening.start(lead_in_s)
    evening.at += for_s
    return evening


# ------------------------------------------------------------------ steps


def test_a_check_ends_when_all_its_ticks_are_made() -> None:
    evening = Evening()
    evening.tick("gear/thermometer", "gear/line-hung")
    assert kinds(evening.end()) == ["step_ended", "step_opened"]
    assert evening.here == "sound"


def test_critical_items_come_first_whatever_the_plan_order() -> None:
    plan = changed(
        small_plan(), "gear", ticks=(tick("gear/line", "gear"), tick("gear/meter", "gear", killer=True))
    )
    evening = Evening(plan)
    assert [t.id for t in open_ticks(evening.state, plan.step("gear"), "end")] == ["gear/meter", "gear/line"]
    assert [row.id for row in build_view(evening.state, 0.0).ticks] == ["gear/meter", "gear/line"]


def test_items_due_at_the_start_come_before_items_due_at_the_end() -> None:
    wash = Evening().goto("b1.wash")
    plan = changed(
        wash.plan,
        "b1.wash",
        ticks=(
            tick("b1.wash/clear", "b1.wash", killer=True),
            tick("b1.wash/side-found", "b1.wash", "start"),
            tick("b1.wash/read", "b1.wash", "start", killer=True),
        ),
    )
    rows = build_view(Evening(plan).goto("b1.wash").state, wash.at).ticks
    own = [row.id for row in rows if row.id in ("b1.wash/clear", "b1.wash/side-found", "b1.wash/read")]
    assert own == ["b1.wash/read", "b1.wash/side-found", "b1.wash/clear"]


def test_the_instruction_for_the_next_step_names_its_roll() -> None:
    evening = Evening().goto("b1.r1.stab")
    assert build_view(evening.state, evening.at).next == "Take the backing off: Second"


def test_drying_screen_says_that_the_guide_may_be_left() -> None:
    evening = Evening().goto("down")
    assert any("may be left" in fact for fact in build_view(evening.state, evening.at).facts)
    clock = evening.state.clocks["dry"]
    assert not any("may be left" in fact for fact in build_view(evening.state, clock.t0 + 3601.0).facts)


def test_the_step_for_looking_at_film_names_its_key_and_counts_the_rolls_noted() -> None:
    evening = Evening(changed(small_plan(), "down", stage="look")).goto("down")
    evening.at += 3600.0

    def facts() -> str:
        return " ".join(build_view(evening.state, evening.at).facts)

    def asked() -> tuple[str, ...]:
        panel = open_action(evening.state, "look", evening.at).panel
        assert isinstance(panel, Choice)
        return tuple(words for _, words in panel.options)

    assert "Key r" in facts()
    assert "0 of 2 noted" in facts()
    assert asked() == ("First", "Second")
    for said in ("thin", "thin again"):
        evening.do(c.AddNote(evening.at, said, "look", 1))
    assert "1 of 2 noted" in facts()
    assert asked() == ("First", "Second, noted")
    evening.do(c.AddNote(evening.at, "well", "look", 0))
    assert "Key r" not in facts()


def test_closed_session_names_the_roll_of_each_note() -> None:
    evening = Evening()
    evening.do(c.AddNote(evening.at, "Thin", "look", 1))
    evening.do(c.AddNote(evening.at, "A new funnel"))
    evening.do(c.Abandon(evening.at, "stopped"))
    assert build_view(evening.state, evening.at).facts[1:] == ("Second: Thin", "Note: A new funnel")


def test_a_tick_due_before_a_later_check_step_is_asked_there_and_not_before() -> None:
    evening = Evening()
    evening.tick("gear/thermometer", "gear/line-hung")
    evening.end()
    evening.goto("temper")
    view = build_view(evening.state, evening.at)
    assert [row.text for row in view.ticks] == ["Gloves", "Capped"]
    assert [row.text for row in view.ticks if row.up] == ["Gloves"]
    evening.read("developer", 38.0)
    with pytest.raises(Refused, match="First: Gloves"):
        evening.tick("temper/capped")
    evening.tick("gear/gloves", "temper/capped")
    evening.end()
    assert evening.here == "b1.load"


def test_a_reading_out_of_range_is_kept_and_the_next_one_counts() -> None:
    evening = Evening().goto("temper")
    for value_c in (36.0, 38.0):
        assert kinds(evening.read("developer", value_c)) == ["reading_taken"]
    assert [reading.temperature_c for reading in evening.state.readings[-2:]] == [36.0, 38.0]
    assert blockers_now(evening.state, evening.plan.step("temper"), evening.at)[0].key.startswith("tick:")


def test_a_reading_from_an_earlier_step_does_not_open_the_gate() -> None:
    evening = Evening().goto("temper")
    assert evening.state.readings[-2].of == "developer"
    shut = {
        blocker.key: blocker.why.code for blocker in blockers_now(evening.state, evening.plan.step("temper"), 1.0)
    }
    assert shut["reading:developer:temper"] == "not read"


@pytest.mark.parametrize(
    ("value_c", "side"), [(37.7, "too cold"), (37.76, None), (38.5, None), (39.04, None), (39.1, "too hot")]
)
def test_a_reading_shown_as_equal_to_a_limit_is_within_the_range(value_c: float, side: str | None) -> None:
    assert beside_range(value_c, (37.8, 39.0)) == side


def test_a_bath_of_another_fill_does_not_follow_the_developer_at_once() -> None:
    plan = small_plan()
    assert follows_at_once(plan, plan.step("b1.fix"))
    other = changed(plan, "b1.fix", batch=2)
    assert not follows_at_once(other, other.step("b1.fix"))


def test_items_due_at_the_end_of_a_dark_step_are_asked_in_the_next_step() -> None:
    plan = small_plan()
    extra = (*plan.step("b1.load").ticks, tick("b1.load/film-in", "b1.load"))
    evening = Evening(changed(plan, "b1.load", ticks=extra)).goto("b1.load")
    evening.tick("b1.load/display-closed")
    evening.start()
    assert build_view(evening.state, evening.at).dark
    evening.at += 200.0
    assert kinds(evening.do(c.EndStep(evening.at, "b1.load", keys_ignored=7))) == ["step_ended", "step_opened"]
    assert evening.here == "b1.lid"
    assert build_view(evening.state, evening.at).ticks[0].id == "b1.load/film-in"
    with pytest.raises(Refused, match="First: Film in"):
        evening.tick("b1.lid/locked")


def test_screen_is_drawn_while_loading_in_a_changing_bag() -> None:
    evening = Evening(small_plan(in_the_dark=False)).goto("b1.load")
    evening.tick("b1.load/display-closed")
    evening.start()
    view = build_view(evening.state, evening.at + 61.0)
    assert not view.dark
    assert view.clock is not None
    assert (view.clock.face, view.clock.digits) == ("up", "1:01")


def test_lead_in_counts_down_and_a_correction_keeps_the_first_start() -> None:
    evening = in_developer(lead_in_s=5.0)
    clock = build_view(evening.state, evening.at + 2.0).clock
    assert clock is not None
    assert (clock.face, clock.seconds) == ("lead-in", 3)
    evening.at += 30.0
    first = evening.state.clocks["b1.dev"].t0
    assert kinds(evening.do(c.CorrectClock(evening.at, "b1.dev", 10.0)))[0] == "clock_corrected"
    assert evening.state.clocks["b1.dev"].t0 == first - 10.0
    assert evening.state.clocks["b1.dev"].first_t0 == first
    assert evening.state.deviations == 1


def test_an_on_time_bath_that_overruns_counts_up_in_words_and_is_a_deviation() -> None:
    evening = in_developer()
    end_s = evening.state.clocks["b1.dev"].end_s or 0.0
    view = build_view(evening.state, evening.at + end_s + 20.0)
    assert view.clock is not None
    # Counted from the moment hands should have begun, 10 s before the end.
    assert (view.clock.face, view.clock.seconds) == ("over", 30)
    assert view.clock.words == "OVER its time: it was to be poured out"
    called = build_view(evening.state, evening.at + end_s - 4.0).clock
    assert called is not None
    assert (called.face, called.seconds, called.words) == ("over", 6, "past its moment to be poured out")
    assert view.act == "Pour the developer out now."
    evening.at += end_s + 20.0
    evening.do(c.BeginDrain(evening.at, "b1.dev"))
    evening.at += 10.0
    ended = [event for event in evening.end() if isinstance(event, e.StepEnded)]
    assert ended[0].early_s == pytest.approx(-30.0)
    assert evening.state.deviations == 1


def test_a_bath_with_a_minimum_says_that_it_may_go_on_and_that_is_no_deviation() -> None:
    evening = Evening().goto("b1.fix")
    evening.tick("b1.fix/developer-away")
    evening.start()
    view = build_view(evening.state, evening.at + 400.0)
    assert view.clock is not None
    assert view.clock.words == "past its minimum: it may go on"
    assert view.act == "You may pour the bleach-fix out now."
    evening.tick("b1.fix/developer-capped")
    evening.at += 900.0
    evening.do(c.BeginDrain(evening.at, "b1.fix"))
    evening.end()
    assert evening.state.deviations == 0


def test_between_two_baths_the_time_since_draining_is_shown_running() -> None:
    evening = Evening().goto("b1.fix")
    drained = evening.state.clocks["b1.dev"].drained_at
    assert drained is not None
    clock = build_view(evening.state, drained + 25.0).clock
    assert clock is not None
    assert (clock.seconds, clock.words) == (25, "since the developer was poured out")


def test_a_pausable_step_pauses_and_its_time_does_not_run_meanwhile() -> None:
    evening = Evening().goto("b1.wash")
    evening.tick("b1.wash/lid-off")
    evening.start()
    evening.at += 60.0
    evening.do(c.Pause(evening.at, "b1.wash"))
    evening.at += 500.0
    assert evening.state.clocks["b1.wash"].remaining(evening.at) == 120.0
    assert schedule(evening.state, evening.plan.step("b1.wash")) == ()
    evening.do(c.Unpause(evening.at, "b1.wash"))
    evening.at += 119.0
    evening.tick("b1.wash/funnel-rinsed", "b1.wash/runs-clear")
    with pytest.raises(Refused, match="Wash has not had its time"):
        evening.end()
    evening.at += 1.0
    evening.end()


# -------------------------------------------------------- background steps


def test_the_times_of_two_pauses_add_up() -> None:
    evening = Evening().goto("b1.wash")
    evening.tick("b1.wash/lid-off")
    evening.start()
    for pause_s in (10.0, 20.0):
        evening.do(c.Pause(evening.at, "b1.wash"))
        evening.at += pause_s
        evening.do(c.Unpause(evening.at, "b1.wash"))
        evening.at += 5.0
    clock = evening.state.clocks["b1.wash"]
    assert (clock.paused_s, clock.elapsed(evening.at)) == (30.0, 10.0)


def test_a_background_bath_runs_on_while_the_guide_shows_the_next_step() -> None:
    evening = Evening().goto("b1.r1.stab")
    evening.tick("b1.r1.stab/jar-full")
    assert kinds(evening.start()) == ["clock_started", "step_opened"]
    assert evening.here == "b1.r2.rub"
    assert [b.words for b in build_view(evening.state, evening.at + 19.0).background] == [
        "Stabiliser First: 0:41 to go"
    ]
    assert [b.words for b in build_view(evening.state, evening.at + 61.0).background] == [
        "Stabiliser First: time is up"
    ]
    calls = [cue for cue in all_cues(evening.state) if cue.step == "b1.r1.stab"]
    assert [(cue.call, announced(cue).text) for cue in calls] == [("ready", "Stabiliser: 1:00 is up.")]


def test_the_step_that_joins_a_background_step_says_that_it_waits_and_its_first_act_ends_it() -> None:
    evening = Evening().goto("b1.r1.hang")
    view = build_view(evening.state, evening.at)
    assert view.act.startswith("Wait for the clock: Stabiliser of First. Then: ")
    assert view.background == (), "its clock is the large one"
    assert view.clock is not None
    assert (view.clock.face, view.clock.digits, view.clock.words) == ("down", "0:55", "to go in the stabiliser")
    assert not any(row.up for row in view.ticks)
    evening.at += 55.0
    assert kinds(evening.do(c.MakeTick(evening.at, "b1.r1.hang/hung"))) == ["step_ended", "tick_made"]
    assert evening.state.ended["b1.r1.stab"] == evening.at
    assert build_view(evening.state, evening.at).background == ()


def test_the_step_that_joins_says_its_own_act_where_the_wait_is_set_aside() -> None:
    evening = Evening().goto("b1.r1.hang")
    evening.do(c.Override(evening.at, "b1.r1.hang", "time:b1.r1.stab", "Not needed tonight"))
    view = build_view(evening.state, evening.at)
    assert view.act == view.instruction
    assert [clock.words for clock in view.background] == ["Stabiliser First: 0:55 to go"]


def test_joining_step_opens_once_the_time_is_over() -> None:
    evening = Evening().goto("b1.r1.hang")
    evening.at += 300.0
    assert any(row.up for row in build_view(evening.state, evening.at).ticks)
    evening.tick("b1.r1.hang/hung")


def test_a_background_clock_nothing_joins_ends_with_the_session() -> None:
    plan = small_plan()
    plan = replace(plan, steps=tuple(step for step in plan.steps if step.id != "down"))
    evening = Evening(plan).goto("away")
    evening.tick("away/locked-up")
    assert kinds(evening.end()) == ["step_ended", "step_ended", "session_closed"]
    assert evening.state.outcome == "complete"


# ---------------------------------------------------------------- residues


def carried_by(evening: Evening, thing: str) -> set[str]:
    return {residue for on, residue in evening.state.residues if on == thing}


def test_undone_rinse_restores_the_residue() -> None:
    evening = Evening().goto("b1.wash")
    assert carried_by(evening, "funnel") == {"developer", "bleach-fix"}
    evening.tick("b1.wash/lid-off")
    evening.start()
    evening.tick("b1.wash/funnel-rinsed")
    assert carried_by(evening, "funnel") == set()
    evening.do(c.UndoTick(evening.at, "b1.wash/funnel-rinsed"))
    assert carried_by(evening, "funnel") == {"developer", "bleach-fix"}
    evening.at += 200.0
    evening.tick("b1.wash/runs-clear")
    with pytest.raises(Refused, match="Funnel rinsed"):
        evening.end()


def test_a_bath_poured_back_leaves_its_residue_on_what_it_goes_through() -> None:
    evening = Evening(changed(small_plan(), "b1.fix", back=("jug",))).goto("b1.fix")
    assert carried_by(evening, "jug") == set()
    evening.goto("b1.wash")
    assert carried_by(evening, "jug") == {"bleach-fix"}


def test_the_second_batch_may_use_the_funnel_once_its_rinse_is_ticked() -> None:
    evening = Evening().goto("b2.dev")
    assert kinds(evening.start())[0] == "clock_started"


# --------------------------------------------------- overrides, notes, ends


def test_an_overridden_gate_stays_on_screen_to_the_end_and_is_a_deviation() -> None:
    evening = Evening()
    evening.tick("gear/line-hung", "gear/gloves")
    evening.do(c.Override(evening.at, "gear", "tick:gear/thermometer", "it broke"))
    evening.end()
    sentence = "Against the rule: Thermometer (it broke)"
    while evening.state.current is not None:
        assert [each.words for each in build_view(evening.state, evening.at).standing] == [sentence]
        evening.pass_step()
    view = build_view(evening.state, evening.at)
    assert [each.words for each in view.standing] == [sentence]
    assert view.closed == "complete with deviations (1)"


def test_a_minimum_time_overridden_with_a_reason_lets_the_bath_be_poured_out() -> None:
    evening = Evening().goto("b1.fix")
    evening.tick("b1.fix/developer-away")
    evening.start()
    evening.at += 60.0
    evening.do(c.Override(evening.at, "b1.fix", "time:b1.fix", "a test strip"))
    assert kinds(evening.do(c.BeginDrain(evening.at, "b1.fix"))) == ["drain_began"]


def test_a_tick_can_be_taken_back_and_made_again() -> None:
    evening = Evening()
    evening.tick("gear/line-hung")
    evening.do(c.UndoTick(1.0, "gear/line-hung"))
    assert evening.state.ticks == {}
    evening.tick("gear/line-hung")
    assert list(evening.state.ticks) == ["gear/line-hung"]
    with pytest.raises(Refused, match="Already confirmed: Line hung"):
        evening.tick("gear/line-hung")


def test_hold_stops_the_guide_but_not_the_clocks() -> None:
    evening = in_developer(for_s=30.0)
    left = evening.state.clocks["b1.dev"].remaining(evening.at) or 0.0
    evening.do(c.Hold(evening.at))
    calls = [(cue.call, cue.at) for cue in all_cues(evening.state)]
    assert build_view(evening.state, evening.at).held
    evening.at += 40.0
    evening.read("developer", 38.0)
    assert evening.state.clocks["b1.dev"].remaining(evening.at) == pytest.approx(left - 40.0, abs=0.5)
    evening.do(c.Release(evening.at))
    assert not build_view(evening.state, evening.at).held
    assert len(calls) == len(all_cues(evening.state))


def test_abandoning_ends_every_clock_and_closes_the_record() -> None:
    evening = Evening().goto("b1.r2.rub")
    evening.start()
    assert kinds(evening.do(c.Abandon(evening.at, "tired"))) == ["step_ended", "step_ended", "session_closed"]
    assert (evening.state.outcome, evening.state.closed_reason) == ("abandoned", "tired")
    assert set(evening.state.clocks) <= set(evening.state.ended)
    evening.do(c.AddNote(evening.at + 60, "roll 1 looks thin", "look", 0))
    assert evening.state.notes[-1].roll == 0


# ------------------------------------------------------------------- calls


def test_the_calls_of_a_bath_are_at_their_planned_moments() -> None:
    evening = in_developer()
    clock = evening.state.clocks["b1.dev"]
    end = clock.t0 + (clock.end_s or 0.0)
    cues = all_cues(evening.state)
    agitate = [cue.at - clock.t0 for cue in cues if cue.call == "agitate"]
    assert 235.0 < end - clock.t0 < 245.0
    assert agitate == [0.0, 60.0, 90.0, 120.0, 150.0, 180.0, 210.0]
    rest = [(cue.call, round(cue.at - clock.t0, 6), announced(cue).text) for cue in cues if cue.call != "agitate"]
    over = round(end - clock.t0, 6)
    # Thirty seconds before the end would be 4.8 s before the last agitation: one bell and two are heard as three.
    assert rest == [
        ("ready", 205.0, "Get ready to pour the developer out, then Bleach-fix."),
        ("drain", over - 10.0, "Pour the developer out now."),
        ("over", over, "The developer is over its time: pour it out."),
    ]
    evening.at = end
    evening.do(c.BeginDrain(end, "b1.dev"))
    assert all_cues(evening.state) == ()


def test_the_instruction_says_when_to_agitate_and_when_to_let_the_tank_stand() -> None:
    evening = in_developer()
    clock = evening.state.clocks["b1.dev"]
    end_s = clock.end_s or 0.0

    def act(elapsed_s: float) -> str:
        return build_view(evening.state, clock.t0 + elapsed_s).act

    def left(elapsed_s: float) -> str:
        shown = build_view(evening.state, clock.t0 + elapsed_s).clock
        assert shown is not None
        return shown.digits

    words = "Turn it over."
    assert act(0.0) == f"Pour the developer in and cap the tank. Until {left(30.0)} is left: {words}"
    assert act(31.0) == f"Let the tank stand until {left(60.0)} is left."
    assert act(60.0) == f"Until {left(70.0)} is left: {words}"
    assert act(205.0) == "Get ready to pour the developer out."
    assert act(210.0) == f"Until {left(220.0)} is left: {words}"
    assert act(221.0) == "Get ready to pour the developer out."
    assert left(end_s - 15.0) == "0:05", "until pouring out begins, not until the tank is empty"
    assert act(end_s - 10.0) == "Pour the developer out now."


@given(end_s=st.floats(60.0, 1200.0))
def test_calls_of_a_bath_keep_the_least_distance(end_s: float) -> None:
    step = replace(small_plan().step("b1.dev"), agitation=Agitation(30.0, 30.0, 10.0, "Turn it over."))
    calls = [begins for begins, _ in agitation_periods(step, end_s)]
    calls += [end_s - ready_ahead_s(step, end_s), end_s - step.drain_lead_s, end_s]
    for one, other in pairwise(sorted(calls)):
        assert other - one >= 5.0 - 1e-6


def test_agitation_may_be_at_the_start_only() -> None:
    plan = changed(small_plan(), "b1.dev", agitation=Agitation(10.0, 0.0, 0.0, "Once."))
    evening = Evening(plan).goto("b1.dev")
    evening.start()
    assert [cue.call for cue in all_cues(evening.state)] == ["agitate", "ready", "drain", "over"]


@pytest.mark.parametrize(("every_s", "moments"), [(None, []), (300.0, [300.0, 600.0, 900.0])])
def test_dark_bells_ring_only_where_the_step_asks_for_them(every_s: float | None, moments: list[float]) -> None:
    evening = Evening(changed(small_plan(), "b1.load", bell_every_s=every_s)).goto("b1.load")
    evening.tick("b1.load/display-closed")
    evening.start()
    cues = all_cues(evening.state)
    assert [cue.at - evening.at for cue in cues][:3] == moments
    assert {cue.call for cue in cues} <= {"ready"}


def test_ready_call_comes_earlier_with_a_long_drain() -> None:
    plan = changed(small_plan(), "b1.dev", drain_lead_s=40.0)
    evening = Evening(plan).goto("b1.dev")
    evening.start()
    clock = evening.state.clocks["b1.dev"]
    calls = {cue.call: round(cue.at - clock.t0 - (clock.end_s or 0.0), 6) for cue in all_cues(evening.state)}
    # Fifteen seconds before pouring, and five more because an agitation begins there.
    assert calls["ready"] == pytest.approx(-60.23, abs=0.01)
    assert calls["drain"] == -40.0


# ------------------------------------------------------------ running dose


def test_a_reading_in_the_developer_moves_its_end_and_says_why() -> None:
    evening = in_developer(for_s=60.0)
    old_s = evening.state.clocks["b1.dev"].end_s or 0.0
    events = evening.read("developer", 37.0)
    assert kinds(events) == ["reading_taken", "end_moved"]
    move = evening.state.moves[-1]
    assert move.old_s == old_s
    assert move.new_s > old_s, "cooler takes longer"
    facts = build_view(evening.state, evening.at).facts
    assert any("37.0 °C" in fact and "±" in fact for fact in facts)


def test_a_reading_outside_the_table_leaves_the_end_and_says_so() -> None:
    evening = in_developer(for_s=60.0)
    old_s = evening.state.clocks["b1.dev"].end_s
    evening.read("developer", 45.0)
    assert evening.state.clocks["b1.dev"].end_s == old_s
    assert end_words(evening.plan, evening.state.moves[-1]).startswith("The end stays.")


def test_a_reading_before_the_pour_moves_no_end() -> None:
    evening = in_developer(for_s=2.0, lead_in_s=5.0)
    assert kinds(evening.read("developer", 38.2)) == ["reading_taken"]


def test_a_call_moved_into_the_past_is_made_unless_it_was_made_before() -> None:
    evening = in_developer()
    (ready,) = (cue for cue in all_cues(evening.state) if cue.call == "ready")
    evening.at = ready.at - 1.0
    corrected = evening.do(c.CorrectClock(evening.at, "b1.dev", 2.0, "2"))
    assert [cue.call for cue in overtaken(evening.state, evening.at)] == ["ready"]
    given = e.CueGiven(evening.at, "b1.dev", "ready", evening.at)
    assert kinds(corrected)[0] == "clock_corrected"
    assert overtaken(evolve(evening.state, given), evening.at) == ()


def test_a_reading_of_something_else_moves_nothing() -> None:
    evening = in_developer(for_s=60.0)
    assert kinds(evening.read("bath", 39.0)) == ["reading_taken"]
    evening.do(c.BeginDrain(evening.at, "b1.dev", early=True))
    assert kinds(evening.read("developer", 37.0)) == ["reading_taken"]


def test_the_closed_session_names_each_deviation_it_counts() -> None:
    evening = Evening(small_plan()).goto("b1.dev")
    evening.start()
    evening.at += 20.0
    evening.do(c.CorrectClock(evening.at, "b1.dev", 5.0, "5 s"))
    evening.at += 60.0
    evening.do(c.BeginDrain(evening.at, "b1.dev", early=True))
    evening.at += 10.0
    evening.end()
    evening.do(c.Abandon(evening.at, "tired"))
    view = build_view(evening.state, evening.at)
    assert evening.state.deviations == 2
    assert [each.words for each in view.standing] == [
        "Developer, batch 1: poured out 2:20 too early",
        "Developer, batch 1: its clock was 0:05 late",
    ]
