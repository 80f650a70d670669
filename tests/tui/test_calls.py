"""Calls by ear: bells from the table, and the person's own program without a shell, never holding anything up."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from wetside.domain.session.cues import BELLS, Call
from wetside.files.settings import Settings
from wetside.present.session_words import Announcement
from wetside.tui import alerts as module
from wetside.tui.alerts import BELL_GAP_S, Calls


class Bench:
    """Counts bells, runs what was put off at once, keeps what was said."""

    def __init__(self, settings: Settings) -> None:
        self.rung = 0
        self.put_off: list[float] = []
        self.said: list[str] = []
        self.calls = Calls(settings, self._ring, self._later, self.said.append)

    def _ring(self) -> None:
        self.rung += 1

    def _later(self, seconds: float, do: Callable[[], None]) -> None:
        self.put_off.append(seconds)
        do()


def _cue(call: Call, text: str = "Turn the tank over.") -> Announcement:
    return Announcement("b1.developer", call, 30.0, text)


async def _until(holds: Callable[[], bool]) -> None:
    while not holds():
        await asyncio.sleep(0.01)


@pytest.mark.parametrize("call", ["ready", "agitate", "drain", "over", "accepted", "refused"])
def test_as_many_bells_as_the_table_says_evenly_spaced(call: Call) -> None:
    bench = Bench(Settings())
    bench.calls.sound(_cue(call))
    assert bench.rung == BELLS[call]
    assert bench.put_off == [number * BELL_GAP_S for number in range(1, BELLS[call])]


@pytest.mark.parametrize("settings", [Settings(calls=False), Settings(bell=False)])
def test_no_bell_where_none_is_wanted(settings: Settings) -> None:
    bench = Bench(settings)
    bench.calls.sound(_cue("over"))
    assert bench.rung == 0


async def test_the_program_gets_its_arguments_and_the_words_last(tmp_path: Path) -> None:
    heard = tmp_path / "heard"
    script = "import sys; open(sys.argv[1], 'w').write('|'.join(sys.argv[2:]))"
    bench = Bench(Settings(cue_command=(sys.executable, "-c", script, str(heard), "$HOME; a b")))
    bench.calls.sound(_cue("agitate", "Turn it; rm -rf $(x) `y`"))
    await _until(lambda: heard.exists() and heard.read_text() != "")
    assert heard.read_text() == "$HOME; a b|Turn it; rm -rf $(x) `y`"
    await bench.calls.close()
    assert bench.said == []


async def test_a_program_that_is_not_there_is_said_once() -> None:
    bench = Bench(Settings(cue_command=("/nowhere/speak",)))
    bench.calls.sound(_cue("ready"))
    await _until(lambda: len(bench.said) == 1)
    bench.calls.sound(_cue("ready"))
    await bench.calls.close()
    assert bench.said == [
        "cue_command: /nowhere/speak could not be started (No such file or directory)."
        " Said once; bells and words go on."
    ]
    assert bench.rung == 2


async def test_a_program_that_fails_is_said_once() -> None:
    bench = Bench(Settings(cue_command=(sys.executable, "-c", "raise SystemExit(7)")))
    bench.calls.sound(_cue("ready"))
    await _until(lambda: len(bench.said) == 1)
    assert "ended with 7" in bench.said[0]
    await bench.calls.close()


async def test_a_program_that_hangs_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "LONGEST_RUN_S", 0.2)
    bench = Bench(Settings(cue_command=(sys.executable, "-c", "import threading; threading.Event().wait()")))
    bench.calls.sound(_cue("ready"))
    await _until(lambda: len(bench.said) == 1)
    assert "and was ended" in bench.said[0]
    await _until(lambda: not bench.calls._running)


async def test_programs_that_hang_do_not_pile_up() -> None:
    bench = Bench(Settings(cue_command=(sys.executable, "-c", "import threading; threading.Event().wait()")))
    for _ in range(10):
        bench.calls.sound(_cue("over"))
    assert len(bench.calls._running) == 3
    assert bench.rung == 50
    await bench.calls.close()
    assert bench.calls._running == set()
