"""The settings with their defaults and limits, their file, and the data folder.

`present/setting_words.toml` has the title of each setting, what it is for, and what may be written.

Since `cue_command` names a program to run, a settings file that another user owns or may write is refused. It may
be a symbolic link, as people keep such files elsewhere; owner and mode are checked on its target.

The data folder holds the journal and has mode 0700. It is refused if it is itself a symbolic link (whose
target may change between two checks), if it belongs to another user, or if others may write into it. Links further
up the path are followed.
"""

from __future__ import annotations

import os
import stat
from collections import Counter
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Final, Literal, get_type_hints

from msgspec import Meta, Struct, convert

from wetside.domain.archive.numbering import FIRST_PATTERN, checked_pattern
from wetside.domain.archive.sleeve import STRIP_FRAMES
from wetside.domain.nearest import nearest_of
from wetside.domain.profile.model import LEAST_BELL_S
from wetside.errors import FileFinding, FileUnusable, Refused, Unusable
from wetside.files.atomic_write import file_unusable, reason, shown_path
from wetside.files.units import difference_c, duration_s, quoted

DATA_VARIABLE: Final = "WETSIDE_DATA"
SETTINGS_FILE: Final = "settings.toml"
JOURNAL: Final = "journal.sqlite3"
_LARGEST_FILE: Final = 256 * 1024


class Settings(Struct, frozen=True):
    """Every setting with its default and its limits; a quantity's name ends in its unit, °C or s."""

    temperature_unit: Literal["°C", "°F"] = "°C"
    volume_unit: Literal["ml", "US fl oz"] = "ml"
    thermometer_error_c: Annotated[float, Meta(ge=0, le=5)] = 0.5
    lead_in_s: Annotated[float, Meta(ge=0, le=60)] = 5.0
    drain_lead_s: Annotated[float, Meta(ge=0, le=120)] = 10.0
    dark_bell_every_s: Annotated[float, Meta(ge=0, le=3600)] = 0.0
    calls: bool = True
    bell: bool = True
    cue_command: tuple[str, ...] = ()
    far_view_in_baths: bool = False
    one_answer_for_plain_lines: bool = False
    roll_number: str = FIRST_PATTERN
    strip_frames: Annotated[int, Meta(ge=1, le=36)] = STRIP_FRAMES
    theme: Literal["terminal", "light", "dark", "high contrast"] = "terminal"


class Places(Struct, frozen=True):
    """The data folder (journal) and the settings file. Neither need exist yet."""

    data: Path
    settings: Path

    @property
    def profiles(self) -> Path:
        """The folder of the person's own profiles; it need not exist."""
        return self.data / "profiles"

    @property
    def setups(self) -> Path:
        """The folder of the person's own setups; it need not exist."""
        return self.data / "setups"


def find_places(environ: Mapping[str, str], data: str | None = None) -> Places:
    """The places to use: the data folder from `data` (`--data`), else WETSIDE_DATA, else the system's default.

    The settings file is in the user's configuration folder, wherever the data folder is. Raises `Unusable` if the
    named data folder is a file or a device.
    """
    from platformdirs import PlatformDirs

    custom = PlatformDirs("wetside", appauthor=False)
    chosen = data or environ.get(DATA_VARIABLE) or custom.user_data_dir
    try:
        folder = Path(os.path.abspath(Path(chosen).expanduser()))
    except RuntimeError as problem:
        why = f'"{quoted(chosen)}": there is no such home folder; name the data folder in full.'
        raise Unusable(why) from problem
    try:
        if not stat.S_ISDIR(folder.stat().st_mode):
            raise _folder_unusable(folder, "it is not a folder")
    except NotADirectoryError as problem:
        raise _folder_unusable(folder, "it lies under a file, not a folder") from problem
    except (OSError, ValueError):
        pass  # missing or not accessible: `open_data_folder` handles that
    return Places(folder, Path(custom.user_config_dir) / SETTINGS_FILE)


def open_data_folder(folder: Path) -> Path:
    """Make the data folder (0700, missing ones above it too) or check the existing one; return it.

    Raises `Unusable`, one sentence with what to do, when it cannot be made or used safely.
    """
    try:
        make_private(folder)
        found = folder.lstat()
    except (OSError, ValueError) as problem:
        raise _folder_unusable(folder, f"it cannot be made or opened ({reason(problem)})") from problem
    if stat.S_ISLNK(found.st_mode):
        raise _folder_unusable(folder, "it is a symbolic link, and those are not followed here")
    if not stat.S_ISDIR(found.st_mode):
        raise _folder_unusable(folder, "it is not a folder")
    if found.st_uid != os.geteuid():
        raise _folder_unusable(folder, "it belongs to another user")
    if found.st_mode & 0o022:
        raise Unusable(
            f"Data folder {shown_path(folder)}: others may write into it; close it with chmod 700, or choose "
            "another with --data."
        )
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise _folder_unusable(folder, "you may not read and write in it")
    return folder


def read_settings(path: Path) -> Settings:
    """The settings in the file at `path`, or the defaults when there is no such file.

    Raises `FileUnusable` with one sentence for every error in the file.
    """
    settings, findings = _read(path)
    if findings:
        raise FileUnusable(*findings)
    return settings


def settings_to_go_on(path: Path) -> tuple[Settings, str]:
    """The settings as far as the file is usable, and one sentence on its errors; "" if there are none.

    For what must work without that file, such as resuming a running bath: valid lines are used, defaults replace
    the others, and a file that another user could have written is ignored.
    """
    settings, findings = _read(path)
    if not findings:
        return settings, ""
    more = f" (and {len(findings) - 1} more: `wetside settings`)" if len(findings) > 1 else ""
    said = findings[0].what.rstrip(".") + more
    end = "" if said.endswith("?") else "."
    return settings, f"Your settings file is wrong, and defaults stand in: {said}{end}"


def _read(path: Path) -> tuple[Settings, tuple[FileFinding, ...]]:
    try:
        text = read_trusted(path)
        return settings_of(path, text) if text else (Settings(), ())
    except FileUnusable as unusable:
        return Settings(), unusable.findings


def settings_of(path: Path, text: str) -> tuple[Settings, tuple[FileFinding, ...]]:
    """The settings in the file's text as far as its lines are valid, defaults for the others; what is wrong."""
    import tomllib

    broken: tuple[FileFinding, ...] = ()
    try:
        written = tomllib.loads(text)
    except (RecursionError, ValueError) as problem:
        why = quoted(str(problem), 120) if not isinstance(problem, RecursionError) else "nested too deeply"
        broken = file_unusable(path, f"this is not TOML ({why}); correct that place").findings
        written = _pairs_alone(text)
    good, findings = {}, []
    known = Settings.__struct_fields__
    for name in sorted(written, key=lambda name: known.index(name) if name in known else len(known)):
        try:
            good[name] = checked_setting(name, written[name])
        except (KeyError, ValueError):
            findings.append(FileFinding(_finding(name, written[name]), shown_path(path)))
    return Settings(**good), broken or tuple(findings)


def make_private(folder: Path) -> None:
    """Make a folder and its missing parents, each with mode 0700 regardless of the umask."""
    if folder.is_symlink() or folder.exists():
        return
    make_private(folder.parent)
    folder.mkdir(mode=0o700, exist_ok=True)


def read_trusted(path: Path) -> str | None:
    """The text of the settings file; None without one. Raises FileUnusable if others could have written it."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            _refuse_untrusted(path, os.fstat(descriptor))
            with open(descriptor, "rb", closefd=False) as file:
                content = file.read(_LARGEST_FILE + 1)
        finally:
            os.close(descriptor)
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        why = f"it cannot be read ({reason(problem)}); correct that or move it away"
        raise file_unusable(path, why) from problem
    if len(content) > _LARGEST_FILE:
        raise file_unusable(path, "it is over 256 kB, which no settings file is; move it away")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as problem:
        line = content[: problem.start].count(b"\n") + 1
        raise file_unusable(path, f"line {line} is not UTF-8; save the file as UTF-8") from problem


def _refuse_untrusted(path: Path, found: os.stat_result) -> None:
    if not stat.S_ISREG(found.st_mode):
        raise file_unusable(path, "it is not a plain file; move it away")
    if found.st_uid not in (os.geteuid(), 0):
        raise file_unusable(path, "it belongs to another user; put a file of your own there")
    if found.st_mode & 0o022:
        raise file_unusable(path, "others may write it, and it can name a program to run; use chmod 600 on it")


def _pairs_alone(text: str) -> dict[str, Any]:
    """The valid single-line pairs of a text that is not valid TOML, up to its first table, without duplicates."""
    import tomllib

    pairs: list[tuple[str, Any]] = []
    for line in text.splitlines():
        if line.lstrip().startswith("["):
            break
        try:
            pairs += tomllib.loads(line).items()
        except (RecursionError, ValueError):
            continue
    times = Counter(key for key, _ in pairs)
    return {key: value for key, value in pairs if times[key] == 1}


def checked_setting(name: str, value: object) -> Any:
    """The value of one setting from what the file has. ValueError if it is wrong, KeyError without one."""
    if name == "temperature_unit" and value in ("C", "F"):  # a keyboard may have no degree sign
        value = f"°{value}"
    if isinstance(value, str) and name.endswith(("_c", "_s")):
        try:
            value = difference_c(value) if name.endswith("_c") else duration_s(value)
        except Refused as refusal:
            raise ValueError from refusal
    found = convert(value, _kinds()[name])
    too_often = name == "dark_bell_every_s" and 0 < found < LEAST_BELL_S
    if too_often or (name == "cue_command" and not _can_start(found)):
        raise ValueError
    return checked_pattern(found) if name == "roll_number" else found


@cache
def _kinds() -> dict[str, Any]:
    return get_type_hints(Settings, include_extras=True)


def _can_start(command: tuple[str, ...]) -> bool:
    """Whether an operating system can start this command: it has a name, and no part holds a NUL."""
    return not command or (bool(command[0].strip()) and not any("\0" in part for part in command))


def _finding(key: str, value: object) -> str:
    """One sentence about one key: the nearest valid key if it is unknown, what to write if the value is wrong."""
    from wetside.present.sentences import word_table

    known = Settings.__struct_fields__
    if key in known:
        return f"{key} is {quoted(_as_written(value))}: write {word_table('setting_words')[key]['write']}."
    nearest = nearest_of(key, known)
    advice = f"did you mean {nearest}?" if nearest else f"the settings are {', '.join(known)}."
    return f'there is no setting "{quoted(key)}": {advice}'


def _as_written(value: object) -> str:
    """A value roughly as it is in the file, so that the person can find it."""
    if isinstance(value, bool):
        return str(value).lower()
    try:
        return f'"{value}"' if isinstance(value, str) else str(value)
    except ValueError:  # Python converts no number of more than 4,300 digits to text
        return "far too large"


def _folder_unusable(folder: Path, why: str) -> Unusable:
    return Unusable(f"Data folder {shown_path(folder)}: {why}; choose another with --data.")
