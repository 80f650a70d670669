"""A damaged page bars what was on it and nothing else: home, the running evening and the other records go on.

Pages of a real journal are written over one at a time. It holds three closed evenings, and one whose developer
runs.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tests.faults import evening as evenings
from tests.faults.evening import keep, places, running

from wetside.app.session_factory import resume_session
from wetside.commands.export import exported
from wetside.commands.salvage import damage_words
from wetside.domain.session import commands as c
from wetside.errors import JournalUnusable
from wetside.files.settings import JOURNAL, Settings
from wetside.storage.sessions import load_state, summaries, unfinished
from wetside.storage.store import open_store, open_to_guide

PAGE = 4096
BATH = "b1.developer"
OPEN = "2024-03-01-bcdf"
CLOSED = ("2024-02-01-aaaa", "2024-02-08-bbbb", "2024-02-15-cccc")
DAY_S = 86_400.0


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with three closed evenings and one in its developer; its journal in one file."""
    data = tmp_path_factory.mktemp("sound") / "data"
    for number, session in enumerate((*CLOSED, OPEN)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(evenings, "SESSION", session)
            events = running(BATH) if session == OPEN else evenings.evening()
            keep(data, events, passed_s=12.0 if session == OPEN else DAY_S * (30 - number))
    return data


@pytest.fixture
def data(sound: Path, tmp_path: Path) -> Path:
    """A copy of it to be damaged."""
    return shutil.copytree(sound, tmp_path / "data")


def overwritten(sound: Path, data: Path, page: int, filling: bytes = b"\xa5") -> None:
    """The sound journal anew, with this page (from 0) written over."""
    shutil.rmtree(data, ignore_errors=True)
    data.mkdir(mode=0o700)
    whole = (sound / JOURNAL).read_bytes()
    (data / JOURNAL).write_bytes(whole[: page * PAGE] + filling * PAGE + whole[(page + 1) * PAGE :])


def pages(sound: Path) -> int:
    return (sound / JOURNAL).stat().st_size // PAGE


def readable(data: Path) -> set[str]:
    """The sessions whose record can be written."""
    found = set()
    for session in (*CLOSED, OPEN):
        try:
            exported(places(data), session, "jsonl")
        except JournalUnusable as problem:
            refused = str(problem)
        else:
            refused = ""
            found.add(session)
        assert not refused or "`wetside salvage NEW`" in refused or "a copy from" in refused, refused
    return found


def goes_on(data: Path) -> bool:
    """Whether the running evening is offered, gone on with and kept; in the journal, or beside it."""
    with open_to_guide(places(data)) as store:
        assert [row.stream for row in unfinished(store) if OPEN in row.stream] == [f"session/{OPEN}"]
        controller = resume_session(store, places(data), f"session/{OPEN}", Settings(), terminal="t")
        assert controller.state.clocks[BATH].elapsed(controller.now()) > 5.0
        assert controller.dispatch(c.AddNote(controller.now(), "after the damage"))
        kept_in = Path(controller.kept_in or data)
        controller.release()
    with open_store(places(kept_in), read_only=True) as store:
        assert load_state(store, f"session/{OPEN}").notes[-1].text == "after the damage"
    return kept_in != data


def damaged_at(sound: Path, data: Path, page: int, filling: bytes) -> tuple[int, bool]:
    """How many records are lost, and whether the evening went on beside the journal."""
    overwritten(sound, data, page, filling)
    left = readable(data)
    with open_store(places(data), read_only=True) as store:
        words = damage_words(store, places(data))
        listed = {row.session for row in summaries(store)}
    assert {*CLOSED, OPEN} <= listed
    if filling != b"\0" or words:
        # zeros at the end of a long row are sound for the database; the record itself then names the row
        assert words.startswith("The journal is damaged: ")
        assert "`wetside salvage NEW`" in words
        assert all(session in words for session in {*CLOSED, OPEN} - left), (page, words)
    apart = goes_on(data) if OPEN in left else False
    return 4 - len(left), apart


@pytest.mark.parametrize("part", range(2))
def test_overwriting_one_page_of_the_journal_costs_one_evening_at_most(sound: Path, data: Path, part: int) -> None:
    """The short form: every sixth page and the first four."""
    chosen = sorted({0, 1, 2, 3, *range(4, pages(sound), 6)})
    found = [damaged_at(sound, data, page, b"\xa5") for page in chosen[part::2]]
    assert max(lost for lost, _ in found) == 1
    assert sum(lost for lost, _ in found) > len(found) // 2


@pytest.mark.long
@pytest.mark.parametrize("filling", [b"\xa5", b"\0"], ids=["garbage", "zeros"])
def test_overwriting_any_page_of_the_journal_costs_one_evening_at_most(
    sound: Path, data: Path, filling: bytes
) -> None:
    found = [damaged_at(sound, data, page, filling) for page in range(pages(sound))]
    assert max(lost for lost, _ in found) == 1
