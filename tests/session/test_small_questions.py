"""Doubts that the guide raises at once: odd readings, a bath far too hot, a loading of seconds, the record."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.session.decided import decided
from tests.session.test_ordering import at_the_bottles, read
from tests.session.walker import Guide, guide_for
from tests.shipped import shipped_plan

from wetside.domain.planning.setup import Water
from wetside.domain.session import commands as c
from wetside.domain.session.clocks import AskFirst
from wetside.export.session_log import TAKEN_BACK, session_log
from wetside.present.message_words import note_text
from wetside.present.prompts import Choice
from wetside.present.water_text import corrected_bath


def take(guide: Guide, of: str, value_c: float) -> None:
    decided(guide.state, c.TakeReading(guide.now, of, value_c, f"{value_c} °C"))


def test_a_bottle_read_warmer_than_its_bath_needs_confirmation() -> None:
    guide = at_the_bottles()
    read(guide, bath=44.0)
    with pytest.raises(AskFirst, match=r"46\.5 °C is warmer than the bath it stands in, which was read 44\.0 °C"):
        take(guide, "developer", 46.5)
    take(guide, "developer", 44.5)
    read(guide, developer=46.5, bath=40.0)
    take(guide, "developer", 46.0)


def test_without_a_bath_reading_no_question_is_asked() -> None:
    take(at_the_bottles(), "developer", 46.5)


def test_a_warm_bath_far_too_hot_gets_advice_at_once_and_takes_water_out_first() -> None:
    guide = at_the_bottles()
    read(guide, developer=22.0, bleach_fix=22.0, bath=50.0)
    (advice,) = [fact for fact in guide.view.facts if fact.startswith("Warm bath too hot")]
    assert "out first, then stir in as much of the cold tap" in advice
    read(guide, bath=44.2)  # what the plan fills the bucket with
    assert not [fact for fact in guide.view.facts if "too hot" in fact]


def test_the_advice_brings_the_bath_to_its_middle() -> None:
    water = Water(hot_c=55.0, cold_c=15.0, bath_ml=8000.0)
    words = corrected_bath(water, 50.0, (44.5, 45.5), "°C", "ml")
    assert "take 1.1 l out first" in words
    assert pytest.approx(45.0, abs=0.3) == (8000.0 - 1100.0) * 50.0 / 8000.0 + 1100.0 * 15.0 / 8000.0
    assert "stir in as much of the hot tap" in corrected_bath(water, 42.0, (44.5, 45.5), "°C", "ml")
    assert corrected_bath(water, 45.0, (44.5, 45.5), "°C", "ml") == ""
    assert corrected_bath(water, 20.0, (44.5, 45.5), "°C", "ml") == "Warm bath too cold: make it anew."
    cool = replace(water, hot_c=40.0)
    assert "the hot tap does not help" in corrected_bath(cool, 42.0, (44.5, 45.5), "°C", "ml")


def test_a_reading_corrected_by_the_next_is_marked_in_the_record() -> None:
    guide = at_the_bottles()
    read(guide, developer=39.0)
    guide.wait(20.0)
    read(guide, developer=24.0)
    readings = session_log(guide.events).readings
    assert [(reading.text, reading.verdict == TAKEN_BACK) for reading in readings] == [
        ("39.0 °C", True),
        ("24.0 °C", False),
    ]


def test_a_reading_that_was_not_confirmed_is_noted() -> None:
    guide = at_the_bottles()
    assert not guide.dispatch(c.TakeReading(guide.now, "developer", 84.0, "84.0 °C"))
    assert isinstance(guide.panel, Choice)
    guide.press("space")
    guide.wait(1.0)
    guide.press("enter")
    assert [note_text(note) for note in guide.state.notes] == ["Not kept, to be read again: Developer 84.0 °C"]
    assert guide.state.readings == ()


def loading(name: str) -> Guide:
    plan = shipped_plan(name)
    return guide_for(plan).running(next(step.id for step in plan.steps if step.kind == "dark"))


def test_a_leave_pair_right_after_the_dark_began_has_to_be_repeated() -> None:
    guide = loading("three-rolls")
    guide.wait(3.0)
    guide.press("space", "enter")
    lit = [not guide.controller.dark]
    guide.wait(1.0)
    guide.press("space", "enter")
    lit.append(not guide.controller.dark)
    assert lit == [False, True], "film may be bare at first: a lit screen would fog it"
    assert "The loading took 4 s. Are all 3 rolls in the tank, the lid locked?" in guide.view.facts


def test_later_one_leave_pair_lights_the_screen_without_a_question() -> None:
    guide = loading("three-rolls")
    guide.wait(200.0)
    guide.press("space", "enter")
    assert not guide.controller.dark
    assert not [fact for fact in guide.view.facts if "The loading took" in fact]


def test_with_a_changing_bag_a_very_short_loading_is_questioned_on_the_next_screen() -> None:
    guide = loading("five-rolls-two-batches")
    guide.wait(3.0)
    guide.press("space")
    guide.wait(1.0)
    guide.press("enter")
    assert "The loading took 4 s. Are all 4 rolls in the tank, the lid locked?" in guide.view.facts


def test_the_closing_screen_offers_the_export() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    assert guide.dispatch(c.Abandon(guide.now, "for a test"))
    session = guide.state.session
    assert f"wetside export {session} --format markdown --output evening.md" in guide.view.facts[0]
