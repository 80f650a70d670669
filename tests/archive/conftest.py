"""A journal of evenings as versions before roll numbers wrote it."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.factories import session_began

from wetside.commands.tonight import plan_evening
from wetside.domain.planning.plan import Plan
from wetside.domain.session import events as e
from wetside.domain.session.outcome import Outcome
from wetside.files.settings import Places, Settings
from wetside.storage.sessions import append_events
from wetside.storage.store import open_store

AT = "2031-06-01T12:00:00Z"


@pytest.fixture
def places(tmp_path: Path) -> Places:
    """An empty data folder for the test."""
    (tmp_path / "data").mkdir(mode=0o700)
    return Places(tmp_path / "data", tmp_path / "settings.toml")


@pytest.fixture(scope="session")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """Three rolls in one fill of a two-bath kit."""
    folder = tmp_path_factory.mktemp("plan")
    return plan_evening("three-rolls", Places(folder / "data", folder / "settings.toml"), Settings()).plan


def bath_events(plan: Plan, wall: str, session: str, practice: bool = False) -> tuple[e.Event, ...]:
    """An evening up to its developer, poured out when due."""
    step = next(step for step in plan.steps if step.id == "b1.developer")
    end_s = 60.0 + (step.planned_s or 0.0) - step.drain_lead_s
    return (
        session_began(plan, session, wall, practice=practice),
        e.StepOpened(40.0, step.id),
        e.ReadingTaken(50.0, step.id, "developer", step.target_c or 0.0, "read"),
        e.ClockStarted(55.0, step.id, 60.0),
        e.DrainBegan(end_s, step.id),
        e.StepEnded(end_s + 9.0, step.id),
    )


def keep_evening(
    places: Places,
    plan: Plan,
    session: str,
    wall: str,
    outcome: Outcome | None = "complete",
    *,
    developed: bool = True,
    practice: bool = False,
    looks: tuple[tuple[int, e.Edge, str], ...] = (),
    shelf_id: str | None = None,
) -> None:
    """Store an evening as a version before roll numbers did. looks: (roll, edge, row of the fault table)."""
    if shelf_id is not None:
        bottles = (replace(plan.setup.bottles[0], shelf_id=shelf_id), *plan.setup.bottles[1:])
        plan = replace(plan, setup=replace(plan.setup, bottles=bottles))
    events = bath_events(plan, wall, session, practice)
    events = events if developed else events[:1]
    closed = () if outcome is None else (e.SessionClosed(6000.0, outcome, 0),)
    notes = tuple(
        e.NoteAdded(7000.0, "", "look", roll, e.Look(row, edge, "negative")) for roll, edge, row in looks
    )
    stream = f"{'practice' if practice else 'session'}/{session}"
    with open_store(places) as store:
        append_events(store, stream, 0, (*events, *closed, *notes), wall)
