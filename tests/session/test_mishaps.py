"""A mishap in the light: what it means for the film, what to do now, and which bottle is doubtful from then on."""

from __future__ import annotations

from typing import get_args

import pytest
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.calc.developer_time import push_factor, stops_of
from wetside.domain.session import commands as c
from wetside.domain.session.events import MishapHappened, MishapId
from wetside.domain.session.mishaps import Finding, bath_work, choices_about, find
from wetside.domain.session.state import replay
from wetside.present.mishap_text import answers, mishap_lines, mishap_words, title_of
from wetside.present.prompts import Choice, Page

EVENINGS = {
    "two-bath": "three-rolls",
    "two-bath-prebath": "prebath-four-rolls",
    "three-bath": "three-bath-two-rolls",
    "motion-picture": "motion-picture-short-ends",
    "one-shot-reversal": "reversal-two-rolls",
}


def led(profile: str, step: str, for_s: float = 60.0, *, started: bool = True) -> Guide:
    """A shipped evening at this step of its profile, first fill: its clock has run `for_s`, or not begun."""
    plan = shipped_plan(EVENINGS[profile])
    wanted = next(each.id for each in plan.steps if each.of == step)
    guide = guide_for(plan).at_step(wanted)
    return guide.running(wanted, for_s=for_s) if started else guide


def found(guide: Guide, what: MishapId, about: str = "") -> Finding:
    state = guide.state
    return find(state, what, about, guide.now)


def page(guide: Guide, what: MishapId, about: str = "") -> str:
    state = guide.state
    step = state.plan.step(state.current or "")
    return "\n".join(mishap_lines(state.plan, step, found(guide, what, about)))


@pytest.mark.parametrize(
    ("profile", "roles"),
    [
        (
            "two-bath",
            {"developer": "developer", "bleach-fix": "bleach-fix", "stabiliser": "rinse", "water": "water"},
        ),
        ("two-bath-prebath", {"prebath": "before", "developer": "developer"}),
        ("three-bath", {"bleach": "bleach", "fixer": "fixer", "final-rinse": "rinse"}),
        ("motion-picture", {"prebath": "before", "stop": "between", "bleach": "bleach", "fixer": "fixer"}),
        ("one-shot-reversal", {"first-developer": "developer", "reversal": "between", "bleach": "bleach"}),
    ],
)
def test_the_role_of_a_solution_follows_from_the_plan(profile: str, roles: dict[str, str]) -> None:
    plan = shipped_plan(EVENINGS[profile])
    assert {solution: bath_work(plan, solution) for solution in roles} == roles


def test_every_case_of_a_mishap_has_words_with_their_source() -> None:
    assert {what for what, _ in answers()} == {what for what in get_args(MishapId) if title_of(what)}
    for (_, case), answer in answers().items():
        assert answer.do, case
        assert answer.film, case
        assert answer.source, case
        assert ("no print" in answer.source) == (answer.sure.value == "from memory"), case
        assert ("no source" in answer.source) == (answer.sure.value == "common practice"), case


@pytest.mark.parametrize("profile", EVENINGS)
def test_at_every_step_of_every_evening_every_mishap_has_its_page(profile: str) -> None:
    """Every case that can come up has words; a page tells what to do first and where it comes from."""
    guide = guide_for(shipped_plan(EVENINGS[profile]))
    walker, seen = Walker(guide), set[tuple[str, str]]()
    at = ""
    while guide.state.outcome is None:
        state = guide.state
        key = f"{state.current} {state.current in state.clocks}"
        if key != at and state.current is not None:
            at, step = key, state.plan.step(state.current)
            for what in get_args(MishapId):
                for about in choices_about(state, what) or ("",):
                    found_ = find(state, what, about, guide.now)
                    lines = mishap_lines(state.plan, step, found_)
                    assert lines[0].startswith("1. ")
                    assert any(line.startswith("How sure: ") for line in lines)
                    assert not any("{" in line for line in lines)
                    assert len(mishap_words(state.plan, MishapHappened(0.0, step.id, what, "", about, ()))) <= 150
                    seen.add((found_.what, found_.case))
        if not walker.step():
            break
    assert len(seen) >= 25


def test_the_stops_found_from_a_push_factor_are_those_of_the_push() -> None:
    """The rows of the two-bath profile; half a stop between its rows comes out as half a stop."""
    table = ((0.0, 1.0), (1.0, 1.25), (2.0, 1.5), (3.0, 2.0))
    for stops in (0.0, 0.25, 0.5, 1.0, 1.7, 3.0):
        found_ = stops_of(table, push_factor(table, stops))
        assert found_ is not None
        assert found_[0] == pytest.approx(stops)
        assert not found_[1]
    assert stops_of(table, 2.5) == (3.0, True)
    assert stops_of((), 1.5) is None


def test_an_overrun_is_given_in_stops_of_the_profiles_push_table() -> None:
    """A developer left in for a quarter longer than planned: the table's row of 1 stop is 1.25 times the time."""
    guide = led("two-bath", "developer")
    step = guide.state.plan.step(guide.state.current or "")
    clock = guide.state.clocks[step.id]
    assert clock.end_s is not None
    assert found(guide, "overrun").case == "in time"
    guide.wait(clock.t0 + 1.25 * clock.end_s - guide.now)
    over = found(guide, "overrun").over
    assert over is not None
    assert over.stops == pytest.approx(1.0, abs=0.02)
    assert "as a push of about 1.0 stops" in page(guide, "overrun")
    assert "pour it out now" in page(guide, "overrun")
    guide.wait(clock.t0 + 3.0 * clock.end_s - guide.now)
    assert "more than 3.0 stops" in page(guide, "overrun")


def test_without_a_push_table_no_stops_are_given() -> None:
    guide = led("motion-picture", "developer", for_s=400.0)
    over = found(guide, "overrun").over
    assert over is not None
    assert over.stops is None
    assert "no push table" in page(guide, "overrun")


def test_more_than_a_minimum_time_does_no_harm() -> None:
    """Z-131, table 4-1 (read in print): the times of bleach, fixer and rinse are minimums."""
    guide = led("two-bath", "bleach-fix", for_s=900.0)
    assert found(guide, "overrun").case == "minimum"
    assert "Z-131" in page(guide, "overrun")


def test_beside_a_later_bath_the_developers_overrun_is_a_sentence_of_its_own() -> None:
    on_time = led("two-bath", "bleach-fix")
    assert "before it" not in page(on_time, "overrun"), "a second or two are none"
    late = led("two-bath", "developer", for_s=900.0)
    late.running("b1.bleach-fix", for_s=60.0)
    told = page(late, "overrun")
    assert "runs to its end and stops. But the developer before it went over its time by " in told
    assert "more than 3.0 stops" in told


def test_bleach_fix_poured_instead_of_developer_ruins_the_film_and_not_the_developer() -> None:
    guide = led("two-bath", "developer")
    now = found(guide, "wrong bath", "bleach-fix")
    assert (now.case, now.suspects) == ("fixer first", ())
    assert "pictures are gone" in page(guide, "wrong bath", "bleach-fix")
    assert "Do not develop this fill" in page(guide, "wrong bath", "bleach-fix")


def test_developer_poured_instead_of_bleach_fix_is_an_overrun_that_goes_on() -> None:
    guide = led("two-bath", "bleach-fix", for_s=60.0)
    now = found(guide, "wrong bath", "developer")
    assert now.case == "developer again"
    assert now.over is not None
    assert 45.0 < now.over.over_s < 75.0
    assert now.over.stops is not None
    assert 0.5 < now.over.stops < 1.6
    assert "Pour it out NOW" in page(guide, "wrong bath", "developer")


@pytest.mark.parametrize(
    ("profile", "step", "about", "case", "suspects"),
    [
        ("three-bath", "bleach", "fixer", "fixer before bleach", ()),
        ("three-bath", "fixer", "developer", "bleached, developer", ("developer",)),
        ("three-bath", "fixer", "bleach", "again", ()),
        ("three-bath", "final-rinse", "developer", "fixed, developer", ("developer",)),
        ("three-bath", "developer", "bleach", "bleach first", ()),
        ("three-bath", "developer", "final-rinse", "undeveloped, other", ()),
        ("one-shot-reversal", "first-developer", "colour-developer", "wrong developer", ("colour-developer",)),
        ("two-bath-prebath", "prebath", "developer", "developer at once", ("developer",)),
    ],
)
def test_the_case_of_a_wrong_bath_follows_from_its_role_and_the_baths_before(
    profile: str, step: str, about: str, case: str, suspects: tuple[str, ...]
) -> None:
    now = found(led(profile, step, started=step != "final-rinse"), "wrong bath", about)
    assert (now.case, now.suspects) == (case, suspects)


@pytest.mark.parametrize(
    ("profile", "step", "case"),
    [
        ("two-bath", "lid", "undeveloped"),
        ("two-bath", "developer", "developing"),
        ("two-bath", "bleach-fix", "bleached"),
        ("two-bath", "wash", "safe"),
        ("two-bath", "chemistry", "not loaded"),
        ("one-shot-reversal", "first-developer", "developing"),
        ("one-shot-reversal", "reversal", "reversed"),
        ("three-bath", "fixer", "bleached"),
    ],
)
def test_the_harm_of_light_follows_from_the_baths_done(profile: str, step: str, case: str) -> None:
    started = step not in ("lid", "chemistry")
    assert found(led(profile, step, started=started), "lid off").case == case


def test_an_omitted_bath_is_made_up_for_where_that_is_possible() -> None:
    """TG2044-1 (read in print): retained silver and halide are taken out by bleach and fixer, later too."""
    guide = led("three-bath", "fixer")
    plan = guide.state.plan
    bleach, wash = (next(s.id for s in plan.steps if s.of == of) for of in ("bleach", "bleach-wash"))
    assert found(guide, "forgotten", bleach).case == "bleach"
    assert "TG2044-1" in page(guide, "forgotten", bleach)
    left_out = found(guide, "forgotten", wash)
    assert (left_out.case, left_out.suspects) == ("wash", ("fixer",)), "bleach came into the fixer"


def test_backed_film_without_its_prebath_makes_the_developer_suspect() -> None:
    guide = led("two-bath-prebath", "developer")
    plan = guide.state.plan
    prebath = next(s.id for s in plan.steps if s.of == "prebath")
    left_out = found(guide, "forgotten", prebath)
    assert (left_out.case, left_out.suspects) == ("prebath", ("developer",))


def test_a_contaminated_developer_is_replaced() -> None:
    """Laboratory manual CIS-254, p. 6 (read in print)."""
    guide = led("two-bath", "developer")
    now = found(guide, "contaminated")
    assert (now.case, now.suspects) == ("in the tank", ("developer",))
    assert "CIS-254" in page(guide, "contaminated")
    assert found(led("two-bath", "lid", started=False), "contaminated").case == "before"


def chosen(guide: Guide, *words: str) -> None:
    """Open the mishaps, and choose these options one after another with SPACE and ENTER."""
    guide.press("m")
    for each in words:
        panel = guide.panel
        assert isinstance(panel, Choice)
        number = next(n for n, (_, title) in enumerate(panel.options) if title.startswith(each))
        for _ in range(number + 1):
            guide.wait(0.5)
            guide.press("space")
        guide.wait(0.5)
        guide.press("enter")


def said(guide: Guide) -> str:
    """The words of the one mishap of a session."""
    (kept,) = guide.state.mishaps
    assert kept.text is None
    return mishap_words(guide.state.plan, kept)


def test_three_keys_show_what_to_do_and_record_the_mishap() -> None:
    guide = led("two-bath", "developer")
    chosen(guide, "Something got into the developer")
    shown = guide.panel
    assert isinstance(shown, Page)
    assert shown.lines[0] == "1. Leave it in to its time: stopping early only adds a fault."
    (kept,) = guide.state.mishaps
    assert (kept.what, kept.case, kept.suspects) == ("contaminated", "in the tank", ("developer",))
    assert said(guide) == "Something got into the developer (step: Developer)"
    assert guide.state.deviations == 1
    assert any(line.words.startswith("SUSPECT: Developer") for line in guide.view.standing)


def test_a_wrong_bath_asks_which_it_was() -> None:
    guide = led("two-bath", "developer")
    chosen(guide, "Wrong bath", "Bleach-fix")
    assert isinstance(guide.panel, Page)
    assert said(guide) == "Wrong bath in the tank: Bleach-fix (step: Developer)"


def test_opening_the_list_of_mishaps_records_nothing() -> None:
    guide = led("two-bath", "developer")
    for key in ("m", "enter", "enter", "backspace", "m", "space", "backspace"):
        guide.wait(0.5)
        guide.press(key)
    assert guide.state.mishaps == ()


def test_no_mishap_can_be_recorded_in_a_closed_session() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    guide.dispatch(c.Abandon(guide.now, "for a test"))
    guide.wait(1.0)
    guide.press("m")
    assert guide.panel is None


def test_mishap_about_an_unknown_thing_is_refused() -> None:
    guide = led("two-bath", "developer")
    guide.dispatch(c.NoteMishap(guide.now, "wrong bath", "champagne"))
    assert guide.state.mishaps == ()
    assert "choose again" in guide.message


def test_replayed_mishap_gives_the_same_state() -> None:
    guide = led("two-bath", "developer")
    chosen(guide, "The lid came off")
    assert any(isinstance(event, MishapHappened) for event in guide.events)
    assert replay(guide.events).mishaps == guide.state.mishaps
