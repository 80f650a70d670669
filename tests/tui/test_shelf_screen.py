"""The shelf screen: bottles with their alerts, everything by three keys, cautions before acts, no store in it."""

from __future__ import annotations

import re
from datetime import date
from functools import reduce

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_profile
from tests.tui.seen import Seat

from wetside.app.terminal import Terminal
from wetside.domain.messages import as_written
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.report import bottle_report
from wetside.domain.shelf.state import ShelfState, evolve
from wetside.errors import JournalUnusable
from wetside.files.units import volume_ml
from wetside.present.prompts import Answer, Words, asked, guarded, panel_keys, press_asked
from wetside.tui.page_screen import PageScreen
from wetside.tui.rows import width
from wetside.tui.shelf_questions import ShelfPorts
from wetside.tui.shelf_rows import record_lines
from wetside.tui.shelf_screen import BottleScreen, ShelfScreen

TWO_BATH = shipped_profile("two-bath")
TODAY = date(2031, 2, 1)
SOLUTIONS = ("developer", "bleach-fix", "stabiliser")


class Shelf:
    """A shelf in memory behind the screen."""

    def __init__(self, terminal: Terminal, *commands: c.Command, kit: bool = True) -> None:
        self.state = ShelfState()
        self.commands: list[c.Command] = []
        self.failure: Exception | None = None
        self.mixed: list[c.MixKit] = []
        bottles = tuple(c.NewBottle(id_, 1000.0) for id_ in SOLUTIONS)
        first = (c.MixKit("2031-01-10", "2031-02-01", "Spring kit", TWO_BATH, bottles, 36.0),) if kit else ()
        for command in (*first, *commands):
            self.change(command)
        self.commands.clear()
        self.ports = ShelfPorts(
            lambda: self.state, self.change, lambda: (TWO_BATH,), lambda: TODAY, volume_ml, self.mix
        )
        self.seat = Seat(terminal, ShelfScreen(terminal, self.ports))

    def change(self, command: c.Command) -> ShelfState:
        if self.failure is not None:
            raise self.failure
        self.commands.append(command)
        self.state = reduce(evolve, decide(self.state, command), self.state)
        return self.state

    def mix(self, command: c.MixKit) -> None:
        self.mixed.append(command)

    @property
    def lefts(self) -> int:
        return len(self.seat.results)

    def rows(self, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
        return self.seat.rows(columns, rows)

    def text(self, columns: int = 80, rows: int = 24) -> str:
        return "\n".join(self.rows(columns, rows))

    def press(self, *keys: str) -> None:
        self.seat.press(*keys)

    def type(self, words: str) -> None:
        self.press(*("space" if letter == " " else letter for letter in words), "enter")

    def mark(self, words: str) -> None:
        """SPACE until the marked line says these words."""
        for _ in range(30):
            if any("→" in row and words in row for row in self.rows()):
                return
            self.press("space")
        raise AssertionError(f"no line says {words!r}:\n{self.text()}")

    def open(self, bottle: str, act: str) -> None:
        self.mark(bottle)
        self.press("enter")
        self.mark(act)
        self.press("enter")


def test_each_bottle_is_listed_with_what_is_left_and_its_alerts(terminal: Terminal) -> None:
    shelf = Shelf(terminal, c.TryLeader("2031-01-20", "1-developer", went_dark=False))
    text = shelf.text()
    assert "3 bottles" in shelf.rows()[0]
    assert "! spent, 8.0 rolls left" in text
    shelf.mark("Developer, Spring kit")
    assert "The leader stayed pale" in shelf.text()
    shelf.mark("Bleach-fix, Spring kit")
    assert "1-bleach-fix" in shelf.text()
    assert "mixed on 2031-01-10" in " ".join(shelf.text().split())
    assert "Spring kit (Two-bath colour negative)" in " ".join(shelf.text().split())
    assert "kit 1" not in shelf.text()


def test_on_a_narrow_screen_the_marked_bottle_shows_its_state(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.mark("Stabiliser, Spring kit")
    assert "good, 8.0 rolls left, 20 days." in " ".join(shelf.text(40, 12).split())


def test_the_list_shows_volumes_and_days_and_the_record_the_label(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    assert re.search(r"good, 8.0 rolls left, 20 days  +1 l  ", shelf.text())
    assert re.search(r"good, 8.0 rolls left, 20 days  +1 l  +2031-01-10", shelf.text(120, 40))
    bottle = shelf.state.bottles["1-developer"]
    told = record_lines(bottle_report(shelf.state, bottle, TODAY), "ml")
    first = told.index("Its label") + 1
    assert [line.strip() for line in told[first : first + 3]] == ["DEVELOPER", "Spring kit", "Mixed 2031-01-10"]


def test_an_empty_shelf_says_so(terminal: Terminal) -> None:
    assert "Nothing stands here yet" in Shelf(terminal, kit=False).text()


def test_a_shelf_that_cannot_be_read_says_why(terminal: Terminal) -> None:
    def broken() -> ShelfState:
        raise JournalUnusable("The journal is damaged: restore it from a copy.")

    shelf = Shelf(terminal, kit=False)
    ports = replace(shelf.ports, shelf=broken)
    rows = Seat(terminal, ShelfScreen(terminal, ports)).rows()
    assert any("The journal is damaged" in row for row in rows)


def test_a_leader_test_needs_space_and_enter(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Test it with a scrap leader")
    shelf.press("enter", "enter", "enter")
    assert shelf.commands == []
    shelf.press("space", "space", "enter")
    assert shelf.commands == [c.TryLeader("2031-02-01", "1-developer", went_dark=False)]
    assert "Kept." in shelf.text()


def test_the_disposal_caution_comes_before_the_discard(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Discard it")
    assert "CAUTION: Take spent developer to the household hazardous-waste point" in " ".join(shelf.text().split())
    shelf.press("enter", "enter")
    assert shelf.commands == []
    shelf.mark("It is gone")
    shelf.press("enter")
    assert shelf.commands == []
    shelf.mark("In my own words")
    shelf.press("enter")
    shelf.type("brown as coffee")
    assert shelf.commands == [c.Discard("2031-02-01", "1-developer", "brown as coffee", cautioned=True)]
    assert sum("→" in row for row in shelf.rows()) == 1
    shelf.press("space", "enter")
    assert shelf.seat.top.question is not None
    assert "a note" in shelf.seat.top.question.title
    shelf.press("backspace", "backspace")
    assert "discarded on 2031-02-01" in shelf.text()


@pytest.mark.parametrize("key", ["space", "enter", "backspace", "x"])
def test_pressing_one_key_again_and_again_does_not_discard_a_bottle(terminal: Terminal, key: str) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Discard it")
    shelf.press(*[key] * 40)
    assert shelf.commands == []


def test_pressing_enter_again_and_again_does_not_change_a_bottle(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.mark("Stabiliser, Spring kit")
    shelf.press(*["enter"] * 12)
    assert shelf.commands == []


def test_topping_up_squeezing_and_notes_are_recorded(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Top it up")
    shelf.type("100 ml")
    shelf.press("space", "enter")
    shelf.mark("Squeezed and capped")
    shelf.press("enter")
    shelf.mark("Write a note")
    shelf.press("enter")
    shelf.type("cap was loose")
    assert shelf.commands == [
        c.TopUp("2031-02-01", "1-developer", 100.0, full=False),
        c.Squeeze("2031-02-01", "1-developer"),
        c.NoteBottle("2031-02-01", "1-developer", "cap was loose"),
    ]


def test_an_emptied_bottle_is_not_asked_whether_it_is_full(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Say how much is in it")
    shelf.type("0 ml")
    assert shelf.commands == [c.NoteLevel("2031-02-01", "1-developer", 0.0, full=False)]
    shelf.press("backspace")
    assert any(row.rstrip().endswith("! empty") for row in shelf.rows())


def test_a_refused_answer_stays_in_the_field(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Top it up")
    shelf.type("much")
    assert "much" in shelf.text()
    assert shelf.seat.top.question is not None
    shelf.press(*["backspace"] * 4)
    shelf.type("0.2 l")
    shelf.press("enter")
    assert shelf.commands == [c.TopUp("2031-02-01", "1-developer", 200.0)]


def test_a_used_fixer_asks_for_its_fresh_clearing_time(terminal: Terminal) -> None:
    shelf = Shelf(terminal, c.UseBottle("2031-01-12", "1-bleach-fix", "s", 1.0))
    shelf.open("Bleach-fix, Spring kit", "Time how a leader clears")
    shelf.type("130 s")
    shelf.type("60")
    assert shelf.commands == [c.TimeClearing("2031-02-01", "1-bleach-fix", 130.0, 60.0)]
    shelf.press("backspace")
    assert "! spent" in shelf.text()


def test_a_blackened_leader_tests_the_bleaching(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Bleach-fix, Spring kit", "See whether a blackened leader clears")
    assert "blackened in the developer" in shelf.text()
    shelf.press("enter")
    assert shelf.commands == [], "ENTER alone keeps nothing"
    shelf.press("space", "space", "enter")
    assert shelf.commands == [c.TryBleach("2031-02-01", "1-bleach-fix", False)]
    shelf.press("backspace")
    assert "! spent" in shelf.text()


def test_the_suspicion_of_a_bottle_is_lifted_with_a_reason(terminal: Terminal) -> None:
    shelf = Shelf(
        terminal, c.Suspect("2031-01-12", "1-developer", "s/0", as_written("A thermometer broke in it."))
    )
    assert "! suspect" in shelf.text()
    shelf.open("Developer, Spring kit", "It is suspect")
    assert "2031-01-12: A thermometer broke in it." in " ".join(shelf.text().split())
    shelf.type("filtered, clear")
    assert shelf.commands == [c.Trust("2031-02-01", "1-developer", "filtered, clear")]


def test_a_change_that_cannot_be_stored_is_reported(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.mark("Developer, Spring kit")
    shelf.press("enter")
    shelf.mark("Squeezed")
    shelf.failure = JournalUnusable("The disk is full.")
    shelf.press("enter")
    assert "The disk is full." in shelf.text()
    assert "Kept." not in shelf.text()


def test_backspace_leaves_step_by_step(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Write a note")
    shelf.press("backspace", "backspace")
    assert shelf.lefts == 0
    shelf.press("backspace")
    assert shelf.lefts == 1


def test_a_kit_in_use_is_asked_what_it_has_done_and_needs_space_and_enter(terminal: Terminal) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter", "enter")
    shelf.type("2031-01-10")
    assert "Part-full" in shelf.text()
    shelf.press("space", "enter")
    assert "a 135-24 is 0.7" in " ".join(shelf.text().split())
    shelf.type("three")
    assert "is no number" in shelf.text()
    shelf.press(*["backspace"] * 5)
    shelf.type("3")
    assert "Kit of 2031-01-10" in shelf.text()
    shelf.press("enter", "enter")
    text = " ".join(shelf.text().split())
    assert "Developer, Bleach-fix, Stabiliser: 1 l each, part-full; mixed on 2031-01-10, 3 rolls done." in text
    shelf.press("enter", "enter")
    assert shelf.commands == []
    shelf.press("space", "enter")
    assert "Kept." in shelf.text()
    (command,) = shelf.commands
    assert isinstance(command, c.MixKit)
    assert (command.on, command.used_rolls, command.name) == ("2031-01-10", 3.0, "Kit of 2031-01-10")
    assert {bottle.rolls for bottle in shelf.state.bottles.values()} == {3.0}
    assert not any(bottle.full for bottle in shelf.state.bottles.values())


def test_backspace_goes_back_one_question_and_keeps_what_was_typed(terminal: Terminal) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter")
    shelf.type("500 ml")
    assert "BACKSPACE goes back a question" in shelf.rows()[-1]
    shelf.press("backspace")
    assert "How much of each?" in shelf.text()
    assert "500 ml" in shelf.text()
    shelf.press(*["backspace"] * 7)
    assert "What is mixed?" in shelf.text()
    shelf.press("backspace")
    assert "A kit for which process?" in shelf.text()
    shelf.press("backspace")
    assert "Nothing stands here yet" in shelf.text()
    shelf.press("backspace")
    assert shelf.lefts == 1


def test_a_guarded_question_is_guarded_again_after_going_back(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Discard it")
    shelf.mark("It is gone")
    shelf.press("enter")
    assert "Past its date" in shelf.text()
    shelf.press("backspace", "enter", "enter")
    assert "CAUTION" in shelf.text()
    assert not any("→" in row for row in shelf.rows())
    shelf.press("backspace")
    assert shelf.commands == []


def test_leaving_the_mixing_of_a_kit_returns_to_the_last_question(
    terminal: Terminal,
) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter")
    shelf.type("500 ml")
    shelf.press("enter")
    shelf.type("Summer kit")
    shelf.type("18,50")
    assert "Mix it now, step by step" in shelf.text()
    shelf.press("enter")
    (command,) = shelf.mixed
    assert (command.name, command.price, command.on) == ("Summer kit", 18.5, "2031-02-01")
    assert [(each.solution, each.volume_ml) for each in command.bottles] == [(id_, 500.0) for id_ in SOLUTIONS]
    assert shelf.commands == []
    assert "Summer kit: how?" in shelf.text()
    shelf.press("backspace")
    assert "What did the set cost?" in shelf.text()


def test_a_kit_mixed_today_without_the_guide_is_recorded(terminal: Terminal) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter", "enter", "enter", "enter", "enter")
    shelf.mark("It is mixed")
    shelf.press("enter")
    assert "Write down Kit of 2031-02-01?" in shelf.text()
    shelf.press("space", "enter")
    assert [type(command) for command in shelf.commands] == [c.MixKit]
    assert shelf.mixed == []


def test_a_whole_kit_can_be_taken_back(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Bleach-fix, Spring kit", "Written down by mistake")
    shelf.press("enter")
    assert "All 3 bottles of Spring kit go" in shelf.text()
    assert shelf.commands == []
    shelf.mark("It was a mistake")
    shelf.press("enter")
    shelf.type("written twice")
    assert shelf.commands == [c.TakeBackKit("2031-02-01", "1-bleach-fix", "written twice")]
    assert "Nothing stands here yet" in shelf.text()


@pytest.mark.parametrize("key", ["space", "enter", "backspace"])
def test_pressing_one_key_again_and_again_does_not_record_a_used_kit(terminal: Terminal, key: str) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter", "enter")
    shelf.type("2031-01-10")
    shelf.press("enter", "enter", "enter", "enter")
    assert "Write down Kit of 2031-01-10?" in shelf.text()
    shelf.press(*[key] * 40)
    assert shelf.commands == []


def test_a_solution_used_once_is_not_asked_for_its_rolls(terminal: Terminal) -> None:
    shelf = Shelf(terminal, kit=False)
    once = tuple(replace(s, storage="one-shot") if s.storage == "bottle" else s for s in TWO_BATH.solutions)
    ports = replace(shelf.ports, profiles=lambda: (replace(TWO_BATH, solutions=once),))
    shelf.seat = Seat(terminal, ShelfScreen(terminal, ports))
    shelf.press("enter", "enter", "enter", "enter")
    shelf.type("2031-01-10")
    shelf.press("enter")
    assert "What is the kit called?" in shelf.text()


@pytest.mark.parametrize(("day", "says"), [("2031-02-02", "in the future"), ("soon", "is no day")])
def test_an_impossible_day_is_refused_at_once(terminal: Terminal, day: str, says: str) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter", "enter")
    shelf.type(day)
    assert says in shelf.text()
    assert "When was it mixed?" in shelf.text()


def test_a_bottle_too_large_is_refused_while_it_can_be_corrected(terminal: Terminal) -> None:
    shelf = Shelf(terminal, kit=False)
    shelf.press("enter", "enter", "enter")
    shelf.type("100 l")
    assert "at most 25 l" in shelf.text()
    assert "How much of each?" in shelf.text()


def test_the_record_of_a_bottle_is_a_page(terminal: Terminal) -> None:
    shelf = Shelf(terminal)
    shelf.open("Developer, Spring kit", "Read all about it")
    assert isinstance(shelf.seat.top, PageScreen)
    assert "Where it goes when it is spent" in shelf.text(80, 60)
    shelf.press("backspace")
    assert isinstance(shelf.seat.top, BottleScreen)


@pytest.mark.parametrize(("columns", "rows"), [(40, 12), (60, 20), (80, 24), (200, 60)])
def test_everything_fits_with_the_marked_line_visible(terminal: Terminal, columns: int, rows: int) -> None:
    shelf = Shelf(terminal, *[c.NoteLevel("2031-01-20", "1-developer", 0.0, full=False)])
    for _ in range(5):
        lines = shelf.rows(columns, rows)
        assert len(lines) == rows
        assert all(width(line) <= columns for line in lines)
        assert sum("→" in line for line in lines) == 1
        shelf.press("space")
    shelf.mark("Developer, Spring kit")
    shelf.press("enter")
    for _ in range(8):
        lines = shelf.rows(columns, rows)
        assert sum("→" in line for line in lines) == 1
        shelf.press("space")
    shelf.mark("Discard it")
    shelf.press("enter", "space")
    text = " ".join(shelf.text(columns, rows).split())
    assert "Keep it" in text
    assert "CAUTION" in text


def test_three_keys_answer_a_question_with_a_suggested_text() -> None:
    question = asked("How much?", default="1 l")
    assert press_asked(question, "enter") == Answer(question, "1 l")
    assert press_asked(asked("How much?"), "enter") == asked("How much?")
    assert press_asked(asked("How much?", optional=True), "enter") is None
    typed = press_asked(question, "5")
    assert isinstance(typed, Words)
    assert panel_keys(typed).backspace == "rubs out"
    assert press_asked(typed, "backspace") == question
    assert press_asked(question, "backspace") is None
    assert press_asked(typed, "escape") is None


def test_enter_alone_does_not_answer_a_guarded_question() -> None:
    question = guarded("Sure?", (), (("no", "No"), ("yes", "Yes")))
    assert press_asked(question, "enter") == question
    assert panel_keys(question).enter == ""
