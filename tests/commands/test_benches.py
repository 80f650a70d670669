"""The setups planning offers: an empty one first, examples marked, and a note on a copy still marked so."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.faults.evening import evening
from tests.shipped import shipped_setups
from tests.tui.seen import press, seat_of, text_of

from wetside.app.terminal import Terminal
from wetside.cli import main
from wetside.commands import screens
from wetside.commands.navigation import Navigator
from wetside.commands.tonight import plan_evening
from wetside.domain.session.events import SessionBegan
from wetside.files.settings import Places, Settings
from wetside.files.setup_file import read_setup, setup_from_text, write_setup
from wetside.present.message_words import in_words
from wetside.present.prompts import Choice
from wetside.storage.sessions import append_events, stream_of
from wetside.storage.store import open_store
from wetside.tui.plan_ports import EMPTY_BENCH, EMPTY_SAID
from wetside.tui.plan_screen import PlanScreen

THREE = next(path for path in shipped_setups() if path.stem == "three-rolls")


def copied(folder: Path, *, invented: bool) -> str:
    file = folder / "mine.toml"
    text = THREE.read_text("utf-8")
    assert "invented = true\n" in text
    file.write_text(text if invented else text.replace("invented = true\n", ""), "utf-8")
    return str(file)


def test_the_list_of_setups_begins_with_an_empty_bench_that_can_be_planned(places: Places) -> None:
    navigator = Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, Settings(thermometer_error_c=0.2))
    with open_store(places) as store:
        navigator._store = store
        screen = screens.plan_screen(navigator)
        press(screen, "enter")
        question = seat_of(screen).top.question
        assert isinstance(question, Choice)
        first, *examples = question.options
        assert first == EMPTY_BENCH
        assert len(examples) == len(shipped_setups())
        assert all(words.startswith("(invented) ") for _, words in examples)
        drawn = text_of(screen, 80, 24)
        assert sum(row.lstrip(" →").startswith("(invented) ") for row in drawn) == len(examples)
        press(screen, "enter")
        assert EMPTY_SAID in " ".join(" ".join(text_of(screen, 80, 24)).split())
    setup = screen.setup
    assert screen.plan is not None, screen.findings
    assert [(roll.kind, roll.format, roll.push) for roll in setup.rolls] == [("standard", "135-36", 0.0)]
    assert {(bottle.used_rolls, bottle.mixed_on) for bottle in setup.bottles} == {(0.0, None)}
    assert (setup.invented, setup.note, setup.thermometer_error_c) == (False, "", 0.2)
    assert setup_from_text(write_setup(setup), "kept") == setup


def plan_screen(places: Places) -> PlanScreen:
    navigator = Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, Settings())
    with open_store(places) as store:
        navigator._store = store
        return screens.plan_screen(navigator)


def kept_evening(places: Places, *, invented: bool, on: int = 1) -> None:
    """The shipped evening completed, as somebody's own or as an example."""
    began = evening()[0]
    assert isinstance(began, SessionBegan)
    setup = replace(began.plan.setup, invented=invented, rolls=(replace(began.plan.setup.rolls[0], push=1.0),) * 3)
    own = replace(began, session=f"s{on}", wall=f"2031-03-0{on}T19:00:00Z", plan=replace(began.plan, setup=setup))
    places.data.mkdir(mode=0o700, exist_ok=True)
    with open_store(places) as store:
        events = (own, *evening()[1:])
        append_events(store, stream_of(f"s{on}", False), 0, events, f"2031-03-0{on}T21:00:00Z")


def test_planning_begins_with_an_empty_bench_before_the_first_evening_of_ones_own(places: Places) -> None:
    kept_evening(places, invented=True)
    screen = plan_screen(places)
    assert screen.setup.title == "My evening"
    assert not screen.setup.invented
    for title in ("Tank", "All bottles", "Water"):
        press(screen, "end")
        press(screen, "enter")
        assert title in " ".join(" ".join(text_of(screen, 80, 24)).split()).partition("Not yet: ")[2]
        while f"→  {title} " not in "\n".join(text_of(screen, 80, 24)):
            press(screen, "space")
        press(screen, "enter")
        press(screen, "backspace")
    assert screen._to_be_seen() == []


def test_planning_begins_with_the_bench_as_the_last_own_evening_left_it(places: Places) -> None:
    kept_evening(places, invented=False, on=1)
    kept_evening(places, invented=True, on=2)
    screen = plan_screen(places)
    began = evening()[0]
    assert isinstance(began, SessionBegan)
    before = began.plan.setup
    assert "Your bench of 2031-03-01" in " ".join(text_of(screen, 80, 24))
    assert [(roll.label, roll.push) for roll in screen.setup.rolls] == [("Roll 1", 0.0)]
    assert (screen.setup.tank, screen.setup.title) == (before.tank, "My evening")
    # two rolls of 36 and one of 24 exposures have gone through each bottle that film goes through
    through = {
        b.solution: b.used_rolls - old.used_rolls
        for b, old in zip(screen.setup.bottles, before.bottles, strict=True)
    }
    assert through["developer"] == pytest.approx(3.0)
    assert screen._to_be_seen() == []
    press(screen, "enter", "space", "enter")
    assert screen.setup.bottles[0].used_rolls == before.bottles[0].used_rolls + 3.0, "my last bench, chosen again"


def test_own_setup_files_are_listed_before_the_examples_and_the_newest_is_opened(places: Places) -> None:
    kept_evening(places, invented=False)
    folder = places.setups
    folder.mkdir(mode=0o700)
    mine = folder / "zz-mine.toml"
    mine.write_text(write_setup(replace(read_setup(THREE), title="Mine", invented=False)))
    os.utime(mine, (2**31, 2**31))
    screen = plan_screen(places)
    assert screen.setup.title == "Mine"
    assert "from zz-mine.toml" in " ".join(text_of(screen, 80, 24))
    press(screen, "enter")
    question = seat_of(screen).top.question
    assert isinstance(question, Choice)
    assert [words for _, words in question.options][:3] == ["an empty bench", "my last bench", "Mine"]


def test_an_example_is_marked_where_the_setups_are_listed(
    places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(places.data), "profiles"]) == 0
    listed = capsys.readouterr().out
    for path in shipped_setups():
        assert f"{read_setup(path).title} (invented example)" in listed


def test_a_copied_example_still_marked_invented_gets_one_note(places: Places, tmp_path: Path) -> None:
    def said(name: str) -> list[str]:
        plan = plan_evening(name, places, Settings()).plan
        return [in_words(worry) for worry in plan.warnings if "invented" in in_words(worry)]

    (text,) = said(copied(tmp_path, invented=True))
    assert "take that line out" in text
    assert said(copied(tmp_path, invented=False)) == []
    assert said("three-rolls") == []
    assert said(str(THREE)) == []
