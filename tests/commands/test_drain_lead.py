"""How long before its end a bath is poured out: learned within bounds, with an alert where it is too long."""

from __future__ import annotations

import pytest
from tests.factories import session_began

from wetside.commands.tonight import plan_evening
from wetside.domain.planning.plan import Plan
from wetside.domain.session import events as e
from wetside.files.settings import Places, Settings
from wetside.present.message_words import in_words
from wetside.storage.sessions import append_events
from wetside.storage.store import open_store

DEVELOPER = "b1.developer"


def tonight(places: Places, settings: Settings | None = None) -> Plan:
    return plan_evening("three-rolls", places, settings or Settings()).plan


def poured_out_in(places: Places, *drains_s: float) -> None:
    """Past evenings with this draining time of the developer on each."""
    plan = tonight(places)
    with open_store(places) as store:
        for day, drain_s in enumerate(drains_s, 1):
            wall = f"2031-03-{day:02d}T18:00:00Z"
            events = (
                session_began(plan, f"k{day}", wall),
                e.ClockStarted(10.0, DEVELOPER, 15.0),
                e.DrainBegan(200.0, DEVELOPER),
                e.StepEnded(200.0 + drain_s, DEVELOPER),
                e.SessionClosed(900.0, "complete", 0),
            )
            append_events(store, f"session/k{day}", 0, events, wall)


def lead_s(plan: Plan) -> float:
    return plan.step(DEVELOPER).drain_lead_s


def worries(plan: Plan) -> list[str]:
    return [in_words(worry) for worry in plan.warnings if worry.code == "drain-lead"]


def test_drain_lead_is_learned_from_past_sessions(places: Places) -> None:
    poured_out_in(places, 12.0, 14.0)
    assert (lead_s(tonight(places)), worries(tonight(places))) == (13.0, [])


def test_late_key_presses_do_not_change_the_drain_lead(places: Places) -> None:
    poured_out_in(places, 240.0, 260.0)
    assert (lead_s(tonight(places)), worries(tonight(places))) == (10.0, [])


def test_a_learned_drain_lead_is_at_most_a_quarter_of_the_shortest_bath(places: Places) -> None:
    poured_out_in(places, 90.0, 100.0)
    plan = tonight(places)
    planned_s = plan.step(DEVELOPER).planned_s
    assert planned_s is not None
    assert lead_s(plan) == pytest.approx(planned_s / 4)
    (said,) = worries(plan)
    assert said.startswith("Pouring out took you 1:35 the last times")


def test_a_drain_lead_set_by_hand_is_kept_with_an_alert(places: Places) -> None:
    plan = tonight(places, Settings(drain_lead_s=100.0))
    assert lead_s(plan) == 100.0
    (said,) = worries(plan)
    assert said.startswith("Developer: pouring out is to begin 1:40 before its end, more than a quarter of its ")
    assert worries(tonight(places, Settings(drain_lead_s=40.0))) == []
