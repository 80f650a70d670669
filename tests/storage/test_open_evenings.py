"""What the ended baths of an evening that is still open have done to the bottles of the shelf."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.shipped import shipped_profile
from tests.storage.test_shelf_journal import (
    AT,
    SESSION,
    SOLUTIONS,
    WALL,
    baths,
    began,
    event_sink,
    mix,
    plan_on_shelf,
    salvaged_without,
    through,
)

from wetside.domain.messages import Refusal, as_written
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.debit import suspicions
from wetside.present.message_words import in_words
from wetside.present.shelf_text import with_shelf
from wetside.storage.sessions import append_events
from wetside.storage.shelf import change_shelf, load_shelf, shelf_events
from wetside.storage.store import Store

NAME = SESSION.removeprefix("session/")


@pytest.fixture(scope="module")
def profile() -> Profile:
    return shipped_profile("two-bath")


@pytest.fixture
def store(tmp_path: Path, profile: Profile) -> Iterator[Store]:
    with Store.open(tmp_path / "journal.sqlite3") as opened:
        change_shelf(opened, mix(profile), AT)
        yield opened


def ended(plan: Plan, solution: str, batch: int) -> e.StepEnded:
    step = next(step for step in plan.steps if step.solution == solution and step.batch == batch)
    return e.StepEnded(400.0 + batch, step.id)


def rolls_of(store: Store, bottle: str = "1-developer") -> float:
    return load_shelf(store).bottles[bottle].rolls


def test_a_bath_of_an_open_session_is_debited_from_its_end_on(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)
    assert rolls_of(store) == 0.0
    writer.keep((ended(plan, "developer", 1),), WALL)
    assert rolls_of(store) == pytest.approx(through(plan, 1))
    writer.keep((ended(plan, "developer", 2),), WALL)
    assert rolls_of(store) == pytest.approx(through(plan, 1, 2))
    assert rolls_of(store, "1-bleach-fix") == 0.0
    assert len(shelf_events(store)) == 1, "the evening's own stream keeps it until the close"


def test_closing_a_session_debits_no_bath_twice(store: Store, profile: Profile, tmp_path: Path) -> None:
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS), ended(plan, "developer", 1)), WALL)
    writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    (use,) = load_shelf(store).bottles["1-developer"].uses
    assert use.rolls == pytest.approx(through(plan, 1, 2))


def test_an_evening_abandoned_later_keeps_its_debits(store: Store, profile: Profile, tmp_path: Path) -> None:
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, "developer", batches=(1,)), ended(plan, "developer", 1)), WALL)
    writer.keep((e.SessionClosed(600.0, "abandoned", 0, "no more time"),), WALL)
    (use,) = load_shelf(store).bottles["1-developer"].uses
    assert use.rolls == pytest.approx(through(plan, 1))


def test_a_kill_neither_loses_nor_doubles_a_debit(store: Store, profile: Profile, tmp_path: Path) -> None:
    plan = plan_on_shelf(store, profile)
    event_sink(store, tmp_path).keep((began(plan), *baths(plan, *SOLUTIONS), ended(plan, "developer", 1)), WALL)
    with Store.open(store.path) as other:
        assert rolls_of(other) == pytest.approx(through(plan, 1))
        change_shelf(other, c.NoteBottle("2031-03-01", "1-developer", "after the crash"), AT)
        assert rolls_of(other) == pytest.approx(through(plan, 1))


def test_two_open_evenings_are_both_debited_and_practice_is_not(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    plan = plan_on_shelf(store, profile)
    for stream, practice in ((SESSION, False), ("session/other", False), ("practice/dry", True)):
        first = replace(began(plan, practice), session=stream.partition("/")[2])
        append_events(store, stream, 0, (first, *baths(plan, "developer"), ended(plan, "developer", 1)), AT)
    assert rolls_of(store) == pytest.approx(2 * through(plan, 1))


def test_an_unreadable_open_session_does_not_hide_the_shelf(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    plan = plan_on_shelf(store, profile)
    event_sink(store, tmp_path).keep((began(plan), *baths(plan, *SOLUTIONS), ended(plan, "developer", 1)), WALL)
    with salvaged_without(store, SESSION, 2, tmp_path / "saved") as saved:
        assert rolls_of(saved) == 0.0


def test_a_fresh_clearing_time_is_not_taken_from_a_bottle_in_use(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    plan = plan_on_shelf(store, profile)
    event_sink(store, tmp_path).keep((began(plan), *baths(plan, "bleach-fix"), ended(plan, "bleach-fix", 1)), WALL)
    with pytest.raises(Refusal, match="no fresh time"):
        change_shelf(store, c.TimeClearing("2031-03-01", "1-bleach-fix", 70.0), AT)


def test_a_mishap_makes_a_bottle_suspect_at_once_and_for_good(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    """From the moment it happened, evening open or closed; trusted meanwhile, the close does not bring it back."""
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    step = next(step.id for step in plan.steps if step.solution == "developer")
    text = "Something got into the developer (step: Developer)"
    mishap = e.MishapHappened(300.0, step, "contaminated", "in the tank", "", ("developer",))
    writer.keep((began(plan), mishap), WALL)
    (suspicion,) = load_shelf(store).bottles["1-developer"].suspected
    assert (suspicion.mark, in_words(suspicion.why)) == (f"{NAME}/0", f"{text}.")
    assert load_shelf(store).bottles["1-bleach-fix"].suspected == ()
    setup = with_shelf(replace(plan.setup), load_shelf(store))
    (judged,) = (in_words(each.suspect) for each in setup.bottles if each.solution == "developer")
    assert judged == f"{suspicion.on}: {text}."

    change_shelf(store, c.Trust("2031-03-01", "1-developer", "it was water"), AT)
    assert load_shelf(store).bottles["1-developer"].suspected == ()
    writer.keep((replace(mishap, at=310.0),), WALL)
    assert [each.mark for each in load_shelf(store).bottles["1-developer"].suspected] == [f"{NAME}/1"]
    writer.keep((e.SessionClosed(3600.0, "complete with deviations", 2),), WALL)
    assert [each.mark for each in load_shelf(store).bottles["1-developer"].suspected] == [f"{NAME}/1"]
    assert len(load_shelf(store).bottles["1-developer"].suspicions) == 2


def test_a_level_read_after_a_bath_of_an_open_evening_is_refused_until_its_close(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    """The close takes the use off whatever level stands then; one read after the bath lacks it already."""
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    level = c.NoteLevel("2031-03-01", "1-developer", 600.0, full=False)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)
    assert change_shelf(store, level, AT).bottles["1-developer"].volume_ml == 600.0
    writer.keep((ended(plan, "developer", 1),), WALL)
    with pytest.raises(Refusal, match="level in use"):
        change_shelf(store, level, AT)
    change_shelf(store, replace(level, bottle="1-bleach-fix"), AT)
    writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    said = change_shelf(store, replace(level, volume_ml=300.0), AT).bottles["1-developer"]
    assert load_shelf(store).bottles["1-developer"] == said


def test_a_practice_makes_no_bottle_suspect(store: Store, profile: Profile) -> None:
    plan = plan_on_shelf(store, profile)
    step, drill = plan.steps[0].id, as_written("A drill")
    mishap = e.MishapHappened(300.0, step, "contaminated", "before", "", ("developer",), drill)
    assert suspicions(replay((replace(began(plan), practice=True), mishap))) == ()
    assert len(suspicions(replay((began(plan), mishap)))) == 1
