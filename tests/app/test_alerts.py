"""Alerts: bells as in the table, and the `cue_command` program, started without a shell and never waited for."""

from __future__ import annotations

import select
import sys
from pathlib import Path

import pytest

from wetside.app.alerts import BELL_GAP_S, LONGEST_RUN_S, Alerts
from wetside.domain.session.cues import BELLS, Call
from wetside.files.settings import Settings
from wetside.present.announcements import Announcement

HANGS = (sys.executable, "-c", "import threading; threading.Event().wait()")


class AlertRecorder:
    """Counts bells on a clock set by hand."""

    def __init__(self, settings: Settings) -> None:
        self.at = 0.0
        self.rung: list[float] = []
        self.alerts = Alerts(settings, lambda: self.rung.append(self.at), lambda: self.at)

    def sound(self, call: Call, text: str = "Turn the tank over.") -> None:
        """Sound a call and ring all its bells."""
        self.alerts.sound(Announcement("b1.developer", call, 30.0, text))
        self.alerts.look()
        while (wait_s := self.alerts.wait_s()) is not None and len(self.rung) < BELLS[call]:
            self.at += wait_s
            self.alerts.look()

    def ended(self) -> None:
        """Poll until the program has ended, by the real clock; the manual one stands still."""
        while self.alerts.wait_s() is not None:
            select.select([], [], [], 0.01)
            self.alerts.look()


@pytest.mark.parametrize(
    ("call", "bells"), [("ready", 1), ("agitate", 2), ("change", 2), ("drain", 3), ("over", 5)]
)
def test_each_call_has_its_number_of_bells_evenly_spaced(call: Call, bells: int) -> None:
    recorder = AlertRecorder(Settings())
    recorder.sound(call)
    assert recorder.rung == pytest.approx([number * BELL_GAP_S for number in range(bells)])


def test_bells_of_two_calls_are_separated() -> None:
    recorder = AlertRecorder(Settings())
    for _ in range(2):
        recorder.alerts.sound(Announcement("b1.developer", "ready", 30.0, "Get ready."))
    recorder.alerts.look()
    assert recorder.rung == [0.0]
    recorder.at = recorder.alerts.wait_s() or 0.0
    recorder.alerts.look()
    assert recorder.rung == [0.0, 2 * BELL_GAP_S]


@pytest.mark.parametrize("settings", [Settings(calls=False), Settings(bell=False)])
def test_no_bell_when_bells_or_calls_are_off(settings: Settings) -> None:
    recorder = AlertRecorder(settings)
    recorder.sound("over")
    assert recorder.rung == []


def test_the_program_gets_its_arguments_and_the_words_last(tmp_path: Path) -> None:
    heard = tmp_path / "heard"
    script = "import sys; open(sys.argv[1], 'w').write('|'.join(sys.argv[2:]))"
    recorder = AlertRecorder(Settings(cue_command=(sys.executable, "-c", script, str(heard), "$HOME; a b")))
    recorder.sound("agitate", "Turn it; rm -rf $(x) `y`")
    recorder.ended()
    assert heard.read_text() == "$HOME; a b|Turn it; rm -rf $(x) `y`"
    assert recorder.alerts.failure == ""


def test_missing_program_is_reported_and_bells_go_on() -> None:
    recorder = AlertRecorder(Settings(cue_command=("/nowhere/speak",)))
    recorder.sound("ready")
    assert recorder.alerts.failure == (
        "cue_command: /nowhere/speak could not be started (No such file or directory)."
        " Said once; bells and words go on."
    )
    assert recorder.rung == [0.0]


def test_failing_program_is_reported() -> None:
    recorder = AlertRecorder(Settings(cue_command=(sys.executable, "-c", "raise SystemExit(7)")))
    recorder.sound("ready")
    recorder.ended()
    assert "ended with 7" in recorder.alerts.failure


def test_a_program_that_hangs_is_ended() -> None:
    recorder = AlertRecorder(Settings(cue_command=HANGS))
    recorder.sound("ready")
    assert recorder.alerts.wait_s() is not None
    recorder.at += LONGEST_RUN_S + 0.1
    recorder.alerts.look()
    assert "ran longer than 10 s and was ended" in recorder.alerts.failure
    assert recorder.alerts.wait_s() is None


def test_at_most_three_programs_run_at_once() -> None:
    recorder = AlertRecorder(Settings(cue_command=HANGS, bell=False))
    for _ in range(10):
        recorder.alerts.sound(Announcement("b1.developer", "over", 30.0, "Pour."))
    assert len(recorder.alerts._running) == 3
    recorder.alerts.close()
    assert recorder.alerts._running == []
