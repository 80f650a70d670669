"""The documents say what is: the key table is the action table, and every command in the README exists and runs.

`python tests/test_docs.py` writes the key table into DEVELOPERS.md.
"""

from __future__ import annotations

import re
import shlex
import shutil
import sys
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from tests.robot.program import run
from tests.robot.robot import Robot

from wetside.cli import COMMANDS, main
from wetside.domain.planning.setup import Bottle, Place, Tank
from wetside.domain.profile.model import (
    Caution,
    FilmKind,
    Gear,
    Kind,
    Profile,
    ReadingAsk,
    ResidueRule,
    Solution,
    Source,
    Stage,
    Step,
    Tick,
    Vessel,
)
from wetside.files.setup_file import FORMATS
from wetside.files.toml_values import key_of
from wetside.present.actions import ACTIONS

TOP = Path(__file__).parents[1]
README = TOP / "README.md"
HANDBOOK = TOP / "DEVELOPERS.md"
_KEYS = re.compile(r"(<!-- keys:.*?-->\n).*?(<!-- /keys -->)", re.DOTALL)
_SPAN = re.compile(r"`(wetside(?: [^`]*)?)`")


def key_table() -> str:
    """The letters as DEVELOPERS.md shows them."""
    rows = "".join(f"| `{each.letter}` | {each.title} | {each.help} |\n" for each in ACTIONS)
    return f"| letter | in the menu | what it does |\n|---|---|---|\n{rows}"


def commands_named() -> list[str]:
    """Every command line that stands in the README, in the order of the text."""
    return list(dict.fromkeys(_SPAN.findall(README.read_text("utf-8"))))


def test_the_key_table_of_the_handbook_is_the_action_table() -> None:
    found = _KEYS.search(HANDBOOK.read_text("utf-8"))
    assert found is not None
    assert found[0] == found[1] + key_table() + found[2], "run: .venv/bin/python tests/test_docs.py"


def test_the_handbook_says_where_the_words_are() -> None:
    section = HANDBOOK.read_text("utf-8").partition("## Where the words are")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-z_]+\.(?:py|toml))`", section))
    there = {
        path.name for path in (TOP / "src" / "wetside" / "present").iterdir() if path.suffix in (".py", ".toml")
    }
    assert named == there - {"__init__.py"}


def test_the_handbook_has_every_kind_and_key_of_a_step() -> None:
    section = HANDBOOK.read_text("utf-8").partition("## Writing a profile")[2].partition("\n## ")[0]
    heads = [line.split("|")[1:3] for line in section.splitlines() if line.startswith("|")]
    named = [set(re.findall(r"`([a-z_]+)`", head)) for head, _ in heads]
    assert set(Kind) <= set().union(*named)
    keys = {*map(key_of, Step.__struct_fields__)} | {"list_gear"}
    assert keys <= set().union(*named)
    models = (Profile, Source, Stage, Vessel, ResidueRule, Caution, Tick, ReadingAsk, Gear, Solution)
    others = {key_of(name) for model in models for name in model.__struct_fields__}
    others -= {"text", "sha256", "remarks", "residue_rules"}  # of a profile: no keys, or, the last, called residue
    assert others | {"residue"} <= set(re.findall(r"`([a-z_]+)`", " ".join(keys for _, keys in heads)))


def test_every_letter_has_one_meaning() -> None:
    letters = [each.letter for each in ACTIONS]
    assert len(set(letters)) == len(letters)


def test_the_readme_names_every_command_and_no_other() -> None:
    named = {line.split()[1] for line in commands_named() if len(line.split()) > 1 and line.split()[1].isalpha()}
    assert named == COMMANDS.keys()


ON_A_TERMINAL = {
    "wetside": "An evening is not finished",
    "wetside start SETUP": "Review: Three rolls",
    "wetside start mine.toml": "Review: Three rolls",
    "wetside mix PROFILE": "Review: Mixing Kit of",
    "wetside mix two-bath": "Review: Mixing Kit of",
    "wetside profiles --new": "What is the kit called?",
    "wetside resume [SESSION]": "Look at the chemistry",
    "wetside follow": "FOLLOWING",
    "wetside follow [SESSION]": "FOLLOWING",
    "wetside practise": "PRACTICE",
    "wetside practise [SETUP] [--speed N]": "PRACTICE ×60",
    "wetside practise --tour": "PRACTICE",
}
"""What of the README opens the full screen, and words of its first picture."""

FILLED_IN = {
    "start SETUP": ["start three-rolls"],
    "start mine.toml": ["start three-rolls"],
    "plan mine.toml": ["profiles --copy three-rolls mine.toml", "plan mine.toml"],
    "review mine.toml": ["profiles --copy three-rolls mine.toml", "review mine.toml"],
    "mix PROFILE": ["mix two-bath"],
    "resume [SESSION]": ["resume last"],
    "follow [SESSION]": ["follow last"],
    "practise [SETUP] [--speed N]": ["practise three-rolls --speed 60"],
    "plan SETUP [--json]": ["plan three-rolls", "plan three-rolls --json"],
    "check my-kit.toml": ["profiles --copy two-bath my-kit.toml", "check my-kit.toml"],
    "profiles --show my-kit.toml": ["profiles --copy two-bath my-kit.toml", "profiles --show my-kit.toml"],
    "review SETUP|PROFILE [--format text|markdown]": [
        "review three-rolls --format text",
        "review two-bath --format markdown",
    ],
    "profiles [--copy ID FILE]": ["profiles", "profiles --copy two-bath my-process.toml"],
    "check FILE…": ["check two-bath three-rolls"],
    "check mine.toml": ["profiles --copy three-rolls mine.toml", "check mine.toml"],
    "shelf [list|mix|test|…] [--json]": [
        'shelf mix two-bath --name "Spring kit"',
        "shelf test 1-developer --dark",
        "shelf list",
        "shelf --json",
    ],
    "sessions [--went] [--all] [--json]": ["sessions", "sessions --went --all", "sessions --json"],
    "rolls": ["rolls --json"],
    "rolls [sleeve|sidecar|measure|drift] [--json|--csv]": ["rolls", "rolls --json", "rolls --csv", "rolls drift"],
    "export SESSION --format toml|csv|jsonl|markdown|html": [
        f"export last --format {form}" for form in ("toml", "csv", "jsonl", "markdown", "html")
    ],
    "salvage NEW": ["salvage saved.sqlite"],
    "settings [--write]": ["settings", "settings --write"],
}
"""A line of the README with places to fill in, and lines that fill them; any other line runs as it stands."""


def lines_of(named: str) -> list[str]:
    """The lines to run for one that the README names, without the program's name."""
    given = named.replace("\\|", "|").removeprefix("wetside").strip()
    return FILLED_IN.get(given, [given])


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with an evening that was begun by the program itself, and left."""
    data = tmp_path_factory.mktemp("begun") / "data"
    assert run(data, "start", "three-rolls", "--plain", typed="\n").returncode == 0
    return data


@pytest.fixture
def bench(begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to stand in, settings of one's own, and an evening that was begun; gives the data folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return Path(shutil.copytree(begun, tmp_path / "data"))


@pytest.mark.parametrize("named", [line for line in commands_named() if line not in ON_A_TERMINAL])
def test_the_readmes_commands_run(named: str, bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for line in lines_of(named):
        assert main(["--data", str(bench), *shlex.split(line)]) == 0, line
        said = capsys.readouterr()
        assert (said.out + said.err).strip(), line


@pytest.mark.parametrize("named", ON_A_TERMINAL)
def test_the_readmes_commands_open_the_full_screen(named: str, bench: Path) -> None:
    assert named in [line.replace("\\|", "|") for line in commands_named()]
    line = shlex.split(lines_of(named)[0])
    with Robot([sys.executable, "-m", "wetside", "--data", str(bench), *line], cwd=bench.parent) as robot:
        robot.until_shown(ON_A_TERMINAL[named])


def test_a_bottle_of_the_shelf_is_used_as_the_readme_says(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--data", str(bench), *shlex.split('shelf mix two-bath --name "Spring kit"')]) == 0
    assert main(["--data", str(bench), "profiles", "--copy", "three-rolls", "mine.toml"]) == 0
    text = Path("mine.toml").read_text("utf-8")
    first = text.index("[[bottles]]")
    kept = text[: first + 11] + '\nsolution = "developer"\nshelf_id = "1-developer"\n\n'
    Path("mine.toml").write_text(kept + text[text.index("[[bottles]]", first + 1) :], "utf-8")
    capsys.readouterr()
    assert main(["--data", str(bench), "plan", "mine.toml"]) == 0
    assert "Developer, Spring kit, 1 l: batch 1 takes 850 ml, enough." in capsys.readouterr().out


def test_the_readme_lists_every_word_of_a_setup() -> None:
    section = README.read_text("utf-8").partition("\n## Words\n")[2].partition("\n## ")[0]
    said = dict(re.findall(r"^\| (`.+?) \| (.+) \|$", section, re.MULTILINE))
    bottle, tank = (get_args(get_type_hints(form)["material"]) for form in (Bottle, Tank))
    wanted = {
        "`kind` of a roll": get_args(FilmKind),
        "`format` of a roll": FORMATS,
        "`material`": (*bottle, *tank),
        "`place`": get_args(Place),
    }
    for row, words in wanted.items():
        assert set(re.findall(r'`"(.+?)"`', said[row])) == set(words)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    said = capsys.readouterr().out
    assert "example" in said.lower()
    assert f"wetside {command}" in said


def test_the_readme_is_short() -> None:
    assert len(README.read_text("utf-8").splitlines()) <= 150


def test_the_example_kit_of_the_readme_is_sound(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (kit,) = re.findall(r"```toml\n(.*?)```", README.read_text("utf-8"), re.DOTALL)
    assert len([line for line in kit.splitlines() if line]) <= 11
    Path("my-kit.toml").write_text(kit, "utf-8")
    assert main(["--data", str(bench), "check", "my-kit.toml"]) == 0
    assert main(["--data", str(bench), "profiles", "--show", "my-kit.toml"]) == 0
    assert "my-kit.toml: sound" in capsys.readouterr().out


def test_pictures_named_in_the_readme_are_there() -> None:
    pictures = re.findall(r"\]\((screenshots/[^)]+)\)", README.read_text("utf-8"))
    assert pictures
    assert [picture for picture in pictures if not (TOP / picture).is_file()] == []


if __name__ == "__main__":
    text = HANDBOOK.read_text("utf-8")
    HANDBOOK.write_text(_KEYS.sub(lambda found: found[1] + key_table() + found[2], text), "utf-8")
