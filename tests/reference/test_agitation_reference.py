"""How often the tank is moved and how: the person's choice, with its effect said.

Sources: US Army SS0514, pp. 2-13 to 2-15: 30 s without a pause at first — read in print; the paces after that, and
what more or less movement does — common practice, no source.
"""

from __future__ import annotations

from itertools import product
from typing import get_args

import pytest
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_profile, shipped_setup

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import AgitationPace, AgitationWay
from wetside.domain.session.cues import agitation_periods
from wetside.files.profile_places import profiles_by_name
from wetside.files.setup_file import setup_from_text, write_setup
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines
from wetside.present.review_text import review_lines

pytestmark = pytest.mark.common_practice

CHOICES = tuple(product(get_args(AgitationPace), get_args(AgitationWay)))


def planned(pace: AgitationPace, way: AgitationWay = "inversion", name: str = "three-rolls") -> Plan:
    setup = replace(shipped_setup(name), agitation=pace, agitated_by=way)
    return plan_for(setup)


def developer(plan: Plan) -> PlannedStep:
    return next(step for step in plan.steps if step.ends == "on time" and step.agitation is not None)


def begins(step: PlannedStep) -> list[float]:
    return [start for start, _ in agitation_periods(step, 210.0)]


def test_the_calls_of_a_bath_follow_the_chosen_agitation() -> None:
    """A developer of 3:30 with its call to pour out 10 s before the end."""
    assert begins(developer(planned("each half minute"))) == [0.0, 60.0, 90.0, 120.0, 150.0, 180.0]
    assert begins(developer(planned("each minute"))) == [0.0, 60.0, 120.0, 180.0]
    assert agitation_periods(developer(planned("continuous")), 210.0) == ((0.0, 200.0),)
    own = shipped_profile("two-bath").step("developer").agitation
    assert developer(planned("as the process")).agitation == own


@pytest.mark.parametrize("pace", get_args(AgitationPace))
def test_agitation_is_continuous_for_the_first_half_minute(pace: AgitationPace) -> None:
    agitation = developer(planned(pace)).agitation
    assert agitation is not None
    assert agitation.first_s >= 30.0


@pytest.mark.parametrize("pace", get_args(AgitationPace))
def test_rotation_is_described_in_its_own_words(pace: AgitationPace) -> None:
    turned, rotated = developer(planned(pace)).agitation, developer(planned(pace, "rotation")).agitation
    assert turned is not None
    assert rotated is not None
    assert "over" in in_words(turned.words)
    assert "over" not in in_words(rotated.words)
    assert "both ways" in in_words(rotated.words)


@pytest.mark.parametrize(("pace", "way"), CHOICES)
def test_plan_data_and_review_say_the_choice_and_its_effect(pace: AgitationPace, way: AgitationWay) -> None:
    plan = planned(pace, way)
    data = plan_json(plan)["agitation"]
    assert (data["pace"], data["by"]) == (pace, way)
    assert bool(data["effect"]) == ((pace, way) != ("as the process", "inversion"))
    for lines in (plan_lines(plan, 80, False, None), review_lines(plan)):
        text = " ".join(" ".join(lines).split())
        assert f"{pace}, by {way}" in text
        assert all(part.rstrip(".") in text for part in data["effect"].split("; "))
    every = {step["id"]: step["agitation"] for step in plan_json(plan)["steps"]}
    assert every[developer(plan).id] == {
        "first_s": developer(plan).agitation.first_s,  # type: ignore[union-attr]
        "every_s": developer(plan).agitation.every_s,  # type: ignore[union-attr]
        "for_s": developer(plan).agitation.for_s,  # type: ignore[union-attr]
    }


@pytest.mark.parametrize(("name", "step"), [("prebath-four-rolls", "prebath"), ("reversal-two-rolls", "reversal")])
def test_agitation_fixed_by_the_process_is_not_changed(name: str, step: str) -> None:
    """Nothing is shaken off in a prebath, and a reversal bath stands: no choice changes that."""
    plan = planned("continuous", "rotation", name)
    (found,) = {each.agitation for each in plan.steps if each.of == step}
    assert found == shipped_profile(plan.profile_id).step(step).agitation


@pytest.mark.parametrize(("pace", "way"), CHOICES)
def test_a_setup_file_keeps_the_choice(pace: AgitationPace, way: AgitationWay) -> None:
    setup = planned(pace, way).setup
    assert setup_from_text(write_setup(setup), "setup") == setup


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_no_instruction_prescribes_an_agitation_method(path: object) -> None:
    """The calls say it; an instruction that says "turn it over" would speak against a rotated tank."""
    for step in shipped_profile(path.stem).steps:  # type: ignore[attr-defined]
        if step.agitation is not None and not step.agitation.fixed:
            assert "agitate at each call" in step.instruction, step.id
