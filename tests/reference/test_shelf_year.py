"""A year of evenings: what the shelf says equals what anyone can count again from the exported sessions.

The recount reads only the exported JSON lines and uses its own film sizes and its own arithmetic (whole decimal
numbers); of the program it uses nothing but the export. Film sizes: length from memory, width of 135 from memory,
120 seen second-hand (30 to 33 in long, about 61 mm wide). A roll is the film of a 135-36.
The year itself is invented.
"""

from __future__ import annotations

import json
import random
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from msgspec.structs import replace
from tests.factories import session_began
from tests.shipped import shipped_profile, shipped_setup

from wetside.app.journal_writer import JournalWriter
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Roll, Setup
from wetside.domain.profile.model import FilmKind
from wetside.domain.session import events as e
from wetside.domain.session.outcome import Outcome
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import bottle_report
from wetside.domain.shelf.setup_bottles import offers
from wetside.domain.shelf.state import ShelfState
from wetside.export.data_formats import export_jsonl
from wetside.present.evening_plan import make_plan
from wetside.present.shelf_text import with_shelf
from wetside.storage.session_lock import SessionLock
from wetside.storage.sessions import load, stream_of, summaries
from wetside.storage.shelf import change_shelf, load_shelf
from wetside.storage.store import Store

PROFILE = shipped_profile("two-bath")
SETUP = shipped_setup("three-rolls")
SOLUTIONS = ("developer", "bleach-fix", "stabiliser")
NEW_YEAR = date(2031, 1, 1)
SESSIONS, KITS, PRACTICES = 60, 6, 5

SIZE_MM = {"135-36": ("1636", "34.98"), "135-24": ("1180", "34.98"), "120": ("825", "61.5")}


class Year(Struct, frozen=True):
    """The journal after the year, and each session's export in the order they were held."""

    shelf: ShelfState
    exports: tuple[str, ...]


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Year]:
    folder = tmp_path_factory.mktemp("year")
    dice = random.Random(20310101)
    with Store.open(folder / "journal.sqlite3") as store:
        evenings = sorted(dice.sample(range(360), SESSIONS + PRACTICES))
        mixings = [0, *sorted(dice.sample(range(30, 330), KITS - 1))]
        dry = set(dice.sample(range(len(evenings)), PRACTICES))
        for number, evening in enumerate(evenings):
            while mixings and mixings[0] <= evening:
                mix(store, NEW_YEAR + timedelta(days=mixings.pop(0)), dice)
            hold(store, folder, NEW_YEAR + timedelta(days=evening), dice, practice=number in dry)
        assert not mixings
        held = [row for row in reversed(summaries(store))]
        yield Year(load_shelf(store), tuple(export_jsonl(load(store, row.stream)) for row in held))


def mix(store: Store, on: date, dice: random.Random) -> None:
    ml = dice.choice((1000.0, 1000.0, 2000.0, 1500.0))
    bottles = tuple(c.NewBottle(id_, ml) for id_ in SOLUTIONS)
    change_shelf(
        store, c.MixKit(on.isoformat(), on.isoformat(), "Invented kit", PROFILE, bottles, 36.0), f"{on}T12:00:00Z"
    )


def evening_setup(shelf: ShelfState, today: date, dice: random.Random) -> Setup:
    """One to five rolls; mostly the bottles that the shelf offers, now and then another standing one."""
    rolls = tuple(
        Roll(f"roll {number}", dice.choice(_KINDS), dice.choice(sorted(SIZE_MM)))
        for number in range(dice.randint(1, 5))
    )
    kept = [offer.bottle for offer in offers(shelf, today)]
    bottles = tuple(next(bottle for bottle in kept if bottle.solution == id_) for id_ in SOLUTIONS)
    if dice.random() < 0.3:
        kit = dice.choice(shelf.kits)
        bottles = tuple(replace(bottle, shelf_id=f"{kit.number}-{bottle.solution}") for bottle in bottles)
    if dice.random() < 0.2:
        bottles = (replace(bottles[0], shelf_id=None), *bottles[1:])
    return with_shelf(replace(SETUP, rolls=rolls, bottles=bottles), shelf)


_KINDS: tuple[FilmKind, ...] = ("standard", "backed")


def hold(store: Store, folder: Path, on: date, dice: random.Random, *, practice: bool) -> None:
    """One evening, cut off after some of its baths now and then, kept as a running guide keeps it."""
    plan = make_plan(PROFILE, evening_setup(load_shelf(store), on, dice), today=on)
    session = f"{on}-{'p' if practice else 's'}"
    wall = datetime(on.year, on.month, on.day, 19, 0, tzinfo=UTC)
    stream = stream_of(session, practice)
    lock = SessionLock(folder, stream, terminal="one")
    assert lock.try_take(f"{on}T19:00:00Z")
    event_sink = JournalWriter(store, stream, (), lock)
    abandoned = dice.random() < 0.25
    events = evening_events(plan, session, wall, practice, dice.randint(0, 4) if abandoned else None)
    event_sink.keep(events, wall)
    outcome: Outcome = "abandoned" if abandoned else "complete"
    event_sink.keep((e.SessionClosed(events[-1].at + 1.0, outcome, 0),), wall)
    event_sink.release()


def evening_events(
    plan: Plan, session: str, wall: datetime, practice: bool, most_baths: int | None
) -> tuple[e.Event, ...]:
    began = session_began(plan, session, wall.isoformat().replace("+00:00", "Z"), practice=practice)
    found: list[e.Event] = [began]
    baths = [step for step in plan.steps if step.solution in SOLUTIONS][:most_baths]
    for number, step in enumerate(baths):
        found += [
            e.ClockStarted(600.0 * number, step.id, 600.0 * number + 5.0),
            e.StepEnded(600.0 * number + 300.0, step.id),
        ]
    return tuple(found)


def recount(exports: tuple[str, ...]) -> dict[str, dict[str, Decimal]]:
    """Bottle -> session -> rolls of 135-36, from the exports alone."""
    found: dict[str, dict[str, Decimal]] = defaultdict(dict)
    for export in exports:
        lines: list[dict[str, Any]] = [json.loads(line) for line in export.splitlines()]
        began = lines[0]["data"]
        if lines[0]["practice"] or lines[-1]["kind"] != "session_closed":
            continue
        setup, steps = began["plan"]["setup"], {step["id"]: step for step in began["plan"]["steps"]}
        started = [steps[line["data"]["step"]] for line in lines if line["kind"] == "clock_started"]
        for bottle in setup["bottles"]:
            dipped: set[int] = set()
            for step in started:
                if step["solution"] == bottle["solution"]:
                    batch = [b for b in began["plan"]["batches"] if b["number"] == step["batch"]]
                    dipped |= {step["roll"]} if step["roll"] is not None else set(batch[0]["rolls"])
            if dipped and bottle["shelf_id"]:
                formats = [setup["rolls"][roll]["format"] for roll in dipped]
                found[bottle["shelf_id"]][began["session"]] = sum(map(area_cm2, formats), Decimal(0)) / area_cm2(
                    "135-36"
                )
    return found


def area_cm2(film_format: str) -> Decimal:
    """To the whole cm², since the lengths are not known better."""
    length, width = (Decimal(mm) / 10 for mm in SIZE_MM[film_format])
    return (length * width).quantize(Decimal(1), ROUND_HALF_UP)


def test_simulated_year_has_sessions_kits_and_abandoned_evenings(year: Year) -> None:
    assert len(year.exports) == SESSIONS + PRACTICES
    assert len(year.shelf.kits) == KITS
    assert sum('"abandoned"' in export for export in year.exports) >= 5


def test_bottle_use_equals_the_recount_from_exports(year: Year) -> None:
    counted = recount(year.exports)
    assert set(counted) == {id_ for id_, bottle in year.shelf.bottles.items() if bottle.uses}
    assert len(counted) >= 2 * KITS
    for id_, sessions in counted.items():
        bottle = year.shelf.bottles[id_]
        assert [use.session for use in bottle.uses] == sorted(sessions)
        for use in bottle.uses:
            assert use.rolls == pytest.approx(float(sessions[use.session]), rel=1e-9)
            assert use.on == use.session[:10]
        assert bottle.rolls == pytest.approx(float(sum(sessions.values())), rel=1e-9)


def test_remaining_capacity_and_cost_equal_the_recount(year: Year) -> None:
    counted = recount(year.exports)
    per_litre = {id_: Decimal(repr(PROFILE.solution(id_).capacity_per_l)) for id_ in SOLUTIONS}
    for kit in year.shelf.kits:
        through = [sum(counted.get(id_, {}).values(), Decimal(0)) for id_ in kit.bottles]
        for id_, rolls in zip(kit.bottles, through, strict=True):
            bottle = year.shelf.bottles[id_]
            judged = bottle_report(year.shelf, bottle, NEW_YEAR + timedelta(days=365))
            can = per_litre[bottle.figures.solution] * Decimal(repr(bottle.volume_ml)) / 1000
            assert judged.left_rolls == pytest.approx(float(can - rolls), abs=1e-9)
            if max(through) > 0:
                assert judged.cost_so_far == pytest.approx(36.0 / float(max(through)))
            assert judged.cost_at_capacity == pytest.approx(36.0 / float(can))


def test_each_plan_contains_the_use_of_the_sessions_before_it(year: Year) -> None:
    """`used_rolls` in each export is the recount of the exports before it."""
    before: dict[str, Decimal] = defaultdict(Decimal)
    checked = 0
    for number, export in enumerate(year.exports):
        data = json.loads(export.splitlines()[0])["data"]
        for bottle in data["plan"]["setup"]["bottles"]:
            if bottle["shelf_id"]:
                assert bottle["used_rolls"] == pytest.approx(float(before[bottle["shelf_id"]]), abs=1e-9)
                checked += 1
        for id_, sessions in recount(year.exports[number : number + 1]).items():
            before[id_] += sum(sessions.values(), Decimal(0))
    assert checked > 2 * SESSIONS
