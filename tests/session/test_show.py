"""The tool that prints a step's screens: it shows the words of each moment of the step, and no other step's."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.session.show import show
from tests.shipped import PROFILES


def test_a_bath_is_shown_from_its_opening_to_its_end(capsys: pytest.CaptureFixture[str]) -> None:
    show("three-rolls", "b1.developer", 80, 24)
    screens = capsys.readouterr().out.split("-" * 80 + "\n")[:-1]
    assert all(len(screen.splitlines()) == 24 for screen in screens)
    assert "ENTER starts the developer" in "".join(screens[:3])
    assert "Pour the developer out now." in "".join(screens)
    assert "the tank is empty" in screens[-1]
    assert not any("Pour the bleach-fix out now." in screen for screen in screens)


def test_for_a_dark_step_the_tool_says_that_nothing_is_drawn(capsys: pytest.CaptureFixture[str]) -> None:
    show("three-rolls", "b1.load-room")
    assert "dark: nothing is drawn" in capsys.readouterr().out


def test_an_unknown_step_is_answered_with_those_there_are() -> None:
    with pytest.raises(SystemExit, match=r"no step nope tonight; there are: .*b1\.developer"):
        show("three-rolls", "nope")


def test_a_setup_with_a_profile_beside_it_is_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    step = '[[steps]]\nid = "prewet"\ninstruction = "My own words."\n'
    head = 'format = 1\nid = "mine"\ntitle = "Mine"\nbased_on = "two-bath"\n'
    (tmp_path / "mine.toml").write_text(f"{head}\n{step}", encoding="utf-8")
    setup = (PROFILES / "setups" / "three-rolls.toml").read_text(encoding="utf-8")
    (tmp_path / "evening.toml").write_text(setup.replace('"two-bath"', '"mine.toml"'), encoding="utf-8")
    show(str(tmp_path / "evening.toml"), "b1.prewet")
    assert "My own words." in capsys.readouterr().out
