"""The shelf in the journal: stored whole, changed from two terminals at once, debited with a session's close."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace
from tests.factories import session_began
from tests.shipped import shipped_profile, shipped_setup

from wetside.app.journal_writer import SHELF_UNREAD, JournalWriter
from wetside.commands.export import exported
from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.messages import as_written, message
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.domain.session import events as e
from wetside.domain.shelf import commands as c
from wetside.domain.shelf import events as s
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.state import ShelfState
from wetside.errors import JournalUnusable, Refused
from wetside.files.settings import JOURNAL, Places
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.shelf_text import with_shelf
from wetside.storage import journal_file
from wetside.storage.session_lock import SessionLock
from wetside.storage.sessions import load
from wetside.storage.shelf import CODEC, SHELF, change_shelf, load_shelf, shelf_events
from wetside.storage.store import Entry, Envelope, Overtaken, Store

AT = "2031-03-01T18:00:00Z"
WALL = datetime(2031, 3, 1, 23, 30, tzinfo=UTC)
SESSION = "session/2031-03-01-kvxz"
SOLUTIONS = ("developer", "bleach-fix", "stabiliser")


@pytest.fixture(scope="module")
def profile() -> Profile:
    return shipped_profile("two-bath")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "journal.sqlite3") as opened:
        yield opened


def mix(profile: Profile) -> c.MixKit:
    bottles = tuple(c.NewBottle(id_, 1000.0) for id_ in SOLUTIONS)
    return c.MixKit("2031-02-20", "2031-03-01", "Invented kit", profile, bottles, 36.0)


def plan_on_shelf(store: Store, profile: Profile) -> Plan:
    """The shipped evening in two batches with its three bottles from kit 1."""
    setup = shipped_setup("five-rolls-two-batches")
    bottles = tuple(replace(bottle, shelf_id=f"1-{bottle.solution}") for bottle in setup.bottles)
    return make_plan(profile, with_shelf(replace(setup, bottles=bottles), load_shelf(store)))


def event_sink(store: Store, tmp_path: Path, stream: str = SESSION) -> JournalWriter:
    lock = SessionLock(tmp_path, stream, terminal="one")
    assert lock.try_take(AT)
    return JournalWriter(store, stream, (), lock)


def began(plan: Plan, practice: bool = False) -> e.SessionBegan:
    """An evening an hour east of Greenwich, so that half past eleven in UTC is the next day."""
    return session_began(plan, "2031-03-01-kvxz", "2031-03-01T23:30:00Z", offset_s=3600, practice=practice)


def baths(plan: Plan, *solutions: str, batches: tuple[int, ...] = (1, 2)) -> tuple[e.Event, ...]:
    """The clocks of every planned bath with these solutions in these batches."""
    steps = [step for step in plan.steps if step.solution in solutions and step.batch in batches]
    return tuple(e.ClockStarted(60.0 + n, step.id, 65.0 + n) for n, step in enumerate(steps))


def through(plan: Plan, *batches: int) -> float:
    rolls = [
        plan.setup.rolls[roll].format for batch in plan.batches if batch.number in batches for roll in batch.rolls
    ]
    return roll_equivalents(rolls)


def test_every_kind_of_shelf_event_is_read_as_it_was_written(store: Store, profile: Profile) -> None:
    day = "2031-02-21"
    change_shelf(store, mix(profile), AT)
    for command in (
        c.UseBottle(day, "1-developer", "x", 1.1, 3.0),
        c.TryLeader(day, "1-developer", True),
        c.TimeClearing(day, "1-bleach-fix", 70.0, 60.0),
        c.TryBleach(day, "1-bleach-fix", True),
        c.Suspect(day, "1-developer", "x/0", as_written("Bleach-fix got into it.")),
        c.Trust(day, "1-developer", "a strip came out well"),
        c.TopUp(day, "1-developer", 50.0),
        c.NoteLevel(day, "1-developer", 900.0, False),
        c.Squeeze(day, "1-developer"),
        c.NoteBottle(day, "1-developer", "Smells °\N{OHM SIGN}"),
        c.Discard(day, "1-stabiliser", "cloudy", cautioned=True),
        mix(profile),
        c.TakeBackKit(day, "2-developer", "written down twice"),
    ):
        change_shelf(store, command, AT)
    events = shelf_events(store)
    assert {type(event) for event in events} == set(get_args(s.Event))
    assert all(CODEC.decode(*CODEC.encode(event)) == event for event in events)


def test_an_unknown_shelf_event_gives_a_sentence(store: Store) -> None:
    store.append({SHELF: (0, (Entry("bottle_sung_to", 1, "{}"),))}, AT)
    with pytest.raises(JournalUnusable, match="shelf 1 is of a kind this Wetside does not know"):
        load_shelf(store)


def test_a_kit_of_the_first_version_is_called_by_its_name_and_was_fresh(profile: Profile) -> None:
    (mixed,) = decide(ShelfState(), mix(profile))
    kind, _, text = CODEC.encode(mixed)
    old = json.loads(text)
    old["bottles"][0]["label"] = "Developer, kit 1"
    old["bottles"][1]["label"] = "My own words, kit 1"
    for bottle in old["bottles"]:
        del bottle["used_rolls"]
        bottle["figures"]["test"] = {"bleach-fix": "clearing"}.get(bottle["figures"]["test"], "none")
    lifted = CODEC.decode(kind, 1, json.dumps(old))
    assert isinstance(lifted, s.KitMixed)
    assert [bottle.label for bottle in lifted.bottles[:2]] == ["Developer, Invented kit", "My own words, kit 1"]
    assert [bottle.used_rolls for bottle in lifted.bottles] == [0.0, 0.0, 0.0]
    assert [bottle.figures.test for bottle in lifted.bottles] == ["none", "bleach-fix", "none"]


def test_an_older_kit_s_label_names_no_hazards(profile: Profile) -> None:
    (mixed,) = decide(ShelfState(), mix(profile))
    kind, _, text = CODEC.encode(mixed)
    old = json.loads(text)
    for bottle in old["bottles"]:
        del bottle["figures"]["signal"], bottle["figures"]["hazards"]
    lifted = CODEC.decode(kind, 4, json.dumps(old))
    assert isinstance(lifted, s.KitMixed)
    assert [(each.figures.signal, each.figures.hazards) for each in lifted.bottles] == [(None, ())] * 3


def test_rolls_of_80_square_inches_are_converted_to_rolls_of_135_36(profile: Profile) -> None:
    """Film that went through is the same: 516.128 cm² a roll before, 572 cm² after."""
    used = s.BottleUsed("2031-03-01", "1-developer", "a", 3.0, 0.0, 0.0)
    kind, _, text = CODEC.encode(used)
    lifted = CODEC.decode(kind, 1, text)
    assert isinstance(lifted, s.BottleUsed)
    assert lifted.rolls * 572.0 == pytest.approx(3.0 * 516.128)
    (mixed,) = decide(ShelfState(), replace(mix(profile), used_rolls=4.0))
    kind, _, text = CODEC.encode(mixed)
    kit = CODEC.decode(kind, 3, text)
    assert isinstance(kit, s.KitMixed)
    assert kit.bottles[0].used_rolls * 572.0 == pytest.approx(4.0 * 516.128)
    assert kit.bottles[0].figures.capacity_per_l == mixed.bottles[0].figures.capacity_per_l  # type: ignore[union-attr]


WRITER = """
import sys
from pathlib import Path
from wetside.storage.shelf import change_shelf
from wetside.storage.store import Store
from wetside.domain.shelf.commands import NoteBottle
with Store.open(Path(sys.argv[1])) as store:
    print("ready", flush=True)
    sys.stdin.readline()
    for number in range(40):
        note = NoteBottle("2031-03-01", "1-developer", f"{sys.argv[2]} {number}")
        change_shelf(store, note, "2031-03-01T18:00:00Z")
"""


def test_two_terminals_at_once_lose_nothing(store: Store, profile: Profile) -> None:
    change_shelf(store, mix(profile), AT)
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(store.path), name], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        for name in ("one", "two")
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
    for writer in writers:
        writer.communicate(b"\n", timeout=240)
    assert [writer.returncode for writer in writers] == [0, 0]
    said = [note.text for note in load_shelf(store).bottles["1-developer"].notes]
    assert sorted(said) == sorted(f"{name} {number}" for name in ("one", "two") for number in range(40))
    for name in ("one", "two"):
        assert [text for text in said if text.startswith(name)] == [f"{name} {number}" for number in range(40)]


def beaten(monkeypatch: pytest.MonkeyPatch, store: Store, times: int, change: Callable[[int], c.Command]) -> None:
    """Before each of the next `times` appends to the shelf another terminal writes there first."""
    append = Store.append
    left = [*range(times)]

    def late(self: Store, streams: Mapping[str, tuple[int, tuple[Entry, ...]]], at: str) -> tuple[Envelope, ...]:
        if self is store and SHELF in streams and left:
            number = left.pop(0)
            with Store.open(store.path) as other:
                change_shelf(other, change(number), AT)
        return append(self, streams, at)

    monkeypatch.setattr(Store, "append", late)


def test_kits_mixed_at_once_get_numbers_of_their_own(
    store: Store, profile: Profile, monkeypatch: pytest.MonkeyPatch
) -> None:
    beaten(monkeypatch, store, 2, lambda _: mix(profile))
    change_shelf(store, mix(profile), AT)
    assert [kit.number for kit in load_shelf(store).kits] == [1, 2, 3]
    assert len(load_shelf(store).bottles) == 9


def test_closing_a_session_debits_the_bottles(store: Store, profile: Profile, tmp_path: Path) -> None:
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)
    assert load_shelf(store).bottles["1-developer"].uses == ()
    writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    for solution in SOLUTIONS:
        (use,) = load_shelf(store).bottles[f"1-{solution}"].uses
        assert (use.session, use.on) == ("2031-03-01-kvxz", "2031-03-02")
        assert use.rolls == pytest.approx(through(plan, 1, 2))


def test_a_session_abandoned_after_the_first_developer_debits_that_bath(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, "developer", batches=(1,))), WALL)
    writer.keep((e.SessionClosed(600.0, "abandoned", 0, "no more time"),), WALL)
    shelf = load_shelf(store)
    assert shelf.bottles["1-developer"].rolls == pytest.approx(through(plan, 1))
    assert shelf.bottles["1-bleach-fix"].uses == shelf.bottles["1-stabiliser"].uses == ()


def test_practice_and_bottles_that_are_not_on_the_shelf_are_not_debited(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    dry = event_sink(store, tmp_path, "practice/2031-03-01-kvxz")
    dry.keep((began(plan, practice=True), *baths(plan, *SOLUTIONS)), WALL)
    dry.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)

    bottles = tuple(replace(bottle, shelf_id=None) for bottle in plan.setup.bottles)
    loose = replace(plan, setup=replace(plan.setup, bottles=bottles))
    other = event_sink(store, tmp_path, "session/loose")
    other.keep((began(loose), *baths(loose, *SOLUTIONS)), WALL)
    other.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    assert len(shelf_events(store)) == 1


def test_a_shelf_changed_meanwhile_is_read_again(
    store: Store, profile: Profile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)
    beaten(monkeypatch, store, 3, lambda number: c.NoteBottle("2031-03-02", "1-developer", f"meanwhile {number}"))
    writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    bottle = load_shelf(store).bottles["1-developer"]
    assert [note.text for note in bottle.notes] == ["meanwhile 0", "meanwhile 1", "meanwhile 2"]
    assert len(bottle.uses) == 1
    assert isinstance(load(store, SESSION)[-1], e.SessionClosed)


def salvaged_without(store: Store, stream: str, seq: int, folder: Path) -> Store:
    """The journal as a salvage leaves it where this one row was on a bad page."""
    folder.mkdir(mode=0o700)
    with sqlite3.connect(store.path) as connection:
        rows = connection.execute("SELECT * FROM journal").fetchall()
    connection.close()
    journal_file.create(folder / store.path.name, [row for row in rows if (row[0], row[1]) != (stream, seq)])
    return Store.open(folder / store.path.name)


def through_all_baths(store: Store, profile: Profile, tmp_path: Path) -> None:
    """An evening whose film went through all bottles of the shelf, and three rows on the shelf."""
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    for text in ("one", "two"):
        change_shelf(store, c.NoteBottle("2031-03-01", "1-developer", text), AT)
    event_sink(store, tmp_path).keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)


def test_a_shelf_with_a_lost_row_does_not_keep_a_session_from_closing(
    store: Store, profile: Profile, tmp_path: Path
) -> None:
    through_all_baths(store, profile, tmp_path)
    with salvaged_without(store, SHELF, 2, tmp_path / "saved") as saved:
        lock = SessionLock(tmp_path / "saved", SESSION, terminal="one")
        assert lock.try_take(AT)
        writer = JournalWriter(saved, SESSION, saved.read(SESSION), lock)
        writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
        note = e.NoteAdded(3600.0, SHELF_UNREAD)
        assert load(saved, SESSION)[-2:] == (e.SessionClosed(3600.0, "complete", 0), note)
        assert writer.fresh() == (note,), "for the screen of the closed session"
        assert writer.fresh() == ()
        writer.keep((e.NoteAdded(3700.0, "thin", "look", 0),), WALL)
        assert len(saved.read(SHELF, despite_gaps=True)) == 2, "the shelf is left as it is"
        with pytest.raises(JournalUnusable, match="entries 2 to 2 of shelf are lost"):
            load_shelf(saved)


def test_an_evening_is_exported_over_a_shelf_that_has_lost_a_row(
    store: Store, profile: Profile, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    through_all_baths(store, profile, tmp_path)
    places = Places(tmp_path / "saved", tmp_path / "settings.toml")
    with salvaged_without(store, SHELF, 2, places.data) as saved:
        assert saved.path == places.data / JOURNAL
    page = exported(places, SESSION.partition("/")[2], "markdown")
    assert "Bleach-fix" in page
    assert "Taken from the shelf" not in page
    assert "entries 2 to 2 of shelf are lost" in capsys.readouterr().err


def test_a_session_with_a_lost_row_is_not_closed(store: Store, profile: Profile, tmp_path: Path) -> None:
    through_all_baths(store, profile, tmp_path)
    with salvaged_without(store, SESSION, 2, tmp_path / "saved") as saved:
        lock = SessionLock(tmp_path / "saved", SESSION, terminal="one")
        assert lock.try_take(AT)
        writer = JournalWriter(saved, SESSION, saved.read(SESSION, despite_gaps=True), lock)
        with pytest.raises(JournalUnusable, match=f"entries 2 to 2 of {SESSION} are lost"):
            writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)


def test_if_the_close_is_not_stored_neither_is_the_debit(store: Store, profile: Profile, tmp_path: Path) -> None:
    change_shelf(store, mix(profile), AT)
    plan = plan_on_shelf(store, profile)
    writer = event_sink(store, tmp_path)
    writer.keep((began(plan), *baths(plan, *SOLUTIONS)), WALL)
    with Store.open(store.path) as other:
        other.append(
            {SESSION: (other.last_seq(SESSION), (Entry("hold_began", 1, '{"at":99.0,"kind":"hold_began"}'),))}, AT
        )
    with pytest.raises(Overtaken):
        writer.keep((e.SessionClosed(3600.0, "complete", 0),), WALL)
    assert len(shelf_events(store)) == 1
    assert not isinstance(load(store, SESSION)[-1], e.SessionClosed)


def test_a_refused_change_leaves_the_shelf_unchanged(store: Store, profile: Profile) -> None:
    change_shelf(store, mix(profile), AT)
    with pytest.raises(Refused):
        change_shelf(store, c.Squeeze("2031-03-01", "9-nothing"), AT)
    assert len(shelf_events(store)) == 1


def test_an_older_text_of_why_a_bottle_is_suspect_is_still_shown() -> None:
    mishap = message("mishap", what="contaminated", step="Developer")
    suspect = c.Suspect("2031-02-21", "1-developer", "x/0", mishap)
    kind, version, text = CODEC.encode(suspect)
    assert (version, CODEC.decode(kind, version, text)) == (2, suspect)
    old = CODEC.decode(kind, 1, json.dumps({**json.loads(text), "why": "Bleach-fix got into it."}))
    assert isinstance(old, c.Suspect)
    assert in_words(old.why) == "Bleach-fix got into it."
