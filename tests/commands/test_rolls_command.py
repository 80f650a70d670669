"""`wetside rolls`: what is found by kit, bottle, fault, film and day; sleeves, side files, densities."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.archive.conftest import AT, keep_evening, places, plan
from tests.manual_clock import ManualClock

from wetside.cli import main
from wetside.commands.common import JSON_FORMAT
from wetside.commands.tonight import planned, profile_named
from wetside.domain.planning.plan import Plan
from wetside.domain.session import events as e
from wetside.domain.shelf import commands as shelf
from wetside.export.roll_formats import COLUMNS
from wetside.files.settings import JOURNAL, Places, Settings
from wetside.present.message_words import in_words
from wetside.storage.sessions import append_events, load
from wetside.storage.shelf import change_shelf
from wetside.storage.store import open_store

__all__ = ("places", "plan")


@pytest.fixture
def archive(places: Places, plan: Plan) -> Places:
    """Three evenings: two with the spring kit from the shelf, one with a bottle of no kit."""
    profile = profile_named("two-bath", places)
    with open_store(places) as store:
        for name in ("Winter kit", "Spring kit"):
            new = (shelf.NewBottle("developer", 1000.0),)
            change_shelf(store, shelf.MixKit("2031-02-01", "2031-02-01", name, profile, new, 36.0), AT)
    spring = "2-developer"
    keep_evening(
        places, plan, "2031-03-01-a", "2031-03-01T18:00:00Z", shelf_id=spring, looks=((1, "weak", "low-red"),)
    )
    keep_evening(
        places, plan, "2031-03-08-b", "2031-03-08T18:00:00Z", shelf_id=spring, looks=((0, "normal", "milky"),)
    )
    keep_evening(
        places,
        plan,
        "2031-04-01-c",
        "2031-04-01T18:00:00Z",
        looks=((2, "dense", "crossover"), (0, "weak", "flat")),
    )
    return places


def said(capsys: pytest.CaptureFixture[str], places: Places, *argv: str, code: int = 0) -> str:
    assert main(["--data", str(places.data), "rolls", *argv]) == code
    out, err = capsys.readouterr()
    return out if code == 0 else err


def found(capsys: pytest.CaptureFixture[str], places: Places, *argv: str) -> list[str]:
    data = json.loads(said(capsys, places, *argv, "--json"))
    assert data["format"] == JSON_FORMAT
    return [roll["number"].removeprefix("2031-00") for roll in data["rolls"]]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ((), "123456789"),
        (("--kit", "spring"), "123456"),
        (("--kit", "winter"), ""),
        (("--kit", "spring", "--fault", "cast"), "2"),
        (("--fault", "cast"), "29"),
        (("--fault", "MILKY"), "4"),
        (("--fault", "edge numbers weak"), "27"),
        (("--bottle", "2-developer"), "123456"),
        (("--bottle", "developer"), "123456789"),
        (("--film", "harbour"), "124578"),
        (("--film", "135-24"), "369"),
        (("--since", "2031-03-08"), "456789"),
        (("--since", "2031-03-02", "--until", "2031-03-08"), "456"),
    ],
)
def test_the_search_finds_rolls_by_each_of_its_terms(
    asked: tuple[str, ...], wanted: str, archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    assert found(capsys, archive, *asked) == list(wanted)


def test_a_line_says_how_a_roll_came_out_edge_markings_first(
    archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    line = said(capsys, archive, "--kit", "spring", "--fault", "cast").strip()
    assert line.startswith("2031-002  2031-03-01  Harbour, evening  ")
    assert line.endswith("Spring kit  edge weak: The negative looks too red; prints and scans turn cyan")


def test_csv_has_the_documented_header_and_the_same_rolls(
    archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, archive, "measure", "2031-002", "--base", "0.3/0.6/0.8", "--edge", "0.9/1.2/1.4")
    header, *rows = csv.reader(io.StringIO(said(capsys, archive, "--csv")))
    assert header == list(COLUMNS)
    second = dict(zip(header, rows[1], strict=True))
    assert len(rows) == 9
    assert (second["number"], second["kits"], second["edge"]) == ("2031-002", "Spring kit", "weak")
    assert (second["base_red"], second["edge_blue"], second["above_base"]) == ("0.300", "1.400", "0.600")
    told = json.loads(said(capsys, archive, "--json"))["rolls"][1]
    assert float(second["developer_s"]) == pytest.approx(told["developer_s"], abs=0.05)
    help_text = said(capsys, archive, "--help")
    assert [line.split()[0] for line in help_text.splitlines() if line.startswith("  ")][
        -len(header) - 1 : -1
    ] == header


def test_unknown_roll_is_reported(archive: Places, capsys: pytest.CaptureFixture[str]) -> None:
    assert "`wetside rolls` lists them" in said(capsys, archive, "sleeve", "2031-099", code=1)
    assert "write it like" in said(capsys, archive, "--since", "March", code=1)


def test_a_sleeve_has_its_label_its_cuts_and_its_scans(
    archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = said(capsys, archive, "sleeve", "2031-002", "--frames", "38").splitlines()
    film = "Harbour, evening · daylight negative 200 · EI 200 · 35 mm reflex"
    assert lines[0] == f"2031-002 · 2031-03-01 · {film} · Two-bath colour negative"
    assert lines[2] == "Cut 38 frames into 7 strips, the last one 4 short:"
    assert lines[9].strip() == "7: frames 37 to 38"
    assert lines[-1] == "Scans: 2031-002_01 to 2031-002_38"
    assert "into 8 strips" in said(capsys, archive, "sleeve", "2031-002", "--strip", "5")
    assert "1 to 99" in said(capsys, archive, "sleeve", "2031-002", "--frames", "100", code=1)


def test_side_files_are_written_beside_scans_and_replace_none(
    archive: Places, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scans = tmp_path / "scans"
    scans.mkdir()
    said(capsys, archive, "sidecar", "2031-003", "--folder", str(scans))
    assert sorted(path.name for path in scans.iterdir()) == [f"2031-003_{n:02}.xmp" for n in range(1, 25)]
    again = said(capsys, archive, "sidecar", "2031-003", "--folder", str(scans), code=1)
    assert "2031-003_01.xmp" in again
    one = said(capsys, archive, "sidecar", "2031-003", "--frame", "7")
    assert (scans / "2031-003_07.xmp").read_text("utf-8") == one
    assert "frames 1 to 24" in said(capsys, archive, "sidecar", "2031-003", "--frame", "25", code=1)
    assert "--folder DIR" in said(capsys, archive, "sidecar", "2031-003", code=2)


def test_densities_are_stored_all_or_none_whether_typed_or_from_a_table(
    archive: Places, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, archive, "measure", "2031-001", "--base", "0.5")
    said(capsys, archive, "measure", "2031-001", "--edge", "1,1")
    table = tmp_path / "d.csv"
    table.write_text("roll,area,value\n2031-002,base,0.4\n2031-099,base,0.4\n", "utf-8")
    assert "no roll '2031-099'" in said(capsys, archive, "measure", "--from-csv", str(table), code=1)
    rolls = json.loads(said(capsys, archive, "--json"))["rolls"]
    assert (rolls[0]["base"], rolls[0]["edge_print"]) == ([0.5], [1.1])
    assert rolls[1]["base"] == []
    assert "swapped?" in said(capsys, archive, "measure", "2031-001", "--edge", "0.3", code=1)
    assert "as many values" in said(capsys, archive, "measure", "2031-001", "--edge", "1/1/1", code=1)
    for wrong in (("2031-001",), ("--base", "1"), ("2031-001", "--base", "1", "--from-csv", "x")):
        assert "NUMBER with --base" in said(capsys, archive, "measure", *wrong, code=2)


def mixed(places: Places, used_rolls: float) -> None:
    """A developer on the shelf that has done so much."""
    new = (shelf.NewBottle("developer", 1000.0),)
    profile = profile_named("two-bath", places)
    with open_store(places) as store:
        command = shelf.MixKit("2031-05-01", "2031-05-01", "Kit", profile, new, None, used_rolls)
        change_shelf(store, command, AT)


def measured_bottle(places: Places, plan: Plan, evenings: int, varied: bool) -> None:
    """One bottle of the shelf, a roll an evening: each loses 0.012 of density, a second more gives 0.004."""
    roll = replace(plan.setup.rolls[0], push=0.0)
    for n in range(evenings):
        bottle = replace(plan.setup.bottles[0], shelf_id="1-developer", used_rolls=float(n))
        setup = replace(plan.setup, rolls=(roll,), bottles=(bottle, *plan.setup.bottles[1:]), invented=False)
        fill = replace(plan.batches[0], rolls=(0,))
        evening = replace(plan, setup=setup, batches=(fill,))
        session = f"2031-05-{n + 1:02}-x"
        keep_evening(places, evening, session, f"2031-05-{n + 1:02}T18:00:00Z", None)
        off_s = (n * 7 % 11) - 5.0 if varied else 0.0
        _close(places, session, off_s)
        density = 0.62 - 0.012 * n + 0.004 * off_s + 0.001 * (-1) ** n
        argv = ["measure", f"2031-{n + 1:03}", "--base", "0.25", "--edge", f"{0.25 + density:.4f}"]
        assert main(["--data", str(places.data), "rolls", *argv]) == 0


def _close(places: Places, session: str, off_s: float) -> None:
    """The evening's close, its developer poured out so much later than planned."""
    stream = f"session/{session}"
    with open_store(places) as store:
        events = load(store, stream)
        drained = next(event for event in events if isinstance(event, e.DrainBegan))
        more = (
            e.DrainTakenBack(drained.at + 1.0, drained.step),
            e.DrainBegan(drained.at + off_s, drained.step),
            e.SessionClosed(6000.0, "complete", 0),
        )
        append_events(store, stream, len(events), more if off_s else more[2:], "2031-06-01T12:00:00Z")


def test_the_drift_of_a_bottle_and_the_time_it_suggests_are_shown(
    places: Places, plan: Plan, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", "C.UTF-8")
    for used in (8.0, 0.0):
        mixed(places, used)
    measured_bottle(places, plan, 8, varied=True)
    capsys.readouterr()
    lines = said(capsys, places, "drift").splitlines()
    assert lines[0].endswith("(1-developer), daylight negative 200")
    assert "edge above base" in lines[1]
    assert "per roll" in lines[1]
    assert "−0.01" in lines[1]
    advice = next(line for line in lines if "Next time" in line)
    seconds = int(advice.split("about ")[1].split(" s")[0])
    assert 20 <= seconds <= 28, "0.012 x 8 rolls / 0.004 is 24 s"
    assert "s more than planned (±" in advice
    assert "8 of your fills" in advice
    assert "Nothing is changed by it" in advice
    assert any("per 30 days" in line for line in lines)
    assert suggested(places, plan, "1-developer") == [f"{lines[0]}. {advice.strip()}"]
    assert suggested(places, plan, "2-developer") == []


def suggested(places: Places, plan: Plan, shelf_id: str) -> list[str]:
    """What the plan of an evening with this developer of the shelf says of its time."""
    profile, clock = profile_named("two-bath", places), ManualClock(datetime(2031, 5, 20, 12, tzinfo=UTC))
    bottles = (replace(plan.setup.bottles[0], shelf_id=shelf_id), *plan.setup.bottles[1:])
    evening = planned(profile, replace(plan.setup, bottles=bottles), places, Settings(), clock)
    return [in_words(worry) for worry in evening.plan.warnings if worry.code == "time-suggested"]


@pytest.mark.parametrize(
    ("evenings", "varied", "words"),
    [(5, True, "that takes 8 unpushed fills with both densities; 5 count"), (8, False, "8 fills do not tell")],
)
def test_too_few_or_identical_rolls_suggest_no_time(
    evenings: int,
    varied: bool,
    words: str,
    places: Places,
    plan: Plan,
    capsys: pytest.CaptureFixture[str],
) -> None:
    mixed(places, float(evenings))
    measured_bottle(places, plan, evenings, varied)
    capsys.readouterr()
    out = said(capsys, places, "drift")
    assert words in out
    assert "Next time" not in out


def test_a_search_without_a_match_points_to_the_whole_list(
    archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(archive.data), "rolls", "--kit", "winter"]) == 0
    assert "No developed roll is like that; `wetside rolls` lists them all." in capsys.readouterr().err


def test_a_damaged_record_is_named_where_its_rolls_are_missing(
    archive: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    path = archive.data / JOURNAL
    path.write_bytes(path.read_bytes().replace(b'"kind":"step_opened"', b'"kind":"step_ppened"'))
    assert main(["--data", str(archive.data), "rolls", "--json"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["rolls"] == []
    assert "left out: the rolls of 2031-03-08-b." in err


def test_a_search_in_an_empty_archive_does_not_point_to_the_whole_list(
    places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--data", str(places.data), "rolls"]) == 0
    assert "There is no developed roll" in capsys.readouterr().err


def test_no_journal_is_made_by_reading(places: Places, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, places) == ""
    assert json.loads(said(capsys, places, "--json")) == {"format": JSON_FORMAT, "rolls": []}
    assert said(capsys, places, "drift") == ""
    assert list(places.data.iterdir()) == []
