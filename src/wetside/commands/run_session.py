"""Leads a session that is on a desk, on the full screen or line by line; and finds the session a person means.

One job: what `start`, `resume`, `follow` and `practise` share. The terminal is judged before anything large is
loaded.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from wetside.app.console import say
from wetside.app.terminal import Terminal, refuse_reason
from wetside.commands.arguments import this_terminal
from wetside.errors import JournalUnusable, Refused, UsageError
from wetside.files.settings import JOURNAL, Places, Settings

if TYPE_CHECKING:
    from wetside.app.controller import SessionController
    from wetside.app.probe import Probe
    from wetside.storage.session_lock import LockHolder
    from wetside.storage.store import Store


def usable_terminal(plain: bool) -> Terminal:
    """The terminal, which will do for what is asked; UsageError with a pointer to `--plain` when it will not."""
    terminal = this_terminal()
    reason = None if plain else refuse_reason(terminal)
    if reason is not None:
        raise UsageError(reason)
    return terminal


def lead(
    controller: SessionController,
    terminal: Terminal,
    settings: Settings,
    plain: bool,
    said: str = "",
    probe: Probe | None = None,
) -> int:
    """Lead the session until it is left; gives the exit code. said: what stands as its message at first."""
    controller.probe = probe
    if said:
        controller.key_state = replace(
            controller.key_state, message=f"{controller.key_state.message} {said}".strip()
        )
    if plain:
        from wetside.plain.guide import run_plain

        return run_plain(controller, terminal, settings, sys.stdin, sys.stdout)
    from wetside.tui.app import run_screens
    from wetside.tui.guide_screen import GuideScreen

    code = run_screens(terminal, settings, lambda: GuideScreen(controller, terminal, settings))
    say_how_to_go_on(controller)
    return code


def say_how_to_go_on(controller: SessionController) -> None:
    """After the full screen: where the session stands, on stderr."""
    state = controller.state
    if controller.read_only:
        return
    from wetside.app.ports import program_for

    program = program_for(controller)
    if state.outcome is None:
        words = f"the session stays open; go on with: {program} resume {state.session}"
    else:
        words = f"the record: {program} export {state.session} --format markdown"
    say(words)


def own_profiles(places: Places) -> Path:
    """The folder of the person's own profiles; it need not exist."""
    return places.data / "profiles"


def own_setups(places: Places) -> Path:
    """The folder of the person's own setups; it need not exist."""
    return places.data / "setups"


def has_journal(places: Places) -> bool:
    """Whether anything was ever kept; where not, none need be made to read it.

    True also where that cannot be found out, as in another user's folder: opening it then says why.
    """
    try:
        os.lstat(places.data / JOURNAL)
    except (FileNotFoundError, ValueError):
        return False
    except OSError:
        return True
    return True


def unfinished_stream(store: Store) -> str:
    """The unfinished session that was begun last, a practice only where there is no other.

    One that cannot be read is passed over where there is another.
    """
    from wetside.storage.sessions import PRACTICES, load, unfinished

    streams = sorted((row.stream for row in unfinished(store)), key=lambda stream: stream.startswith(PRACTICES))
    if not streams:
        raise Refused("No session is unfinished: `wetside sessions` lists them all.")
    for stream in streams[:-1]:
        with suppress(JournalUnusable):
            load(store, stream)
            return stream
    return streams[-1]


def other_evening(store: Store) -> str:
    """A sentence about an evening that is not finished, for somebody about to begin another; "" without one."""
    from wetside.storage.sessions import summaries

    rows = (row for row in summaries(store) if row.outcome is None and not row.practice and not row.trouble)
    found = next(rows, None)
    if found is None:
        return ""
    return (
        f"{found.title} is not finished: `wetside resume {found.session}` goes on with it. This is a new evening."
    )


def holder_of(places: Places, stream: str) -> LockHolder | None:
    """Who drives the session now; None if nobody does."""
    from wetside.app.session_factory import terminal_name
    from wetside.storage.session_lock import SessionLock

    return SessionLock(places.data, stream, terminal=terminal_name()).holder()
