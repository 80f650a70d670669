"""Film densities from a CSV file of a densitometer or scanning program, and from typed text.

The file has a header with the columns roll, area, red, green, blue in any order; or value instead of the three.
area is "base" or "edge". Fields are separated by comma, semicolon or tab; the decimal sign may be a comma if
that is not the separator; no field contains the separator. Other columns are ignored. Errors name the line and
what to write, as `Refused` or `FileUnusable`.
"""

from __future__ import annotations

import math
from pathlib import Path

from msgspec import Struct

from wetside.errors import FileFinding, FileUnusable, Refused
from wetside.files.atomic_write import file_unusable, shown_path
from wetside.files.units import decimal, quoted

HIGHEST = 5.0
"""The highest density that is accepted; no densitometer reads more (our own number)."""
LARGEST_BYTES = 1024 * 1024
_CHANNELS = ("red", "green", "blue")


class RollDensities(Struct, frozen=True):
    """The densities of one roll, by its number; () where not measured."""

    number: str
    base: tuple[float, ...] = ()
    edge: tuple[float, ...] = ()


def typed_densities(text: str, white: float | None = None) -> tuple[float, ...]:
    """One density or three ("0.62" or "0.30/0.62/0.85"). white: see `density`. Raises Refused."""
    values = tuple(density(part, white) for part in text.split("/"))
    if len(values) not in (1, 3):
        raise Refused(f'"{quoted(text)}" is neither one density nor three: write 0.62 or 0.30/0.62/0.85.')
    return values


def density(text: str, white: float | None = None) -> float:
    """A density. With `white`, the text is a linear scanner value, `white` that of the light without film.

    Then density = log10(white / value), the definition of ISO 5. Raises Refused outside 0 to `HIGHEST`.
    """
    try:
        value = decimal(text.strip())
    except ValueError:
        raise Refused(f'"{quoted(text)}" is no density: write it like 0.62.') from None
    if white is not None:
        value = math.log10(white / value) if value > 0 and white > 0 else math.inf
    if not 0.0 <= value <= HIGHEST:
        raise Refused(f'"{quoted(text)}" is no density of film: it lies between 0 and {HIGHEST:g}.')
    return abs(value)


def read_densities(path: Path, white: float | None = None) -> tuple[RollDensities, ...]:
    """The densities in a CSV file by roll, in its order. Raises FileUnusable with all findings."""
    name = shown_path(path)
    try:
        content = path.read_bytes()
        if len(content) > LARGEST_BYTES:
            raise file_unusable(path, "it is over 1 MB, which no list of densities is")
        lines = content.decode("utf-8-sig").splitlines()
    except OSError as problem:
        raise file_unusable(path, f"it cannot be read ({problem.strerror}); name another") from problem
    except UnicodeDecodeError as problem:
        raise file_unusable(path, "it is not UTF-8; save it as UTF-8") from problem
    head = lines[0] if lines else ""
    separator = max(";\t,", key=head.count)
    columns = [_cell(each).casefold() for each in head.split(separator)]
    channels = [each for each in _CHANNELS if each in columns] or ["value"]
    needed = ("roll", "area", *(channels if len(channels) == 1 else _CHANNELS))
    if missing := [each for each in needed if each not in columns]:
        what = f"line 1 names no column {missing[0]}: write roll,area,red,green,blue or roll,area,value"
        raise file_unusable(path, what)
    return _rows(name, lines[1:], columns, channels, separator, white)


def _cell(text: str) -> str:
    return text.strip().strip('"').strip()


def _rows(
    name: str, lines: list[str], columns: list[str], channels: list[str], separator: str, white: float | None
) -> tuple[RollDensities, ...]:
    found: dict[str, dict[str, tuple[float, ...]]] = {}
    findings = []
    for line, text in enumerate(lines, 2):
        cells = text.split(separator)
        row = dict(zip(columns, map(_cell, cells), strict=False))
        area, number = row.get("area", "").casefold(), row.get("roll", "")
        if not any(cell.strip() for cell in cells):
            continue
        try:
            if area not in ("base", "edge"):
                raise Refused(f'area is "{quoted(area)}": write base or edge.')
            if area in found.setdefault(number, {}):
                raise Refused(f"roll {quoted(number)} has its {area} twice: leave one out.")
            found[number][area] = tuple(density(row.get(each, ""), white) for each in channels)
        except Refused as refusal:
            findings.append(FileFinding(str(refusal), name, line))
    if findings:
        raise FileUnusable(*findings[:20])
    if not found:
        raise FileUnusable(FileFinding("it holds no densities below its header.", name))
    return tuple(RollDensities(number, **areas) for number, areas in found.items())
