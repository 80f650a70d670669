"""Two guides, two followers and exports at once on one data folder: nothing lost, no call twice, no lock error."""

from __future__ import annotations

import json
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from tests.faults.evening import keep, ready
from tests.robot.program import COMMAND, ROOT, environment, fields, journal, kinds, run
from tests.robot.robot import GENEROUS_S, Robot, done_lines, one_press

WRONG = ("Traceback", "Error", "holds it", "database is locked", "did not let go", "is damaged", "cut short")
"""Words of a lock or of a fault of the journal, none of which an evening of several terminals is to see."""

FORMS = ("jsonl", "toml", "csv", "markdown")


class Watched(Robot):
    """A robot that looks for wrong words in every picture it sees."""

    seen_wrong: str = ""

    def read(self, wait_s: float = 0.05) -> int:
        count = super().read(wait_s)
        if count and not self.seen_wrong and any(word in self.words for word in WRONG):
            self.seen_wrong = self.text
        return count


def watched(data: Path, *arguments: str) -> Watched:
    return Watched([*COMMAND, *arguments], environment=environment(data), cwd=ROOT)


@dataclass
class Aside:
    """What goes on beside the guides, each in a thread of its own, and what was wrong there."""

    stop: threading.Event = field(default_factory=threading.Event)
    wrong: list[str] = field(default_factory=list)
    exports: Counter[str] = field(default_factory=Counter)

    def export(self, data: Path) -> None:
        """Exports one after the other, to stdout and to a file, until it is told to stop."""
        rows = 0
        while not self.stop.is_set() and not self.wrong:
            for form in FORMS:
                done = run(data, "export", "last", "--format", form)
                if (done.returncode, done.stderr) != (0, ""):
                    self.wrong.append(f"export {form}: {done.returncode} {done.stderr}")
                if form == "jsonl":
                    count = len(done.stdout.splitlines())
                    if count < rows:
                        self.wrong.append(f"{count} events, where {rows} were exported before")
                    rows = count
                self.exports[form] += 1
            out = data.parent / "record.md"
            done = run(data, "export", "last", "--format", "markdown", "--output", str(out), "--force")
            if (done.returncode, done.stdout + done.stderr) != (0, ""):
                self.wrong.append(f"export --output: {done.returncode} {done.stderr}")
            self.exports["file"] += 1

    def watch(self, follower: Watched) -> None:
        """Read what a follower shows, so that it never waits for its terminal."""
        while not self.stop.is_set() and not self.wrong:
            follower.read(0.1)
            if not follower.alive():
                self.wrong.append(f"a follower ended:\n{follower.text}")

    @contextmanager
    def doing(self, *acts: Callable[[], None]) -> Iterator[None]:
        """These acts, all at once, while the body runs."""
        threads = [threading.Thread(target=act) for act in acts]
        for thread in threads:
            thread.start()
        try:
            yield
        finally:
            self.stop.set()
            for thread in threads:
                thread.join()


@dataclass
class Drivers:
    """Two guides that drive in turn, and the words whose keeping they have shown."""

    data: Path
    kept: list[str] = field(default_factory=list)
    refused: int = 0
    taken_over: int = 0

    def note(self, guide: Watched) -> None:
        """Type a note of its own. It is acknowledged when its field closes and nothing is said against it."""
        words = f"note {len(self.kept)} by terminal {self.taken_over % 2}"
        _pressed(guide, "n", lambda r: r.offers().get("SPACE") == "is a space")
        guide.press(words)
        guide.until(lambda r: words in r.words and r.offers().get("ENTER") == "keeps the words")
        guide.press("ENTER")
        guide.until(lambda r: bool(r.offers()) and r.offers().get("SPACE") != "is a space")
        assert "NOT KEPT" not in guide.words, guide.text
        self.kept.append(words)

    def work(self, guide: Watched) -> None:
        """Lead the evening on by what the bottom line says, and note something."""
        for _ in range(2):
            one_press(guide)
        self.note(guide)

    def tries_in_vain(self) -> None:
        """A second guide is refused while nobody has said yes."""
        refused = run(self.data, "resume", "--plain")
        assert refused.returncode == 1
        assert "This session is open for writing in process" in refused.stderr
        assert len(refused.stderr.splitlines()) == 1
        self.refused += 1

    def taken_over_from(self, first: Watched) -> Watched:
        """A second guide takes the session over while the first still works, and the first becomes a follower."""
        second = watched(self.data, "resume")
        second.until_shown("(yes/no)")
        self.work(first)
        second.press("yes", "ENTER")
        second.until_lit()
        _question_answered(second)
        self.taken_over += 1
        first.until(lambda r: "this terminal only follows" in r.words)
        self.note(second)
        first.press("SPACE", "ENTER", "n", "x", "ENTER", "BACKSPACE")
        assert first.exit_code() == 0
        assert first.seen_wrong == ""
        first.close()
        return second


def _question_answered(guide: Watched) -> None:
    """A bath past its time is asked about when it is gone on with: it is still in the tank."""
    if guide.offers().get("SPACE") != "marks the next":
        return
    guide.press("SPACE")
    guide.until(lambda r: "still in the tank" in r.offers().get("ENTER", ""))
    guide.press("ENTER")
    guide.until(lambda r: bool(r.offers()) and r.offers().get("SPACE") != "marks the next")


def _pressed(guide: Watched, key: str, condition: Callable[[Robot], bool]) -> None:
    """Press a key, again where a step has just opened and did not listen; never into a field that is open."""
    end = time.monotonic() + GENEROUS_S
    while not condition(guide):
        assert time.monotonic() < end, guide.text
        guide.press(key)
        again = time.monotonic() + 3.0
        while not condition(guide) and time.monotonic() < again:
            guide.read(0.05)


@pytest.mark.timeout(1800)
@pytest.mark.parametrize(
    ("seconds", "speed"),
    [pytest.param(6, 10.0, id="short"), pytest.param(300, 3.0, id="five minutes", marks=pytest.mark.long)],
)
def test_two_guides_two_followers_and_exports_at_once_lose_nothing(
    tmp_path: Path, record_property: Callable[[str, object], None], seconds: int, speed: float
) -> None:
    """The practice is no faster than lets the evening outlast the test."""
    data = tmp_path / "data"
    before = len(ready("b1.developer"))
    stream = keep(data, ready("b1.developer"), speed=speed)
    drivers, aside = Drivers(data), Aside()
    with ExitStack() as all_of_them:
        guide = watched(data, "resume")
        all_of_them.callback(lambda: guide.close())
        guide.until_lit()
        follower, plain = watched(data, "follow"), watched(data, "follow", "--plain")
        for each in (follower, plain):
            all_of_them.callback(each.close)
        follower.until_shown("this terminal only follows")
        plain.until_shown("This terminal only follows")
        acts = (lambda: aside.watch(follower), lambda: aside.watch(plain), lambda: aside.export(data))
        with aside.doing(*acts):
            end = time.monotonic() + seconds
            while (time.monotonic() < end or not drivers.taken_over) and not aside.wrong:
                drivers.work(guide)
                drivers.tries_in_vain()
                drivers.work(guide)
                guide = drivers.taken_over_from(guide)
            guide.until(lambda _: bool(aside.exports["file"]) or bool(aside.wrong))
        assert aside.wrong == []
        guide.signal(9)  # type: ignore[arg-type]
        guide.exit_code()
        rows = journal(data)
        for each in (guide, follower, plain):
            assert each.seen_wrong == ""
        assert plain.alive()
        follower.until(lambda r: done_lines(r) == done_lines(guide))
    _nothing_lost(data, stream, drivers, before)
    record_property("events", len(rows))
    record_property("notes", len(drivers.kept))
    record_property("calls", kinds(rows).count("cue_given"))
    record_property("taken_over", drivers.taken_over)
    record_property("refused", drivers.refused)
    record_property("exports", sum(aside.exports.values()))


def _nothing_lost(data: Path, stream: str, drivers: Drivers, before: int) -> None:
    """Every acknowledged note once and in order, the numbers without a gap, each call once, each takeover kept."""
    rows = journal(data)
    assert {row[0] for row in rows} == {stream}
    assert [row[1] for row in rows] == list(range(1, len(rows) + 1))
    new = rows[before:]
    assert [fields(row)["text"] for row in new if row[2] == "note_added"] == drivers.kept
    resumed = [fields(row)["took_over"] for row in new if row[2] == "session_resumed"]
    assert resumed == [False] + [True] * drivers.taken_over
    calls = Counter(_call(fields(row)) for row in rows if row[2] in ("cue_given", "cue_missed"))
    assert [call for call, times in calls.items() if times > 1] == []
    assert any(row[2] == "cue_given" for row in new)
    moments = [fields(row)["at"] for row in rows]
    assert moments == sorted(moments)
    exported = [json.loads(line) for line in run(data, "export", "last", "--format", "jsonl").stdout.splitlines()]
    assert [event["kind"] for event in exported] == kinds(rows)


def _call(event: dict[str, Any]) -> tuple[str, str, float]:
    return event["step"], event["call"], event["planned"]
