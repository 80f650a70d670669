"""The archive's rolls as CSV and JSON, and the XMP side file of a scan (ISO 16684-1, RDF/XML).

A side file lies beside the scan under the scan's name with the ending .xmp. Standard fields are used where they
mean the same: dc for what the picture is and derives from, exif and tiff for how it was taken (day, exposure
index, camera), xmp for its identifier; the figures of the process are in a namespace of our own. Namespaces and
fields of the standard are from memory; tests/archive/test_sidecar.py reads the packet as RDF.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from typing import Any, Final

from msgspec import to_builtins
from msgspec.structs import asdict

from wetside.domain.archive.sleeve import scan_name
from wetside.export.data_formats import csv_text, text_cell
from wetside.export.roll_archive import ArchivedRoll
from wetside.sanitize import escape_controls

COLUMNS: Final = (
    "number", "label", "developed_on", "stock", "exposure_index", "camera", "shot_at", "shot_on", "kind",
    "format", "push_stops", "process", "kits", "bottles", "developer_c", "developer_s", "developer_planned_s",
    "bottle_rolls", "edge", "seen", "base_red", "base_green", "base_blue", "edge_red", "edge_green",
    "edge_blue", "above_base", "session", "invented",
)  # fmt: skip
"""The columns of the CSV in their order; `commands/help/rolls.txt` says what each holds."""

_FORMATS = {
    "push_stops": "g",
    "developer_c": ".2f",
    "developer_s": ".1f",
    "developer_planned_s": ".1f",
    "bottle_rolls": ".2f",
}
"""How the numbers of a column are written; those of the others, which are densities, to a thousandth."""


def rolls_csv(rolls: Iterable[ArchivedRoll]) -> str:
    """A header and one row a roll."""
    rows = map(_values, rolls)
    return csv_text(COLUMNS, ([_cell(name, row[name]) for name in COLUMNS] for row in rows))


def _cell(name: str, value: str | float | None) -> str:
    # a leading minus of a number is a sign here, not the start of a formula
    return text_cell(value) if isinstance(value, str) else _text_of(name, value)


def _text_of(name: str, value: str | float | None) -> str:
    if isinstance(value, str):
        return value
    return "" if value is None else f"{value:{_FORMATS.get(name, '.3f')}}"


def _values(roll: ArchivedRoll) -> dict[str, Any]:
    """The roll's values by column, as its CSV and its side file write them, and further fields of both."""
    return {
        **asdict(roll.film),
        **asdict(roll),
        "exposure_index": str(roll.film.exposure_index or ""),
        "shot_on": roll.film.shot_on or "",
        "push_stops": roll.film.push,
        "kits": "; ".join(roll.kits),
        "bottles": "; ".join(bottle.label for bottle in roll.bottles),
        "seen": "; ".join(roll.seen),
        **_channels("base", roll.base),
        **_channels("edge", roll.edge_print),
        "above_base": roll.above_base,
        "invented": "true" if roll.invented else "false",
    }


def _channels(area: str, values: tuple[float, ...]) -> dict[str, float | None]:
    """Red, green and blue of an area; a single value is given as green."""
    red, green, blue = values if len(values) == 3 else (None, values[0] if len(values) == 1 else None, None)
    return {f"{area}_red": red, f"{area}_green": green, f"{area}_blue": blue}


def rolls_data(rolls: Iterable[ArchivedRoll]) -> dict[str, object]:
    """The rolls as JSON values. Seconds, °C, stops, densities; null where nothing is known."""
    return {"rolls": [_data(roll) for roll in rolls]}


def _data(roll: ArchivedRoll) -> dict[str, object]:
    data = to_builtins(roll)
    del data["searched"], data["roll"]
    return {**data, "kits": list(roll.kits), "above_base": roll.above_base}


NAMESPACES = {
    "x": "adobe:ns:meta/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "tiff": "http://ns.adobe.com/tiff/1.0/",
    "exif": "http://ns.adobe.com/exif/1.0/",
    "wetside": "https://wetside.invalid/ns/process/1/",
}
"""Our own ends in .invalid, a reserved domain (RFC 2606), so that it can never be fetched."""

_PROCESS_FIELDS = {
    "RollNumber": "number",
    "Frame": "frame",
    "Stock": "stock",
    "Format": "format",
    "FilmKind": "kind",
    "Process": "title",
    "ProcessId": "process",
    "DevelopedOn": "developed_on",
    "PushStops": "push_stops",
    "DeveloperTemperature": "developer_c",
    "DeveloperTime": "developer_s",
    "DeveloperTimePlanned": "developer_planned_s",
    "DeveloperRollsBefore": "bottle_rolls",
    "EdgeMarkings": "edge",
}
"""Simple fields of our own namespace -> columns of the CSV; and frame and title."""
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def sidecar(roll: ArchivedRoll, frame: int) -> str:
    """The packet for one frame of a roll; equal rolls give equal text. It ends with a line break."""
    for prefix, uri in NAMESPACES.items():
        ET.register_namespace(prefix, uri)
    root = ET.Element(_name("x:xmpmeta"))
    about = ET.SubElement(
        ET.SubElement(root, _name("rdf:RDF")), _name("rdf:Description"), {_name("rdf:about"): ""}
    )
    for name, kind, texts in _fields(roll, frame):
        if texts not in ([], [""]):
            _add(ET.SubElement(about, _name(name)), kind, texts)
    ET.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, encoding="unicode")}\n'


def _fields(roll: ArchivedRoll, frame: int) -> Iterator[tuple[str, str, list[str]]]:
    """Each field of a packet: its name, its kind of list ("" for a simple value), and its texts."""
    film = roll.film
    stock = f"{film.stock or film.kind}, {film.format}"
    yield "dc:title", "Alt", [f"{roll.label}, frame {frame}"]
    yield "dc:description", "Alt", [f"{stock}; {roll.process_title}; developed on {roll.developed_on}"]
    yield "dc:source", "", [f"{roll.number}, frame {frame}"]
    yield "dc:coverage", "", [film.shot_at]
    yield "dc:subject", "Bag", [part for part in (roll.number, film.stock, *roll.kits) if part]
    yield "xmp:Identifier", "Bag", [scan_name(roll.number, frame)]
    yield "exif:DateTimeOriginal", "", [film.shot_on or ""]
    yield "exif:ISOSpeedRatings", "Seq", [] if film.exposure_index is None else [str(film.exposure_index)]
    yield "tiff:Model", "", [film.camera]
    values = _values(roll) | {"frame": str(frame), "title": roll.process_title}
    for name, column in _PROCESS_FIELDS.items():
        yield f"wetside:{name}", "", [_text_of(column, values[column])]
    yield "wetside:Invented", "", ["True" if roll.invented else ""]
    yield "wetside:Kits", "Bag", [*roll.kits]
    yield "wetside:Bottles", "Bag", [bottle.label for bottle in roll.bottles]
    yield "wetside:Seen", "Seq", [*roll.seen]
    yield "wetside:BaseDensity", "Seq", [f"{value:.3f}" for value in roll.base]
    yield "wetside:EdgeDensity", "Seq", [f"{value:.3f}" for value in roll.edge_print]


def _add(field: ET.Element, kind: str, texts: list[str]) -> None:
    """Add a simple value, or an rdf:Bag, Seq or Alt; the entries of an Alt get the default language."""
    if not kind:
        field.text = _allowed(texts[0])
        return
    items = ET.SubElement(field, _name(f"rdf:{kind}"))
    language = {"{http://www.w3.org/XML/1998/namespace}lang": "x-default"} if kind == "Alt" else {}
    for text in texts:
        ET.SubElement(items, _name("rdf:li"), language).text = _allowed(text)


def _allowed(text: str) -> str:
    """`text` with control characters escaped, and without characters that XML 1.0 forbids."""
    return _NOT_XML.sub("\ufffd", escape_controls(text))


def _name(name: str) -> str:
    prefix, _, local = name.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"
