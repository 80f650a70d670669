"""The checklist before an evening: what kills the evening first, nothing left out, printable both ways."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_plan, shipped_profile

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.present.message_words import in_words
from wetside.present.review_text import review_lines, review_of


@pytest.fixture(scope="module")
def profile() -> Profile:
    return shipped_profile("two-bath")


@pytest.fixture(scope="module")
def plan(profile: Profile) -> Plan:
    return shipped_plan("three-rolls")


def test_critical_items_come_first_in_the_review(plan: Plan, profile: Profile) -> None:
    for thing in (plan, profile):
        killers = [item.killer for item in review_of(thing).items]
        assert killers == sorted(killers, reverse=True)
        assert sum(killers) >= 8
        assert any("Children" in item.text for item in review_of(thing).items if item.killer)


def test_the_review_has_every_item_of_the_first_checks(plan: Plan) -> None:
    """All ticks before the first step that is no check, but for the sound check, which paper cannot do."""
    first_other = next(number for number, step in enumerate(plan.steps) if step.kind != "check")
    ticks = [tick for step in plan.steps[:first_other] for tick in step.ticks if tick.asks == "yes"]
    text = " ".join(" ".join(review_lines(plan)).split())
    for tick in ticks:
        assert in_words(tick.text) in text
    assert text.count("[ ]") == len(ticks)


def test_the_most_severe_caution_comes_first(profile: Profile) -> None:
    signals = [caution.signal for caution in review_of(profile).cautions]
    order = ("DANGER", "WARNING", "CAUTION", "NOTICE")
    assert [order.index(signal) for signal in signals] == sorted(order.index(signal) for signal in signals)
    assert signals[0] == "DANGER"


def test_the_review_of_a_plan_leaves_out_items_that_do_not_apply(plan: Plan, profile: Profile) -> None:
    """Tonight loads in a dark room: no changing bag; the process as such names it with its condition."""
    assert "Changing bag clean" not in " ".join(review_lines(plan))
    assert "(for: changing bag)" in " ".join(" ".join(review_lines(profile)).split())


def test_hazard_codes_first_aid_and_who_decides_are_printed(profile: Profile) -> None:
    lines = review_lines(profile)
    text = " ".join(" ".join(lines).split())
    assert "H317: Developing agent, a p-phenylenediamine: can make the skin allergic (read in print)" in text
    assert "Lights on first" in text or "lights on first" in text
    assert "safety data sheet, your local rules" in text
    assert lines.index("Not without these") < lines.index("What can hurt") < lines.index("First aid")


def test_the_notes_of_the_process_come_last_and_in_full(plan: Plan, profile: Profile) -> None:
    for thing in (plan, profile):
        lines = review_lines(thing)
        assert lines.index("First aid") < lines.index("About this process")
        text = " ".join(" ".join(lines).split())
        assert len(profile.notes) >= 6
        assert all(note in text for note in profile.notes)
    assert "About this process" not in review_lines(replace(plan, notes=()))


@pytest.mark.parametrize("width", [40, 80, 120])
def test_the_review_is_wrapped_to_its_width(profile: Profile, width: int) -> None:
    assert max(map(len, review_lines(profile, "text", width))) <= width


def test_markdown_has_boxes_headings_and_no_foreign_marks(plan: Plan) -> None:
    named = replace(plan, setup=replace(plan.setup, title="<b>*Sunday*</b>\n# evening"))
    lines = review_lines(named, "markdown")
    assert lines[0].startswith("# Before you begin: \\<b\\>\\*Sunday\\*\\</b\\> \\# evening")
    assert "## Not without these" in lines
    assert sum(line.startswith("- [ ] ") for line in lines) > 15
    assert not any(line.startswith(" ") for line in lines)
