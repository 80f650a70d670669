"""A profile made by answers from a kit's sheet: equal to one written by hand; a draft is resumed without loss."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from wetside.app.kit_sheet import KitSheet, drafts, path_for
from wetside.errors import FileUnusable, Refused
from wetside.files.profile_file import read_profile

KIT = Path(__file__).parents[1] / "profile" / "kits" / "from-the-sheet.toml"
ANSWERS = {
    "title": "A three-bath kit, from its sheet",
    "based-on": "three-bath",
    "parts": "prebath",
    "film": "standard, backed",
    "makes": "1 l",
    "prebath.temperature": "36 °C",
    "prebath.time": "2:00",
    "developer.temperature": "38 ± 0.3 °C",
    "developer.times": "39 °C 3:00, 38 °C 3:15, 36 °C 4:00",
    "developer.push": "2 stops x 1.5, 1 stop x 1.25",
    "developer.use": "+10 % after 8 rolls",
    "developer.rolls": "12 rolls, 16 rolls",
    "developer.life": "8 weeks, 4 weeks",
    "developer.agitation": "30 s, then 10 s every 30 s",
    "bleach.temperature": "38 °C",
    "bleach.time": "5:00",
    "bleach.rolls": "24 rolls per 2 litres",
    "bleach-wash.time": "3:00",
    "fixer.temperature": "38 °C",
    "fixer.time": "6:00",
    "wash.time": "4:00",
    "final-rinse.temperature": "25 °C",
    "final-rinse.time": "1:00",
}
"""The invented sheet of tests/profile/kits/from-the-sheet.toml, as answers."""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    folder = tmp_path / "profiles"
    folder.mkdir()
    return folder


def answered(path: Path, own: Path, answers: dict[str, str]) -> KitSheet:
    """The sheet after all its questions, each answered or skipped."""
    sheet = KitSheet(path, own)
    while sheet.question is not None:
        sheet.answer(answers.get(sheet.question.id, ""))
    return sheet


def at_question(own: Path, base: str, id_: str, answers: dict[str, str] | None = None) -> KitSheet:
    sheet = KitSheet(own / "mine.toml", own)
    given = {"title": "Mine", "based-on": base, **(answers or {})}
    while sheet.question is not None and sheet.question.id != id_:
        sheet.answer(given.get(sheet.question.id, ""))
    return sheet


def test_the_answers_give_the_same_profile_as_a_file_written_by_hand(own: Path) -> None:
    path = own / KIT.name
    sheet = answered(path, own, ANSWERS)
    assert len(sheet.questions) == 28
    assert sheet.proved() == ()
    sheet.write()
    assert len(path.read_text("utf-8").splitlines()) <= 60
    assert not sheet.draft.exists()
    asked, written = read_profile(path, own), read_profile(KIT)
    assert replace(asked, text="", sha256="") == replace(written, text="", sha256="")
    assert sheet.profile is not None
    assert asked == replace(sheet.profile, text=asked.text, sha256=asked.sha256)  # which was proved


@pytest.mark.parametrize(
    "base", ["two-bath", "three-bath", "two-bath-prebath", "motion-picture", "one-shot-reversal"]
)
def test_every_question_names_its_unit_and_how_to_skip_it_and_accepts_its_own_example(
    own: Path, base: str
) -> None:
    sheet = KitSheet(own / "mine.toml", own)
    given = {"title": "Mine", "based-on": base, "parts": "", "film": ""}
    seen = 0
    while (question := sheet.question) is not None:
        assert question.words
        assert question.unit
        assert sheet.left_out
        sheet.answer(given.get(question.id, question.example.partition(" (or")[0]))
        assert sheet.index == seen + 1
        seen += 1
    assert 20 <= seen <= 40


def test_a_question_shows_what_applies_without_an_answer(own: Path) -> None:
    sheet = at_question(own, "two-bath", "developer.use")
    assert sheet.left_out == 'If left out: +2.0% per roll, as two-bath has it. "none" takes that away.'
    assert at_question(own, "two-bath", "bleach-fix.time").left_out == (
        "If left out: 6:30 at 38.9 °C (102.0 °F), as two-bath has it."
    )


def test_a_draft_can_be_left_after_any_answer_and_continued_there(own: Path) -> None:
    sheet = KitSheet(own / KIT.name, own)
    while sheet.question is not None:
        sheet.answer(ANSWERS.get(sheet.question.id, ""))
        assert drafts(own) == ("from-the-sheet",)
        again = KitSheet(own / KIT.name, own)
        assert (again.index, again.text, again.question) == (sheet.index, sheet.text, sheet.question)
        assert (again.profile, again.own, again.questions) == (sheet.profile, sheet.own, sheet.questions)
        if sheet.index in (1, 2, 4, 11, 27):
            sheet = again  # one that was taken up goes on as one that was never left
    again.write()
    asked, written = read_profile(own / KIT.name, own), read_profile(KIT)
    assert replace(asked, text="", sha256="") == replace(written, text="", sha256="")


@pytest.mark.parametrize(
    ("id_", "typed", "said"),
    [
        ("based-on", "tree-bath", 'There is no profile "tree-bath"; the nearest is "three-bath".'),
        ("title", "", "This must be answered"),
        ("title", "x" * 41, "at most 40 letters"),
        ("parts", "prebth", 'There is no part "prebth"; the nearest is "prebath".'),
        ("film", "baked", "backed"),
        ("developer.temperature", "38", '"38" has no unit'),
        ("developer.temperature", "80 °C", "baths are between 0 and 60 °C"),
        ("developer.times", "38 °C 3:15, 36 °C 3:00", "a warmer bath must take less time"),
        ("developer.push", "one stop", "is not understood"),
        ("developer.use", "a bit", "is not understood"),
        ("developer.rolls", "12 rolls", "in how much?"),
        ("developer.agitation", "now and then", "is not understood"),
        ("bleach.time", "-3:00", '"-3:00" is not a length of time'),
    ],
)
def test_a_bad_answer_gives_one_sentence_and_repeats_the_question(
    own: Path, id_: str, typed: str, said: str
) -> None:
    sheet = at_question(own, "three-bath", id_)
    before = (sheet.index, sheet.text, sheet.draft.read_bytes() if sheet.draft.exists() else b"")
    with pytest.raises(Refused) as refused:
        sheet.answer(typed)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)
    assert ", line " not in str(refused.value)
    assert (sheet.index, sheet.text, sheet.draft.read_bytes() if sheet.draft.exists() else b"") == before


def test_an_earlier_answer_can_be_shown_changed_and_removed(own: Path) -> None:
    sheet = at_question(own, "three-bath", "developer.temperature")
    sheet.answer("38 ± 0.3 °C")
    assert sheet.lines_about((("solutions", "developer", "target"),)) == ("= target           38.0 °C (100.4 °F)",)
    sheet.back()
    assert sheet.answered == "38 °C, 38 ± 0.3 °C"
    sheet.answer("39 °C")
    sheet.back()
    assert sheet.answered == "39 °C"
    sheet.answer("")
    assert "target" not in sheet.text
    assert [each.text for each in sheet.lines() if each.of == "developer" and "target" in each.text] == [
        "  target           37.8 °C (100.0 °F)"
    ]


def test_the_answer_none_removes_a_value_of_the_base(own: Path) -> None:
    sheet = at_question(own, "two-bath", "developer.push")
    sheet.answer("none")
    sheet.answer("none")
    assert sheet.profile is not None
    developer = sheet.profile.solution("developer")
    assert (developer.push, developer.use.kind) == ((), "none")
    sheet.back()
    assert sheet.answered == "none"
    sheet.answer("2 % per roll")
    assert sheet.profile.solution("developer").use.kind == "linear"
    assert 'leave_out = ["push"]' in sheet.text


def test_a_prebath_needs_backed_film(own: Path) -> None:
    sheet = at_question(own, "three-bath", "film", {"parts": "prebath"})
    with pytest.raises(Refused, match="name backed here too"):
        sheet.answer("")
    sheet.answer("standard, backed")
    assert "no-backing" in sheet.text
    sheet.back()
    sheet.back()
    sheet.answer("")
    sheet.answer("standard")
    assert "no-backing" not in sheet.text


def test_a_finding_of_the_proof_reopens_its_question_and_writes_nothing(own: Path) -> None:
    given = {"title": "Mine", "based-on": "two-bath", "bleach-fix.temperature": "30 °C"}
    sheet = answered(own / "mine.toml", own, given)
    found = sheet.proved()
    assert found
    sheet.reopen(found[0])
    assert sheet.question is not None
    assert sheet.question.id == "bleach-fix.temperature"
    assert not sheet.path.exists()


def test_values_that_no_question_is_about_stay_in_an_existing_file(own: Path) -> None:
    path = own / "mine.toml"
    text = KIT.read_text("utf-8")
    more = '[solutions.fixer]\nlooks_spent = "Milky."  # seen\n# a remark'
    path.write_text(text.replace("[solutions.fixer]", more), "utf-8")
    before = path.read_text("utf-8")
    sheet = KitSheet(path, own)
    sheet.open([each.id for each in sheet.questions].index("fixer.time"))
    assert sheet.answered == "6:00"
    sheet.answer("7:00")
    sheet.open_end()
    sheet.write()
    assert path.read_text("utf-8") == before.replace('time = "6:00"', 'time = "7:00"')


def test_confirming_every_answer_of_an_existing_file_changes_nothing(own: Path) -> None:
    path = own / KIT.name
    path.write_text(KIT.read_text("utf-8"), "utf-8")
    sheet = KitSheet(path, own)
    while sheet.question is not None:
        sheet.answer(sheet.answered)
    sheet.write()
    assert path.read_bytes() == KIT.read_bytes()


def test_a_file_changed_meanwhile_is_not_written_over(own: Path) -> None:
    path = own / KIT.name
    path.write_text(KIT.read_text("utf-8"), "utf-8")
    sheet = KitSheet(path, own)
    sheet.answer("Another title")
    path.write_text(KIT.read_text("utf-8") + "\n", "utf-8")
    with pytest.raises(Refused, match="has changed since"):
        sheet.write()
    with pytest.raises(Refused, match="has changed since"):
        KitSheet(path, own)
    assert path.read_text("utf-8") == KIT.read_text("utf-8") + "\n"


def test_only_short_profiles_with_their_own_id_can_be_edited(own: Path) -> None:
    with pytest.raises(Refused, match="the name of a process that ships"):
        KitSheet(own / "two-bath.toml", own)
    (own / "alone.toml").write_text('format = 1\nid = "alone"\n', "utf-8")
    with pytest.raises(FileUnusable, match="says no based_on"):
        KitSheet(own / "alone.toml", own)
    (own / "mine.draft").write_text("hello\n", "utf-8")
    with pytest.raises(FileUnusable, match="is no draft"):
        KitSheet(own / "mine.toml", own)


def test_figures_far_from_published_ones_get_a_note(own: Path) -> None:
    given = {
        "title": "Cold",
        "based-on": "two-bath",
        "developer.temperature": "30 ± 0.1 °C",
        "developer.times": "30 °C 3:15",
    }
    sheet = answered(own / "cold.toml", own, given)
    assert sheet.proved() == ()
    assert any("published times" in note for note in sheet.notes())


def test_inherited_text_that_names_a_changed_figure_is_pointed_out(own: Path) -> None:
    words = 'instruction = "Read the developer until it is at 37.8 °C."'
    head = 'format = 1\nid = "base"\ntitle = "A base"\nbased_on = "three-bath"'
    (own / "base.toml").write_text(f'{head}\n\n[[steps]]\nid = "read-again"\n{words}\n')
    given = {"title": "Mine", "based-on": "base"}
    assert answered(own / "mine.toml", own, given).notes() == ()
    warmer = {"developer.temperature": "38 ± 0.3 °C", "developer.times": "39 °C 3:00, 38 °C 3:15, 36 °C 4:00"}
    (note,) = answered(own / "other.toml", own, given | warmer).notes()
    assert note.startswith("The words at read-again still name 37.8 °C, taken over:")


@pytest.mark.parametrize(("title", "name"), [("My Blue Box!", "my-blue-box"), ("Мой", "my-kit")])
def test_the_title_gives_the_file_its_name(own: Path, title: str, name: str) -> None:
    assert path_for(title, own) == own / f"{name}.toml"
