"""The command line: what is asked for, what comes out, and the exit code of everything that goes wrong."""

from __future__ import annotations

import json
import os
import select
import signal
import stat
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from wetside import __version__
from wetside.app.clock import FASTEST
from wetside.app.session_factory import begin_session
from wetside.cli import COMMANDS, main
from wetside.commands.common import JSON_FORMAT
from wetside.commands.run_session import PRACTICE_SETUP, PRACTICE_SPEED
from wetside.commands.sessions import LISTED
from wetside.commands.tonight import plan_evening
from wetside.domain.calc.learning import SESSIONS_REMEMBERED
from wetside.files.settings import DATA_VARIABLE, Places, Settings
from wetside.storage.copies import FOLDER, KEPT
from wetside.storage.journal_file import KEPT_APART
from wetside.storage.store import open_store

TIMEOUT_S = 240.0


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder with spaces and more than ASCII in its name, and settings that are nobody's."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("WETSIDE_DEBUG", raising=False)
    folder = tmp_path / "my dätá"
    monkeypatch.setenv("WETSIDE_DATA", str(folder))
    return folder


@pytest.fixture
def session(data: Path, tmp_path: Path) -> str:
    """A session that was begun and left; its id."""
    places = Places(data, tmp_path / "config" / "wetside" / "settings.toml")
    evening = plan_evening("three-rolls", places, Settings())
    with open_store(places) as store:
        controller = begin_session(store, places, evening.plan, evening.profile.text, Settings())
        controller.release()
    return controller.state.session


def said(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    """Exit code, stdout, stderr."""
    code = main(argv)
    captured = capsys.readouterr()
    return code, captured.out, captured.err


@pytest.mark.parametrize("command", ["plan", "review"])
def test_a_closed_standard_output_is_told_in_one_sentence(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    assert main([command, "three-rolls"]) == 3
    assert capsys.readouterr().err.startswith("wetside: Standard output is closed, so nothing can be shown")


def test_the_version_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, "--version")[0:2] == (0, f"wetside {__version__}\n")


def test_help_names_every_command_units_defaults_and_exit_codes(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "--help")
    assert code == 0
    for word in (*COMMANDS, "units:", "defaults:", "exit codes:", "example:"):
        assert word in out


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_each_command_has_exit_codes_and_an_example(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, name, "--help")
    assert (code, err) == (0, "")
    assert f"example: wetside {name}" in out
    assert "\n--data DIR moves the data folder." in out, "on a line of its own, not as a part of the example"
    assert "exit codes" in out.lower()


def test_numbers_and_names_in_the_help_are_those_of_the_program(capsys: pytest.CaptureFixture[str]) -> None:
    told = {
        "": [DATA_VARIABLE],
        "practise": [f"{PRACTICE_SETUP}, at {PRACTICE_SPEED:.0f} times", f"{FASTEST:.0f} the most"],
        "sessions": ["the latest twenty", "the latest ten"],
        "salvage": [f"the folder {FOLDER} of", f"the last {KEPT} are kept", f"a folder {KEPT_APART}SESSION"],
    }
    assert (LISTED, SESSIONS_REMEMBERED) == (20, 10)
    for name, parts in told.items():
        _, out, _ = said(capsys, *([name] if name else []), "--help")
        for part in parts:
            assert part in " ".join(out.split()), name


MISTAKEN: dict[str, tuple[tuple[str, ...], int, str]] = {
    "a process for a setup": (("plan", "two-bath"), 3, "two-bath is a process: name a setup that uses it; there"),
    "a setup for a process": (("profiles", "--show", "three-rolls"), 3, "three-rolls is a setup: name a profile."),
    "a setup to mix": (
        ("shelf", "mix", "three-rolls", "--name", "S"),
        3,
        "three-rolls is a setup: name a profile.",
    ),
    "an option too many": (("shelf", "--all"), 2, "Unrecognized arguments: --all; see `wetside shelf --help`."),
    "no format": (
        ("export", "last"),
        2,
        "The following arguments are required: --format (toml, csv, jsonl, markdown, html); see ",
    ),
    "no number": (("practise", "--speed", "fast"), 2, 'Argument --speed: "fast" is no number; see '),
    "no whole number": (
        ("rolls", "sleeve", "1", "--frames", "x"),
        2,
        'Argument --frames: "x" is no whole number;',
    ),
    "a sheet that is a folder": (("profiles", "--new", "folder.toml"), 3, "folder.toml is a folder: name a file"),
    "a sheet that is no TOML": (
        ("profiles", "--new", "broken.toml"),
        3,
        "broken.toml, line 1: this is not TOML: ",
    ),
}


@pytest.mark.parametrize("mistake", MISTAKEN)
def test_a_mistake_gives_one_sentence(
    mistake: str, data: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    argv, code, words = MISTAKEN[mistake]
    monkeypatch.chdir(data.parent)
    Path("folder.toml").mkdir()
    Path("broken.toml").write_text("a = [\n", "utf-8")
    found, _, err = said(capsys, *argv)
    assert (found, err.count("\n")) == (code, 1)
    assert err.startswith(f"wetside: {words}")


HOSTILE = ["plna", "", "\x1b[31mred", "\u202estart", "x" * 100_000, "../start", "--no-such-option", "-x", "start "]


@pytest.mark.parametrize("argument", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_argument_gives_one_sentence(
    argument: str, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, argument)
    assert (code, out) == (2, "")
    assert err.startswith("wetside: ")
    assert err.count("\n") == 1
    assert err.strip().isprintable()
    assert len(err) < 2_100
    assert not data.exists()


@pytest.mark.parametrize(
    "argv",
    [
        ("start",),
        ("plan",),
        ("plan", "a", "b"),
        ("export", "last"),
        ("export", "last", "--format", "pdf"),
        ("practise", "three-rolls", "--speed", "fast"),
        ("practise", "three-rolls", "--speed", "0"),
        ("practise", "three-rolls", "--speed", "nan"),
        ("practise", "three-rolls", "--speed", "1e9"),
        ("review",),
        ("profiles", "--copy", "two-bath"),
        ("sessions", "--data"),
        ("sessions", "--data", ""),
        ("check",),
    ],
    ids=" ".join,
)
def test_a_command_that_cannot_be_understood_exits_with_2(
    argv: tuple[str, ...], data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, *argv)
    assert (code, out) == (2, "")
    assert err.startswith("wetside: ")
    assert err.count("\n") == 1


@pytest.mark.parametrize("argv", [(), ("start", "three-rolls"), ("practise",), ("resume",), ("follow",)], ids=str)
def test_the_full_screen_is_refused_in_a_pipe_with_an_alternative(
    argv: tuple[str, ...], data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, *argv)
    assert (code, out) == (2, "")
    assert "--plain" in err
    assert "textual" not in err


@pytest.mark.parametrize(
    ("argv", "code"),
    [
        (("plan", "no-such-setup"), 3),
        (("plan", "/no/such/file.toml"), 3),
        (("plan", "/"), 3),
        (("review", "tow-bath"), 3),
        (("check", "/no/such/file.toml"), 3),
        (("resume", "--plain"), 1),
        (("follow", "--plain"), 1),
        (("export", "last", "--format", "toml"), 1),
        (("profiles", "--copy", "no-such", "file.toml"), 3),
        (("sessions", "--data", "/proc/none"), 0),
        (("practise", "--plain", "--data", "/proc/none"), 3),
        (("practise", "--plain", "--data", "/dev/null"), 3),
        (("salvage", "new.sqlite3"), 3),
    ],
    ids=str,
)
def test_each_error_has_its_exit_code(
    argv: tuple[str, ...],
    code: int,
    data: Path,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    found, out, err = said(capsys, *argv)
    assert found == code, err
    assert all(line.startswith("wetside: ") for line in err.splitlines())
    assert (out + err).strip()


def test_the_nearest_known_name_is_suggested(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "did you mean plan?" in said(capsys, "plna")[2]
    assert "`wetside --help` lists them" in said(capsys, "help")[2]
    assert 'the nearest is "three-bath"' in said(capsys, "check", "thre-bath")[1]
    assert 'the nearest is "three-rolls"' in said(capsys, "plan", "three-rols")[2]


def test_a_plan_is_printed_as_text_and_as_json(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, "plan", "three-rolls")
    assert (code, err) == (0, "")
    assert "3:30 on the sheet" in out
    assert "\x1b" not in out
    code, out, err = said(capsys, "plan", "three-rolls", "--json")
    plan = json.loads(out)
    assert {"profile", "batches", "steps", "water", "tempering", "timeline", "warnings"} <= plan.keys()
    assert not data.exists()


def test_a_setup_by_path_finds_its_profile_beside_it(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said(capsys, "profiles", "--copy", "two-bath", str(tmp_path / "mine.toml"))[0] == 0
    assert said(capsys, "profiles", "--copy", "three-rolls", str(tmp_path / "evening.toml"))[0] == 0
    setup = tmp_path / "evening.toml"
    setup.write_text(setup.read_text().replace('profile = "two-bath"', 'profile = "./mine.toml"'))
    code, out, _ = said(capsys, "check", str(setup), str(tmp_path / "mine.toml"))
    assert code == 0
    assert out.count(": sound\n") == 2
    assert said(capsys, "plan", str(setup))[0] == 0


def test_an_own_profile_is_used_instead_of_a_shipped_one_of_the_same_name(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = data / "profiles"
    own.mkdir(parents=True)
    assert said(capsys, "profiles", "--copy", "two-bath", str(own / "two-bath.toml"))[0] == 0
    out = said(capsys, "profiles")[1]
    assert "two-bath                   yours" in out
    assert "three-bath                 ships" in out
    assert said(capsys, "profiles", "--copy", "two-bath", str(own / "two-bath.toml"))[0] == 1
    (own / "broken.toml").write_text("format = 1\n[red]")
    assert "CANNOT BE READ" in said(capsys, "profiles")[1]


def test_check_reports_every_finding_and_goes_on_to_the_next_file(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text('format = 1\n[[steps]]\nidd = "x"\n')
    code, out, _ = said(capsys, "check", str(broken), "three-rolls")
    assert code == 3
    assert out.count(f"{broken}, line ") > 1
    assert "three-rolls: sound" in out
    setup = tmp_path / "thirsty.toml"
    said(capsys, "profiles", "--copy", "three-rolls", str(setup))
    setup.write_text(setup.read_text().replace('volume = "1 l"', 'volume = "200 ml"'))
    code, out, _ = said(capsys, "check", str(setup))
    assert code == 1
    assert "sound" not in out


def test_the_review_of_a_profile_and_of_a_setup_is_printed(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    profile, tonight = said(capsys, "review", "two-bath"), said(capsys, "review", "three-rolls")
    assert (profile[0], tonight[0]) == (0, 0)
    assert "hazards of the pure substances" in profile[1]
    assert "Three rolls on a Sunday evening" in tonight[1]
    assert said(capsys, "review", "two-bath", "--format", "markdown")[1].startswith("# ")


def test_settings_are_printed_and_written_once(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, "settings")
    assert code == 0
    assert tomllib.loads(out)["lead_in_s"] == "5 s"
    assert "settings.toml" in err
    assert said(capsys, "settings", "--write")[0] == 0
    file = tmp_path / "config" / "wetside" / "settings.toml"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    file.write_text('temperature_unit = "F"\n')
    assert said(capsys, "settings", "--write")[0] == 1
    assert file.read_text() == 'temperature_unit = "F"\n'
    assert said(capsys, "settings", "--force")[0] == 0
    assert 'temperature_unit = "°F"' in file.read_text()
    assert "102.0 °F" in said(capsys, "plan", "three-rolls")[1]
    file.write_text("lead_in_s = 900\nlead_on = 3\n")
    code, out, err = said(capsys, "plan", "three-rolls")
    assert (code, out) == (3, "")
    assert err.count("\n") == 2


def test_sessions_are_listed(session: str, data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, "sessions")
    assert (code, err) == (0, "")
    assert out.startswith(f"{session}  ")
    assert "not finished: Three rolls on a Sunday evening, 3 rolls" in out
    (row,) = json.loads(said(capsys, "sessions", "--json")[1])["sessions"]
    assert (row["session"], row["outcome"], row["practice"], len(row["rolls"])) == (session, None, False, 3)
    assert stat.S_IMODE(data.stat().st_mode) == 0o700
    assert all(stat.S_IMODE(file.stat().st_mode) & 0o077 == 0 for file in data.iterdir())


@pytest.mark.parametrize(
    "command", ["plan three-rolls", "sessions", "shelf", "profiles --show two-bath"], ids=lambda c: c.split()[0]
)
def test_every_json_output_begins_with_the_version_of_its_format(
    command: str, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    read = json.loads(said(capsys, *command.split(), "--json")[1])
    assert next(iter(read.items())) == ("format", JSON_FORMAT)


def test_without_a_session_the_list_is_empty_and_no_journal_is_created(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = {"format": JSON_FORMAT, "sessions": [], "more": 0, "trends": {"developer_off_c": [], "drain_s": []}}
    assert json.loads(said(capsys, "sessions", "--json")[1]) == empty
    assert said(capsys, "sessions")[1] == ""
    assert not data.exists()


@pytest.mark.parametrize("form", ["toml", "csv", "jsonl", "markdown"])
def test_exports_are_the_same_each_time_and_never_replace_a_file(
    form: str, session: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "record"
    code, out, err = said(capsys, "export", session[:12], "--format", form)
    assert (code, err) == (0, "")
    assert said(capsys, "export", "last", "--format", form, "--output", str(file))[0] == 0
    assert file.read_bytes().decode() == out
    assert said(capsys, "export", "last", "--format", form, "--output", str(file))[0] == 1
    assert said(capsys, "export", "last", "--format", form, "--output", str(file), "--force")[0] == 0
    assert session in out


def test_a_sound_journal_is_salvaged_whole(
    session: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = said(capsys, "salvage", str(tmp_path / "new.sqlite3"))
    assert code == 0
    assert f"session/{session}: 2 kept" in out
    assert said(capsys, "salvage", str(tmp_path / "new.sqlite3"))[0] == 1


def test_home_in_plain_mode_shows_unfinished_sessions_first(
    session: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = said(capsys, "--plain")
    assert code == 0
    assert out.splitlines()[0].startswith("Not finished, ")
    assert out.splitlines()[1].endswith(f"wetside resume {session} --plain")


def test_a_session_of_another_terminal_is_not_taken_without_asking(
    session: str, data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from wetside.storage.session_lock import SessionLock

    with SessionLock(data, f"session/{session}", terminal="/dev/the-other") as lock:
        lock.try_take("2031-03-01T18:00:00Z")
        code, _, err = said(capsys, "resume", "--plain")
    assert code == 1
    assert "/dev/the-other" in err
    assert "--take-over" in err


def test_an_unexpected_error_gives_one_sentence_with_the_place_of_the_data(
    data: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("in the middle")

    monkeypatch.setattr("wetside.commands.sessions.journal_to_read", broken)
    code, out, err = said(capsys, "sessions")
    assert (code, out) == (1, "")
    assert err.count("\n") == 1
    assert "ZeroDivisionError: in the middle" in err
    assert str(data) in err
    monkeypatch.setenv("WETSIDE_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["sessions"])


def test_an_interrupt_exits_with_130(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("wetside.commands.sessions.journal_to_read", interrupted)
    assert main(["sessions"]) == 130


# -- as its own process


def started(data: Path, *argv: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "wetside", *argv],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "WETSIDE_DATA": str(data), "LANG": "C.UTF-8"},
    )


def until(process: subprocess.Popen[bytes], there: Callable[[str], bool]) -> str:
    """What the process writes, read until a condition holds."""
    assert process.stdout is not None
    text, end = b"", time.monotonic() + TIMEOUT_S
    while not there(text.decode("utf-8", "replace")):
        assert select.select([process.stdout], [], [], end - time.monotonic())[0], text.decode()
        more = os.read(process.stdout.fileno(), 65_536)
        assert more, text.decode("utf-8", "replace")
        text += more
    return text.decode()


def type_(process: subprocess.Popen[bytes], line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n".encode())
    process.stdin.flush()


def ended(process: subprocess.Popen[bytes]) -> tuple[int, str, str]:
    out, err = process.communicate(timeout=TIMEOUT_S)
    return process.returncode, out.decode(), err.decode()


def test_a_practice_over_a_pipe_ends_with_its_input_and_can_be_resumed(data: Path) -> None:
    process = started(data, "practise", "three-rolls", "--plain", "--speed", "20")
    first = until(process, lambda text: "Keys: s confirms" in text)
    assert "PRACTICE at 20 times the speed" in first
    type_(process, "s")
    answers = ("done: Three bottles", "Wait a second and read it", "Too soon")  # by how fast the line came
    until(process, lambda text: any(answer in text for answer in answers))
    code, out, err = ended(process)
    assert (code, err) == (0, "")
    assert "The session stays open" in out
    again = started(data, "resume", "--plain")
    until(again, lambda text: "Keys: s confirms" in text)
    again.send_signal(signal.SIGTERM)
    code, out, err = ended(again)
    assert (code, err) == (128 + signal.SIGTERM, "")
    assert "The session stays open" in out


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGINT])
def test_a_signal_ends_the_program_with_the_exit_code_of_its_number(number: signal.Signals, data: Path) -> None:
    process = started(data, "practise", "--plain")
    until(process, lambda text: "Keys: s confirms" in text)
    process.send_signal(number)
    assert ended(process)[0] == 128 + number


def test_start_in_plain_mode_shows_the_review_and_begins_only_after_confirmation(data: Path) -> None:
    process = started(data, "start", "three-rolls", "--plain")
    review = until(process, lambda text: "An empty line begins" in text)
    assert "Tank, lid, cap, column and all reels, bone dry" in review
    assert "3:30 on the sheet" in review
    type_(process, "no")
    assert ended(process)[0] == 0
    assert not data.exists()
    process = started(data, "start", "three-rolls", "--plain")
    until(process, lambda text: "An empty line begins" in text)
    type_(process, "")
    until(process, lambda text: "Keys: s confirms" in text)
    assert ended(process)[0] == 0
    assert data.exists()


def test_a_follower_over_a_pipe_sees_a_change(data: Path) -> None:
    driver = started(data, "practise", "--plain", "--speed", "50")
    until(driver, lambda text: "Keys: s confirms" in text)
    follower = started(data, "follow", "--plain")
    until(follower, lambda text: "only follows.\n" in text)
    type_(driver, "s")
    assert "done: Three bottles" in until(follower, lambda text: "done: Three" in text)
    type_(follower, "b")
    assert ended(follower)[0] == 0
    assert ended(driver)[0] == 0


def test_a_reader_that_goes_away_causes_no_error(data: Path) -> None:
    process = started(data, "plan", "three-rolls", "--json")
    assert process.stdout is not None
    process.stdout.close()
    process.stdout = None
    _, err = process.communicate(timeout=TIMEOUT_S)
    assert process.returncode == 128 + signal.SIGPIPE
    assert err == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_behind_the_output_gives_one_sentence() -> None:
    with open("/dev/full", "wb") as full:
        words = [sys.executable, "-m", "wetside", "plan", "three-rolls"]
        done = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, text=True, timeout=240, check=False)
    assert done.returncode == 3
    assert done.stderr.splitlines() == [
        "wetside: What was to be said cannot be written: the disk is full. Make room, or write it elsewhere."
    ]
