"""My kit's sheet on the full screen: asked by keys, the sheet in sight, left and gone on with."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.app.test_kit_sheet import ANSWERS, KIT
from tests.tui.seen import Seat

from wetside.app.kit_sheet import KitSheet
from wetside.app.terminal import Terminal
from wetside.files.profile_file import read_profile
from wetside.tui.dialog import DialogScreen
from wetside.tui.kit_sheet_screen import KitSheetScreen, which_kit


class Person:
    """Presses keys on the screens of this folder, as they are opened from home."""

    def __init__(self, terminal: Terminal, own: Path) -> None:
        self._terminal, self._own = terminal, own
        self.seat = Seat(terminal, DialogScreen(terminal, "My kit's sheet", lambda: which_kit(own)))
        self._sheet_opened = False

    def press(self, *keys: str) -> None:
        for key in keys:
            self.seat.press(key)
            if self.seat.results and not self._sheet_opened:
                self._sheet_opened = True
                sheet = KitSheet(Path(self.seat.results[0]), self._own)
                self.seat = Seat(self._terminal, KitSheetScreen(self._terminal, sheet))

    @property
    def left(self) -> list[str]:
        return self.seat.results

    @property
    def sheet(self) -> KitSheet:
        sheet = self.seat.top.sheet
        assert isinstance(sheet, KitSheet)
        return sheet

    def answer(self, words: str) -> None:
        """Rubs out what stands there, types, and takes it."""
        self.press(*["backspace"] * len(self.seat.top.field.value))
        self.press(*("space" if letter == " " else letter for letter in words), "enter")

    def begin(self, title: str, base: str) -> None:
        self.press("enter")
        self.answer(title)
        self.answer(base)

    @property
    def asked(self) -> str:
        return self.sheet.question.id if self.sheet.question is not None else ""

    def seen(self, columns: int = 80, rows: int = 24) -> str:
        return "\n".join(self.seat.rows(columns, rows))


@pytest.fixture
def own(tmp_path: Path) -> Path:
    folder = tmp_path / "profiles"
    folder.mkdir()
    return folder


@pytest.fixture
def person(terminal: Terminal, own: Path) -> Person:
    return Person(terminal, own)


SIZES = ((80, 24), (40, 12), (120, 40))


def test_the_whole_kit_is_asked_with_its_sheet_beside_the_questions_and_written(person: Person, own: Path) -> None:
    """Each question is looked at in every size before it is answered."""
    person.press("enter")
    person.answer("From the sheet")
    while person.asked:
        for size in SIZES:
            seen = person.seen(*size)
            assert "Answer:" in seen
            assert "If left out:" in seen or "It must be answered." in seen
            if person.sheet.profile is not None:
                _, figure = person.sheet.place()
                assert person.sheet.lines()[figure].text[:20].rstrip() in seen
        person.answer(ANSWERS.get(person.asked, ""))
    assert all("ENTER proves it" in person.seen(*size) for size in SIZES)
    person.press("enter")
    assert all("ENTER writes it" in person.seen(*size) for size in SIZES)
    assert not (own / "from-the-sheet.toml").exists()
    person.press("enter")
    assert person.left[0].startswith("Written: ")
    asked, written = read_profile(own / "from-the-sheet.toml", own), read_profile(KIT)
    assert replace(asked, text="", sha256="", title="") == replace(written, text="", sha256="", title="")


def test_the_sheet_shows_an_answer_at_once(person: Person) -> None:
    person.begin("Blue box", "three-bath")
    for _ in range(3):
        person.press("enter")
    assert "  target           37.8 °C" in person.seen()
    person.answer("38 ± 0.3 °C")
    assert "= target           38.0 °C" in person.seen()
    assert person.asked == "developer.times"


def test_a_bad_answer_stays_in_the_field_with_one_sentence(person: Person) -> None:
    person.begin("Blue box", "tree-bath")
    assert person.asked == "based-on"
    assert " tree-bath" in person.seen()
    assert 'There is no profile "tree-bath"; the nearest is "three-bath".' in person.seen()
    person.answer("three-bath")
    assert person.asked == "parts"


def test_backspace_on_an_empty_field_goes_back_and_the_bottom_line_says_so(person: Person) -> None:
    person.begin("Blue box", "two-bath")
    assert "BACKSPACE the question before" in person.seen()
    person.press("backspace")
    assert person.asked == "based-on"
    assert "BACKSPACE rubs out" in person.seen()
    person.press("up", "up")
    assert person.left == ["blue-box is not finished: your answers are kept."]


def test_a_draft_can_be_left_and_continued_from_the_list(person: Person, terminal: Terminal, own: Path) -> None:
    person.begin("Blue box", "two-bath")
    person.press("escape")
    again = Person(terminal, own)
    assert "Go on: blue-box, not finished" in again.seen()
    again.press("space", "enter")
    assert again.asked == "parts"
    again.press("end", "enter", "enter")
    third = Person(terminal, own)
    assert "Change: blue-box" in third.seen()
    third.press("down", "enter")
    third.answer("Bluer box")
    third.press("end", "enter", "enter")
    assert read_profile(own / "blue-box.toml", own).title == "Bluer box"


def test_questions_that_the_proof_finds_fault_with_are_asked_again(person: Person, own: Path) -> None:
    person.begin("Blue box", "two-bath")
    while person.asked != "bleach-fix.temperature":
        person.press("enter")
    person.answer("30 °C")
    person.press("end", "enter")
    assert person.asked == "bleach-fix.temperature"
    assert "outside its own range" in person.seen().replace("\n", " ")
    person.answer("102 F")
    person.press("end", "enter", "enter")
    assert (own / "blue-box.toml").exists()


def test_figures_far_from_published_ones_are_pointed_out_before_the_file_is_written(person: Person) -> None:
    person.begin("Cold", "two-bath")
    for id_, words in (("developer.temperature", "30 ± 0.1 °C"), ("developer.times", "30 °C 3:15")):
        while person.asked != id_:
            person.press("enter")
        person.answer(words)
    person.press("end", "enter")
    assert "published times come to" in " ".join(person.seen().split())
    assert person.left == []
