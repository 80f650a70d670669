"""Rolls get their numbers in the transaction that closes their session; those of older journals get theirs too."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.archive.conftest import AT, bath_events, keep_evening
from tests.manual_clock import ManualClock

from wetside.app.controller import SessionController
from wetside.app.session_factory import begin_session, resume_session
from wetside.commands.export import exported
from wetside.commands.rolls import archived
from wetside.domain.archive.numbering import Archive, DensitiesMeasured
from wetside.domain.planning.plan import Plan
from wetside.domain.session import commands as c
from wetside.errors import JournalUnusable
from wetside.files.settings import JOURNAL, Places, Settings
from wetside.storage import archive as storage
from wetside.storage.archive import ARCHIVE, keep_densities, load_archive
from wetside.storage.journal_file import create
from wetside.storage.sessions import append_events, load
from wetside.storage.store import Entry, Envelope, Store, open_store

KEPT = Path(__file__).parents[1] / "journals"


def numbers(places: Places) -> dict[str, list[str]]:
    """The numbers of each session, in the order of its rolls."""
    with open_store(places, read_only=True) as store:
        found: dict[str, list[str]] = {}
        for (session, _), number in sorted(load_archive(store).numbers.items()):
            found.setdefault(session, []).append(number)
        return found


def open_evening(store: Store, places: Places, plan: Plan, session: str, wall: str) -> SessionController:
    """A resumed evening whose developer is over."""
    append_events(store, f"session/{session}", 0, bath_events(plan, wall, session), wall)
    return resume_session(store, places, f"session/{session}", Settings(), terminal="one")


def abandon(controller: SessionController) -> bool:
    done = controller.dispatch(c.Abandon(controller.now(), "for a test"))
    controller.release()
    return done


def test_earlier_sessions_are_numbered_in_the_order_they_began(places: Places, plan: Plan) -> None:
    keep_evening(places, plan, "2031-03-02-late", "2031-03-02T18:00:00Z")
    keep_evening(places, plan, "2030-12-31-early", "2031-01-01T02:00:00Z")
    keep_evening(places, plan, "2031-04-01-open", "2031-04-01T18:00:00Z", None)
    keep_evening(places, plan, "2031-04-02-dry", "2031-04-02T18:00:00Z", practice=True)
    keep_evening(places, plan, "2031-02-01-left", "2031-02-01T18:00:00Z", "abandoned", developed=False)
    keep_evening(places, plan, "2031-02-02-lost", "2031-02-02T18:00:00Z", "abandoned")
    assert numbers(places) == {
        "2030-12-31-early": ["2030-001", "2030-002", "2030-003"],
        "2031-02-02-lost": ["2031-001", "2031-002", "2031-003"],
        "2031-03-02-late": ["2031-004", "2031-005", "2031-006"],
    }
    with open_store(places, read_only=True) as store:
        assert store.last_seq(ARCHIVE) == 0, "looking writes nothing"


def test_closing_a_session_numbers_its_rolls_and_stores_the_numbers_of_earlier_ones(
    places: Places, plan: Plan
) -> None:
    keep_evening(places, plan, "2031-03-01-old", "2031-03-01T18:00:00Z")
    before = numbers(places)
    with open_store(places) as store:
        append_events(store, "session/2031-05-01-new", 0, bath_events(plan, AT, "2031-05-01-new"), AT)
        pattern = Settings(roll_number="N{####}")
        assert abandon(resume_session(store, places, "session/2031-05-01-new", pattern, terminal="one"))
        assert [row.kind for row in store.read(ARCHIVE)] == ["rolls_numbered"] * 2
        assert load(store, "session/2031-05-01-new")[-1].kind == "session_closed"
    new = {"2031-05-01-new": ["N0001", "N0002", "N0003"]}
    assert numbers(places) == {**before, **new}
    # an evening older than all that turns up closed: no number on a sleeve moves for it
    keep_evening(places, plan, "2031-01-01-older", "2031-01-01T18:00:00Z")
    assert numbers(places) == {**before, **new, "2031-01-01-older": ["2031-004", "2031-005", "2031-006"]}


def test_the_record_of_a_session_shows_the_stored_roll_numbers(places: Places, plan: Plan) -> None:
    keep_evening(places, plan, "2031-03-01-old", "2031-03-01T18:00:00Z")
    assert "Number" not in exported(places, "2031-03-01-old", "markdown"), (
        "worked out, and written down nowhere yet"
    )
    with open_store(places) as store:
        assert abandon(open_evening(store, places, plan, "2031-05-01-new", AT))
    for session, first in (("2031-03-01-old", "2031-001"), ("2031-05-01-new", "2031-004")):
        assert f"| {first} | {plan.setup.rolls[0].label} |" in exported(places, session, "markdown")


def test_practice_and_undeveloped_film_get_no_number(places: Places, plan: Plan) -> None:
    with open_store(places) as store:
        for practice in (False, True):
            clock = ManualClock()
            controller = begin_session(
                store, places, plan, "", Settings(), terminal="one", practice=practice, clock=clock
            )
            assert abandon(controller)
    assert numbers(places) == {}


def test_the_close_and_its_numbers_are_stored_together_or_not_at_all(
    places: Places, plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = Store.append

    def fails(store: Store, streams: dict[str, tuple[int, tuple[Entry, ...]]], at: str) -> tuple[Envelope, ...]:
        assert {ARCHIVE, "session/2031-05-01-x"} <= set(streams), "one append has both"
        raise JournalUnusable("The disk is full.")

    with open_store(places) as store:
        controller = open_evening(store, places, plan, "2031-05-01-x", AT)
        monkeypatch.setattr(Store, "append", fails)
        assert not controller.dispatch(c.Abandon(controller.now(), "for a test"))
        assert controller.state.outcome is None
        monkeypatch.setattr(Store, "append", whole)
        assert store.last_seq(ARCHIVE) == 0
        assert abandon(controller)
    assert numbers(places) == {"2031-05-01-x": ["2031-001", "2031-002", "2031-003"]}


def test_two_evenings_that_close_at_once_share_no_number(
    places: Places, plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other terminal closes its evening between this one's look at the archive and its own append."""
    others: list[SessionController] = []
    look = storage._load

    def overtaken(store: Store) -> tuple[Archive, int]:
        seen = look(store)
        if others:
            assert abandon(others.pop())
        return seen

    with open_store(places) as store, open_store(places) as another:
        controller = open_evening(store, places, plan, "2031-05-01-x", AT)
        others.append(open_evening(another, places, plan, "2031-05-01-y", AT))
        monkeypatch.setattr(storage, "_load", overtaken)
        assert abandon(controller)
        kinds = [row.kind for row in store.read(ARCHIVE)]
    assert kinds == ["rolls_numbered"] * 2
    assert numbers(places) == {
        "2031-05-01-x": ["2031-004", "2031-005", "2031-006"],
        "2031-05-01-y": ["2031-001", "2031-002", "2031-003"],
    }


def test_an_unreadable_archive_does_not_keep_a_session_from_closing(places: Places, plan: Plan) -> None:
    with open_store(places) as store:
        controller = open_evening(store, places, plan, "2031-05-01-x", AT)
        store.append({ARCHIVE: (0, (Entry("of a later version", 1, "{}"),))}, AT)
        assert abandon(controller)
        assert load(store, "session/2031-05-01-x")[-1].kind == "session_closed"
        with pytest.raises(JournalUnusable, match="update Wetside"):
            load_archive(store)


@pytest.mark.parametrize("version", [folder.name for folder in KEPT.iterdir() if folder.is_dir()])
def test_a_new_close_leaves_the_roll_numbers_of_a_kept_journal_unchanged(
    version: str, places: Places, plan: Plan
) -> None:
    packed = KEPT / version / f"{JOURNAL}.gz"
    if not packed.is_file():
        pytest.skip("no journal")
    (places.data / JOURNAL).write_bytes(gzip.decompress(packed.read_bytes()))
    (places.data / JOURNAL).chmod(0o600)
    before = numbers(places)
    assert list(before.values()) == [["2031-001", "2031-002", "2031-003"]]
    with open_store(places) as store:
        assert abandon(open_evening(store, places, plan, "2031-07-01-new", AT))
    assert numbers(places) == {**before, "2031-07-01-new": ["2031-004", "2031-005", "2031-006"]}
    rolls = archived(places)
    assert [(roll.number, roll.edge, roll.seen) for roll in rolls][1] == ("2031-002", "weak", ("Thin all over",))
    assert rolls[0].kits == ("Spring",)


def test_densities_are_kept_with_the_numbers_they_were_read_by(places: Places, plan: Plan) -> None:
    keep_evening(places, plan, "2031-03-01-old", "2031-03-01T18:00:00Z")
    first = DensitiesMeasured("2031-03-01-old", 1, "2031-03-02", (0.3, 0.6, 0.8), ())
    later = replace(first, edge=(0.9, 1.2, 1.4))
    with open_store(places) as store:
        for each in (first, later):
            keep_densities(store, (each,), AT)
        kinds = [row.kind for row in store.read(ARCHIVE)]
    assert kinds == ["rolls_numbered", "densities_measured", "densities_measured"]
    second = archived(places)[1]
    assert (second.number, second.base, second.edge_print) == ("2031-002", later.base, later.edge)


def test_an_archived_roll_names_its_developer(places: Places, plan: Plan) -> None:
    keep_evening(places, plan, "2031-03-01-old", "2031-03-01T18:00:00Z")
    step = next(step for step in plan.steps if step.id == "b1.developer")
    for roll in archived(places):
        assert roll.developer == "developer"
        assert roll.developer_c == step.target_c
        assert roll.developer_s == pytest.approx((step.planned_s or 0.0) - step.drain_lead_s)
        assert roll.off_s == pytest.approx(0.0, abs=1e-6)
        assert roll.bottle_rolls == next(b.used_rolls for b in plan.setup.bottles if b.solution == "developer")


def test_a_damaged_session_does_not_change_the_numbers_of_others(places: Places, plan: Plan) -> None:
    keep_evening(places, plan, "2031-03-01-a", "2031-03-01T18:00:00Z")
    keep_evening(places, plan, "2031-03-02-b", "2031-03-02T18:00:00Z")
    with open_store(places) as store:
        broken = Entry("of a later version", 1, "{}")
        stream = "session/2031-03-01-a"
        store.append({stream: (store.last_seq(stream), (broken,))}, AT)
    assert {roll.session for roll in archived(places)} == {"2031-03-02-b"}
    assert numbers(places)["2031-03-02-b"] == ["2031-004", "2031-005", "2031-006"]


def test_a_session_whose_archive_row_is_lost_gets_new_numbers_above_all_others(places: Places, plan: Plan) -> None:
    with open_store(places) as store:
        for session in ("2031-05-01-x", "2031-05-02-y"):
            assert abandon(open_evening(store, places, plan, session, AT))
        rows = [row for stream in store.streams() for row in store.read(stream.stream)]
    (places.data / JOURNAL).unlink()
    kept = [row for row in rows if (row.stream, row.seq) != (ARCHIVE, 1)]
    create(places.data / JOURNAL, [(row.stream, row.seq, row.at, row.kind, row.version, row.data) for row in kept])
    assert numbers(places) == {
        "2031-05-01-x": ["2031-007", "2031-008", "2031-009"],
        "2031-05-02-y": ["2031-004", "2031-005", "2031-006"],
    }
    with open_store(places) as store:
        assert abandon(open_evening(store, places, plan, "2031-05-03-z", AT))
    assert numbers(places)["2031-05-03-z"] == ["2031-010", "2031-011", "2031-012"]
