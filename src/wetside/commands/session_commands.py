"""`wetside start`, `resume`, `follow` and `practise`: run a session on the full screen or line by line.

The terminal is examined before any large module is imported.
"""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

from wetside.app.clock import FASTEST
from wetside.app.terminal import Terminal
from wetside.commands.common import (
    Ask,
    journal_to_read,
    open_probe,
    print_lines,
    require_journal,
    text_width,
    usable_terminal,
)
from wetside.commands.run_session import (
    PRACTICE_SETUP,
    PRACTICE_SPEED,
    TOUR_SPEED,
    begin,
    guide,
    holder_of,
    other_evening,
)
from wetside.errors import JournalUnusable, Refused, UsageError
from wetside.files.settings import Places, Settings, read_settings, settings_to_go_on
from wetside.sanitize import sendable

if TYPE_CHECKING:
    from wetside.app.probe import Probe
    from wetside.commands.tonight import Evening
    from wetside.storage.store import Store


def start(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Show the review of an evening, then guide it."""
    probe = open_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.commands.tonight import plan_evening, refuse_unfit

    settings = read_settings(places.settings)
    evening = plan_evening(args.setup, places, settings)
    refuse_unfit(evening.plan)
    return review_then_guide(evening, places, settings, terminal, args.plain, probe)


def resume(args: argparse.Namespace, places: Places, *, ask: Ask | None = None) -> int:
    """Go on with a session on this terminal."""
    probe = open_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.app.session_factory import follow_session, resume_session, revisit_session
    from wetside.storage.sessions import closed
    from wetside.storage.store import only_shown, open_to_guide

    require_journal(places)
    settings, wrong = settings_to_go_on(places.settings)
    with open_to_guide(places) as store:
        stream = _stream_meant(store, args.session)
        if only_shown(store):
            return guide(follow_session(store, stream), terminal, settings, args.plain, wrong)
        if closed(store, stream):
            controller = revisit_session(store, places, stream)
        else:
            take = args.take_over or _confirmed_take_over(places, stream, ask)
            controller = resume_session(store, places, stream, settings, take_over=take)
        return guide(controller, terminal, settings, args.plain, wrong, probe)


def _confirmed_take_over(places: Places, stream: str, ask: Ask | None) -> bool:
    """True where another terminal has the session and the person agrees to take it over; False without one.

    Raises Refused where the person does not agree or cannot be asked.
    """
    holder = holder_of(places, stream)
    if holder is None:
        return False
    held = f"This session is open for writing in {holder}"
    if ask is None:
        raise Refused(f"{held}: `wetside follow` watches it, --take-over takes it.")
    answer = ask(f"{held}. Take it over, so that the other only follows? (yes/no)")
    if answer.casefold() not in ("y", "yes"):
        raise Refused("Not taken over: `wetside follow` watches it.")
    return True


def follow(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Watch a session until the person leaves."""
    terminal = usable_terminal(args.plain)
    from wetside.app.session_factory import follow_session
    from wetside.storage.store import open_store

    require_journal(places)
    settings, wrong = settings_to_go_on(places.settings)
    with open_store(places, read_only=True) as store:
        controller = follow_session(store, _stream_meant(store, args.session))
        return guide(controller, terminal, settings, args.plain, wrong)


def practise(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Begin a practice session and guide it."""
    speed = args.speed if args.speed is not None else TOUR_SPEED if args.tour else PRACTICE_SPEED
    if not 1.0 <= speed <= FASTEST:
        raise UsageError(f"--speed is from 1 to {FASTEST:.0f} times as fast as real.")
    if args.tour and args.setup is not None:
        raise UsageError("The tour has a setup of its own: leave SETUP or --tour out.")
    probe = open_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.commands.tonight import plan_evening
    from wetside.files.profile_places import tour_setup
    from wetside.storage.store import open_store

    settings = read_settings(places.settings)
    setup = str(tour_setup()) if args.tour else args.setup or PRACTICE_SETUP
    evening = plan_evening(setup, places, settings)
    with open_store(places) as store:
        controller = begin(store, places, evening, settings, practice=True, speed=speed)
        return guide(controller, terminal, settings, args.plain, probe=probe)


def review_then_guide(
    evening: Evening,
    places: Places,
    settings: Settings,
    terminal: Terminal,
    plain: bool,
    probe: Probe | None = None,
) -> int:
    """Show the review of an evening; begin and guide it if the person confirms. Returns the exit code."""
    if not plain:
        from wetside.commands.navigation import Navigator
        from wetside.commands.screens import review_screen

        navigator = Navigator(terminal, places, settings, probe=probe)
        return navigator.run(lambda: review_screen(navigator, evening, navigator.leave))
    from wetside.storage.store import open_store

    _print_review(evening, places, terminal)
    if _typed_line() != "":
        return 0
    with open_store(places) as store:
        return guide(begin(store, places, evening, settings), terminal, settings, plain=True, probe=probe)


def _print_review(evening: Evening, places: Places, terminal: Terminal) -> None:
    """Print the plan, the review, and how to begin the session."""
    from wetside.app.clock import LocalZone, SystemClock
    from wetside.present.mixing_sheet import guide_lines
    from wetside.present.plan_text import plan_lines
    from wetside.present.review_text import review_lines

    width = text_width(terminal)
    if evening.plan.kit is None:
        now = SystemClock().now().wall.astimezone(LocalZone())
        print_lines(plan_lines(evening.plan, width, not terminal.utf8, now))
    else:
        print_lines(tuple(sendable(line, terminal.utf8) for line in guide_lines(evening.plan)))
    print_lines(("", *review_lines(evening.plan, "text", width), ""))
    with journal_to_read(places) as store:
        if store is not None:
            print_lines((other_evening(store),))
    print_lines(("An empty line begins the session. Any other line leaves, and nothing is begun.",))
    sys.stdout.flush()


def _typed_line() -> str | None:
    """One line of standard input; None at its end.

    It is read byte by byte, so that the bytes after the line are left for the session.
    """
    line = b""
    try:
        while (byte := os.read(sys.stdin.fileno(), 1)) != b"\n":
            if not byte:
                return None
            line += byte
    except (OSError, ValueError, AttributeError):  # closed, or without a file descriptor
        return None
    return line.decode("utf-8", "replace").rstrip("\r")


def _stream_meant(store: Store, session: str | None) -> str:
    """The stream of the named session; without a name, of the unfinished session begun last.

    A practice is chosen only where no other session is unfinished, one that cannot be read only where it is the
    last choice. Raises Refused where no session is unfinished.
    """
    from wetside.storage.sessions import PRACTICES, load, resolve, unfinished

    if session:
        return resolve(store, session)
    streams = sorted((row.stream for row in unfinished(store)), key=lambda stream: stream.startswith(PRACTICES))
    if not streams:
        raise Refused("No session is unfinished: `wetside sessions` lists them all.")
    for stream in streams[:-1]:
        with suppress(JournalUnusable):
            load(store, stream)
            return stream
    return streams[-1]
