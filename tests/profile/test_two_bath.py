"""The shipped two-bath process: what a person with wet hands may rely on, whatever film and place they choose."""

from __future__ import annotations

from itertools import product

import pytest
from tests.shipped import shipped_profile

from wetside.domain.profile.model import Kind, Profile, Step, holds

PATHS = [
    frozenset(facts)
    for facts in product(
        ("standard", "backed", "slide"), ("dark room", "changing bag"), ("first batch", "later batch")
    )
]


@pytest.fixture(scope="module")
def profile() -> Profile:
    return shipped_profile("two-bath")


def on(profile: Profile, facts: frozenset[str]) -> list[Step]:
    return [step for step in profile.steps if holds(step.when, facts)]


@pytest.mark.parametrize("facts", PATHS, ids=lambda facts: ", ".join(sorted(facts)))
def test_every_screen_is_short(profile: Profile, facts: frozenset[str]) -> None:
    for step in on(profile, facts):
        assert len([tick for tick in step.ticks if holds(tick.when, facts)]) <= 7, step.id
        assert len(step.cautions) <= 2, step.id
        assert step.safe_way_out.endswith("."), step.id
        assert step.instruction.count(".") == 1, step.id
        assert step.instruction.endswith("."), step.id


def test_critical_ticks_come_first_among_those_due_together(profile: Profile) -> None:
    for step in profile.steps:
        for due in {tick.due for tick in step.ticks}:
            together = [tick.killer for tick in step.ticks if tick.due == due]
            assert together == sorted(together, reverse=True), (step.id, due)


@pytest.mark.parametrize("facts", PATHS, ids=lambda facts: ", ".join(sorted(facts)))
def test_at_most_two_ticks_stand_between_developer_and_bleach_fix(profile: Profile, facts: frozenset[str]) -> None:
    steps = on(profile, facts)
    names = [step.id for step in steps]
    assert names.index("bleach-fix") == names.index("developer") + 1
    bleach_fix = profile.step("bleach-fix")
    due = [tick for step in steps for tick in step.ticks if tick.due == "bleach-fix"]
    due += [tick for tick in bleach_fix.ticks if tick.due == "start"]
    due += [tick for tick in profile.step("developer").ticks if tick.due == "end"]
    assert len(due) <= 2
    assert bleach_fix.cautions == ("gas",)  # one, and short: the developer works while it is read


@pytest.mark.parametrize("facts", PATHS, ids=lambda facts: ", ".join(sorted(facts)))
def test_film_is_loaded_once_and_the_lid_comes_off_after_the_bleach_fix(
    profile: Profile, facts: frozenset[str]
) -> None:
    acts: list[str] = []
    for step in on(profile, facts):
        acts += [tick.lid for tick in step.ticks if tick.lid and tick.due == "start"]
        acts += ["dark"] * (step.kind is Kind.DARK) + [step.id] * (step.id in ("developer", "bleach-fix"))
    assert acts == ["dark", "developer", "bleach-fix", "off"]
    dark = next(step for step in on(profile, facts) if step.kind is Kind.DARK)
    assert dark.lid == "on"
    assert len(dark.remember) == 3


@pytest.mark.parametrize("facts", PATHS, ids=lambda facts: ", ".join(sorted(facts)))
def test_every_bottle_opened_is_closed_later(profile: Profile, facts: frozenset[str]) -> None:
    steps = on(profile, facts)
    for number, step in enumerate(steps):
        if step.solution and profile.solution(step.solution).storage == "bottle":
            later = {tick.closes for after in steps[number:] for tick in after.ticks}
            later |= {tick.closes for tick in step.ticks}
            assert step.solution in later, step.id


def test_cautions_come_before_the_bath_they_belong_to(profile: Profile) -> None:
    for solution in profile.solutions:
        first = next((n for n, step in enumerate(profile.steps) if step.solution == solution.id), None)
        assert first is not None
        shown = {caution for step in profile.steps[: first + 1] for caution in step.cautions}
        assert set(solution.needs_caution) <= shown, solution.id


def test_the_tank_is_clean_before_a_later_batch_meets_the_developer(profile: Profile) -> None:
    steps = [step.id for step in on(profile, frozenset({"standard", "dark room", "later batch"}))]
    assert "tank" in profile.step("tank-again").ticks[0].clears
    assert steps.index("tank-again") < steps.index("load-room") < steps.index("developer")


def test_stages_follow_each_other_up_to_the_work_on_single_rolls(profile: Profile) -> None:
    order = [stage.id for stage in profile.stages]
    met = list(dict.fromkeys(step.stage for step in profile.steps))
    assert met == order


def test_all_seven_step_kinds_and_every_source_are_used(profile: Profile) -> None:
    assert {step.kind for step in profile.steps} == set(Kind)
    used = {step.source for step in profile.steps} | {caution.source for caution in profile.cautions}
    for solution in profile.solutions:
        used |= {solution.source, *(source for _, source in solution.sources)}
    assert {source.id for source in profile.sources} == used - {""}


def test_every_caution_is_shown_and_every_vessel_is_used(profile: Profile) -> None:
    shown = {caution for step in profile.steps for caution in step.cautions}
    assert {caution.id for caution in profile.cautions} == shown
    used = {vessel for step in profile.steps for vessel in (step.through, step.into, step.back_through)}
    assert {vessel.id for vessel in profile.vessels} == used - {None}
