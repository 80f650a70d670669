"""The session in plain mode: what is printed, what a typed line does, and the silence in the dark."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime

import pytest
from tests.manual_clock import ManualClock
from tests.session.decided import decided
from tests.shipped import shipped_setup

from wetside.app.controller import SessionController
from wetside.app.session_start import begin_now
from wetside.domain.planning.plan import Plan
from wetside.domain.session.events import Event, ReadingTaken
from wetside.domain.session.state import State, replay
from wetside.errors import JournalUnusable
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import shipped_dir
from wetside.files.settings import Settings
from wetside.plain.guide import PlainGuide
from wetside.plain.lines import keys_of
from wetside.plain.wording import clock_line, clock_mark
from wetside.present.actions import ACTIONS
from wetside.present.evening_plan import make_plan
from wetside.present.prompts import Choice, Menu, Number, Words
from wetside.present.view_model import ClockView
from wetside.sanitize import sendable

PROFILE = read_profile(shipped_dir() / "two-bath.toml")


class Book:
    """Keeps a session's events in a list; `trouble` makes it refuse."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.trouble = ""
        self.warning = self.kept_in = ""
        self.others: list[Event] = []
        self.mine = True
        self.released = False

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        if self.trouble:
            raise JournalUnusable(self.trouble)
        self.events += events

    def fresh(self) -> tuple[Event, ...]:
        fresh, self.others = tuple(self.others), []
        return fresh

    def still_mine(self) -> bool:
        return self.mine

    def release(self) -> None:
        self.released = True


class Evening:
    """A session on a clock set by hand, and everything it has said."""

    def __init__(
        self,
        plan: Plan,
        settings: Settings | None = None,
        bells: int = 3,
        utf8: bool = True,
        columns: int | None = None,
    ) -> None:
        settings = settings or Settings()
        self.clock, self.book = ManualClock(), Book()
        began = begin_now("k3", plan, PROFILE.text, self.clock, "here", practice=True, speed=1.0)
        begun = decided(State(), began)
        self.book.events += begun
        self.controller = SessionController(replay(begun), self.book, self.clock)
        self.seconds = 0.0
        self.sent: list[str] = []
        self.guide = PlainGuide(
            self.controller,
            settings,
            self.sent.append,
            utf8=utf8,
            columns=columns,
            pick_bells=lambda: bells,
            seconds=lambda: self.seconds,
        )

    def begin(self) -> str:
        return self._said(self.guide.begin)

    def type(self, line: str) -> str:
        """What is printed after a typed line and the poll after it."""
        return self._said(lambda: self.guide.line(line))

    def wait(self, seconds: float) -> str:
        """What is printed while this time passes."""
        return self._said(lambda: self._pass(seconds))

    def _pass(self, seconds: float) -> None:
        for _ in range(round(seconds)):
            self.clock.advance(1.0)
            self.seconds += 1.0
            self.guide.poll()

    def _said(self, act: Callable[[], None]) -> str:
        before = len(self.sent)
        act()
        return "".join(self.sent[before:])

    @property
    def text(self) -> str:
        return "".join(self.sent)


class Robot:
    """Completes a session by reading only the printed lines."""

    def __init__(self) -> None:
        self._readings: dict[str, str] = {}
        self._keys = ""
        self._bells = 0

    def read(self, text: str) -> None:
        for line in text.splitlines():
            self._bells = line.count("\a") + (0 if "Count the bells" in line else self._bells)
            plain = line.replace("\a", "")
            if plain.startswith("Keys: "):
                self._keys = plain
            elif found := re.match(r"(.+): (not read yet, .*|\S+ °?C, .*)", plain):
                self._readings[found[1]] = found[2]
            elif plain == "":
                self._readings = {}

    def answer(self) -> str | None:
        """The line to type now, None to wait."""
        if "type the number" in self._keys:
            return str(self._bells)
        if "s types a temperature" in self._keys:
            return self._temperature()
        if re.search(r"\bs (confirms|rings|pouring out now|I am ready)", self._keys):
            return "s"
        if "ENTER" in self._keys:
            return ""
        return None

    def _temperature(self) -> str:
        open_ = [words for words in self._readings.values() if "in range" not in words and "read" in words]
        asked = next((words for words in open_ if " at " in words), "")
        low_high = re.findall(r"\d+\.\d", asked)
        return f"{(float(low_high[0]) + float(low_high[1])) / 2:.1f}" if low_high else "21"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(PROFILE, shipped_setup("three-rolls"))


@pytest.fixture
def evening(plan: Plan) -> Evening:
    return Evening(plan)


def lead(evening: Evening, until: Callable[[], bool], most: int = 9_000) -> None:
    """Let the robot go on until a condition holds."""
    robot, read = Robot(), 0
    if not evening.sent:
        evening.begin()
    for _ in range(most):
        if until() or evening.guide.left:
            return
        robot.read("".join(evening.sent[read:]))
        read = len(evening.sent)
        line = robot.answer()
        if evening.controller.dark:
            line = "" if evening.controller.key_state.pair else "s"
        if line is not None and not evening.guide.calls.counting:
            evening.type(line)
        evening.wait(1)
    raise AssertionError(f"not reached; the last words were: {evening.text[-800:]}")


def dark(evening: Evening) -> bool:
    return evening.controller.dark


def left(evening: Evening) -> bool:
    return evening.guide.left


def at(evening: Evening, step: str) -> Callable[[], bool]:
    return lambda: (evening.controller.state.current or "").endswith(step)


def test_the_session_opens_with_how_lines_work_then_the_first_step_and_its_keys(evening: Evening) -> None:
    assert evening.begin().splitlines() == [
        "Line by line: type a line, then press ENTER.",
        "An empty line is the ENTER key. A line with s, or with a space only, is SPACE. "
        "A line with b is BACKSPACE.",
        "Where a number is wanted, type it. Where a list is open, type the number of your choice.",
        "k lists the letters of other acts (silencing: b and its number). c says the clocks. "
        "? says everything again.",
        "",
        "PRACTICE. Plan. 19:00",
        "Look at the chemistry",
        "Hold each bottle against the light and read its label.",
        "MARKED: Three bottles here, each labelled with what is in it (a must)",
        "open: Mixing dates read; none is older than its life (a must)",
        "open: Developer clear, straw to light brown, no sludge",
        "open: Bleach-fix red-brown or purple, no sediment",
        "open: Stabiliser clear, without colour or slime",
        "Next: Gear to measure and protect.",
        "Keys: s confirms the marked line; b menu.",
    ]


def test_only_changes_are_printed(evening: Evening) -> None:
    evening.begin()
    assert evening.wait(3) == ""
    assert evening.type("s").splitlines() == [
        "done: Three bottles here, each labelled with what is in it",
        "MARKED: Mixing dates read; none is older than its life (a must)",
    ]


def test_a_refused_key_is_explained_each_time(evening: Evening) -> None:
    evening.begin()
    evening.wait(1)
    reason = "Not yet: Three bottles here, each labelled with what is in it (and 4 more)\n"
    assert evening.type("") == reason
    assert evening.type("") == reason


def test_a_critical_item_confirmed_at_once_is_asked_again(evening: Evening) -> None:
    evening.begin()
    assert evening.type("s").startswith("Wait a second and read it, then SPACE: Three bottles here")


def test_a_whole_evening_can_be_done_by_following_the_printed_text(evening: Evening) -> None:
    lead(evening, lambda: evening.guide.left)
    assert evening.controller.state.outcome == "complete"
    assert evening.controller.state == replay(evening.book.events)
    assert "The session is closed\nOutcome: complete.\n" in evening.text
    for said in (
        "WARNING: Developer makes skin allergic.",
        "CALL: Agitate for 30 s.",
        "CALL: Get ready",
        "Stabiliser Garden in May: time is up.",
        "Clock: 0:30 to go",
    ):
        assert said in evening.text
    assert "\x1b" not in evening.text
    assert "\r" not in evening.text


def test_cautions_come_before_what_is_to_be_done_and_before_the_keys(evening: Evening) -> None:
    lead(evening, at(evening, "developer"))
    heading = evening.text.rindex("\nDeveloper\n")
    caution = evening.text.index("WARNING: Developer makes skin allergic.", heading)
    act = evening.text.index("Pour the developer in without stopping", heading)
    assert heading < caution < act < evening.text.rindex("Keys:")


def test_in_the_dark_nothing_is_written_until_the_leave_pair(evening: Evening) -> None:
    lead(evening, at(evening, "load-room"))
    lead(evening, lambda: "ENTER goes dark" in evening.text)
    briefing = evening.text[evening.text.rindex("Load in the dark room") :]
    assert "nothing is written here" in briefing
    assert evening.type("") == ""
    assert dark(evening)
    for line in ("", "x", "?", "c", "b", "12", "s\n", "hello", "\x1b[A", "9" * 1000):
        assert evening.type(line) == ""
    evening.guide.pasted(5)
    assert evening.wait(400) == ""
    assert evening.type("s") == ""
    after = evening.type("")
    assert "Look at the closed tank" in after
    assert not dark(evening)
    assert "s confirms" in after


def test_another_line_between_the_two_lines_breaks_the_leave_pair(evening: Evening) -> None:
    lead(evening, lambda: evening.controller.dark)
    for line in ("s", "x", ""):
        evening.type(line)
    assert evening.controller.dark


def test_a_session_resumed_in_a_dark_step_says_so_once(plan: Plan) -> None:
    evening = Evening(plan)
    lead(evening, lambda: evening.controller.dark)
    again = PlainGuide(evening.controller, Settings(), evening.sent.append)
    evening.sent.clear()
    again.begin()
    assert evening.text.startswith("This session is in its dark step")
    evening.sent.clear()
    again.line("c")
    again.poll()
    assert evening.text == ""


def test_a_resumed_session_prints_its_running_clock_first(plan: Plan) -> None:
    evening = Evening(plan)
    lead(evening, at(evening, "developer"))
    lead(evening, lambda: "b1.developer" in evening.controller.state.clocks)
    evening.wait(65)
    again = PlainGuide(evening.controller, Settings(), evening.sent.append)
    evening.sent.clear()
    again.begin()
    first = evening.text.splitlines()[0]
    left = r"Developer\. Clock: \d:\d\d left, then pour out, 0:10 to drain, until \d\d:\d\d; 1:0[01] so far\."
    assert re.fullmatch(left, first)


def test_the_clock_is_printed_each_half_minute_and_calls_with_bells(plan: Plan) -> None:
    evening = Evening(plan)
    lead(evening, at(evening, "developer"))
    lead(evening, lambda: "b1.developer" in evening.controller.state.clocks)
    said = evening.wait(215)  # of a little over four minutes: it was read half a degree under its target
    found = re.findall(r"Clock: (\d:[03]0) left, then pour out", said)
    assert found == ["4:00", "3:30", "3:00", "2:30", "2:00", "1:30", "1:00"]
    agitations = said.count("CALL: Turn the tank over gently")
    assert agitations >= 4
    assert said.count("\a") >= 2 * agitations


def test_the_menu_is_a_numbered_list_and_a_number_chooses(evening: Evening) -> None:
    evening.begin()
    evening.wait(1)
    said = evening.type("b")
    assert said.startswith("Menu:\n  1 First aid (a)\n  2 Stop the evening: the safe way out (w)\n")
    assert "Marked: 1 First aid" in said
    number = re.search(r"(\d+) Write a note", said)
    assert number is not None
    assert "A note: type it on one line." in evening.type(number[1])
    evening.type("s and b are letters here")
    assert evening.controller.state.notes[-1].text == "s and b are letters here"


def test_a_page_is_printed_whole_and_closes_itself(evening: Evening) -> None:
    evening.begin()
    evening.wait(1)
    said = evening.type("a")
    assert said.startswith("First aid:\n")
    assert all(f"  {line}\n" in said for line in PROFILE.first_aid)
    assert evening.controller.key_state.panel is None
    assert "Silence the call" in evening.type("k")


def test_leaving_asks_first_and_keeps_the_session(evening: Evening) -> None:
    evening.begin()
    evening.wait(1)
    assert "Leave the guide?" in evening.type("q")
    assert not left(evening)
    evening.type("2")
    assert left(evening)
    assert evening.controller.state.outcome is None


def test_everything_can_be_printed_again_on_request(evening: Evening) -> None:
    evening.begin()
    said = evening.type("?")
    for words in ("The stages:", "now: Plan", "   next: Gear to measure", "The safe way out of here:", "Keys: s"):
        assert words in said
    assert "It is 19:00" in evening.type("c")


def test_a_line_that_is_not_understood_changes_nothing(evening: Evening) -> None:
    evening.begin()
    evening.wait(1)
    before, events = evening.controller.state, len(evening.book.events)
    for line in ("hello", "\x1b[A", "12", "ss", "[red]x[/red]", "\u202e", "1" * 300, "\x07", "%s{}"):
        said = evening.type(line)
        assert "not understood" in said
        assert all(letter.isprintable() or letter == "\n" for letter in said)
    assert "was not read" in evening.type("s" * 100_000)
    evening.guide.pasted(3)
    assert evening.text.endswith("3 lines came at once, and none was taken: type one, and wait for the answer.\n")
    assert (evening.controller.state, len(evening.book.events)) == (before, events)


def test_a_line_right_after_a_step_has_opened_is_ignored(evening: Evening) -> None:
    lead(evening, lambda: "Keys: ENTER goes on" in evening.text)
    evening.type("")
    opened = evening.controller.state.current
    evening.clock.advance(0.1)
    assert evening.type("s") == "Too soon: this step has only just opened. Read it, then type.\n"
    assert evening.controller.state.current == opened
    assert not [tick for tick in evening.controller.state.ticks if tick.startswith(f"{opened}/")]


def test_it_is_printed_when_nothing_can_be_stored_and_when_storing_works_again(evening: Evening) -> None:
    evening.begin()
    evening.wait(2)
    evening.book.trouble = "the disk is full"
    assert evening.type("s").startswith("NOT KEPT: the disk is full\n")
    evening.book.trouble = ""
    assert "Everything is being kept again." in evening.type("s")


def test_a_follower_sees_each_change_and_changes_nothing(plan: Plan) -> None:
    driver = Evening(plan)
    follower = Evening(plan)
    follower.controller.read_only = True
    assert follower.begin().startswith("This terminal only follows")
    driver.begin()
    driver.wait(2)
    driver.type("s")
    follower.book.others = driver.book.events[2:]
    assert follower.wait(1).startswith("done: Three bottles here")
    for line in ("s", "", "a", "n", "3"):
        follower.type(line)
    assert len(follower.book.events) == 2
    follower.type("b")
    assert follower.guide.left


def test_a_temperature_is_acknowledged_even_if_it_repeats_the_one_before(evening: Evening) -> None:
    lead(evening, at(evening, "warm-bath"))
    evening.wait(2)
    for _ in range(2):
        evening.type("t")
        evening.type("1")
        evening.wait(30)
        assert "Developer now: 21.0 °C, read" in evening.type("21") + evening.wait(1)


@pytest.mark.parametrize(("follows", "columns"), [(True, 60), (True, None), (False, 60)])
def test_a_follower_at_a_terminal_has_the_curve_at_each_reading(
    plan: Plan, follows: bool, columns: int | None
) -> None:
    evening = Evening(plan, columns=columns)
    lead(evening, lambda: "b1.developer" in evening.controller.state.clocks)
    evening.wait(30)
    evening.controller.read_only = follows
    evening.wait(2)
    evening.book.others = [ReadingTaken(evening.controller.now(), "b1.developer", "developer", 38.6, "38.6")]
    said = evening.wait(1)
    assert ("Developer about 38.6 °C now." in said) is follows
    assert ("D Developer  ● read" in said) is (follows and columns is not None)
    assert all(len(line) <= (columns or 1000) for line in said.splitlines())
    assert "● read" not in evening.wait(20), "passing seconds are no news"
    assert ("● read" in evening.type("c")) is (follows and columns is not None)


def test_a_terminal_that_loses_the_session_says_so_and_follows_it(evening: Evening) -> None:
    evening.begin()
    evening.book.mine = False
    said = evening.wait(1)
    assert "Another terminal has taken this session over. This one follows it." in said
    assert "Keys: b leaves; this terminal only follows." in said


def test_in_an_ascii_locale_only_ascii_is_sent(plan: Plan) -> None:
    evening = Evening(plan, utf8=False)
    lead(evening, at(evening, "developer"))
    assert evening.text.isascii()
    assert "3:30 on the sheet -> " in evening.text
    assert "at 38.9 C" in evening.text


@pytest.mark.parametrize(
    ("line", "keys"),
    [
        ("", ("enter",)),
        (" ", ("space",)),
        ("s", ("space",)),
        ("S", ("space",)),
        ("b", ("backspace",)),
        ("t", ("t",)),
        ("38,5", ("3", "8", ",", "5", "enter")),
        ("38.5 C", ("3", "8", ".", "5", "enter")),
        ("102 F", ("3", "8", ".", "9", "enter")),
    ],
)
def test_typed_lines_are_translated_to_keys(line: str, keys: tuple[str, ...]) -> None:
    assert keys_of(line, None, True, "°C") == keys


def test_a_number_chooses_from_a_list_with_nothing_marked() -> None:
    choice = Choice("leave", "Leave?", (), (("stay", "Stay"), ("leave", "Leave")))
    assert keys_of("1", choice, False, "°C") == ("space", "enter")
    assert keys_of("2", choice, False, "°C") == ("space", "space", "enter")
    assert isinstance(keys_of("3", choice, False, "°C"), str)
    assert isinstance(keys_of("0", choice, False, "°C"), str)
    assert keys_of("", choice, False, "°C") == ("enter",)
    menu = Menu(tuple(each for each in ACTIONS if each.id in ("note", "help")), index=1)
    assert keys_of("1", menu, False, "°C") == ("space", "enter")
    assert keys_of("2", menu, False, "°C") == ("enter",)


def test_numbers_and_words_are_typed_into_their_fields() -> None:
    late = Number("late", "How late?", "x", "s", 10.0, 5.0)
    assert keys_of("-5", late, False, "°C") == ("-", "5", "enter")
    assert keys_of("20 s", late, False, "°C") == ("2", "0", "enter")
    assert isinstance(keys_of("soon", late, False, "°C"), str)
    assert isinstance(keys_of("123456789", late, False, "°C"), str)
    assert keys_of("s b", Words("note", "A note", ""), False, "°C") == ("s", "space", "b", "enter")


def test_a_clock_is_printed_seldom_far_from_its_end() -> None:
    marks = [clock_mark(ClockView("down", seconds, "to go")) for seconds in range(7_200, -1, -1)]
    news = [7_200 - number for number in range(1, 7_201) if marks[number] != marks[number - 1]]
    assert news[:3] == [5_400, 3_600, 3_300]
    assert news[-11:] == [300, 270, 240, 210, 180, 150, 120, 90, 60, 30, 0]
    assert len(news) < 40
    assert clock_mark(None) == clock_mark(None)
    assert (
        clock_line(ClockView("over", 3, "OVER its time", elapsed_s=213))
        == "Clock: 0:03 OVER its time; 3:33 in all."
    )


def test_control_characters_are_shown_as_question_marks() -> None:
    assert sendable("a\x1b[2Jb\u202ec\x9b", True) == "a?[2Jb?c?"
    assert sendable("38.9 °C − ½ é → 日", False) == "38.9 C - 1/2 e -> ?"


def test_with_sound_off_only_the_words_of_calls_are_printed(plan: Plan) -> None:
    evening = Evening(plan, Settings(calls=False))
    lead(evening, at(evening, "bleach-fix"))
    after_check = evening.text[evening.text.index("done: As many bells") :]
    assert "CALL: " in after_check
    assert "\a" not in after_check
    assert evening.text.count("\a") == 3
