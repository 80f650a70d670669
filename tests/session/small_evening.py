"""A small plan with every kind of step, two batches, a residue rule, background steps and joins.

Its figures are invented for the tests.
"""

from __future__ import annotations

from functools import reduce

from msgspec.structs import replace
from tests.factories import bare_plan
from tests.session.decided import decided

from wetside.domain.calc.residue import Rule
from wetside.domain.planning.plan import Batch, Plan, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import Bottle
from wetside.domain.profile.model import Agitation, Kind
from wetside.domain.session import commands as c
from wetside.domain.session.events import Event, SessionBegan
from wetside.domain.session.state import State, evolve


def tick(id_: str, due_step: str, due_at: str = "end", **more: object) -> PlannedTick:
    """A tick; its text is made from its id."""
    return PlannedTick(
        id_,
        id_.rpartition("/")[2].replace("-", " ").capitalize(),
        due_step,
        "start" if due_at == "start" else "end",
        **more,  # type: ignore[arg-type]  # the few fields a test names
    )


def step(id_: str, kind: Kind, title: str, *ticks: PlannedTick, **more: object) -> PlannedStep:
    """A planned step with its names, its ticks, and whatever fields a test names."""
    return PlannedStep(
        id=id_,
        of=id_.rpartition(".")[2],
        title=title,
        stage="all",
        kind=kind,
        instruction=f"Do the {title.lower()}.",
        safe_way_out=f"Way out of {title.lower()}.",
        source="kit sheet",
        ticks=ticks,
        **more,  # type: ignore[arg-type]  # the few fields a test names
    )


DEVELOPER = dict(solution="developer", solution_title="Developer", storage="bottle")
BLEACH_FIX = dict(solution="bleach-fix", solution_title="Bleach-fix", storage="bottle")


BOTTLES = (Bottle("developer", "developer", 500.0), Bottle("bleach-fix", "bleach-fix", 500.0))


def _batch(n: int, in_the_dark: bool) -> tuple[PlannedStep, ...]:
    b = f"b{n}"
    return (
        step(
            f"{b}.load",
            Kind.DARK,
            "Load the film",
            tick(f"{b}.load/display-closed", f"{b}.load", "start", killer=True),
            in_the_dark=in_the_dark,
            batch=n,
        ),
        step(
            f"{b}.lid",
            Kind.CHECK,
            "Look at the lid",
            tick(f"{b}.lid/locked", f"{b}.lid", killer=True),
            tick(f"{b}.lid/label-read", f"{b}.dev", "start"),
            tick(f"{b}.lid/wash-water", f"{b}.wash", "start"),
            batch=n,
        ),
        step(
            f"{b}.dev",
            Kind.BATH,
            "Developer",
            pour=("funnel", f"film-{b}"),
            planned_s=195.0,
            ends="on time",
            target_c=38.0,
            range_c=(37.8, 39.0),
            table=((29.4, 510.0), (35.0, 345.0), (38.9, 210.0)),
            agitation=Agitation(30.0, 30.0, 10.0, "Turn it over."),
            readings=(PlannedReading("developer", "Developer", None, required=False),),
            batch=n,
            **DEVELOPER,
        ),
        step(
            f"{b}.fix",
            Kind.BATH,
            "Bleach-fix",
            tick(f"{b}.fix/developer-away", f"{b}.fix", "start", killer=True),
            tick(f"{b}.fix/developer-capped", f"{b}.wash", "start", killer=True),
            pour=("funnel" if n == 1 else "other-funnel", f"film-{b}"),
            planned_s=390.0,
            ends="not before",
            batch=n,
            **BLEACH_FIX,
        ),
        step(
            f"{b}.wash",
            Kind.WASH,
            "Wash",
            tick(f"{b}.wash/lid-off", f"{b}.wash", "start", killer=True),
            tick(f"{b}.wash/funnel-rinsed", f"{b}.wash", clears=("funnel",)),
            tick(f"{b}.wash/runs-clear", f"{b}.wash"),
            planned_s=180.0,
            ends="not before",
            pausable=True,
            batch=n,
        ),
    )


def small_plan(in_the_dark: bool = True, batches: int = 2) -> Plan:
    """The plan; with one batch it is shorter."""
    before = (
        step(
            "gear",
            Kind.CHECK,
            "Lay the gear out",
            tick("gear/thermometer", "gear", killer=True),
            tick("gear/line-hung", "gear"),
            tick("gear/gloves", "temper", "start", killer=True),
        ),
        step("sound", Kind.CHECK, "Sound check", tick("sound/bells", "sound", killer=True, asks="bells")),
        step(
            "look",
            Kind.MEASURE,
            "Measure",
            readings=(
                PlannedReading("developer", "Developer now"),
                PlannedReading("bath", "Warm bath", (30.0, 45.0)),
            ),
        ),
        step(
            "temper",
            Kind.WAIT,
            "Temper",
            tick("temper/capped", "temper"),
            readings=(PlannedReading("developer", "Developer", (37.8, 39.0)),),
        ),
    )
    after = (
        step(
            "b1.r1.stab",
            Kind.BATH,
            "Stabiliser",
            tick("b1.r1.stab/jar-full", "b1.r1.stab", "start"),
            solution="stabiliser",
            solution_title="Stabiliser",
            pour=("jar",),
            planned_s=60.0,
            ends="not before",
            background=True,
            lead_in_s=0.0,
            batch=1,
            roll=0,
            roll_label="First",
        ),
        step(
            "b1.r2.rub",
            Kind.WASH,
            "Take the backing off",
            tick("b1.r2.rub/no-black", "b1.r2.rub", killer=True),
            batch=1,
            roll=1,
            roll_label="Second",
        ),
        step(
            "b1.r1.hang",
            Kind.CHECK,
            "Hang it up",
            tick("b1.r1.hang/hung", "b1.r1.hang", killer=True),
            joins="b1.r1.stab",
            batch=1,
            roll=0,
            roll_label="First",
        ),
        step("dry", Kind.HANG, "Dry", planned_s=3600.0, ends="not before", background=True),
        step("away", Kind.CHECK, "Put away", tick("away/locked-up", "away", killer=True)),
        step("down", Kind.CHECK, "Take it down", tick("down/dry", "down", killer=True), joins="dry"),
    )
    loops = tuple(s for n in range(1, batches + 1) for s in _batch(n, in_the_dark))
    return bare_plan(
        setup=replace(bare_plan().setup, bottles=BOTTLES),
        stages=(("all", "All of it"),),
        batches=tuple(Batch(n, (n - 1,), 0.0, 470.0) for n in range(1, batches + 1)),
        steps=(*before, *loops, *after),
        rules=(Rule("bleach-fix", "developer", "A drop ends the developer."),),
        titles=(("developer", "Developer"), ("bleach-fix", "Bleach-fix"), ("funnel", "Funnel")),
        first_aid=("Rinse.", "Call for help."),
    )


def begin(plan: Plan) -> SessionBegan:
    """The command that begins it, at 19:00 UTC."""
    wall = "2024-03-01T19:00:00.000Z"
    return SessionBegan(0.0, "s1", wall, 0, "boot-1", 1000.0, "0", "text", plan, False, 1.0, "pts/1")


def changed(plan: Plan, id_: str, **more: object) -> Plan:
    """The plan with fields of one step changed."""
    steps = tuple(replace(s, **more) if s.id == id_ else s for s in plan.steps)
    return replace(plan, steps=steps)


class Evening:
    """Commands against the core alone, no keys: `do` decides and evolves; `at` is the clock."""

    def __init__(self, plan: Plan | None = None) -> None:
        self.plan = plan or small_plan()
        self.at = 0.0
        self.events: list[Event] = []
        self.state = State()
        self.do(begin(self.plan))

    def do(self, command: c.Command) -> tuple[Event, ...]:
        events = decided(self.state, command)
        self.events += events
        self.state = reduce(evolve, events, self.state)
        return events

    def tick(self, *ids: str) -> None:
        for id_ in ids:
            bells = "3" if id_ == "sound/bells" else ""
            self.do(c.MakeTick(self.at, id_, typed=bells, expected=bells))

    def read(self, of: str, value_c: float, confirmed: bool = False) -> tuple[Event, ...]:
        return self.do(c.TakeReading(self.at, of, value_c, f"{value_c} °C", confirmed))

    def start(self, lead_in_s: float = 0.0) -> tuple[Event, ...]:
        return self.do(c.StartStep(self.at, self.here, lead_in_s))

    def end(self) -> tuple[Event, ...]:
        return self.do(c.EndStep(self.at, self.here))

    @property
    def here(self) -> str:
        return self.state.current or ""

    def goto(self, id_: str) -> Evening:
        """Go on to this step, with every tick made as soon as possible and every time kept."""
        while self.here != id_:
            self.pass_step()
        return self

    def pass_step(self) -> None:
        current = self.plan.step(self.here)
        if current.joins is not None and current.joins not in self.state.ended:
            clock = self.state.clocks[current.joins]
            self.at = max(self.at, clock.t0 + (clock.end_s or 0.0))
        for ask in current.readings:
            if current.kind in (Kind.MEASURE, Kind.WAIT):
                self.read(ask.of, 38.0)
        if current.timed:
            self.tick(*(t.id for t in self._open(current) if (t.due_step, t.due_at) == (current.id, "start")))
            self.start()
            if current.background:
                return
        self.tick(*(t.id for t in self._open(current)))
        running = self.state.clocks.get(current.id)
        self.at += running.end_s if running is not None and running.end_s is not None else 5.0
        if current.kind is Kind.BATH:
            self.at -= current.drain_lead_s
            self.do(c.BeginDrain(self.at, current.id))
            self.at += 12.0
        self.end()

    def _open(self, current: PlannedStep) -> list[PlannedTick]:
        return [t for t in current.ticks if t.id not in self.state.ticks]
