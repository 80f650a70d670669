"""A side file is XML that another library reads, and RDF that a reader of RDF understands."""

from __future__ import annotations

import pytest
import rdflib
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree
from msgspec.structs import replace
from rdflib.namespace import DC, RDF
from tests.archive.conftest import keep_evening

from wetside.commands.rolls import archived
from wetside.domain.planning.plan import Plan
from wetside.export.roll_archive import ArchivedRoll
from wetside.export.roll_formats import NAMESPACES, sidecar
from wetside.files.settings import Places

OWN = rdflib.Namespace(NAMESPACES["wetside"])


def read(text: str) -> rdflib.Graph:
    """The packet as RDF; its XML is read by libxml2, not by the library that wrote it."""
    root = etree.fromstring(text.encode("utf-8"), etree.XMLParser(resolve_entities=False, no_network=True))
    assert root.tag == "{adobe:ns:meta/}xmpmeta"
    (packet,) = root
    return rdflib.Graph().parse(data=etree.tostring(packet), format="xml", publicID="https://scan.invalid/")


def values(graph: rdflib.Graph, name: rdflib.URIRef) -> list[str]:
    """The values of a field, those of a container in their order."""
    found: list[str] = []
    for value in graph.objects(None, name):
        inside = sorted((str(key), str(item)) for key, item in graph.predicate_objects(value) if key != RDF.type)
        found += [item for _, item in inside] if inside else [str(value)]
    return found


@pytest.fixture
def roll(places: Places, plan: Plan) -> ArchivedRoll:
    """A roll with every field given."""
    keep_evening(places, plan, "2031-03-01-a", "2031-03-01T18:00:00Z", looks=((1, "weak", "thin-processing"),))
    found = archived(places)[1]
    film = replace(found.film, stock="a fast one", exposure_index=800, camera="the old folder", shot_at="Harbour")
    return replace(
        found,
        film=replace(film, shot_on="2031-02-27", push=1.0),
        base=(0.3, 0.6, 0.8),
        edge_print=(0.9, 1.2, 1.4),
    )


def test_standard_fields_are_used_as_the_standards_define_them(roll: ArchivedRoll) -> None:
    graph = read(sidecar(roll, 7))
    exif, tiff, xmp = (rdflib.Namespace(NAMESPACES[each]) for each in ("exif", "tiff", "xmp"))
    assert values(graph, DC.title) == ["Harbour, evening, frame 7"]
    assert values(graph, DC.source) == ["2031-002, frame 7"]
    assert values(graph, DC.coverage) == ["Harbour"]
    assert set(values(graph, DC.subject)) == {"2031-002", "a fast one"}
    assert values(graph, xmp.Identifier) == ["2031-002_07"]
    assert values(graph, exif.DateTimeOriginal) == ["2031-02-27"]
    assert values(graph, exif.ISOSpeedRatings) == ["800"]
    assert values(graph, tiff.Model) == ["the old folder"]
    title = next(graph.objects(None, DC.title))
    assert [item.language for item in graph.objects(title, RDF._1) if isinstance(item, rdflib.Literal)] == [
        "x-default"
    ]


def test_the_process_figures_in_the_side_file_are_those_of_the_roll(roll: ArchivedRoll) -> None:
    graph = read(sidecar(roll, 7))
    assert values(graph, OWN.DeveloperTime) == [f"{roll.developer_s:.1f}"]
    assert values(graph, OWN.DeveloperTemperature) == [f"{roll.developer_c:.2f}"]
    assert values(graph, OWN.PushStops) == ["1"]
    assert values(graph, OWN.EdgeMarkings) == ["weak"]
    assert values(graph, OWN.Seen) == ["Thin all over"]
    assert [float(value) for value in values(graph, OWN.EdgeDensity)] == [0.9, 1.2, 1.4]
    assert values(graph, OWN.Invented) == ["True"]


def test_values_that_were_not_given_are_left_out(roll: ArchivedRoll) -> None:
    bare = replace(roll, film=replace(roll.film, exposure_index=None, camera="", shot_on=None), base=(), seen=())
    text = sidecar(bare, 1)
    assert all(name not in text for name in ("ISOSpeedRatings", "tiff:Model", "DateTimeOriginal", "BaseDensity"))
    assert sidecar(bare, 1) == text


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.text(st.characters(), max_size=30))
def test_any_typed_text_gives_well_formed_xml(roll: ArchivedRoll, text: str) -> None:
    typed = replace(roll, label=text, film=replace(roll.film, stock=text, camera=text, shot_at=text), seen=(text,))
    graph = read(sidecar(typed, 1))
    assert values(graph, OWN.RollNumber) == ["2031-002"]
