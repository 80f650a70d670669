"""Begins a session and guides it, on the full screen or line by line. Used by the commands and by the screens."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Final

from wetside.app.console import program_for, say
from wetside.app.terminal import Terminal
from wetside.files.settings import Places, Settings

if TYPE_CHECKING:
    from wetside.app.controller import SessionController
    from wetside.app.probe import Probe
    from wetside.commands.tonight import Evening
    from wetside.storage.session_lock import LockHolder
    from wetside.storage.store import Store

PRACTICE_SETUP: Final = "three-rolls"
PRACTICE_SPEED: Final = 20.0
TOUR_SPEED: Final = 1.0


def begin(
    store: Store,
    places: Places,
    evening: Evening,
    settings: Settings,
    *,
    practice: bool = False,
    speed: float = 1.0,
) -> SessionController:
    """Begin a session of this evening in the journal."""
    from wetside.app.session_factory import begin_session

    text = evening.profile.text
    return begin_session(store, places, evening.plan, text, settings, practice=practice, speed=speed)


def guide(
    controller: SessionController,
    terminal: Terminal,
    settings: Settings,
    plain: bool,
    notice: str = "",
    probe: Probe | None = None,
) -> int:
    """Guide the session until the person leaves it; returns the exit code. notice: added to its first message."""
    controller.probe = probe
    controller.say(notice)
    if plain:
        from wetside.plain.guide import run_plain

        return run_plain(controller, terminal, settings, sys.stdin, sys.stdout)
    from wetside.tui.app import run_screens
    from wetside.tui.guide_screen import GuideScreen

    code = run_screens(terminal, settings, lambda: GuideScreen(controller, terminal, settings))
    say_how_to_go_on(controller)
    return code


def say_how_to_go_on(controller: SessionController) -> None:
    """Print on stderr, after the full screen, the command that resumes the session or exports its record."""
    state = controller.state
    if controller.read_only:
        return
    program = program_for(controller.kept_in)
    if state.outcome is None:
        say(f"the session stays open; go on with: {program} resume {state.session}")
    else:
        say(f"the record: {program} export {state.session} --format markdown")


def other_evening(store: Store) -> str:
    """The notice, before a new evening begins, that another is not finished; "" where none is."""
    from wetside.storage.sessions import summaries

    rows = (row for row in summaries(store) if row.outcome is None and not row.practice and not row.trouble)
    other = next(rows, None)
    if other is None:
        return ""
    return (
        f"{other.title} is not finished: `wetside resume {other.session}` goes on with it. This is a new evening."
    )


def holder_of(places: Places, stream: str) -> LockHolder | None:
    """The process that holds the session's lock; None where no process does."""
    from wetside.storage.session_lock import SessionLock

    return SessionLock(places.data, stream).holder()
