"""`wetside sessions`: how the latest sessions went, and the person's own trends, in words and as JSON."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.factories import session_began

from wetside.cli import main
from wetside.commands.sessions import LISTED
from wetside.commands.tonight import plan_evening
from wetside.domain.session import events as e
from wetside.files.settings import JOURNAL, Places, Settings
from wetside.present.wording import ASCII_SIGNS, SIGNS
from wetside.storage.sessions import append_events
from wetside.storage.store import open_store

EVENINGS = 12


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> Places:
    """A journal of twelve evenings: each read 0.1 °C warmer and poured out 1 s slower than the one before."""
    places = Places(
        tmp_path_factory.mktemp("sessions") / "data", tmp_path_factory.mktemp("settings") / "none.toml"
    )
    places.data.mkdir(mode=0o700)
    plan = plan_evening("three-rolls", places, Settings()).plan
    step = next(step for step in plan.steps if step.ends == "on time" and step.table)
    target_c = step.target_c or 0.0
    with open_store(places) as store:
        for day in range(1, EVENINGS + 1):
            wall = f"2031-02-{day:02d}T18:00:00Z"
            began = session_began(plan, f"k{day:02d}", wall)
            reading = e.ReadingTaken(50.0, step.id, step.solution or "", target_c + day / 10, "read")
            end_s = step.planned_s or 0.0
            bath = (
                e.StepOpened(40.0, step.id),
                reading,
                e.ClockStarted(55.0, step.id, 60.0),
                e.DrainBegan(60.0 + end_s - 10.0, step.id),
                e.StepEnded(60.0 + end_s - 10.0 + day, step.id),
                e.SessionClosed(6000.0 + day, "complete", 0),
                e.NoteAdded(7000.0, "", "look", 1, e.Look("thin-processing", "weak", "negative")),
            )
            append_events(store, f"session/k{day:02d}", 0, (began, *bath), wall)
        practice = replace(began, session="dry", practice=True)
        append_events(store, "practice/dry", 0, (practice, *bath), "2031-02-27T18:00:00Z")
    return places


def said(capsys: pytest.CaptureFixture[str], places: Places, *argv: str) -> str:
    assert main(["--data", str(places.data), "sessions", *argv]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_the_latest_ten_sessions_are_summarised(places: Places, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, places, "--went")
    lines = out.splitlines()
    assert lines[0].startswith("dry  ")
    assert "(practice)" in lines[0]
    assert lines[1].startswith("k12  ")
    assert lines[2].strip().startswith("Planned ")
    assert "took 1 h 40 min; Developer 3:" in lines[2]
    assert lines[2].endswith("on time.")
    assert lines[3].strip() == "Harbour, evening: Thin all over; edge numbers weak."
    assert out.count("took 1 h 40 min") == 10
    assert said(capsys, places, "--all", "--went").count("took 1 h 40 min") == EVENINGS


@pytest.mark.parametrize(("utf8", "signs", "others"), [("1", SIGNS, ASCII_SIGNS[-1]), ("", ASCII_SIGNS, SIGNS)])
def test_trends_are_drawn_small(
    places: Places,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    utf8: str,
    signs: str,
    others: str,
) -> None:
    monkeypatch.setenv("PYTHONUTF8", utf8)
    monkeypatch.setenv("LC_ALL", "C")
    developer, pouring = said(capsys, places, "--went").splitlines()[-2:]
    rising = "".join(sign * 2 for sign in signs)
    assert rising in developer
    assert rising in pouring
    assert not set(others) & set(developer + pouring)
    assert developer.endswith("last +1.2 °C off, usually +0.8 °C off")
    assert pouring.endswith("last 12 s, usually 8 s")


def test_summaries_and_trends_are_given_as_json(places: Places, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(said(capsys, places, "--went", "--json"))
    assert [row["session"] for row in data["sessions"]][:2] == ["dry", "k12"]
    dry, latest, *rest = data["sessions"]
    assert dry["planned_s"] is None
    assert latest["actual_s"] == 6012.0
    assert latest["planned_s"] > 0
    assert latest["looks"] == [{"roll": "Harbour, evening", "text": "Thin all over; edge numbers weak"}]
    assert [bath["verdict"] for bath in latest["baths"]] == ["on time"]
    assert rest[-1]["actual_s"] is None
    assert data["trends"]["drain_s"] == [float(day) for day in range(3, 13)]
    assert data["trends"]["developer_off_c"] == pytest.approx([day / 10 for day in range(3, 13)])


def test_the_plain_list_has_no_summaries(places: Places, capsys: pytest.CaptureFixture[str]) -> None:
    lines = said(capsys, places).splitlines()
    assert len(lines) == EVENINGS + 1
    assert all("complete: Three rolls" in line or "(practice)" in line for line in lines)
    data = json.loads(said(capsys, places, "--json"))
    assert data["more"] == 0
    assert all(row["planned_s"] is None and row["baths"] is None for row in data["sessions"])


def test_a_long_list_has_the_latest_sessions_and_every_unfinished_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    places = Places(tmp_path / "data", tmp_path / "none.toml")
    places.data.mkdir(mode=0o700)
    plan = plan_evening("three-rolls", places, Settings()).plan
    with open_store(places) as store:
        for day in range(1, LISTED + 6):
            wall = f"2031-01-{day:02d}T18:00:00Z"
            began = session_began(plan, f"k{day:02d}", wall)
            closed = () if day == 2 else (e.SessionClosed(60.0, "complete", 0),)
            append_events(store, f"session/k{day:02d}", 0, (began, *closed), wall)
    latest = [f"k{day:02d}" for day in range(LISTED + 5, 5, -1)]
    lines = said(capsys, places).splitlines()
    assert [line.split()[0] for line in lines[:-2]] == [*latest, "k02"]
    assert lines[-1] == "4 earlier: `wetside sessions --all` lists them too."
    data = json.loads(said(capsys, places, "--json"))
    assert [row["session"] for row in data["sessions"]] == [*latest, "k02"]
    assert data["more"] == 4
    assert len(said(capsys, places, "--all").splitlines()) == LISTED + 5


def test_a_damaged_evening_is_named_where_the_others_are_summarised(
    places: Places, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = Places(tmp_path / "data", places.settings)
    shutil.copytree(places.data, copy.data)
    with closing(sqlite3.connect(copy.data / JOURNAL, isolation_level=None)) as journal:
        guard, name = journal.execute("SELECT sql, name FROM sqlite_master WHERE name LIKE '%stands'").fetchone()
        journal.execute(f"DROP TRIGGER {name}")
        journal.execute("UPDATE journal SET data = '{}' WHERE stream = 'session/k11' AND seq = 3")
        journal.execute(guard)
    lines = said(capsys, copy, "--went").splitlines()
    (number,) = (number for number, line in enumerate(lines) if line.startswith("k11 "))
    assert "CANNOT BE READ" in lines[number]
    assert lines[number + 1].startswith("k10 "), "it has no summary"
