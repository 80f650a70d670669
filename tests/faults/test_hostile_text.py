"""Hostile text in every field and file a person can reach: shown as text, or refused in one sentence.

All in this process, by way of the commands themselves; the full screen has its own test of typed words.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from tests.robot.program import ROOT, fields, journal, kinds, run
from tests.session.walker import guide_for

from wetside.cli import main
from wetside.domain.session import commands as c
from wetside.export.data_formats import export_csv, export_jsonl, export_toml
from wetside.export.pages import export_markdown
from wetside.export.session_log import session_log
from wetside.files.profile_file import read_profile
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.sanitize import invisible

SETUP = ROOT / "profiles" / "setups" / "three-rolls.toml"
PROFILE = ROOT / "profiles" / "two-bath.toml"

IN_SETUP = {
    "title": 'title = "Three rolls on a Sunday evening"',
    "who": 'who = "A demonstration, no real person"',
    "note": 'note = "Everything here is made up: film, bottles, prices and days."',
    "roll label": 'label = "Harbour, morning"',
    "bottle label": 'label = "Developer, soft bottle"',
    "profile": 'profile = "two-bath"',
}
HOSTILE = {
    "markup": "[red]x[/] [@click=app.quit]y[/]",
    "formula": "=1+1",
    "plus": "+1",
    "minus": "-1+2",
    "at": "@SUM(A1)",
    "ansi": "\x1b[31mred",
    "osc": "\x1b]0;owned\x07",
    "c1": "\x9b2J",
    "bidi": "\u202eesrever\u202c",
    "nul": "a\x00b",
    "long": "x" * 100_000,
}
ELSE_IN_A_TABLE = ("plus", "minus", "at")
"""Text like any other, but in a spreadsheet: looked for where the exports are, in a title and in a label."""
SHOWN_AS_TEXT = ("markup", "formula", "plus", "minus", "at")


def in_toml(text: str) -> str:
    """A basic TOML string, with whatever a raw file may not hold written as an escape."""
    safe = "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text)
    return f'"{safe}"'


def said(capsys: pytest.CaptureFixture[str], data: Path, *arguments: str) -> tuple[int, str]:
    """What a command says, on both streams; none of it acts on a terminal, and an error is one sentence."""
    code = main(["--data", str(data), *arguments])
    out, err = capsys.readouterr()
    assert not any(invisible(letter) for letter in (out + err).replace("\n", ""))
    assert "Traceback" not in err
    if code != 0:
        assert code in (1, 2, 3)
        assert out == "" or arguments[0] == "check"
        assert 0 < len(err) + len(out) < 4_000
    return code, out + err


@pytest.mark.parametrize(
    ("field", "what"),
    [
        (field, what)
        for field in IN_SETUP
        for what in HOSTILE
        if what not in ELSE_IN_A_TABLE or field in ("title", "roll label")
    ],
)
def test_hostile_text_in_a_setup_is_shown_as_text_or_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], field: str, what: str
) -> None:
    line, hostile = IN_SETUP[field], HOSTILE[what]
    text = SETUP.read_text("utf-8")
    assert text.count(line) == 1
    setup = tmp_path / "hostile.toml"
    setup.write_text(text.replace(line, f"{line.partition(' = ')[0]} = {in_toml(hostile)}"), "utf-8")
    codes = {said(capsys, tmp_path / "data", command, str(setup))[0] for command in ("plan", "review", "check")}
    assert len(codes) == 1
    if field != "profile" and what in SHOWN_AS_TEXT:
        assert codes == {0}
        _kept_and_exported(setup, hostile)
    else:
        assert 0 not in codes


def _kept_and_exported(setup: Path, hostile: str) -> None:
    """An evening with this text, a note, a reason and an end in the same words, in all four forms."""
    plan = make_plan(read_profile(PROFILE), read_setup(setup))
    guide = guide_for(plan)
    controller = guide.controller
    guide.wait(2)
    assert controller.dispatch(c.AddNote(controller.now(), hostile))
    assert controller.dispatch(c.Abandon(controller.now(), hostile))
    events = tuple(guide.events)
    log = session_log(events)
    assert hostile in export_toml(log)
    for text in (export_toml(log), export_csv(log), export_markdown(log), export_jsonl(events)):
        assert not any(invisible(letter) for letter in text.replace("\r\n", "").replace("\n", ""))
    for row in list(csv.reader(io.StringIO(export_csv(log), newline="")))[1:]:
        assert not any(cell.startswith(("=", "+", "@")) for cell in row)
        assert all(not cell.startswith("-") or _is_number(cell) for cell in row)


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_text_on_the_shelf_is_shown_as_text_or_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    data, hostile = tmp_path / "data", HOSTILE[what]
    mixed, _ = said(capsys, data, "shelf", "mix", "two-bath", f"--name={hostile}")
    assert (mixed == 0) == (what in SHOWN_AS_TEXT)
    if mixed == 0:
        assert hostile in said(capsys, data, "shelf", "list", "--json")[1]
    for arguments in (("note", hostile, "words"), ("squeeze", hostile), ("discard", "x", f"--reason={hostile}")):
        assert said(capsys, data, "shelf", *arguments)[0] != 0


@pytest.mark.parametrize("what", [what for what in HOSTILE if what not in ELSE_IN_A_TABLE])
@pytest.mark.parametrize("key", ["title", "instruction"])
def test_hostile_text_in_a_profile_is_shown_as_text_or_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], key: str, what: str
) -> None:
    lines = PROFILE.read_text("utf-8").splitlines()
    number = next(number for number, line in enumerate(lines) if line.startswith(f"{key} = "))
    lines[number] = f"{key} = {in_toml(HOSTILE[what])}"
    profile = tmp_path / "hostile.toml"
    profile.write_text("\n".join(lines), "utf-8")
    code, _ = said(capsys, tmp_path / "data", "check", str(profile))
    assert (code == 0) == (what in SHOWN_AS_TEXT)


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_lines_in_a_plain_session_are_shown_as_text_or_refused(tmp_path: Path, what: str) -> None:
    """At the step, in the menu, as a note: answered in words, shown as text or not taken; the session lives."""
    text = HOSTILE[what]
    # the clocks asked for a hundred times: a step that has only just opened takes no other line
    lines = (*("c",) * 100, text, "k", text, "b", "n", text, f"before {text} after", "c", "q", "2")
    done = run(tmp_path, "practise", "three-rolls", "--plain", typed="\n".join(lines) + "\n")
    assert done.returncode == 0, done.stderr
    assert not any(invisible(letter) for letter in (done.stdout + done.stderr).replace("\n", ""))
    assert "Traceback" not in done.stdout + done.stderr
    assert kinds(journal(tmp_path))[:2] == ["session_began", "step_opened"]
    notes = [fields(row)["text"] for row in journal(tmp_path) if row[2] == "note_added"]
    if what in SHOWN_AS_TEXT:
        assert notes == [text]
    assert not any(invisible(letter) for note in notes for letter in note)
