"""The plan in words and as data: every question a person has is answered in it, at any width."""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any

import pytest
from msgspec.structs import replace
from tests.shipped import plan_for, shipped_plan, shipped_setup

from wetside.domain.messages import as_written
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.steps import Habits
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines, serious, short_lines, worth_knowing
from wetside.present.plan_words import why_batches

SEVEN = datetime(2031, 3, 1, 19, 0)
TODAY = SEVEN.date()


@pytest.fixture(scope="module")
def three() -> Plan:
    return plan_for(shipped_setup("three-rolls"), today=TODAY)


@pytest.fixture(scope="module")
def five() -> Plan:
    return shipped_plan("five-rolls-two-batches")


def with_bottle(plan: Plan, volume_ml: float | None = None, mixed_on: str | None = None) -> Plan:
    """The plan made anew with the developer's bottle changed."""
    setup = plan.setup
    bottles = tuple(
        replace(bottle, volume_ml=volume_ml or bottle.volume_ml, mixed_on=mixed_on)
        if bottle.solution == "developer"
        else bottle
        for bottle in setup.bottles
    )
    return plan_for(replace(setup, bottles=bottles), today=TODAY)


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("width", [32, 40, 57, 80, 120])
def test_no_line_of_a_plan_is_wider_than_the_given_width(five: Plan, width: int, ascii_only: bool) -> None:
    lines = plan_lines(five, width, ascii_only, SEVEN)
    assert max(map(len, lines)) <= width
    assert all(line.isascii() for line in lines) or not ascii_only


def test_plan_states_time_volume_temperature_batches_and_end(three: Plan) -> None:
    evening = replace(three, hands_done_s=4430.0, total_s=11400.0, dark_s=450.0)
    text = "\n".join(plan_lines(evening, 80, False, SEVEN))
    flat = " ".join(text.split())
    assert "1 h 14 min, 8 min in the dark" in text
    assert "850 ml in the tank for each bath; every bottle covers it" in text
    assert "Developer 38.9 °C (37.8 to 39.0 °C)" in text
    assert "1: 3 rolls" in text
    assert "Done       20:14, dry about 22:10, begun 19:00" in text
    assert "5 worth knowing: thermometer's error, bottle of unknown age (3), times from memory" in flat


def test_short_plan_states_the_same_facts(three: Plan) -> None:
    lines = [line.text for line in short_lines(three, 46, False, SEVEN)]
    assert len(lines) <= 20
    for label in ("How long", "Done", "Batches", "How hot", "Times", "How much", "Warm bath", "Worries"):
        assert any(line.strip().startswith(label) for line in lines)
    assert "The hot tap scalds: no hand in it" in " ".join(" ".join(lines).split())


def test_the_mark_of_a_serious_alert_stands_only_on_its_first_line(three: Plan) -> None:
    grave = replace(three, warnings=(as_written("The bleach-fix does not cover the film. " * 3, "too-little"),))
    lines = short_lines(grave, 46, False, SEVEN)
    assert [line.text for line in lines if line.opens_warning] == ["! The bleach-fix does not cover the film. The"]
    assert lines[0].opens_warning
    assert not any(line.opens_warning for line in short_lines(three, 46, False, SEVEN))


def why(name: str, **changes: Any) -> str:
    """Why a shipped evening, so changed, takes more than one fill of the tank."""
    setup = shipped_plan(name).setup
    made = plan_for(replace(setup, **changes))
    said = why_batches(made)
    assert bool(said) == (len(made.batches) > 1)
    text = " ".join(" ".join(plan_lines(made, 80, False, None)).split())
    assert (f". Why: {said} How hot" in text) == bool(said)
    return said


def test_a_plan_gives_the_reason_for_more_than_one_fill(three: Plan) -> None:
    rolls, tank = three.setup.rolls, three.setup.tank
    wide, pushed = replace(rolls[0], format="120"), replace(rolls[0], push=1.0)
    push = "another push takes another time in the developer"
    assert why("three-rolls") == ""
    assert why("three-rolls", rolls=(*rolls, rolls[0])) == "the tank has 3 places"
    assert why("three-rolls", rolls=(wide, rolls[1], rolls[2])) == "the tank has 3 places, a 120 takes 2"
    one_each = replace(tank, places_for_120=1)
    assert why("three-rolls", rolls=(wide, *rolls), tank=one_each) == "the tank has 3 places"
    assert why("three-rolls", rolls=(rolls[0], pushed)) == push
    assert why("three-rolls", rolls=(*rolls, rolls[0], pushed)) == f"the tank has 3 places; {push}"
    assert why("five-rolls-two-batches") == push
    assert why("prebath-four-rolls") == "only backed film goes through: Prebath"


def test_the_factors_of_each_bath_are_given_in_words(five: Plan) -> None:
    text = " ".join(" ".join(plan_lines(five, 100, False, None)).split())
    assert "Developer 3:37 on time, 976 ml at 38.9 °C 3:30 on the sheet → 3:37: 1.6 rolls per litre" in text
    assert "push of 1 stop +25 %" in text
    assert "Batch 2, pushed 1: Night market" in text
    assert "batch 1 takes 976 ml, enough; batch 2 takes 296 ml, enough" in text
    assert "Stabiliser 1:00 at least, at 20.0 °C for each of 4 rolls" in text


def test_the_water_of_the_plan_comes_with_its_scald_caution(three: Plan) -> None:
    text = " ".join(" ".join(plan_lines(three, 80, False, None)).split())
    assert "7.4 l at 55.0 °C with 2.6 l at 14.0 °C make 10.0 l at 44.2 °C" in text
    assert "third-degree burn in about 24 s" in text


def test_the_chart_runs_by_the_wall_clock_or_from_the_start(three: Plan) -> None:
    by_clock = plan_lines(three, 80, False, SEVEN)
    from_start = plan_lines(three, 80, True, None)
    done = next(line for line in by_clock if line.strip().startswith("Done"))
    at = re.search(r"(\d\d:\d\d), dry about (\d\d:\d\d)", done)
    assert at is not None
    assert any(f"dry at about {at[2]}" in line for line in by_clock)
    assert any("19:00" in line for line in by_clock)
    assert any(line.startswith("  work done after ") for line in from_start)
    assert any(line.startswith("  hands") for line in from_start)


def test_serious_alerts_come_before_everything_else(three: Plan) -> None:
    short = with_bottle(three, volume_ml=200.0)
    lines = plan_lines(short, 80, False, None)
    first = [line for line in lines if line and not line.startswith(" ")]
    assert first[1] == "Settle this first"
    assert "650 ml short" in " ".join(" ".join(lines[3:5]).split())
    text = " ".join(" ".join(lines).split())
    assert "the bottles do not cover it all" in text
    assert "650 ml SHORT" in text
    assert short_lines(short, 46, False, None)[0].text.startswith("! Developer, soft bottle")
    assert "too-little" in {worry.code for worry in serious(short)}


def test_an_old_bottle_is_a_serious_alert_and_an_unknown_age_a_minor_one(three: Plan) -> None:
    old = with_bottle(three, mixed_on="2029-01-01")
    assert {worry.code for worry in serious(old)} == {"expired"}
    assert {worry.code for worry in worth_knowing(old)} >= {"age-unknown", "from-memory"}
    assert len(serious(old)) + len(worth_knowing(old)) == len(old.warnings)


def test_fahrenheit_plan_has_no_celsius() -> None:
    text = "\n".join(plan_lines(shipped_plan("three-rolls", Habits(unit="°F")), 80, False, None))
    assert "°C" not in text
    assert "error of ±0.5 °F" in " ".join(text.split())
    assert "Developer 102.0 °F" in text


def test_plan_past_midnight_says_so(three: Plan) -> None:
    evening = replace(three, hands_done_s=4430.0, total_s=11400.0)
    text = "\n".join(plan_lines(evening, 80, False, datetime(2031, 3, 1, 22, 30)))
    assert "23:44, dry about 01:40 the next day" in text


def test_a_number_keeps_its_unit_on_its_line(three: Plan) -> None:
    for width in range(32, 100):
        for line in plan_lines(three, width, False, SEVEN):
            assert not line.strip().startswith(("°C", "ml ", "min "))


def test_control_characters_in_labels_do_not_break_lines(three: Plan) -> None:
    rolls = (replace(three.setup.rolls[0], label="Harbour\n\tat night"), *three.setup.rolls[1:])
    named = replace(three, setup=replace(three.setup, rolls=rolls, title="An\nevening"))
    lines = plan_lines(named, 60, False, None)
    assert lines[0] == "An evening (invented)"
    assert not any("\n" in line or "\t" in line for line in lines)


KEYS = {
    "": {
        "profile",
        "batches",
        "agitation",
        "steps",
        "pours",
        "water",
        "water_in_all",
        "cost",
        "tempering",
        "loading",
        "timeline",
        "warnings",
    },
    "profile": {"id", "title", "sha256"},
    "batches": {"number", "rolls", "push", "backing_on", "volume_ml"},
    "pours": {"step", "batch", "volume_ml", "tank_c", "drop_c", "dry_drop_c", "bottle_c"},
    "steps": {
        "id",
        "batch",
        "roll",
        "stage",
        "kind",
        "solution",
        "planned_s",
        "target_c",
        "range_c",
        "ends",
        "agitation",
        "factors",
    },
    "agitation": {"pace", "by", "effect"},
    "water_in_all": {"volume_ml", "hot_ml", "cold_ml"},
    "cost": {"evening", "per_roll", "without"},
    "tempering": {"ready_s", "ready_span_s", "leaves_range_s", "curve"},
    "loading": {"order", "why", "saved_s", "over", "over_s"},
    "timeline": {"total_s", "dark_s", "rows"},
    "warnings": {"code", "text"},
}


def test_the_data_has_the_stable_keys_and_passes_through_json(five: Plan) -> None:
    data = json.loads(json.dumps(plan_json(five)))
    for name, keys in KEYS.items():
        found = data[name] if name else data
        for one in found if isinstance(found, list) else [found]:
            assert set(one) == keys
    assert set(data["steps"][0]["factors"]) == {"temperature", "use", "push"}
    assert data["batches"][1]["rolls"] == ["Night market"]
    assert data["timeline"]["total_s"] == pytest.approx(five.total_s)
    roll_steps = [step for step in data["steps"] if step["id"] == "b2.r3.stabiliser"]
    assert roll_steps[0]["roll"] == 3
    assert all(len(row) == 3 for row in data["tempering"]["curve"])


def test_a_plan_that_tempers_nothing_has_no_water(three: Plan) -> None:
    cold = replace(three, water=None, tempering=None)
    assert plan_json(cold)["water"] is None
    assert plan_json(cold)["tempering"] is None
    assert "warm bath" not in "\n".join(plan_lines(cold, 80, False, None)).lower()


def test_a_solution_without_a_bottle_is_from_the_tap(three: Plan) -> None:
    assert "Warm water: 850 ml from the tap" in "\n".join(plan_lines(three, 80, False, None))


def test_a_batch_that_does_not_use_a_bottle_takes_nothing_from_it() -> None:
    """Four rolls in two fills, of which only the first has a backing: the prebath is poured once."""
    plan = shipped_plan("prebath-four-rolls")
    poured = {step.batch for step in plan.steps if step.solution == "prebath"}
    assert poured < {batch.number for batch in plan.batches}
    text = " ".join(" ".join(plan_lines(plan, 100, False, None)).split())
    (said,) = re.findall(r"- Prebath, mixed[^:]*: ([^.]*)\.", text)
    assert said == "batch 1 takes 600 ml, enough"


def test_a_bath_that_must_start_scalding_hot_is_reported_with_a_way_to_avoid_it(three: Plan, five: Plan) -> None:
    assert not [worry for worry in (*three.warnings, *five.warnings) if worry.code == "hot-bath"]
    setup = replace(five.setup, water=replace(five.setup.water, bath_ml=five.setup.water.bath_ml / 2.0))
    small = plan_for(setup, Habits(unit="°F"))
    (said,) = [in_words(worry, small.units) for worry in worth_knowing(small) if worry.code == "hot-bath"]
    assert re.fullmatch(
        r"The warm bath starts at 128\.\d °F, which scalds\. With more water in it, it starts cooler\.", said
    )
