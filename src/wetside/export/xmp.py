"""A side file for a scan: what the record knows of the picture's film, as XMP (ISO 16684-1, RDF/XML).

One job: write one packet. It lies beside the scan under the scan's name with the ending .xmp. Standard fields are
used where they mean the same: dc for what the picture is and derives from, exif and tiff for how it was taken
(day, exposure index, camera), xmp for its identifier; the figures of the process are in a namespace of our own.
Namespaces and fields of the standard are from memory; tests/archive/test_sidecar.py reads the packet as RDF.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from wetside.domain.archive.sleeve import scan_name
from wetside.export.roll_archive import ArchivedRoll
from wetside.sanitize import coded

NAMESPACES = {
    "x": "adobe:ns:meta/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "tiff": "http://ns.adobe.com/tiff/1.0/",
    "exif": "http://ns.adobe.com/exif/1.0/",
    "wetside": "https://wetside.invalid/ns/process/1/",
}
"""Ours ends in .invalid, which names no host for ever (RFC 2606): it is a name, nothing to fetch."""

PROCESS_FIELDS = (
    ("RollNumber", "the roll's number"),
    ("Frame", "the frame's number on it"),
    ("Stock, Format, FilmKind", "the film, in your words"),
    ("Process, ProcessId", "what it was developed in"),
    ("DevelopedOn", "the day"),
    ("PushStops", "push"),
    ("DeveloperTemperature", "°C, as last read before its pour"),
    ("DeveloperTime, DeveloperTimePlanned", "seconds"),
    ("DeveloperRollsBefore", "rolls of 135-36 through that developer before"),
    ("Kits, Bottles", "by name"),
    ("EdgeMarkings, Seen", "how it came out"),
    ("BaseDensity, EdgeDensity", "red, green, blue, or one"),
    ("Invented", "True for a demonstration"),
)
"""The fields of our own namespace and what each holds."""

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def sidecar(roll: ArchivedRoll, frame: int) -> str:
    """The packet for one frame of a roll; equal rolls give equal text. It ends with a line break."""
    for prefix, uri in NAMESPACES.items():
        ET.register_namespace(prefix, uri)
    root = ET.Element(_name("x:xmpmeta"))
    about = ET.SubElement(
        ET.SubElement(root, _name("rdf:RDF")), _name("rdf:Description"), {_name("rdf:about"): ""}
    )
    _standard(about, roll, frame)
    _process(about, roll, frame)
    ET.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, encoding="unicode")}\n'


def _standard(about: ET.Element, roll: ArchivedRoll, frame: int) -> None:
    film = roll.film
    stock = f"{film.stock or film.kind}, {film.format}"
    _list(about, "dc:title", "Alt", [f"{roll.label}, frame {frame}"])
    _list(about, "dc:description", "Alt", [f"{stock}; {roll.process_title}; developed on {roll.developed_on}"])
    _text(about, "dc:source", f"{roll.number}, frame {frame}")
    _text(about, "dc:coverage", film.shot_at)
    _list(about, "dc:subject", "Bag", [part for part in (roll.number, film.stock, *roll.kits) if part])
    _list(about, "xmp:Identifier", "Bag", [scan_name(roll.number, frame)])
    _text(about, "exif:DateTimeOriginal", film.shot_on or "")
    if film.exposure_index is not None:
        _list(about, "exif:ISOSpeedRatings", "Seq", [str(film.exposure_index)])
    _text(about, "tiff:Model", film.camera)


def _process(about: ET.Element, roll: ArchivedRoll, frame: int) -> None:
    texts = {
        "RollNumber": roll.number,
        "Frame": str(frame),
        "Stock": roll.film.stock,
        "Format": roll.film.format,
        "FilmKind": roll.film.kind,
        "Process": roll.process_title,
        "ProcessId": roll.process,
        "DevelopedOn": roll.developed_on,
        "PushStops": f"{roll.film.push:g}",
        "DeveloperTemperature": _figure(roll.developer_c, 2),
        "DeveloperTime": _figure(roll.developer_s, 1),
        "DeveloperTimePlanned": _figure(roll.developer_planned_s, 1),
        "DeveloperRollsBefore": _figure(roll.bottle_rolls, 2),
        "EdgeMarkings": roll.edge,
        "Invented": "True" if roll.invented else "",
    }
    for name, text in texts.items():
        _text(about, f"wetside:{name}", text)
    _list(about, "wetside:Kits", "Bag", list(roll.kits))
    _list(about, "wetside:Bottles", "Bag", [bottle.label for bottle in roll.bottles])
    _list(about, "wetside:Seen", "Seq", list(roll.seen))
    _list(about, "wetside:BaseDensity", "Seq", [f"{value:.3f}" for value in roll.base])
    _list(about, "wetside:EdgeDensity", "Seq", [f"{value:.3f}" for value in roll.edge_print])


def _text(about: ET.Element, name: str, text: str) -> None:
    """A simple value; nothing where there is none."""
    if text:
        ET.SubElement(about, _name(name)).text = _allowed(text)


def _list(about: ET.Element, name: str, kind: str, texts: list[str]) -> None:
    """An rdf:Bag, Seq or Alt; an Alt is of languages, and ours is the default one."""
    if not texts:
        return
    items = ET.SubElement(ET.SubElement(about, _name(name)), _name(f"rdf:{kind}"))
    language = {"{http://www.w3.org/XML/1998/namespace}lang": "x-default"} if kind == "Alt" else {}
    for text in texts:
        ET.SubElement(items, _name("rdf:li"), language).text = _allowed(text)


def _allowed(text: str) -> str:
    """`text` with acting letters written out, and without what XML 1.0 forbids."""
    return _NOT_XML.sub("\ufffd", coded(text))


def _name(name: str) -> str:
    prefix, _, local = name.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"


def _figure(value: float | None, places: int) -> str:
    return "" if value is None else f"{value:.{places}f}"
