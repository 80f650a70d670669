"""Settings take effect: units, leads, the error of the thermometer, the bell in the dark; and their page."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from tests.robot.program import run
from tests.tui.seen import press, seat_of, text_of

from wetside.app.terminal import Terminal
from wetside.cli import main
from wetside.commands import common, home, navigation, screens
from wetside.commands.tonight import plan_evening
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Kind
from wetside.files.profile_places import shipped_dir
from wetside.files.settings import Places, Settings, find_places, read_settings, settings_to_go_on
from wetside.present.sentences import word_table
from wetside.tui.home_screen import HomeScreen
from wetside.tui.settings_screen import SettingsScreen

OWN = Settings(
    temperature_unit="°F",
    volume_unit="US fl oz",
    thermometer_error_c=1.1,
    lead_in_s=2.0,
    drain_lead_s=17.0,
    dark_bell_every_s=300.0,
)


def planned(places: Places, settings: Settings, setup: str = "three-rolls") -> Plan:
    return plan_evening(setup, places, settings).plan


def silent_setup(folder: Path) -> str:
    """The shipped setup without the error of its thermometer."""
    text = (shipped_dir() / "setups" / "three-rolls.toml").read_text("utf-8")
    file = folder / "silent.toml"
    file.write_text(text.replace('thermometer_error = "0.3 °C"\n', ""), "utf-8")
    return str(file)


def test_units_and_leads_reach_the_plan(places: Places) -> None:
    plan = planned(places, OWN)
    assert (plan.unit, plan.volume_unit) == ("°F", "US fl oz")
    assert {step.drain_lead_s for step in plan.steps} == {17.0}
    assert 2.0 in {step.lead_in_s for step in plan.steps}


def test_the_thermometer_error_is_that_of_the_setup_and_else_that_of_the_settings(
    places: Places, tmp_path: Path
) -> None:
    assert planned(places, OWN).setup.thermometer_error_c == 0.3
    assert planned(places, OWN, silent_setup(tmp_path)).setup.thermometer_error_c == 1.1
    assert planned(places, Settings(), silent_setup(tmp_path)).setup.thermometer_error_c == 0.5


def test_no_bell_rings_in_the_dark_unless_it_is_asked_for(places: Places) -> None:
    def bells(settings: Settings) -> set[tuple[bool, float | None]]:
        return {(step.kind is Kind.DARK, step.bell_every_s) for step in planned(places, settings).steps}

    assert bells(Settings()) == {(True, None), (False, None)}
    assert bells(OWN) == {(True, 300.0), (False, None)}
    assert bells(replace(OWN, bell=False)) == bells(replace(OWN, calls=False)) == bells(Settings())


def settings_screen(places: Places, settings: Settings) -> SettingsScreen:
    navigator = navigation.Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, settings)
    navigator.take_settings = lambda: None  # type: ignore[method-assign]  # no app runs
    return screens.settings_screen(navigator)


def shown(screen: SettingsScreen) -> str:
    return "\n".join(text_of(screen, 80, 24))


def answer(screen: SettingsScreen, title: str, *keys: str) -> None:
    """Mark the setting of this name with SPACE, open it, and press these keys."""
    while f"→  {title} " not in shown(screen):
        press(screen, "space")
    press(screen, *("space" if key == " " else key for key in ("enter", *keys)))


def test_the_settings_screen_shows_every_setting_with_a_readable_name(places: Places) -> None:
    text = shown(settings_screen(places, replace(OWN, cue_command=("/usr/bin/speak", "--slow"))))
    for name in Settings.__struct_fields__:
        assert f" {word_table('setting_words')[name]['title']} " in text
    assert "_" not in text
    for value in (
        "degrees F",
        "±2.0 °F",
        "2 s",
        "300 s",
        "/usr/bin/speak --slow",
        "yes",
        "no",
        "the terminal's own",
    ):
        assert value in text
    assert "Where files live" in text


def test_a_setting_changed_on_its_screen_is_saved_and_takes_effect_at_once(places: Places) -> None:
    screen = settings_screen(places, Settings())
    answer(screen, "Temperatures in", "space", "enter")
    answer(screen, "Time before a bath", *"7", "enter")
    answer(screen, "Thermometer off by", *"0.9 F", "enter")
    answer(screen, "Bell in the dark", *"5 min", "enter")
    answer(screen, "Own program at calls", *"say --slow", "enter")
    answer(screen, "Calls by ear", "space", "enter")
    wanted = Settings(
        temperature_unit="°F",
        lead_in_s=7.0,
        thermometer_error_c=0.5,
        dark_bell_every_s=300.0,
        cue_command=("say", "--slow"),
        calls=False,
    )
    assert screen.settings == read_settings(places.settings) == wanted
    assert "Kept." in shown(screen)
    assert 'lead_in_s = "7 s"' in places.settings.read_text("utf-8")
    answer(screen, "Own program at calls", "0", "enter")
    assert read_settings(places.settings).cue_command == ()


@pytest.mark.parametrize(
    ("title", "typed", "words"),
    [
        ("Time before a bath", "61 s", "write a time from 0 to 60 s, such as 5 s"),
        ("Time before a bath", "soon", "write a time from 0 to 60 s"),
        ("Bell in the dark", "5 s", "0 s for none, or a time from 10 s to 1 h"),
        ("Thermometer off by", "9", "a difference from 0 to 5 C"),
        ("Own program at calls", "'say", "a quotation mark is not closed"),
    ],
)
def test_an_invalid_answer_stays_in_the_field_and_is_not_saved(
    places: Places, title: str, typed: str, words: str
) -> None:
    screen = settings_screen(places, Settings())
    answer(screen, title, *typed, "enter")
    assert words in " ".join(shown(screen).split())
    assert typed in shown(screen)
    assert screen.settings == Settings()
    assert not places.settings.exists()
    press(screen, *["backspace"] * (len(typed) + 1))
    assert seat_of(screen).top is screen


def test_a_faulty_settings_file_is_not_overwritten(misspelt: Path) -> None:
    places = find_places({}, str(misspelt))
    before = places.settings.read_text("utf-8")
    settings, wrong = settings_to_go_on(places.settings)
    navigator = navigation.Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, settings, wrong)
    screen = screens.settings_screen(navigator)
    answer(screen, "Calls by ear", "space", "enter")
    assert "`wetside settings --force` keeps what is good" in " ".join(shown(screen).split())
    assert places.settings.read_text("utf-8") == before


@pytest.fixture
def misspelt(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A settings file with one misspelt line, written after an evening was begun; gives the data folder."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    data = tmp_path / "data"
    begin_plainly(data)
    file = find_places({}, str(data)).settings
    file.parent.mkdir(mode=0o700, parents=True)
    file.write_text('lead_in = 5\ntemperature_unit = "F"\n', "utf-8")
    file.chmod(0o600)
    return data


def begin_plainly(data: Path) -> None:
    assert run(data, "start", "three-rolls", "--plain", typed="\n").returncode == 0


WRONG = 'Your settings file is wrong, and defaults stand in: there is no setting "lead_in"'


@pytest.mark.parametrize("command", [["resume"], ["follow"], []])
def test_resume_does_not_depend_on_the_settings_file(misspelt: Path, command: list[str]) -> None:
    ran = run(misspelt, "--plain", *command)
    assert ran.returncode == 0, ran.stderr
    assert " ".join(ran.stdout.split()).count(WRONG) == 1
    assert "Look at the chemistry" in ran.stdout or "wetside resume" in ran.stdout


@pytest.mark.parametrize("command", [["plan", "three-rolls"], ["start", "three-rolls", "--plain"], ["settings"]])
def test_commands_other_than_resume_refuse_a_wrong_settings_file(
    misspelt: Path, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(misspelt), *command]) == 3
    assert "did you mean lead_in_s?" in capsys.readouterr().err


def test_a_faulty_settings_file_can_be_replaced_keeping_its_valid_values(
    misspelt: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(misspelt), "settings", "--write"]) == 3
    assert main(["--data", str(misspelt), "settings", "--write", "--force"]) == 0
    assert WRONG in capsys.readouterr().err
    assert main(["--data", str(misspelt), "settings"]) == 0
    assert 'temperature_unit = "°F"' in capsys.readouterr().out


def test_home_reports_the_first_fault_of_the_settings_and_counts_the_others(
    misspelt: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    terminal = Terminal(80, 24, True, "16", True, "xterm")
    shown = []

    async def made(first: Callable[[], HomeScreen]) -> HomeScreen:
        return first()

    def run_screens(_: Terminal, settings: Settings, first: Callable[[], HomeScreen]) -> int:
        home_screen = asyncio.run(made(first))
        shown.append((settings, text_of(home_screen, 80, 24), text_of(home_screen, 40, 12)))
        return 0

    monkeypatch.setattr(navigation, "run_screens", run_screens)
    monkeypatch.setattr(home, "usable_terminal", lambda plain: terminal)
    assert main(["--data", str(misspelt)]) == 0
    ((settings, large, small),) = shown
    assert settings == Settings(temperature_unit="°F")
    assert WRONG in " ".join(" ".join(large).split())
    assert "defaults stand in" in " ".join(" ".join(small).split())


@pytest.mark.parametrize("command", ["resume", "follow"])
def test_a_resumed_session_reports_faults_of_the_settings(
    misspelt: Path, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = []

    def run_screens(_: Terminal, settings: Settings, first: Callable[[], Any]) -> int:
        guide = first()
        said.append(guide.controller.key_state.message)
        return 0

    monkeypatch.setattr("wetside.tui.app.run_screens", run_screens)
    monkeypatch.setattr(common, "this_terminal", lambda: Terminal(80, 24, True, "16", True, "xterm"))
    assert main(["--data", str(misspelt), command]) == 0
    assert said[0].startswith(WRONG)
