"""Shows and changes single settings: their titles, typed answers as values, and their lines in the file."""

from __future__ import annotations

import re
import shlex
import textwrap
from dataclasses import Field, fields, replace
from pathlib import Path
from typing import Any, Final, get_args, get_type_hints

from msgspec import Struct

from wetside.errors import FileUnusable, Refused
from wetside.files.atomic_write import file_unusable, reason, write_whole
from wetside.files.settings import (
    Settings,
    make_private,
    read_settings,
    read_trusted,
    settings_model,
    validated,
)
from wetside.files.units import count, difference_c, quoted
from wetside.present.wording import difference

WRONG_FILE: Final = (
    "Your settings file is wrong, so it stays as it is: `wetside settings --force` keeps what is good in it. Where"
    " files live says what is wrong."
)
_YES_NO: Final = (("yes", "yes"), ("no", "no"))
_NAMES: Final = {
    "°C": "degrees C",
    "°F": "degrees F",
    "ml": "ml and litres",
    "US fl oz": "US fluid ounces",
    "terminal": "the terminal's own",
    "light": "light: dark on light",
    "dark": "dark: light on dark",
    "high contrast": "high contrast",
}


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
    hints = get_type_hints(Settings)
    return tuple(_setting_line(setting, hints[setting.name], settings) for setting in fields(settings))


def _setting_line(setting: Field[Any], hint: Any, settings: Settings) -> SettingLine:
    name, value = setting.name, getattr(settings, setting.name)
    title, about = setting.metadata["title"], setting.metadata["about"]
    written = f"{about} Write {setting.metadata['write']}.".replace('"', "")
    match value:
        case bool():
            chosen = "yes" if value else "no"
            return SettingLine(name, title, chosen, about, _YES_NO, chosen)
        case tuple():
            return SettingLine(name, title, shlex.join(value) or "none", f"{about} 0 for none.")
        case float() if setting.metadata["kind"] == "degrees":
            return SettingLine(name, title, f"±{difference(value, settings.temperature_unit)}", written)
        case float():
            return SettingLine(name, title, f"{value:g} s", written)
        case str() if hint is not str:
            options = tuple((each, _NAMES[each]) for each in get_args(hint))
            return SettingLine(name, title, _NAMES[value], about, options, value)
    return SettingLine(name, title, str(value), written)


def changed(settings: Settings, name: str, answer: str) -> Settings:
    """The settings with one of them changed. Raises Refused if the answer is not valid."""
    from pydantic import ValidationError

    setting = _setting(name)
    value: object = answer
    match setting.default, setting.metadata["kind"]:
        case bool(), _:
            value = answer == "yes"
        case _, "degrees":
            value = difference_c(answer, settings.temperature_unit)
        case _, "seconds" if re.fullmatch(r"[\d.,]+", answer, re.ASCII):
            value = f"{answer} s"
        case tuple(), _:
            value = _command(answer)
        case int(), _:
            value = count(answer)
    try:
        found = settings_model().model_validate({name: value}).model_dump()[name]
    except ValidationError:
        wanted = setting.metadata["write"].replace('"', "")
        raise Refused(f'"{quoted(answer)}" cannot be taken: write {wanted}.') from None
    return replace(settings, **{name: found})


def _setting(name: str) -> Field[Any]:
    return next(each for each in fields(Settings) if each.name == name)


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
    import tomllib

    import tomli_w

    line = tomli_w.dumps({name: in_file(_setting(name), getattr(settings, name))})
    found = re.search(rf"^[ \t]*{name}[ \t]*=.*\n?", text, re.MULTILINE)
    if found is not None:
        new = text[: found.start()] + line + text[found.end() :]
    else:
        new = text + ("" if not text or text.endswith("\n") else "\n") + line
    try:
        if validated(path, tomllib.loads(new)) == settings:
            return new
    except (tomllib.TOMLDecodeError, FileUnusable):
        pass
    return commented(settings)


def commented(settings: Settings) -> str:
    """The settings as a TOML file in which each one is explained."""
    import tomli_w

    parts = ["# Settings of Wetside. A setting you take out goes back to its default.\n"]
    for setting in fields(settings):
        value = getattr(settings, setting.name)
        line = tomli_w.dumps({setting.name: in_file(setting, value)})
        default = setting.default if setting.default != () else "[]"
        shown = str(default).lower() if isinstance(default, bool) else in_file(setting, default)
        about = f"{setting.metadata['about']} Write {setting.metadata['write']}. Default: {shown}."
        rows = textwrap.wrap(about, 98, break_long_words=False, break_on_hyphens=False)
        parts.append("".join(f"# {row}\n" for row in rows) + line)
    return "\n".join(parts)


def in_file(setting: Field[Any], value: Any) -> Any:
    """A setting's value for the file: a number with its unit, if that reads back to the same value."""
    if isinstance(value, tuple):
        return list(value)
    unit = {"seconds": "s", "degrees": "°C", "": ""}[setting.metadata["kind"]]
    text = f"{value:g} {unit}" if unit else ""
    if re.fullmatch(r"\d{1,4}(\.\d{1,3})? .*", text) and float(text.partition(" ")[0]) == value:
        return text
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
