"""Shows and changes single settings: their titles, typed answers as values, and their lines in the file."""

from __future__ import annotations

import re
import shlex
import textwrap
from pathlib import Path
from typing import Any, Final, get_args, get_type_hints

from msgspec import Struct
from msgspec.structs import asdict, replace

from wetside.errors import Refused
from wetside.files.atomic_write import file_unusable, reason, write_whole
from wetside.files.settings import (
    Settings,
    checked_setting,
    make_private,
    read_settings,
    read_trusted,
    settings_of,
)
from wetside.files.units import count, difference_c, quoted
from wetside.present.sentences import word_table
from wetside.present.wording import difference

WRONG_FILE: Final = (
    "Your settings file is wrong, so it stays as it is: `wetside settings --force` keeps what is good in it. Where"
    " files live says what is wrong."
)
_YES_NO: Final = (("yes", "yes"), ("no", "no"))


class SettingLine(Struct, frozen=True):
    """One setting to show and change. options: (answer, words) if it is chosen; () if it is typed.

    chosen: the option that is set now.
    """

    name: str
    title: str
    value: str
    about: str
    options: tuple[tuple[str, str], ...] = ()
    chosen: str = ""


def setting_lines(settings: Settings) -> tuple[SettingLine, ...]:
    """Every setting, in the order of the file."""
    return tuple(_setting_line(name, settings) for name in Settings.__struct_fields__)


def _setting_line(name: str, settings: Settings) -> SettingLine:
    value, hint = getattr(settings, name), get_type_hints(Settings)[name]
    words, choices = word_table("setting_words")[name], word_table("setting_words")["choices"]
    title, about = words["title"], words["about"]
    written = f"{about} Write {words['write']}.".replace('"', "")
    match value:
        case bool():
            chosen = "yes" if value else "no"
            return SettingLine(name, title, chosen, about, _YES_NO, chosen)
        case tuple():
            return SettingLine(name, title, shlex.join(value) or "none", f"{about} 0 for none.")
        case float() if name.endswith("_c"):
            return SettingLine(name, title, f"±{difference(value, settings.temperature_unit)}", written)
        case float():
            return SettingLine(name, title, f"{value:g} s", written)
        case str() if hint is not str:
            options = tuple((each, choices[each]) for each in get_args(hint))
            return SettingLine(name, title, choices[value], about, options, value)
    return SettingLine(name, title, str(value), written)


def changed(settings: Settings, name: str, answer: str) -> Settings:
    """The settings with one of them changed. Raises Refused if the answer is not valid."""
    value: object = answer
    match getattr(settings, name):
        case bool():
            value = answer == "yes"
        case float() if name.endswith("_c"):
            value = difference_c(answer, settings.temperature_unit)
        case float() if re.fullmatch(r"[\d.,]+", answer, re.ASCII):
            value = f"{answer} s"
        case tuple():
            value = _command(answer)
        case int():
            value = count(answer)
    try:
        return replace(settings, **{name: checked_setting(name, value)})
    except ValueError:
        wanted = word_table("setting_words")[name]["write"].replace('"', "")
        raise Refused(f'"{quoted(answer)}" cannot be taken: write {wanted}.') from None


def _command(answer: str) -> list[str]:
    try:
        return [] if answer == "0" else shlex.split(answer)
    except ValueError:
        raise Refused(f'"{quoted(answer)}" cannot be taken: a quotation mark is not closed.') from None


def save_setting(path: Path, name: str, answer: str) -> Settings:
    """Change one setting in the file and return the new settings; the rest of the file stays as it is.

    Without a file the commented one is written. Raises FileUnusable if the file is invalid or cannot be written,
    Refused if the answer is not valid; the file is unchanged then.
    """
    path = path.resolve()  # replaces the target of a symbolic link, not the link
    settings = changed(read_settings(path), name, answer)
    text = read_trusted(path)
    if text is None:
        write_commented(path, settings)
        return settings
    write_whole(path, _with_line(path, text, settings, name), force=True)
    return settings


def _with_line(path: Path, text: str, settings: Settings, name: str) -> str:
    """The file's text with one setting's line replaced; a whole new file if that does not read back right."""
    import tomli_w

    line = tomli_w.dumps({name: in_file(name, getattr(settings, name))})
    found = re.search(rf"^[ \t]*{name}[ \t]*=.*\n?", text, re.MULTILINE)
    if found is not None:
        new = text[: found.start()] + line + text[found.end() :]
    else:
        new = text + ("" if not text or text.endswith("\n") else "\n") + line
    return new if settings_of(path, new) == (settings, ()) else commented(settings)


def commented(settings: Settings) -> str:
    """The settings as a TOML file in which each one is explained."""
    import tomli_w

    parts = ["# Settings of Wetside. A setting you take out goes back to its default.\n"]
    for name, default in asdict(Settings()).items():
        words = word_table("setting_words")[name]
        shown = "[]" if default == () else str(in_file(name, default))
        shown = shown.lower() if isinstance(default, bool) else shown
        about = f"{words['about']} Write {words['write']}. Default: {shown}."
        line = tomli_w.dumps({name: in_file(name, getattr(settings, name))})
        rows = textwrap.wrap(about, 98, break_long_words=False, break_on_hyphens=False)
        parts.append("".join(f"# {row}\n" for row in rows) + line)
    return "\n".join(parts)


def in_file(name: str, value: Any) -> Any:
    """A setting's value for the file: a number with its unit, if that reads back to the same value."""
    if isinstance(value, tuple):
        return list(value)
    unit = {"c": "°C", "s": "s"}.get(name.rpartition("_")[2])
    if unit and re.fullmatch(r"\d{1,4}(\.\d{1,3})?", f"{value:g}") and float(f"{value:g}") == value:
        return f"{value:g} {unit}"
    return value


def write_commented(path: Path, settings: Settings | None = None, *, force: bool = False) -> None:
    """Write the commented settings file, making its folder; never over an existing file without `force`.

    Raises as `write_whole` does.
    """
    try:
        make_private(path.parent)
    except (OSError, ValueError) as problem:
        why = f"its folder cannot be made ({reason(problem)}); make it yourself first"
        raise file_unusable(path, why) from problem
    write_whole(path, commented(settings or Settings()), force=force)
