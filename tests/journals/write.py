"""Writes the journal that is kept for later versions: a kit mixed, then the shipped evening of three rolls.

    python -m tests.journals.write FOLDER
    python -m tests.journals.write --exports FOLDER

The evening is led to its end on a clock set by hand, with a reading that moves the developer's end, a clock
corrected, a terminal lost and gone on with, a sleep of the machine, a note and a look at the negatives. FOLDER
gets the journal and its exports, and is named after the version that wrote it. Once a version is released,
its journal is never written anew: later versions must read it as it is. Its exports name the version of each
kind of event, so when one rises they are written anew from the journal as it lies there (`--exports`).
"""

from __future__ import annotations

import gzip
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from msgspec.structs import replace
from tests.manual_clock import ManualClock
from tests.session.walker import Guide, MemoryEventSink, Walker

from wetside.app.controller import SessionController
from wetside.app.session_factory import begin_session, resume_session, revisit_session
from wetside.app.session_start import rfc3339
from wetside.commands.arguments import FORMATS
from wetside.commands.export import exported
from wetside.commands.tonight import find_setup, planned, profile_named
from wetside.domain.planning.setup import Setup
from wetside.domain.session import commands as c
from wetside.domain.session.events import Look
from wetside.domain.shelf import commands as shelf
from wetside.files.settings import JOURNAL, Places, Settings
from wetside.files.setup_file import read_setup
from wetside.storage.sessions import stream_of
from wetside.storage.shelf import change_shelf
from wetside.storage.store import Store, open_store

BEGAN = datetime(2031, 3, 1, 18, 0, tzinfo=UTC)
SETTINGS = Settings(temperature_unit="°F", volume_unit="US fl oz", dark_bell_every_s=300.0)


def write(folder: Path) -> None:
    """The journal and its exports into `folder`, which is made."""
    folder.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as data:
        places = Places(Path(data) / "data", Path(data) / "settings.toml")
        with open_store(places) as store:
            session = _evening(store, places)
        (folder / f"{JOURNAL}.gz").write_bytes(gzip.compress(_one_file(places.data / JOURNAL), 9, mtime=0))
        _export(folder, places, session)


def export_anew(folder: Path) -> None:
    """The exports of the journal that is kept in `folder`, as today's version makes them."""
    with tempfile.TemporaryDirectory() as data:
        places = Places(Path(data) / "data", Path(data) / "settings.toml")
        places.data.mkdir(mode=0o700)
        (places.data / JOURNAL).write_bytes(gzip.decompress((folder / f"{JOURNAL}.gz").read_bytes()))
        (places.data / JOURNAL).chmod(0o600)
        _export(folder, places, "last")


def _export(folder: Path, places: Places, session: str) -> None:
    for form in FORMATS:
        content = exported(places, session, form).encode("utf-8")
        (folder / f"{form}.gz").write_bytes(gzip.compress(content, 9, mtime=0))


def _one_file(journal: Path) -> bytes:
    beside = [name for name in journal.parent.glob(f"{journal.name}-*") if name.stat().st_size]
    if beside:
        raise AssertionError(f"the journal is not in one file: {beside}")
    return journal.read_bytes()


def _evening(store: Store, places: Places) -> str:
    """One whole evening; its session's id."""
    clock = ManualClock(BEGAN)
    setup = _from_shelf(store, places)
    evening = planned(profile_named("two-bath", places), setup, places, SETTINGS, clock)
    controller = begin_session(
        store, places, evening.plan, evening.profile.text, SETTINGS, terminal="pts/1", clock=clock
    )
    stream = stream_of(controller.state.session, practice=False)
    _lead(controller, clock, until="b1.developer")
    _in_the_developer(controller, clock)
    _lead(controller, clock, until="b1.bleach-fix")
    controller.release()
    clock.advance(30.0)
    controller = resume_session(store, places, stream, SETTINGS, terminal="pts/2", clock=clock)
    _lead(controller, clock, until="b1.wash")
    clock.suspend(40.0)
    controller.poll()
    _lead(controller, clock, until="")
    controller.release()
    clock.advance(86_400.0)
    controller = revisit_session(store, places, stream, terminal="pts/3", clock=clock)
    look = Look("thin-processing", "weak", "negative")
    _must(controller, c.AddNote(controller.now(), "", "look", 1, look))
    controller.release()
    return controller.state.session


def _from_shelf(store: Store, places: Places) -> Setup:
    """The shipped setup, its bottles taken from a kit on the shelf."""
    setup = read_setup(find_setup("three-rolls", places))
    profile = profile_named("two-bath", places)
    bottles = tuple(shelf.NewBottle(bottle.solution, bottle.volume_ml) for bottle in setup.bottles)
    day = BEGAN.date().isoformat()
    change_shelf(store, shelf.MixKit(day, day, "Spring", profile, bottles, 36.0), rfc3339(BEGAN))
    return replace(setup, bottles=tuple(replace(b, shelf_id=f"1-{b.solution}") for b in setup.bottles))


def _lead(controller: SessionController, clock: ManualClock, until: str) -> None:
    """Follow the screen until this step's clock runs, or to the end."""
    walker = Walker(Guide(controller, clock, MemoryEventSink()))
    for _ in range(20_000):
        if until in controller.state.clocks or not walker.step():
            return
    raise AssertionError("led nowhere:\n" + "\n".join(walker.log[-25:]))


def _in_the_developer(controller: SessionController, clock: ManualClock) -> None:
    """A developer started 5 s late, read a little cool after a minute, and a note."""
    guide = Guide(controller, clock, MemoryEventSink())
    guide.wait(20.0)
    _must(controller, c.CorrectClock(controller.now(), "b1.developer", 5.0, "5 s"))
    guide.wait(45.0)
    _must(controller, c.TakeReading(controller.now(), "developer", 38.3333, "101 °F"))
    _must(controller, c.AddNote(controller.now(), "The thermometer was slow; = not a formula"))


def _must(controller: SessionController, command: c.Command) -> None:
    if not controller.dispatch(command):
        raise AssertionError(controller.key_state.message)


if __name__ == "__main__":
    if sys.argv[1] == "--exports":
        export_anew(Path(sys.argv[2]))
    else:
        write(Path(sys.argv[1]))
