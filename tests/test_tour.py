"""The tour of the keys: it passes the proof, takes two minutes, and following its instructions tries every key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tests.checking import check_profile
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_setups

from wetside.cli import main
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.steps import Habits
from wetside.domain.session import events as e
from wetside.errors import FileUnusable
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import find_profile, profiles_by_name, tour_setup
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.present.prompts import Menu, Number, Page, Panel


def tour(habits: Habits | None = None) -> Plan:
    return make_plan(read_profile(tour_setup().parent / "keys.toml"), read_setup(tour_setup()), habits)


def test_the_tour_passes_the_proof() -> None:
    assert check_profile(read_profile(tour_setup().parent / "keys.toml")) == ()
    assert 6 <= len(tour().steps) <= 8


def test_the_tour_is_listed_by_itself(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert tour_setup() not in (*profiles_by_name().values(), *shipped_setups())
    with pytest.raises(FileUnusable, match="no profile"):
        find_profile("keys")
    assert main(["--data", str(tmp_path), "profiles"]) == 0
    head, _, apart = capsys.readouterr().out.partition("`wetside practise --tour`")
    assert "Tour of the keys" not in head
    assert "Tour of the keys" in apart


def test_the_tour_brings_its_own_setup(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["--data", str(tmp_path), "practise", "three-rolls", "--tour", "--plain"]) == 2
    assert "leave SETUP or --tour out" in capsys.readouterr().err


@pytest.mark.parametrize("eager", [True, False])
@pytest.mark.parametrize("habits", [Habits(), Habits(lead_in_s=0.0, drain_lead_s=40.0, unit="°F")])
def test_a_person_who_reads_only_the_screen_completes_the_tour(eager: bool, habits: Habits) -> None:
    guide = guide_for(tour(habits))
    Walker(guide, eager).lead()
    assert guide.state.outcome in ("complete", "complete with deviations")


class Newcomer:
    """Presses what the sentences of the tour say, and reads each line for two seconds."""

    def __init__(self) -> None:
        self.guide: Guide = guide_for(tour())
        self.controller = self.guide.controller

    def does(self, *keys: str, read_s: float = 2.0) -> None:
        for key in keys:
            self.guide.press(key)
            self.guide.wait(0.3)
        self.guide.wait(read_s)

    def sees(self, panel: type[Panel]) -> None:
        assert isinstance(self.controller.key_state.panel, panel)

    def held(self) -> bool:
        return self.controller.state.held_since is not None

    def field_of(self) -> str:
        panel = self.controller.key_state.panel
        assert isinstance(panel, Number)
        return panel.about

    def stands_at(self, step: str) -> None:
        assert self.controller.state.current == step, self.controller.key_state.message

    def waits_until(self, seen: Callable[[], bool]) -> None:
        for _ in range(120):
            if seen():
                return
            self.guide.wait(1.0)
        raise AssertionError("waited two minutes")


def test_following_the_tour_tries_every_key_in_two_minutes() -> None:
    newcomer = Newcomer()
    controller, kept = newcomer.controller, newcomer.guide.events
    newcomer.stands_at("space")
    newcomer.guide.wait(0.5)
    newcomer.guide.press("space")
    assert not controller.state.ticks, "answered in half a second, the line marked ! is asked again"
    assert controller.key_state.message
    newcomer.guide.wait(2.0)
    newcomer.does("space", "space", "enter")

    newcomer.stands_at("numbers")
    newcomer.does("space")
    newcomer.sees(Number)
    newcomer.does("3", "8", "enter", "space")
    assert newcomer.field_of() == "bath"
    newcomer.does("space", "space", "enter", "enter")

    newcomer.stands_at("menu")
    newcomer.does("backspace", read_s=0.0)
    newcomer.sees(Menu)
    newcomer.does("enter", read_s=5.0)
    newcomer.sees(Page)
    newcomer.does("backspace", "space", "u", "enter", "space", "space")
    assert any(isinstance(event, e.TickUndone) for event in kept)
    newcomer.does("v")
    assert controller.key_state.far
    newcomer.does("v", "space", "h", "enter")
    assert newcomer.held()
    newcomer.does("enter", "space", "enter")
    assert not newcomer.held()

    newcomer.stands_at("pour")
    newcomer.does("space", "enter", read_s=6.0)
    newcomer.does("space")
    assert "pour/meanwhile" not in controller.state.ticks, "while a call stands, SPACE answers it and nothing else"
    newcomer.waits_until(lambda: controller.keys().space == "confirms the marked line")
    newcomer.does("space")
    assert "pour/meanwhile" in controller.state.ticks
    newcomer.waits_until(lambda: "drain" in newcomer.guide.cues)
    assert {"agitate", "ready"} <= set(newcomer.guide.cues)
    newcomer.guide.wait(2.0)  # the call is read; a SPACE at its first instant was meant for what stood before
    newcomer.does("space", read_s=5.0)
    newcomer.does("enter")

    newcomer.stands_at("dark")
    newcomer.does("space", read_s=1.5)
    newcomer.does("enter", read_s=10.0)
    assert controller.view().dark
    newcomer.does("space", "enter")

    newcomer.stands_at("done")
    newcomer.does("space", "enter")
    assert controller.state.outcome == "complete"
    assert controller.now() <= 150.0
