"""Settings and places: what is read, what is refused in sentences, and what is safe to open."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from wetside.domain.archive.numbering import FIRST_PATTERN
from wetside.domain.profile.model import LEAST_BELL_S
from wetside.errors import FileUnusable, Refused, Unusable
from wetside.files.settings import (
    Settings,
    find_places,
    open_data_folder,
    read_settings,
    settings_to_go_on,
)
from wetside.files.settings_form import commented, save_setting, setting_lines, write_commented
from wetside.present.sentences import word_table

OTHERS = Settings(
    temperature_unit="°F",
    volume_unit="US fl oz",
    thermometer_error_c=0.2,
    lead_in_s=0.0,
    drain_lead_s=12.5,
    dark_bell_every_s=300.0,
    calls=False,
    bell=False,
    cue_command=("/usr/bin/say it", '--voice="a"', "#"),
    far_view_in_baths=True,
)
BELL = '"0 s" for none, or a time from 10 s to 1 h, such as "5 min"'
DEGREES = 'a difference from 0 to 5 C, such as "0.5 C" or "1 F"'
AS_ROOT = pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a file to somebody else")


def settings_file(folder: Path, content: str | bytes) -> Path:
    path = folder / "settings.toml"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    path.chmod(0o600)
    return path


def findings(path: Path) -> tuple[str, ...]:
    with pytest.raises(FileUnusable) as refusal:
        read_settings(path)
    assert refusal.value.exit_code == 3
    for sentence in refusal.value.sentences:
        assert sentence.startswith(f"{path}: ")
        assert sentence.endswith((".", "?"))
        assert sentence.isprintable()
        assert len(sentence) < 400 + len(str(path))
    return refusal.value.sentences


def test_without_a_file_the_defaults_hold(tmp_path: Path) -> None:
    found = read_settings(tmp_path / "settings.toml")
    assert found == Settings()
    assert (found.lead_in_s, found.drain_lead_s, found.thermometer_error_c) == (5.0, 10.0, 0.5)
    assert found.cue_command == ()


@pytest.mark.parametrize("seconds", [0, 10, 3600])
def test_a_bell_in_the_dark_is_off_or_at_long_intervals(tmp_path: Path, seconds: int) -> None:
    read = read_settings(settings_file(tmp_path, f"dark_bell_every_s = {seconds}"))
    assert read.dark_bell_every_s == seconds


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('lead_in_s = "5 s"', Settings()),
        ('lead_in_s = "0:45"', Settings(lead_in_s=45.0)),
        ('dark_bell_every_s = "5 min"', Settings(dark_bell_every_s=300.0)),
        ('thermometer_error_c = "0.9 F"', Settings(thermometer_error_c=0.5)),
        ('thermometer_error_c = "0,3 °C"', Settings(thermometer_error_c=0.3)),
    ],
)
def test_a_number_is_written_with_its_unit_as_everywhere(tmp_path: Path, line: str, wanted: Settings) -> None:
    read = read_settings(settings_file(tmp_path, line))
    assert replace(read, thermometer_error_c=round(read.thermometer_error_c, 9)) == wanted


OWN_FILE = """# mine
bell = false  # it wakes the child
lead_in_s = 9

# the end"""


@pytest.mark.parametrize(
    ("name", "answer", "text"),
    [
        ("lead_in_s", "5", OWN_FILE.replace("lead_in_s = 9", 'lead_in_s = "5 s"')),
        ("calls", "no", OWN_FILE + "\ncalls = false\n"),
        ("theme", "light", OWN_FILE + '\ntheme = "light"\n'),
    ],
)
def test_one_setting_is_changed_and_the_rest_of_the_file_stays(
    tmp_path: Path, name: str, answer: str, text: str
) -> None:
    path = settings_file(tmp_path, OWN_FILE)
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    found = save_setting(link, name, answer)
    assert path.read_text("utf-8") == text
    assert link.is_symlink()
    assert found == read_settings(path)


def test_a_value_of_several_lines_is_written_anew_without_losing_a_setting(tmp_path: Path) -> None:
    path = settings_file(tmp_path, 'bell = false\ncue_command = [\n  "say",\n  "b",\n]\n')
    save_setting(path, "cue_command", "speak")
    assert read_settings(path) == Settings(bell=False, cue_command=("speak",))


def test_an_empty_file_holds_the_defaults_too(tmp_path: Path) -> None:
    assert read_settings(settings_file(tmp_path, "")) == Settings()


def test_a_setting_in_the_file_is_used_and_the_others_keep_their_default(tmp_path: Path) -> None:
    found = read_settings(
        settings_file(tmp_path, 'temperature_unit = "F"\nlead_in_s = 0\ncue_command = ["say", "b c"]')
    )
    assert found == Settings(temperature_unit="°F", lead_in_s=0.0, cue_command=("say", "b c"))


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ('temperature_unit = "K"', 'temperature_unit is "K": write "C" or "F".'),
        ('volume_unit = "fl oz"', 'volume_unit is "fl oz": write "ml" or "US fl oz".'),
        ("lead_in_s = 60.5", 'lead_in_s is 60.5: write a time from 0 to 60 s, such as "5 s".'),
        ("lead_in_s = -1", 'lead_in_s is -1: write a time from 0 to 60 s, such as "5 s".'),
        ("lead_in_s = true", 'lead_in_s is true: write a time from 0 to 60 s, such as "5 s".'),
        ('lead_in_s = "5"', 'lead_in_s is "5": write a time from 0 to 60 s, such as "5 s".'),
        ("drain_lead_s = 121", 'drain_lead_s is 121: write a time from 0 to 120 s, such as "10 s".'),
        ("dark_bell_every_s = 0.001", f"dark_bell_every_s is 0.001: write {BELL}."),
        ("dark_bell_every_s = 9.9", f"dark_bell_every_s is 9.9: write {BELL}."),
        ("dark_bell_every_s = 3601", f"dark_bell_every_s is 3601: write {BELL}."),
        ("thermometer_error_c = nan", f"thermometer_error_c is nan: write {DEGREES}."),
        ("thermometer_error_c = inf", f"thermometer_error_c is inf: write {DEGREES}."),
        ("bell = 1", "bell is 1: write true or false."),
        ('calls = "off"', 'calls is "off": write true or false.'),
        ("far_view_in_baths = []", "far_view_in_baths is []: write true or false."),
        ("lead_ins = 1", 'there is no setting "lead_ins": did you mean lead_in_s?'),
        ("Bell = true", 'there is no setting "Bell": did you mean bell?'),
    ],
)
def test_a_bad_setting_gives_one_sentence_with_file_and_key(tmp_path: Path, line: str, sentence: str) -> None:
    path = settings_file(tmp_path, line)
    assert findings(path) == (f"{path}: {sentence}",)


@pytest.mark.parametrize(
    "command", ['"say"', '[""]', '["  "]', '["say", 3]', '["say", "a\\u0000b"]', "true", '[["a"]]']
)
def test_a_command_that_cannot_be_started_is_refused(tmp_path: Path, command: str) -> None:
    (sentence,) = findings(settings_file(tmp_path, f"cue_command = {command}"))
    assert "write a list of texts" in sentence


def test_all_errors_of_a_file_are_reported_at_once(tmp_path: Path) -> None:
    path = settings_file(
        tmp_path, 'lead_in_s = 99\nzzz = 1\nbell = "x"\ncue_command = [1, 2, 3]\n[calls]\na = 1\n'
    )
    found = findings(path)
    assert len(found) == 5
    for key in ("lead_in_s", "zzz", "bell", "cue_command", "calls"):
        assert sum(key in sentence.split(": ")[1] for sentence in found) == 1


HOSTILE = pytest.mark.parametrize(
    "content",
    [
        b"bell = ",
        b"bell = true\nbell = false",
        b"[" * 5_000,
        b"a = " + b"[" * 5_000,
        b"lead_in_s = " + b"9" * 5_000,
        b"lead_in_s = 0x" + b"f" * 5_000,
        b"cue_command = [0x" + b"f" * 5_000 + b"]",
        b"bell = true\n\xff\xfe",
        b"\x00",
        b'"\\u001b[31m\\u202e" = 1',
        b'temperature_unit = "' + b"x" * 200_000 + b'"',
        b"# " + b"x" * 300_000,
    ],
)


@HOSTILE
def test_a_hostile_file_gives_one_sentence(tmp_path: Path, content: bytes) -> None:
    assert len(findings(settings_file(tmp_path, content))) == 1


@HOSTILE
def test_resume_does_not_depend_on_a_hostile_file(tmp_path: Path, content: bytes) -> None:
    settings, said = settings_to_go_on(settings_file(tmp_path, content))
    assert settings == Settings()
    assert said.startswith("Your settings file is wrong, and defaults stand in: ")
    assert said.isprintable()


@pytest.mark.parametrize(
    ("content", "good", "said"),
    [
        ("drain_lead_s = 12", Settings(drain_lead_s=12.0), ""),
        (
            'lead_in = 5\ntemperature_unit = "F"\n',
            Settings(temperature_unit="°F"),
            'there is no setting "lead_in": did you mean lead_in_s?',
        ),
        (
            "lead_in_s = 99\ndrain_lead_s = 12\nzzz = 1\n",
            Settings(drain_lead_s=12.0),
            'write a time from 0 to 60 s, such as "5 s" (and 1 more: `wetside settings`).',
        ),
        ('bell = false\nlead_in_s =\ncue_command = ["say"]\n', Settings(bell=False, cue_command=("say",)), "."),
        ("bell = false\nbell = false\ncalls = false\n", Settings(calls=False), "."),
        ("calls = false\n[more]\nbell = false\nlead_in_s =\n", Settings(calls=False), "."),
    ],
)
def test_valid_settings_of_a_faulty_file_are_used(tmp_path: Path, content: str, good: Settings, said: str) -> None:
    settings, sentence = settings_to_go_on(settings_file(tmp_path, content))
    assert settings == good
    assert sentence.endswith(said)
    assert bool(sentence) == bool(said)


def test_file_writable_by_others_is_ignored_whole(tmp_path: Path) -> None:
    path = settings_file(tmp_path, 'cue_command = ["/tmp/theirs"]')
    path.chmod(0o666)
    settings, said = settings_to_go_on(path)
    assert settings == Settings()
    assert "others may write it" in said


def test_a_settings_path_that_is_not_a_file_gives_one_sentence(tmp_path: Path) -> None:
    folder, pipe, file = tmp_path / "folder", tmp_path / "pipe", tmp_path / "file"
    folder.mkdir()
    os.mkfifo(pipe)
    file.write_text("")
    before = len(os.listdir("/proc/self/fd")) if sys.platform == "linux" else 0
    for path in (folder, pipe, file / "settings.toml", tmp_path / ("x" * 300)):
        assert len(findings(path)) == 1
    assert sys.platform != "linux" or len(os.listdir("/proc/self/fd")) == before


def test_a_file_others_may_write_is_refused_since_it_can_name_a_program(tmp_path: Path) -> None:
    path = settings_file(tmp_path, "bell = true")
    path.chmod(0o620)
    assert "chmod 600" in findings(path)[0]


@AS_ROOT
def test_a_file_of_another_user_is_refused(tmp_path: Path) -> None:
    path = settings_file(tmp_path, "bell = true")
    os.chown(path, 12_345, -1)
    assert "another user" in findings(path)[0]


def test_a_settings_file_may_be_a_link_to_one_of_your_own(tmp_path: Path) -> None:
    link = tmp_path / "link.toml"
    link.symlink_to(settings_file(tmp_path, "bell = false"))
    assert read_settings(link) == Settings(bell=False)


@pytest.mark.parametrize("settings", [Settings(), OTHERS])
def test_the_commented_file_reads_back_as_it_was(tmp_path: Path, settings: Settings) -> None:
    path = tmp_path / "new" / "folder" / "settings.toml"
    write_commented(path, settings)
    assert read_settings(path) == settings
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


@given(
    st.builds(
        Settings,
        temperature_unit=st.sampled_from(["°C", "°F"]),
        lead_in_s=st.floats(0, 60),
        calls=st.booleans(),
        cue_command=st.just(())
        | st.lists(
            st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1), min_size=1
        )
        .filter(lambda command: bool(command[0].strip()))
        .map(tuple),
    )
)
def test_any_settings_are_read_back_as_they_were_written(
    tmp_path_factory: pytest.TempPathFactory, settings: Settings
) -> None:
    path = settings_file(tmp_path_factory.mktemp("settings"), commented(settings))
    assert read_settings(path) == settings


def test_the_commented_file_explains_every_setting_before_it() -> None:
    text = commented(Settings())
    assert set(tomllib.loads(text)) == {*Settings.__struct_fields__}
    for name in Settings.__struct_fields__:
        above = text.partition(f"\n{name} = ")[0].rpartition("\n\n")[2]
        assert all(line.startswith("# ") for line in above.splitlines())
        assert word_table("setting_words")[name]["about"].split()[-1] in above
        assert "Default: " in above
    assert f"from {LEAST_BELL_S:g} s" in text
    assert f'such as "{FIRST_PATTERN}"' in text


def test_an_existing_settings_file_is_replaced_only_when_forced(tmp_path: Path) -> None:
    path = settings_file(tmp_path, "bell = false")
    with pytest.raises(Refused, match="--force"):
        write_commented(path)
    assert read_settings(path) == Settings(bell=False)
    write_commented(path, OTHERS, force=True)
    assert read_settings(path) == OTHERS


def test_the_data_folder_comes_from_the_option_then_the_variable_then_the_system_default(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    environ = {"WETSIDE_DATA": str(tmp_path / "by variable")}
    assert find_places(environ, "by option/../here").data == tmp_path / "here"
    assert find_places(environ).data == tmp_path / "by variable"
    assert find_places({"WETSIDE_DATA": "~/film"}).data == tmp_path / "home" / "film"
    custom = find_places({"WETSIDE_DATA": ""})
    assert custom.data.is_absolute()
    assert custom.data.name == "wetside"
    assert custom.settings.name == "settings.toml"
    assert find_places(environ).settings == custom.settings
    with pytest.raises(Unusable, match="no such home folder"):
        find_places({}, "~nobody-of-this-name/film")


def test_a_new_data_folder_and_the_folders_made_above_it_are_for_their_owner_alone(tmp_path: Path) -> None:
    folder = tmp_path / "a b" / "ü" / "wetside"
    before = os.umask(0)
    try:
        assert open_data_folder(folder) == folder
    finally:
        os.umask(before)
    for made in (folder, folder.parent, folder.parent.parent):
        assert stat.S_IMODE(made.stat().st_mode) == 0o700
    assert open_data_folder(folder) == folder


def test_an_existing_data_folder_keeps_its_mode(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    folder.mkdir(mode=0o755)
    folder.chmod(0o755)
    assert open_data_folder(folder) == folder
    assert stat.S_IMODE(folder.stat().st_mode) == 0o755


@pytest.mark.parametrize("mode", [0o777, 0o770, 0o702])
def test_a_data_folder_others_may_write_into_is_refused_with_the_remedy(tmp_path: Path, mode: int) -> None:
    folder = tmp_path / "data"
    folder.mkdir()
    folder.chmod(mode)
    with pytest.raises(Unusable, match=r"others may write into it; close it with chmod 700"):
        open_data_folder(folder)


@pytest.mark.parametrize("dangling", [False, True])
def test_a_data_folder_that_is_a_link_is_refused_but_links_above_are_followed(
    tmp_path: Path, dangling: bool
) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    link.symlink_to(real)
    if not dangling:
        real.mkdir(mode=0o700)
        assert open_data_folder(link / "data").samefile(real / "data")
    with pytest.raises(Unusable, match="symbolic link"):
        open_data_folder(link)
    assert real.exists() is not dangling


def test_an_unusable_data_folder_gives_a_sentence(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    for folder in (file, file / "data", tmp_path / ("x" * 300), tmp_path / "nul\0", Path("/proc/wetside/data")):
        with pytest.raises(Unusable, match=r"Data folder .*; choose another with --data") as refusal:
            open_data_folder(folder)
        assert refusal.value.exit_code == 3
        assert str(refusal.value).isprintable()


@AS_ROOT
def test_a_data_folder_of_another_user_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    os.chown(folder, 12_345, -1)
    with pytest.raises(Unusable, match="belongs to another user"):
        open_data_folder(folder)


def test_clock_terminal_check_and_settings_load_no_large_library(tmp_path: Path) -> None:
    program = (
        "import sys, wetside.app.clock, wetside.app.terminal, wetside.files.settings; "
        "from pathlib import Path; wetside.files.settings.read_settings(Path('no such file')); "
        "wetside.files.settings.find_places({}); wetside.app.clock.SystemClock().now(); "
        "print(*({'pydantic', 'pint', 'textual', 'rich', 'sqlite3', 'tomli_w'} & set(sys.modules)))"
    )
    environ = {**os.environ, "HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True, cwd=tmp_path, env=environ
    )
    assert done.stdout.strip() == ""


def test_pattern_and_strips_are_changed_by_a_typed_answer(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    assert save_setting(path, "roll_number", "{yy}-{##}").roll_number == "{yy}-{##}"
    assert save_setting(path, "strip_frames", "5").strip_frames == 5
    assert read_settings(path) == Settings(roll_number="{yy}-{##}", strip_frames=5)
    assert {"{yy}-{##}", "5"} <= {line.value for line in setting_lines(read_settings(path))}
    for name, answer in (("roll_number", "{year}"), ("roll_number", "../{#}"), ("strip_frames", "0")):
        with pytest.raises(Refused, match="cannot be taken: write a"):
            save_setting(path, name, answer)
    assert read_settings(path).strip_frames == 5
