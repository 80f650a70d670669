"""Edits a short profile's text: its first version, conversion of typed answers, and changes of single values.

Typed answers become TOML values and back; a value is changed without touching the rest of the text (other values,
comments). Whether a value makes sense is checked where the profile is read.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import tomli_w

from wetside.domain.profile.model import FORMAT, MOST_LABEL

_SHEET: Final = ("target", "range", "table", "push", "use", "capacity", "stretch", "life_full", "life_part")
"""The keys of a bath in the order of a printed sheet."""
_PARTS: Final = re.compile(r"\s*;\s*|,\s+|\s+and\s+")
_LIMITS: Final = re.compile(r"(?P<middle>[\d.,]+) ?(?P<unit>°? ?[CFcf])? ?(?:±|\+/-|\+-).*?(?P<end>°? ?[CFcf]) ?")


def inline(value: Any) -> str:
    """A value in TOML on one line."""
    match value:
        case Mapping():
            return "{ " + ", ".join(f"{key} = {inline(each)}" for key, each in value.items()) + " }"
        case tuple() | list():
            return f"[{', '.join(inline(each) for each in value)}]"
    return tomli_w.dumps({"x": value}).removeprefix("x = ").removesuffix("\n")


def short_toml(keys: Mapping[str, Any]) -> str:
    """The first lines of a profile as TOML: its format, then each of these keys that is not empty."""
    lines = (f"{key} = {inline(value)}\n" for key, value in keys.items() if value)
    return "".join((f"format = {FORMAT}\n", *lines))


def beginning(base: Mapping[str, Any], based_on: str, id_: str, digest: str) -> str:
    """A new short profile: it changes nothing, and has the base's figures as comments that can be activated.

    base: the base's whole document.
    """
    title = f"My {base['title'][:1].lower()}{base['title'][1:]}"[:MOST_LABEL].rstrip()
    text = (
        f"# Your own kit: what is stated here stands in place of what {based_on} says; all else is taken over.\n"
        "# Take the # off a line and put your sheet's figure in; the words stand in DEVELOPERS.md.\n"
    )
    text += short_toml({"id": id_, "title": title, "based_on": based_on, "base_digest": digest})
    for name, solution in base["solutions"].items():
        if solution.get("storage") != "tap":
            shown = (f"# {key} = {inline(solution[key])}\n" for key in _SHEET if key in solution)
            text += "".join((f"\n[solutions.{name}]\n", *shown))
    return text


# ---------------------------------------------------------------- answers


def values_of(answer: str, keys: int, many: bool) -> tuple[Any, ...]:
    """The value for each of `keys` keys; None for those the answer does not name, and all None for ""."""
    whole = " ".join(answer.split())
    if not whole:
        return (None,) * keys
    if many:
        parts = [part for part in _PARTS.split(whole) if part]
        # "2 % per roll, compound" is a single value.
        return (whole if parts[-1] in ("compound", "linear") else parts,)
    if keys == 1:
        return (whole,)
    first, *rest = (part for part in _PARTS.split(whole, maxsplit=1) if part)
    if not rest and re.search(r"±|\+/?-|\d ?(?:°? ?[CFcf])? ?(?:to|–|-) ?\d", first):
        # "38 ± 0.3 °C" states limits and a temperature, "35 to 41 °C" only limits.
        found = _LIMITS.fullmatch(first)
        return (f"{found['middle']} {found['unit'] or found['end']}" if found else None, first)
    return (first, *rest, None)[:keys]


def words_of(values: Iterable[Any]) -> str:
    """The answer that a file's values for these keys amount to; "" if there are none."""
    return ", ".join(_words(value) for value in values if value is not None)


def _words(value: Any) -> str:
    match value:
        case [int() | float() as first, str() | int() | float() as second]:
            return f"{first} x {second}"
        case list() | tuple():
            return ", ".join(" ".join(each) if _is_row(each) else _words(each) for each in value)
        case Mapping():
            return inline(value)
    return str(value)


def _is_row(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, str) for each in value)


# ------------------------------------------------------ one value at a time


def at(data: Mapping[str, Any], key: Sequence[str]) -> Any:
    """The value of a key of the file; None if there is none. A step is named by its id."""
    if len(key) == 1:
        return data.get(key[0])
    found = _entry(data, key)
    return None if found is None else found.get(key[-1])


def _entry(data: Mapping[str, Any], key: Sequence[str]) -> Any:
    table = data.get(key[0])
    if isinstance(table, list):
        return next((each for each in table if isinstance(each, dict) and each.get("id") == key[1]), None)
    return table.get(key[1]) if isinstance(table, dict) else None


def with_value(text: str, key: Sequence[str], value: Any) -> str:
    """The TOML text with `value` at `key`, or without that key if it is None.

    The rest is unchanged, including comments. Only if a line cannot be inserted (the entry is an inline table)
    the whole file is written anew from its values.
    """
    data = tomllib.loads(text)
    _put(data, key, value)
    new = _line_put(text.splitlines(), key, value)
    try:
        if tomllib.loads(new) == data:
            return new
    except tomllib.TOMLDecodeError:
        pass
    return tomli_w.dumps(data)


def _put(data: dict[str, Any], key: Sequence[str], value: Any) -> None:
    entry = data if len(key) == 1 else _entry(data, key)
    if entry is None and value is not None:
        if key[0] == "steps":
            entry = {"id": key[1]}
            data.setdefault("steps", []).append(entry)
        else:
            entry = data.setdefault(key[0], {}).setdefault(key[1], {})
    if entry is not None:
        entry.pop(key[-1], None)
        if value is not None:
            # The parser gives lists, whatever was put in.
            entry[key[-1]] = list(value) if isinstance(value, tuple) else value


def _line_put(lines: list[str], key: Sequence[str], value: Any) -> str:
    line = [] if value is None else [f"{key[-1]} = {inline(value)}"]
    span = _section(lines, key)
    if span is None:
        head = ["[[steps]]", f"id = {inline(key[1])}"] if key[0] == "steps" else [f"[{key[0]}.{key[1]}]"]
        return "\n".join([*lines, "", *head, *line]) + "\n" if line else "\n".join(lines) + "\n"
    start, end = span
    stated = rf"\s*{re.escape(key[-1])}\s*="
    found = next((n for n in range(start, end) if re.match(stated, lines[n])), None)
    if found is not None:
        lines[found : found + _extent(lines, found)] = line
    elif line:
        # A commented-out figure of this key is replaced.
        offered = next((n for n in range(start, end) if re.match(rf"#{stated}", lines[n])), None)
        last = max((n for n in range(start, end) if lines[n].strip()), default=start - 1)
        place = slice(last + 1, last + 1) if offered is None else slice(offered, offered + 1)
        lines[place] = line
    return "\n".join(lines) + "\n"


def _extent(lines: list[str], first: int) -> int:
    """The number of lines of the value that begins on line `first`."""
    for count in range(1, len(lines) - first + 1):
        try:
            tomllib.loads("\n".join(lines[first : first + count]))
        except tomllib.TOMLDecodeError:
            continue
        return count
    return 1


def _section(lines: list[str], key: Sequence[str]) -> tuple[int, int] | None:
    """The lines of the table that holds this key: the first one after its heading, and the one after its last."""
    heads = [n for n, line in enumerate(lines) if re.match(r"\s*\[\[?[\w.\"'-]+\]\]?\s*(#.*)?$", line)]
    if len(key) == 1:
        return 0, heads[0] if heads else len(lines)
    for head, after in zip(heads, [*heads, len(lines)][1:], strict=True):
        inside = lines[head + 1 : after]
        if key[0] == "steps":
            named = any(re.match(rf"\s*id\s*=\s*\"{re.escape(key[1])}\"", line) for line in inside)
            fits = lines[head].strip().startswith("[[steps]]") and named
        else:
            fits = re.match(rf"\s*\[{key[0]}\.{re.escape(key[1])}\]", lines[head]) is not None
        if fits:
            return head + 1, after
    return None
