"""A setup that names bottles of the shelf: `check` and the plan use the figures of the shelf."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.session.walker import guide_for

from wetside.cli import main
from wetside.commands.tonight import Evening, plan_evening
from wetside.domain.calc.tank import roll_equivalents
from wetside.files.settings import JOURNAL, Places, Settings
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.storage.sessions import append_events
from wetside.storage.store import open_store

SETUP = """format = 1
title = "An evening from the shelf, invented"
profile = "{profile}"
invented = true
place = "dark room"

[[rolls]]
label = "Harbour"
kind = "backed"
format = "135-36"

[tank]
places = 2
cover = ["300 ml", "500 ml"]

[[bottles]]
solution = "developer"
shelf_id = "1-developer"

[[bottles]]
solution = "bleach-fix"
shelf_id = "1-bleach-fix"

[[bottles]]
solution = "stabiliser"
shelf_id = "1-stabiliser"
"""


@pytest.fixture
def places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Places:
    """A data folder with one fresh kit of the two-bath process on its shelf."""
    monkeypatch.setenv("WETSIDE_DATA", str(tmp_path / "data"))
    today = date.today().isoformat()
    assert main(["shelf", "mix", "two-bath", "--name", "Spring kit", "--on", today]) == 0
    return Places(tmp_path / "data", tmp_path / "none.toml")


def written(tmp_path: Path, profile: str) -> Path:
    file = tmp_path / "tonight.toml"
    file.write_text(SETUP.format(profile=profile), "utf-8")
    return file


def test_check_reads_the_bottles_from_the_shelf(
    tmp_path: Path, places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(tmp_path, "two-bath")
    capsys.readouterr()
    assert main(["check", str(file)]) == 0
    sound, note = capsys.readouterr().out.splitlines()
    assert sound == f"{file}: sound"
    assert note.startswith(f"{file}: note: Backed film goes through the baths with its backing on")
    assert main(["shelf", "level", "1-developer", "200 ml"]) == 0
    capsys.readouterr()
    assert main(["check", str(file)]) == 1
    assert "sound" not in (out := capsys.readouterr().out)
    assert "200 ml" in out
    assert main(["shelf", "discard", "1-developer", "--reason", "spilt", "--yes"]) == 0
    capsys.readouterr()
    assert main(["check", str(file)]) == 1
    assert "discarded" in capsys.readouterr().out


def test_check_needs_no_journal_without_a_bottle_of_the_shelf(
    tmp_path: Path, places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    (places.data / JOURNAL).write_bytes(b"no journal" * 500)
    capsys.readouterr()
    assert main(["check", "three-rolls"]) == 0
    assert capsys.readouterr().out == "three-rolls: sound\n"
    assert main(["check", str(written(tmp_path, "two-bath"))]) == 3


def test_a_bottle_mixed_for_another_process_gets_an_alert(tmp_path: Path, places: Places) -> None:
    own = plan_evening(str(written(tmp_path, "two-bath")), places, Settings())
    assert not [worry for worry in own.plan.warnings if worry.code == "other-process"]
    copy = tmp_path / "mine.toml"
    assert main(["profiles", "--copy", "two-bath", str(copy)]) == 0
    text = copy.read_text("utf-8").replace('id = "two-bath"', 'id = "mine"', 1)
    copy.write_text(text.replace('title = "Two-bath', 'title = "My two-bath', 1), "utf-8")
    other = plan_evening(str(written(tmp_path, "mine.toml")), places, Settings())
    said = [in_words(worry) for worry in other.plan.warnings if worry.code == "other-process"]
    assert len(said) == 3
    assert said[0].startswith("Developer, Spring kit was mixed for Two-bath ")
    assert said[0].endswith("is it the same solution?")
    assert "not for My two-bath" in said[0]


def test_a_second_evening_is_planned_with_what_the_first_has_used_though_its_film_still_dries(
    tmp_path: Path, places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    def planned() -> Evening:
        return plan_evening(str(written(tmp_path, "two-bath")), places, Settings())

    def developer_s(evening: Evening) -> float:
        return evening.plan.step("b1.developer").planned_s or 0.0

    fresh = planned()
    guide = guide_for(fresh.plan).at_step("b1.bleach-fix")
    with open_store(places) as store:
        append_events(store, "session/first", 0, tuple(guide.events), "2031-03-01T18:00:00Z")
    second = planned()
    left = second.plan.setup.bottles[0]
    rolls = roll_equivalents(roll.format for roll in fresh.setup.rolls)
    assert left.used_rolls == pytest.approx(rolls)
    assert developer_s(second) > developer_s(fresh)
    by_hand = replace(fresh.setup.bottles[0], shelf_id=None, used_rolls=rolls, label=left.label, volume_ml=1000.0)
    same = replace(fresh.setup, bottles=(by_hand, *fresh.setup.bottles[1:]))
    assert developer_s(second) == pytest.approx(
        make_plan(second.profile, same).step("b1.developer").planned_s or 0.0
    )
    capsys.readouterr()
    assert main(["shelf"]) == 0
    (row,) = (line for line in capsys.readouterr().out.splitlines() if line.startswith("  1-developer "))
    assert f"{8.0 - rolls:.1f} rolls left" in row
