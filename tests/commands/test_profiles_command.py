"""`wetside profiles`: a copy is a short file based on the one copied; the whole is shown with its sources."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_profile

from wetside.cli import main
from wetside.files.profile_file import read_profile
from wetside.files.setup_file import read_setup, write_setup

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WETSIDE_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)


def said(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str]:
    capsys.readouterr()
    code = main(list(args))
    return code, capsys.readouterr().out


def test_a_copy_equals_its_base_and_every_commented_figure_in_it_can_be_enabled(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["profiles", "--copy", "three-bath", "mine.toml"]) == 0
    copy = Path("mine.toml")
    assert len(copy.read_text("utf-8").splitlines()) < 60
    base, mine = read_profile(ROOT / "profiles" / "three-bath.toml"), read_profile(copy)
    assert (mine.id, mine.title) == ("mine", "My three-bath colour negative")
    assert mine.steps == base.steps
    assert mine.solutions == base.solutions
    copy.write_text(re.sub(r"^# (?=\w+ = )", "", copy.read_text("utf-8"), flags=re.MULTILINE), "utf-8")
    taken_up = read_profile(copy)
    assert [each.table for each in taken_up.solutions] == [each.table for each in base.solutions]
    assert dict(taken_up.solution("bleach").sources)["table"] == "sheet"
    assert said(capsys, "check", "mine.toml") == (0, "mine.toml: sound\n")


def test_a_copy_of_a_file_is_based_on_that_file(capsys: pytest.CaptureFixture[str]) -> None:
    Path("kits").mkdir()
    assert main(["profiles", "--copy", "two-bath", "kits/first.toml"]) == 0
    assert main(["profiles", "--copy", "kits/first.toml", "second.toml"]) == 0
    assert 'based_on = "kits/first.toml"' in Path("second.toml").read_text("utf-8")
    assert said(capsys, "check", "second.toml") == (0, "second.toml: sound\n")


def _changed_setup(capsys: pytest.CaptureFixture[str], *changes: tuple[str, str]) -> str:
    """The text of mine.toml, a copy of a sound setup with these changes, each made once."""
    main(["profiles", "--copy", "three-rolls", "mine.toml"])
    capsys.readouterr()
    assert said(capsys, "check", "mine.toml") == (0, "mine.toml: sound\n")
    text = Path("mine.toml").read_text("utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    Path("mine.toml").write_text(text, "utf-8")
    return text


@pytest.mark.parametrize(
    ("before", "after", "note"),
    [
        ('bath_volume = "10 l"', 'bath_volume = "10 ml"', "A bath of this size cannot bring the bottles to"),
        ('hot = "55 °C"', 'hot = "25 °C"', "the hot tap gives 25.0 °C: boil"),
    ],
)
def test_check_notes_what_a_plan_wants_settled_first(
    capsys: pytest.CaptureFixture[str], before: str, after: str, note: str
) -> None:
    _changed_setup(capsys, (before, after))
    code, out = said(capsys, "check", "mine.toml")
    sound, told = out.splitlines()
    assert (code, sound) == (0, "mine.toml: sound")
    assert told.startswith("mine.toml: note: ")
    assert note in told


@pytest.mark.parametrize(
    ("before", "after", "line_of"),
    [
        ("used_rolls = 4", "used_rolls = 40", "[[bottles]]"),
        ('volume = "1 l"', 'volume = "500 ml"', "[[bottles]]"),
        ('solution = "developer"', 'solution = "fixer"', "[[bottles]]"),
        ("invented = true", 'developer = "44 °C"', "developer ="),
        ('format = "135-36"', 'format = "220"', "[[rolls]]"),
    ],
)
def test_what_bars_an_evening_is_found_on_the_line_it_is_about(
    capsys: pytest.CaptureFixture[str], before: str, after: str, line_of: str
) -> None:
    text = _changed_setup(capsys, ("places = 3", "places = 1"), (', "600 ml", "850 ml"', ""), (before, after))
    line = next(number for number, words in enumerate(text.splitlines(), 1) if words.startswith(line_of))
    code, out = said(capsys, "check", "mine.toml")
    assert code == 1
    assert f"mine.toml, line {line}: " in out


def test_a_changed_base_gives_a_note_in_check(capsys: pytest.CaptureFixture[str]) -> None:
    main(["profiles", "--copy", "two-bath", "first.toml"])
    main(["profiles", "--copy", "first.toml", "second.toml"])
    text = Path("first.toml").read_text("utf-8")
    Path("first.toml").write_text(text.replace('# life_full = "6 months"', 'life_full = "5 months"', 1), "utf-8")
    code, out = said(capsys, "check", "second.toml")
    assert code == 0
    assert "second.toml: sound" in out
    assert "second.toml: note: first.toml has changed since second.toml was written" in out


def test_figures_far_from_published_ones_give_a_note_in_check_and_in_the_plan(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path("cold.toml").write_text(
        'format = 1\nid = "cold"\ntitle = "Cold"\nbased_on = "two-bath"\n\n'
        '[solutions.developer]\nrole = "developer"\n'
        'target = "30 °C"\nrange = "30 ± 0.3 °C"\ntable = ["30 °C 3:15"]\ntable_tolerance = "0.3 °C"\n',
        "utf-8",
    )
    code, out = said(capsys, "check", "cold.toml")
    assert code == 0
    assert "cold.toml: note: Developer: 3:15 at 30.0 °C; published times come to" in out
    assert "Z-131" in out
    main(["profiles", "--copy", "three-rolls", "tonight.toml"])
    setup = Path("tonight.toml")
    setup.write_text(setup.read_text("utf-8").replace('"two-bath"', '"cold.toml"'), "utf-8")
    assert "published times come to" in said(capsys, "plan", "tonight.toml")[1].replace("\n    ", " ").replace(
        "\n  ", " "
    )


def test_the_whole_profile_is_shown_with_the_origin_of_each_value(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = said(
        capsys, "profiles", "--whole", str(ROOT / "tests" / "profile" / "kits" / "from-the-sheet.toml")
    )
    assert code == 0
    lines = out.splitlines()
    assert 'own         solutions.developer.target = "38 °C"  (line 15)' in lines
    assert any(
        re.fullmatch(r"taken over  solutions\.prebath\.tempered = true  \(prebath\.toml, line \d+\)", x)
        for x in lines
    )
    assert 'follows     solutions.prebath.table = [["36 °C", "2:00"]]  (line 11)' in lines
    assert {line.split("  ")[0] for line in lines} == {"own", "taken over", "follows"}
    assert said(capsys, "profiles", "--whole", "two-bath")[0] == 0
    assert main(["profiles", "--whole", "three-rolls"]) == 3


def test_the_sheet_marks_values_that_the_file_states_itself(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = said(
        capsys, "profiles", "--show", str(ROOT / "tests" / "profile" / "kits" / "from-the-sheet.toml")
    )
    assert code == 0
    prebath = out[out.index("Prebath (prebath)") : out.index("Developer (developer)")].splitlines()
    marks = {line[2:18].strip(): line[0] for line in prebath[1:]}
    assert marks == {"kept as": " ", "target": "=", "range": " ", "time": "=", "hazards": " "}
    assert "=" not in {line[:1] for line in said(capsys, "profiles", "--show", "keys")[1].splitlines()}


def test_the_example_profile_of_the_handbook_is_sound() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    (example,) = re.findall(r"```toml\n(format = 1\n.*?)```", text, re.DOTALL)
    Path("mine.toml").write_text(example, "utf-8")
    profile = read_profile(Path("mine.toml"))
    assert check_profile(profile) == ()
    ids = [step.id for step in profile.steps]
    assert ids[ids.index("developer") + 1 : ids.index("developer") + 3] == ["stop", "stop-wash"]
    assert ids.index("last-look") == ids.index("take-down") + 1
    assert "practice" not in ids
    assert profile.solution("developer").capacity_per_l == 8


def test_a_sheet_that_is_not_finished_is_listed_with_how_to_go_on(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "NOT FINISHED" not in said(capsys, "profiles")[1]
    monkeypatch.setattr("sys.stdin", io.StringIO("My kit\nleave\n"))
    main(["profiles", "--new", "my-kit"])
    (listed,) = (line for line in said(capsys, "profiles")[1].splitlines() if "my-kit" in line)
    assert " ".join(listed.split()) == "my-kit yours NOT FINISHED: `wetside profiles --new my-kit` goes on with it"


def test_check_names_the_file_as_it_was_given_and_a_base_by_its_own_name(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path("kits").mkdir()
    broken = 'format = 1\nid = "{0}"\ntitle = "Mine"\nbased_on = "{1}"\n[solutions.developer]\n{2} = "38 °C"\n'
    Path("kits/mine.toml").write_text(broken.format("mine", "three-bath", "targt"), "utf-8")
    Path("kits/mine.toml-too.toml").write_text(broken.format("too", "mine", "target"), "utf-8")
    wrong = 'line 6, solutions.developer.targt: "targt" is no key here; the nearest is "target".\n'
    assert said(capsys, "check", "kits/mine.toml") == (3, f"kits/mine.toml, {wrong}")
    name = "kits/mine.toml-too.toml"
    assert said(capsys, "check", name) == (3, f"{name}: mine.toml, {wrong}")
    assert said(capsys, "check", "kits/no.toml") == (3, "kits/no.toml does not exist: check the name.\n")


def test_check_says_what_to_write_for_a_bottle_beyond_its_capacity(
    capsys: pytest.CaptureFixture[str],
) -> None:
    setup = read_setup(ROOT / "profiles/setups/three-rolls.toml")
    worn = tuple(replace(bottle, used_rolls=40.0) for bottle in setup.bottles)
    Path("worn.toml").write_text(write_setup(replace(setup, bottles=worn)), "utf-8")
    assert main(["check", "worn.toml"]) == 1
    told = capsys.readouterr()
    assert "beyond its capacity" in told.out + told.err
    assert "To use it all the same, say why in the setup" in told.out + told.err
