"""Settings reach the evening: units, leads, the thermometer's error, the bell in the dark; and their page."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import pytest

from wetside.commands.evening import plan_evening
from wetside.profile.model import Kind
from wetside.profile.places import shipped_dir
from wetside.session.plan import Plan
from wetside.settings import Places, Settings, shown_settings

OWN = Settings(
    temperature_unit="°F",
    volume_unit="US fl oz",
    thermometer_error_c=1.1,
    lead_in_s=2.0,
    drain_lead_s=17.0,
    dark_bell_every_s=300.0,
)


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return Places(tmp_path / "data", tmp_path / "settings.toml")


def planned(places: Places, settings: Settings, setup: str = "three-rolls") -> Plan:
    return plan_evening(setup, places, settings).plan


def silent_setup(folder: Path) -> str:
    """The shipped evening without a word about its thermometer."""
    text = (shipped_dir() / "setups" / "three-rolls.toml").read_text("utf-8")
    file = folder / "silent.toml"
    file.write_text(text.replace('thermometer_error = "0.3 °C"\n', ""), "utf-8")
    return str(file)


def test_units_and_leads_reach_the_plan(places: Places) -> None:
    plan = planned(places, OWN)
    assert (plan.unit, plan.volume_unit) == ("°F", "US fl oz")
    assert {step.drain_lead_s for step in plan.steps} == {17.0}
    assert 2.0 in {step.lead_in_s for step in plan.steps}


def test_the_thermometer_s_error_is_the_setup_s_own_else_the_person_s(places: Places, tmp_path: Path) -> None:
    assert planned(places, OWN).setup.thermometer_error_c == 0.3
    assert planned(places, OWN, silent_setup(tmp_path)).setup.thermometer_error_c == 1.1
    assert planned(places, Settings(), silent_setup(tmp_path)).setup.thermometer_error_c == 0.5


def test_no_bell_rings_in_the_dark_unless_it_is_asked_for(places: Places) -> None:
    def bells(settings: Settings) -> set[tuple[bool, float | None]]:
        return {(step.kind is Kind.DARK, step.bell_every_s) for step in planned(places, settings).steps}

    assert bells(Settings()) == {(True, None), (False, None)}
    assert bells(OWN) == {(True, 300.0), (False, None)}
    assert bells(replace(OWN, bell=False)) == bells(replace(OWN, calls=False)) == bells(Settings())


def test_the_page_about_settings_has_every_one() -> None:
    lines = shown_settings(replace(OWN, cue_command=("/usr/bin/speak", "--slow")))
    assert [line.partition(": ")[0] for line in lines] == [f.name.replace("_", " ") for f in fields(Settings)]
    assert "cue command: /usr/bin/speak --slow" in lines
    assert "far view in baths: no" in lines
    assert "cue command: none" in shown_settings(Settings())
