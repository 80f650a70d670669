"""`wetside profiles --new`: the questions of a kit's sheet in plain mode, on a pipe as on a terminal."""

from __future__ import annotations

import io
import tomllib
from pathlib import Path

import pytest
from tests.app.test_kit_sheet import ANSWERS, KIT

from wetside.cli import main
from wetside.files.profile_file import read_profile
from wetside.present import kit_questions


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("WETSIDE_DATA", str(tmp_path))
    return tmp_path / "profiles"


class Asked:
    """Runs the command with these lines typed; gives the exit code and what was said."""

    def __init__(self, patch: pytest.MonkeyPatch, out: pytest.CaptureFixture[str]) -> None:
        self._patch, self._out = patch, out

    def __call__(self, *lines: str, name: str = "") -> tuple[int, str]:
        self._patch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        self._out.readouterr()
        code = main(["profiles", "--new", *([name] if name else []), "--plain"])
        return code, self._out.readouterr().out


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Asked:
    return Asked(monkeypatch, capsys)


def test_every_question_has_its_text_and_the_keys_it_sets() -> None:
    rows = tomllib.loads(Path(kit_questions.__file__).with_name("kit_questions.toml").read_text("utf-8"))
    for name, row in rows.items():
        assert row.keys() <= {"id", "words", "unit", "example", "without", "of", "fills", "many", "refusable"}, (
            name
        )
        assert {"words", "unit", "example", "fills"} <= row.keys(), name
        assert row.get("of", "steps") in ("solutions", "steps"), name
        assert ("{}" in row["words"]) == ("of" in row), name


def test_a_whole_sheet_is_asked_for_proved_and_written(asked: Asked, own: Path) -> None:
    left_out = {"bleach.life", "fixer.rolls", "fixer.life", "final-rinse.rolls", "final-rinse.life"}
    order = [*ANSWERS]
    for id_, after in (
        ("bleach.life", "bleach.rolls"),
        ("fixer.rolls", "fixer.time"),
        ("fixer.life", "fixer.rolls"),
    ):
        order.insert(order.index(after) + 1, id_)
    order += ["final-rinse.rolls", "final-rinse.life"]
    lines = [("" if id_ in left_out else ANSWERS[id_]) for id_ in order]
    code, out = asked(*lines, "", name="from-the-sheet")
    assert code == 0, out
    assert "28 of 28. Final rinse: how long does it keep" in out
    assert "Sound. The sheet as it will read:" in out
    assert "= target           38.0 °C (100.4 °F)" in out
    written = read_profile(own / "from-the-sheet.toml", own)
    assert written.solutions == read_profile(KIT).solutions
    assert main(["check", "from-the-sheet"]) == 0


def test_unfinished_sheet_is_listed_and_continued(asked: Asked, own: Path) -> None:
    code, out = asked("Blue box", "two-bath", "leave")
    assert (code, "`wetside profiles --new blue-box` goes on." in out) == (0, True)
    assert not (own / "blue-box.toml").exists()
    assert "Not finished: blue-box;" in asked("leave")[1]
    code, out = asked("back", "", "end", "", name="blue-box")
    assert "was not finished: here it goes on." in out
    assert "Now: two-bath. An empty line keeps it." in out
    assert (code, (own / "blue-box.toml").exists()) == (0, True)


def test_a_bad_answer_is_explained_and_asked_again(asked: Asked) -> None:
    code, out = asked("Blue box", "tree-bath", "\x1b[2J", "two-bath")
    assert code == 1  # the input ended before the last question
    assert 'There is no profile "tree-bath"; the nearest is "three-bath".\n2 of 5.' in out
    assert "\x1b" not in out
    assert "Not written; the answers are in" in out


def test_an_unsound_profile_is_asked_about_again_and_not_written(asked: Asked, own: Path) -> None:
    assert asked("Warm", "two-bath", "leave")[0] == 0
    draft = own / "warm.draft"
    draft.write_text(draft.read_text("utf-8") + '[solutions.bleach-fix]\ntarget = "30 °C"\n', "utf-8")
    code, out = asked("end", "102 F", "end", "", name="warm")
    assert "It is not sound as it stands" in out
    assert "Now: 30 °C. An empty line keeps it, - takes it out." in out
    assert (code, (own / "warm.toml").exists()) == (0, True)


def test_an_own_profile_is_changed(asked: Asked, own: Path) -> None:
    asked("Blue box", "two-bath", "end", "")
    code, out = asked("Bluer box", "end", "", name=str(own / "blue-box.toml"))
    assert code == 0
    assert "is there already: its answers are shown" in out
    assert read_profile(own / "blue-box.toml", own).title == "Bluer box"
