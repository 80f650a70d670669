"""Where a plan may begin: an empty bench first, the examples marked, and a copy of one told what it still is."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetside.app.terminal import Terminal
from wetside.cli import main
from wetside.commands import screens
from wetside.commands.navigation import Navigator
from wetside.commands.tonight import plan_evening
from wetside.files.profile_places import shipped_setups
from wetside.files.settings import Places, Settings
from wetside.files.setup_file import read_setup, setup_from_text, write_setup
from wetside.storage.store import open_store
from wetside.tui.plan_ports import EMPTY_BENCH, EMPTY_SAID
from wetside.tui.styled_rows import plain_rows

THREE = next(path for path in shipped_setups() if path.stem == "three-rolls")


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return Places(tmp_path / "data", tmp_path / "settings.toml")


def copied(folder: Path, *, invented: bool) -> str:
    file = folder / "mine.toml"
    text = THREE.read_text("utf-8")
    assert "invented = true\n" in text
    file.write_text(text if invented else text.replace("invented = true\n", ""), "utf-8")
    return str(file)


def test_the_list_begins_with_an_empty_bench_that_can_be_planned(places: Places) -> None:
    house = Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, Settings(thermometer_error_c=0.2))
    with open_store(places) as store:
        house._store = store
        screen = screens.plan_screen(house)
        screen.press("enter")
        assert screen.question is not None
        first, *examples = screen.question.options
        assert first == EMPTY_BENCH
        assert len(examples) == len(shipped_setups())
        assert all(words.startswith("(invented) ") for _, words in examples)
        drawn = plain_rows(screen.draw(80, 24))
        assert sum(row.lstrip(" →").startswith("(invented) ") for row in drawn) == len(examples)
        screen.press("enter")
        assert EMPTY_SAID in " ".join(" ".join(plain_rows(screen.draw(80, 24))).split())
    setup = screen.setup
    assert screen.plan is not None, screen.findings
    assert [(roll.kind, roll.format, roll.push) for roll in setup.rolls] == [("standard", "135-36", 0.0)]
    assert {(bottle.used_rolls, bottle.mixed_on) for bottle in setup.bottles} == {(0.0, None)}
    assert (setup.invented, setup.note, setup.thermometer_error_c) == (False, "", 0.2)
    assert setup_from_text(write_setup(setup), "kept") == setup


def test_an_example_is_marked_where_the_setups_are_listed(
    places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(places.data), "profiles"]) == 0
    listed = capsys.readouterr().out
    for path in shipped_setups():
        assert f"{read_setup(path).title} (invented example)" in listed


def test_a_copy_that_still_says_it_is_invented_is_told_so_once(places: Places, tmp_path: Path) -> None:
    def said(name: str) -> list[str]:
        plan = plan_evening(name, places, Settings()).plan
        return [worry.text for worry in plan.warnings if "invented" in worry.text]

    (text,) = said(copied(tmp_path, invented=True))
    assert "take that line out" in text
    assert said(copied(tmp_path, invented=False)) == []
    assert said("three-rolls") == []
    assert said(str(THREE)) == []
