"""The plan screen: everything by three keys, a live plan, bad values in a sentence, all inside the screen."""

from __future__ import annotations

from datetime import date, datetime
from functools import cache
from typing import Any

import pytest
from msgspec.structs import replace
from tests.shipped import PROFILES, shipped_profile
from tests.tui.seen import press, seat_of, text_of
from textual import events

from wetside.app.setup_form import groups
from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units
from wetside.domain.profile.model import Profile
from wetside.errors import FileFinding, FileUnusable
from wetside.files.settings import Settings
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.present.prompts import Choice, Words
from wetside.sanitize import invisible
from wetside.tui.app import WetsideApp
from wetside.tui.page_screen import PageScreen
from wetside.tui.plan_ports import PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.rows import width

BENCHES = {path.stem: path for path in sorted((PROFILES / "setups").glob("*.toml"))}


@cache
def made_once(name: str, setup: Setup) -> Plan:
    """The plan of a setup; the same setups come again and again under the keys of a test."""
    return make_plan(shipped_profile(name), setup, today=date(2031, 3, 1))


class Planned:
    """A plan screen over the shipped files, with the requests it made."""

    def __init__(self, terminal: Terminal, bench: str = "three-rolls", setup: Setup | None = None) -> None:
        self.reviewed: list[tuple[Plan, Profile, Setup]] = []
        self.saved: list[tuple[Setup, str]] = []
        ports = PlanPorts(
            benches=tuple((name, f"{name} (example)") for name in BENCHES),
            processes=(("two-bath", "Two-bath colour negative"),),
            bench=lambda name: read_setup(BENCHES[name]),
            process=shipped_profile,
            make=lambda profile, made: made_once(profile.id, made),
            save=self._save,
            review=lambda plan, profile, made: self.reviewed.append((plan, profile, made)),
            starts_at=lambda: datetime(2031, 3, 1, 19, 0),
        )
        self.screen = PlanScreen(terminal, setup or read_setup(BENCHES[bench]), ports)

    def _save(self, setup: Setup, name: str) -> str:
        if "/" in name:
            raise FileUnusable(FileFinding(f'"{name}" is no name for a file: leave out the stroke.'))
        self.saved.append((setup, name))
        return f"/home/me/{name}.toml"

    @property
    def left(self) -> int:
        return len(seat_of(self.screen).results)

    @property
    def asking(self) -> Any:
        """The open question, if any."""
        return getattr(seat_of(self.screen).top, "question", None)

    def press(self, *keys: str) -> None:
        press(self.screen, *keys)

    def go_to(self, title: str) -> None:
        """Press SPACE until this line is marked, as a person would."""
        for _ in range(40):
            if title in self.marked():
                return
            self.press("space")
        raise AssertionError(f"no line {title}")

    def open(self, title: str) -> None:
        self.go_to(title)
        self.press("enter")

    def type(self, text: str) -> None:
        self.press(*("space" if letter == " " else letter for letter in text), "enter")

    def rows(self, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
        return text_of(self.screen, columns, rows)

    def marked(self) -> str:
        """The marked line; what is painted is looked at by the test of sizes below."""
        if isinstance(self.asking, Choice):
            return self.asking.options[self.asking.index][1]
        line = self.screen.lines()[self.screen.index]
        return f"{line.title} {line.value}"

    def beside(self) -> str:
        """What stands beside the list, as one line."""
        return " ".join(" ".join(row[36:] for row in self.rows()).split())

    def text(self, columns: int = 80, rows: int = 24) -> str:
        return "\n".join(self.rows(columns, rows))


def test_the_plan_answers_what_a_person_asks(terminal: Terminal) -> None:
    text = Planned(terminal).beside()
    for answer in (
        " min, ",
        "in the dark",
        "dry about 22:",
        "1: 3 rolls",
        "38.9 °C",
        "3:47",
        "850 ml",
        "worth knowing",
        "no hand in it",
    ):
        assert answer in text


def test_the_plan_is_recomputed_after_each_answer(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Roll 3")
    planned.open("Push")
    planned.type("1")
    assert planned.screen.setup.rolls[2].push == 1.0
    assert "2: 2 rolls, then 1 roll pushed 1" in planned.beside()
    planned.press("backspace")
    assert "push 1" in next(row for row in planned.rows(120, 40) if "Roll 3" in row)


def test_a_bad_value_gives_one_sentence_and_stays_in_the_field(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Tank")
    planned.open("Covers 3 reels")
    planned.type("5 cups")
    before = planned.screen.setup
    assert "is not a volume" in planned.rows()[-2]
    planned.press(*["backspace"] * 4)
    planned.type("ml")
    assert "3 loaded reels cannot need less than 2" in planned.text()
    assert planned.screen.setup == before
    planned.press(*["backspace"] * 4)
    planned.type("900 ml")
    assert planned.screen.setup.tank.cover_ml[2] == 900.0
    assert "900 ml" in planned.marked()


def test_an_empty_answer_and_backspace_leave_things_as_they_were(terminal: Terminal) -> None:
    planned = Planned(terminal)
    before = planned.screen.setup
    planned.open("Roll 1")
    planned.press("enter", "enter")
    planned.press("enter", "x", "backspace", "backspace")
    planned.press("space", "enter", "backspace")
    assert planned.screen.setup == before
    planned.press("backspace")
    assert planned.left == 0
    planned.press("backspace")
    assert planned.left == 1


def test_a_choice_is_made_by_moving_and_enter(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Roll 1")
    planned.open("Film")
    assert "standard" in planned.marked()
    planned.press("space", "space", "enter")
    assert planned.screen.setup.rolls[0].kind == "slide"
    assert "slide film" in planned.beside()


def test_another_setup_replaces_every_field(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.press("enter")
    planned.go_to("five-rolls")
    planned.press("enter")
    assert planned.screen.setup.title == "Five rolls after the trip"
    assert len(planned.screen.plan.batches if planned.screen.plan else ()) == 2


def test_no_figure_of_an_example_is_saved_or_used_before_it_was_seen(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.press("enter")
    planned.go_to("three-rolls")
    planned.press("enter")
    assert "? 3 reels, 850 ml, plastic" in planned.text(120, 40)
    wanted = ["Evening", "Roll 1", "Roll 2", "Roll 3", "Tank", "Developer", "Bleach-fix", "Stabiliser", "Water"]
    for seen, title in enumerate(wanted):
        for act in ("Go on", "Keep it"):
            planned.open(act)
            assert f"nobody has looked at {', '.join(wanted[seen:])}." in " ".join(planned.text().split())
        assert planned.asking is None
        planned.go_to(title)
        assert "opens it to be looked at" in planned.text()
        planned.press("enter")
        planned.press("backspace")
    assert planned.reviewed == []
    planned.open("Go on")
    assert len(planned.reviewed) == 1


def test_a_roll_that_moves_up_does_not_count_as_seen(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.press("enter")
    planned.go_to("three-rolls")
    planned.press("enter")
    planned.open("Roll 1")
    planned.open("Take it out")
    planned.open("Go on")
    assert "Evening, Roll 1, Roll 2, Tank" in " ".join(planned.text().split())


def test_common_values_of_the_bottles_of_a_kit_are_typed_once(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("All bottles")
    planned.open("Mixed on")
    planned.type("2031-02-01")
    planned.open("Rolls so far")
    planned.type("6")
    assert {(b.mixed_on, b.used_rolls) for b in planned.screen.setup.bottles} == {("2031-02-01", 6.0)}
    planned.press("backspace")
    planned.open("Developer")
    planned.open("Rolls so far")
    planned.type("7")
    planned.press("backspace")
    planned.open("All bottles")
    assert "not all alike" in planned.text()


def test_rolls_are_added_and_taken_out(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Add a roll")
    assert planned.rows()[0].startswith(" Plan: Roll 4")
    planned.open("Take it out")
    assert len(planned.screen.setup.rolls) == 3
    assert planned.rows()[0].startswith(" Plan a new evening")


def test_a_plan_that_cannot_be_made_says_why_and_cannot_be_begun(terminal: Terminal) -> None:
    setup = read_setup(BENCHES["three-rolls"])
    planned = Planned(terminal, setup=replace(setup, bottles=setup.bottles[:2]))
    assert "no plan yet" in planned.rows()[0]
    assert "There is no bottle of stabiliser tonight" in planned.beside()
    planned.open("Go on")
    assert planned.reviewed == []
    assert "Not yet: There is no bottle of stabiliser" in planned.text()
    planned.go_to("Process")
    planned.press("enter", "enter")
    assert "New on the bench, 1 l each: Stabiliser" in planned.text()
    planned.open("Go on")
    assert "nobody has looked at Stabiliser" in planned.text()
    planned.open("Stabiliser")
    planned.press("backspace")
    planned.open("Go on")
    assert len(planned.reviewed) == 1


def test_a_bottle_past_its_date_needs_a_reason(terminal: Terminal) -> None:
    setup = read_setup(BENCHES["three-rolls"])
    old = (replace(setup.bottles[0], mixed_on="2029-01-01"), *setup.bottles[1:])
    planned = Planned(terminal, setup=replace(setup, bottles=old))
    assert "1 to settle first" in planned.rows()[0]
    planned.open("Go on")
    assert planned.reviewed == []
    assert "past its date" in planned.text()
    assert "Even so" in planned.text()
    planned.open("Developer")
    planned.open("Even so")
    planned.type("a scrap leader went black today")
    planned.press("backspace")
    planned.open("Go on")
    assert planned.reviewed[0][2].bottles[0].reason == "a scrap leader went black today"


def test_a_bottle_that_does_not_cover_the_film_bars_the_evening_whatever_the_reason(terminal: Terminal) -> None:
    setup = read_setup(BENCHES["three-rolls"])
    low = (replace(setup.bottles[0], volume_ml=300.0, reason="a leader went dark in it"), *setup.bottles[1:])
    planned = Planned(terminal, setup=replace(setup, bottles=low))
    planned.open("Go on")
    assert planned.reviewed == []
    text = " ".join(planned.text().split())
    assert "50 ml short. Top it up or mix more, or plan fewer rolls." in text


def test_a_setup_is_saved_under_a_name(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Keep it")
    planned.type("a/b")
    assert "leave out the stroke" in planned.text()
    planned.press("backspace", "backspace", "backspace")
    planned.type("monday")
    assert planned.saved[0][1] == "monday"
    assert "Kept: /home/me/monday.toml" in planned.text()


def test_changes_are_lost_only_when_that_is_chosen(terminal: Terminal) -> None:
    unchanged = Planned(terminal)
    unchanged.press("backspace")
    assert unchanged.left == 1, "nothing was changed, so nothing is asked"
    planned = Planned(terminal)
    planned.go_to("Roll 1")
    planned.press("enter", "enter", *"Pier", "enter", "backspace")
    planned.press(*["backspace"] * 31)
    assert planned.left == 0, "a field rubbed out too far"
    planned.press("enter")
    assert planned.left == 0, "what is marked first is to stay"
    planned.press("backspace", "space", "enter")
    assert planned.left == 1


def test_a_saved_plan_is_left_at_once(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.go_to("Add a roll")
    planned.press("enter", "backspace")
    planned.go_to("Keep it")
    planned.press("enter", *"mine", "enter", "backspace")
    assert (len(planned.saved), planned.left) == (1, 1)


def test_pressing_one_key_again_and_again_does_not_begin_the_evening(terminal: Terminal) -> None:
    for key in ("enter", "space"):
        planned = Planned(terminal)
        planned.press(*[key] * 60)
        assert planned.reviewed == []
        assert planned.saved == []


def test_the_whole_plan_opens_over_the_plan_screen(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.open("Whole plan")
    assert isinstance(seat_of(planned.screen).top, PageScreen)
    planned.rows()
    planned.press("space", "space")
    assert "hanging" in planned.text()
    planned.press("backspace")
    assert seat_of(planned.screen).top is planned.screen


async def test_a_stuck_key_leaves_one_screen_only(terminal: Terminal) -> None:
    """Keys queued to a screen that was left do nothing: all of these reach the page before it is closed."""
    planned = Planned(terminal)
    app: Any = WetsideApp(terminal, Settings(), lambda: planned.screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("end", "up", "up", "enter")
        page = app.screen
        assert isinstance(page, PageScreen)
        for _ in range(3):
            page.post_message(events.Key("backspace", None))
        await pilot.pause()
        assert app.screen_stack == [planned.screen]


def test_the_plan_says_where_the_rest_stands_when_it_has_no_room(terminal: Terminal) -> None:
    planned = Planned(terminal)
    assert "More stands in: Whole plan" in planned.text(80, 16)
    assert "More stands in" not in planned.text(120, 40)


@pytest.mark.parametrize(
    ("columns", "rows", "utf8", "bench"),
    [  # each pair of a size, a character set and a bench stands in one case
        (80, 24, True, "five-rolls-two-batches"),
        (80, 24, False, "three-rolls"),
        (40, 12, True, "three-rolls"),
        (40, 12, False, "five-rolls-two-batches"),
        (60, 20, True, "five-rolls-two-batches"),
        (60, 20, False, "three-rolls"),
        (120, 40, True, "three-rolls"),
        (120, 40, False, "five-rolls-two-batches"),
    ],
)
def test_mark_message_and_bottom_line_are_inside_at_every_size(
    terminal: Terminal, columns: int, rows: int, utf8: bool, bench: str
) -> None:
    planned = Planned(replace(terminal, utf8=utf8), bench)

    def fits() -> None:
        drawn = planned.rows(columns, rows)
        assert len(drawn) == rows
        assert max(map(width, drawn)) <= columns
        assert all(row.isascii() for row in drawn) or utf8
        assert "BACKSPACE" in " ".join(drawn[-3:])
        if not isinstance(planned.asking, Words):
            assert any(("→" if utf8 else "->") in row for row in drawn)
        else:
            field = seat_of(planned.screen).top.field
            assert field.has_focus
            assert 0 < field.region.y < rows - 1

    for _ in planned.screen.lines():
        fits()
        planned.press("enter")
        if planned.screen._group or planned.asking:
            fits()
            planned.press("enter")
            fits()
            while planned.asking is not None:
                planned.press("backspace")
            if planned.screen._group:
                planned.press("backspace")
        planned.press("space")


HOSTILE = {
    "markup": "[red]x[/] [@click=app.quit]y[/]",
    "formula": "=1+1",
    "ansi": "\x1b[31mred",
    "osc": "\x1b]0;owned\x07",
    "c1": "\x9b2J",
    "bidi": "\u202eesrever\u202c",
    "nul": "a\x00b",
    "long": "x" * 300,
}
ALIKE = ("Roll 2", "Roll 3", "Stabiliser")
"""Groups of the same fields as one before them."""


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_text_in_every_typed_field_is_shown_as_text_or_refused(terminal: Terminal, what: str) -> None:
    """Every field of every group with markup; else the first roll and the first bottles stand for all."""
    setup = read_setup(BENCHES["three-rolls"])
    planned = Planned(terminal, setup=setup)
    typed = [
        (group, number)
        for group in groups(setup, Units())
        for number, field in enumerate(group.fields)
        if not field.options and (what == "markup" or not group.title.startswith(ALIKE))
    ]
    assert len(typed) > 10
    for group, number in typed if what == "markup" else typed[::3]:
        planned.screen.setup = setup
        planned.open(group.title)
        planned.press("home", *["space"] * number, "enter")
        planned.press(*("space" if letter == " " else letter for letter in HOSTILE[what]))
        typing = planned.rows(40, 12)
        planned.press("enter")
        refused = planned.asking is not None
        after = planned.rows(40, 12)
        assert not any(invisible(letter) for rows in (typing, after) for row in rows for letter in row)
        assert all(width(row) <= 40 for rows in (typing, after) for row in rows)
        if refused:
            assert planned.screen.setup == setup, "refused, and changed all the same"
            planned.press("escape")
        planned.press("backspace")


def test_a_value_that_the_list_cuts_is_written_out_after_a_resize_too(terminal: Terminal) -> None:
    planned = Planned(terminal)
    planned.go_to("Process")
    whole = "Process: Two-bath colour negative"
    assert whole in planned.text(80, 24)
    assert whole not in planned.text(120, 40), "it fits there"
    assert whole in planned.text(80, 24)


def test_a_title_never_runs_into_its_value(terminal: Terminal) -> None:
    planned = Planned(terminal)
    for group in groups(planned.screen.setup, Units()):
        planned.open(group.title)
        for field in group.fields:
            row = next(row for row in planned.rows() if row[4:].startswith(field.title))
            assert row[4 + len(field.title)] == " ", row
        planned.press("backspace")
