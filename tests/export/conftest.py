"""A small plan (a developer, a bleach-fix, a wash, two rolls) and the events of one session of it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.factories import bare_plan, session_began

from wetside.domain.calc.timeline import TimeRow
from wetside.domain.messages import as_written
from wetside.domain.planning.plan import (
    Batch,
    Plan,
    PlannedCaution,
    PlannedReading,
    PlannedStep,
    PlannedTick,
)
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank
from wetside.domain.profile.model import Kind
from wetside.domain.session import events as e

GLOVES = PlannedTick("b1.developer/gloves", "Gloves on", "b1.developer", "start", killer=True, gloves=True)
CAPPED = PlannedTick("b1.developer/capped", "Developer bottle squeezed and capped", "b1.fix", "start")
SHUT = as_written("Developer bottle: 36.5 °C read")
SPLASH = PlannedCaution("splash", "CAUTION", "Developer.", "Irritates skin.", "Wear gloves.")


def step(id_: str, kind: Kind, title: str) -> PlannedStep:
    """A planned step with nothing but its names."""
    return PlannedStep(
        id=id_,
        of=id_.rpartition(".")[2],
        title=title,
        stage="baths",
        kind=kind,
        instruction=f"Do the {title.lower()}.",
        safe_way_out="Pour it back.",
        source="kit sheet",
    )


def small_plan(rolls: tuple[Roll, ...] = (Roll("first", "standard"), Roll("second", "backed", push=1.0))) -> Plan:
    """Temper, develop 3:15 on time, bleach-fix 6:30 at least, wash, hang in the background."""
    developer = replace(
        step("b1.developer", Kind.BATH, "Developer"),
        batch=1,
        cautions=(SPLASH,),
        ticks=(GLOVES, CAPPED),
        solution="developer",
        solution_title="Developer",
        planned_s=195.0,
        ends="on time",
        target_c=38.0,
        range_c=(37.8, 38.2),
        drain_lead_s=10.0,
        pausable=False,
    )
    fix = replace(
        step("b1.fix", Kind.BATH, "Bleach-fix"),
        batch=1,
        solution="fix",
        solution_title="Bleach-fix",
        planned_s=390.0,
        ends="not before",
        draining_counts=False,
    )
    return bare_plan(
        profile_title="Small two-bath",
        setup=Setup(
            title="Two rolls on a Saturday",
            profile="small",
            rolls=rolls,
            tank=Tank(2, (240.0, 470.0)),
            bottles=(Bottle("developer", "developer", 500.0), Bottle("fix", "bleach-fix", 500.0)),
            who="an invented person",
        ),
        stages=(("baths", "Baths"),),
        batches=(Batch(1, (0, 1), 0.0, 470.0),),
        steps=(
            replace(
                step("temper", Kind.WAIT, "Temper"),
                readings=(PlannedReading("developer", "Developer bottle", (37.8, 38.2)),),
            ),
            developer,
            fix,
            replace(step("b1.wash", Kind.WASH, "Wash"), batch=1, planned_s=180.0, pausable=True),
            replace(step("b1.r2.hang", Kind.HANG, "Hang"), batch=1, roll=1, roll_label=rolls[-1].label),
        ),
        titles=(("developer", "Developer"), ("fix", "Bleach-fix")),
        first_aid=("Rinse with water.",),
        timeline=(
            TimeRow("tank", "Developer", 60.0, 275.0),
            TimeRow("hands", "Developer", 60.0, 275.0),
            TimeRow("tank", "Wash", 300.0, 320.0),
            TimeRow("tank", "Wash", 340.0, 360.0),
        ),
        total_s=900.0,
        warnings=(as_written("The developer is three weeks old.", "old"),),
        sources=(("sheet", "the kit's sheet", "kit sheet"),),
    )


def small_session(plan: Plan, practice: bool = False) -> tuple[e.Event, ...]:
    """A session with one of everything: a correction, an override, a resume, a jump, a missed call, notes."""
    began = session_began(
        plan,
        wall="2031-03-01T18:00:00.250Z",
        offset_s=3600,
        boot_s=100.0,
        version="0.1",
        profile_text='title = "Small two-bath"\n',
        practice=practice,
    )
    return (
        began,
        e.StepOpened(0.0, "temper"),
        e.ReadingTaken(10.0, "temper", "developer", 36.5, "97.7 °F"),
        e.GateOverridden(
            20.0,
            "temper",
            "reading:developer:temper",
            as_written("Developer bottle: 36.5 °C read"),
            "no more time",
        ),
        e.StepEnded(30.0, "temper"),
        e.StepOpened(30.0, "b1.developer"),
        e.TickMade(31.0, "b1.developer/gloves"),
        e.TickUndone(32.0, "b1.developer/gloves"),
        e.TickMade(33.0, "b1.developer/gloves"),
        e.ClockStarted(35.0, "b1.developer", 40.0),
        e.ClockCorrected(60.0, "b1.developer", 5.0, "5"),
        e.EndMoved(70.0, "b1.developer", 195.0, 200.0, 3.0, as_written("colder by 0.4 °C")),
        e.CueGiven(205.1, "b1.developer", "ready", 205.0),
        e.CueAnswered(206.0, "b1.developer", "ready"),
        e.DrainBegan(227.0, "b1.developer"),
        e.StepEnded(236.0, "b1.developer"),
        e.StepOpened(236.0, "b1.fix"),
        e.TickMade(237.0, "b1.developer/capped", "inferred", "x"),
        e.ClockStarted(245.0, "b1.fix", 250.0),
        e.HoldBegan(260.0),
        e.HoldEnded(300.0),
        e.SessionResumed(400.0, "2031-03-01T18:06:42.250Z", 3600, "boot", 500.0, "two", 42.0, "same boot"),
        e.ClockJumped(410.0, "suspend", 40.0),
        e.CueMissed(420.0, "b1.fix", "agitate", 380.0, as_written("the guide was closed")),
        e.DrainBegan(650.0, "b1.fix", "stated"),
        e.StepEnded(670.0, "b1.fix"),
        e.StepOpened(670.0, "b1.wash"),
        e.ClockStarted(675.0, "b1.wash", 675.0),
        e.PauseBegan(700.0, "b1.wash"),
        e.PauseEnded(730.0, "b1.wash"),
        e.StepEnded(885.0, "b1.wash"),
        e.StepOpened(885.0, "b1.r2.hang"),
        e.ClockStarted(890.0, "b1.r2.hang", 890.0),
        e.StepEnded(2000.0, "b1.r2.hang"),
        e.SessionClosed(2000.0, "complete with deviations", 2),
        e.NoteAdded(2100.0, "a little thin", "look", 1),
        e.NoteAdded(2110.0, "try again warmer"),
    )


@pytest.fixture
def plan() -> Plan:
    """The small plan."""
    return small_plan()


@pytest.fixture
def evening(plan: Plan) -> tuple[e.Event, ...]:
    """A whole session of it."""
    return small_session(plan)


@pytest.fixture
def practice(plan: Plan) -> tuple[e.Event, ...]:
    """The same, as practice."""
    return small_session(plan, practice=True)


HOSTILE = (
    "[red]bold[/red] <b onclick=x>",
    "=HYPERLINK(1)",
    "+1",
    "-1+2",
    "@SUM(A1)",
    "\tindented",
    "\rreturn",
    "two\nlines | **bold** | `code`",
    "\u202eesrever\u202c",
    "\x1b]0;title\x07\x9b2J",
    'quote " comma , semicolon ;',
    "https://example.invalid www.example.invalid ![x](y) [a](b) :smile: <!-- c -->",
    "half \ud800 pair",
    "| --- |",
    "# heading &amp; $x$",
    "é💧日本",
)


@pytest.fixture(params=HOSTILE, ids=range(len(HOSTILE)))
def hostile(request: pytest.FixtureRequest) -> str:
    """A text that would do harm in one of the formats if it were not escaped."""
    return str(request.param)


@pytest.fixture
def hostile_evening(hostile: str) -> tuple[e.Event, ...]:
    """The session with the hostile text in every place a person types or names."""
    plan = small_plan((Roll(hostile, "standard"), Roll(hostile, "backed")))
    plan = replace(plan, setup=replace(plan.setup, title=hostile, note=hostile, who=hostile))
    first, *rest = small_session(plan)
    assert isinstance(first, e.SessionBegan)
    return (
        replace(first, terminal=hostile),
        *(event for event in rest if not isinstance(event, e.SessionClosed)),
        e.GateOverridden(2000.0, "b1.wash", hostile, as_written(hostile), hostile),
        e.TickMade(2001.0, hostile, typed=hostile),
        e.ReadingTaken(2002.0, "b1.wash", "bath", 20.0, hostile),
        e.CueMissed(2003.0, "b1.wash", hostile, 1.0, as_written(hostile)),
        e.NoteAdded(2004.0, hostile, "look", 0),
        e.SessionClosed(2005.0, "abandoned", 0, hostile),
    )
