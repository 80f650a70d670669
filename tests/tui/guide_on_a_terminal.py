"""Runs the guide on the terminal it is started in, at one step of the shipped evening: STEP RUNNING_S SPEED.

RUNNING_S may be "ready": the statements due at the step's start are made, its clock has not been started. It is
for tests that need a real pseudo-terminal. Nothing is stored; the exit code is the guide's.
"""

from __future__ import annotations

import importlib
import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from msgspec.structs import replace

from wetside.app.clock import FastClock, SystemClock
from wetside.app.controller import SessionController
from wetside.app.session_start import begin_now, rfc3339
from wetside.app.terminal import examine
from wetside.files.settings import Settings
from wetside.tui.app import run_screens
from wetside.tui.guide_screen import GuideScreen


def main(step: str, running_s: str, speed: str) -> int:
    sys.path.insert(0, str(Path(__file__).parents[2]))
    made = importlib.import_module("tests.tui.conftest")
    plan, settings = made.evening(), Settings()
    clock = FastClock(SystemClock(), float(speed)) if float(speed) > 1 else SystemClock()
    began = begin_now("evening", plan, "", clock, "test", practice=float(speed) > 1, speed=float(speed))
    ready = running_s == "ready"
    state = made.standing_at(
        plan, step, running_s=float(running_s) if running_s and not ready else None, ready=ready
    )
    now = rfc3339(datetime.fromisoformat(began.wall).astimezone(UTC))
    state = replace(state, wall=now, boot_id=began.boot_id, boot_s=began.boot_s, practice=began.practice)
    controller = SessionController(replace(state, speed=began.speed), made.Memory(), clock)
    terminal = examine(os.environ, sys.stdin, sys.stdout)
    return run_screens(terminal, settings, lambda: GuideScreen(controller, terminal, settings))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))
