"""Screens outside a session in a running app: pressed by keys, and read as Textual has painted them."""

from __future__ import annotations

import asyncio
from typing import Any

from rich.segment import Segment
from textual import events
from textual.geometry import Region
from textual.screen import Screen
from textual.strip import Strip

from wetside.app.terminal import Terminal
from wetside.domain.session.outcome import Outcome
from wetside.files.settings import Settings
from wetside.storage.sessions import SessionSummary
from wetside.tui.app import WetsideApp
from wetside.tui.page_screen import WidgetScreen
from wetside.tui.rows import Picture

_ENDS = ("enter", "backspace", "escape")
"""Keys after which another screen may be on top."""
_TURNS = 60
"""Turns of the loop in which a key is answered; no time passes in them."""


def summary(
    session: str,
    title: str,
    day: int = 1,
    outcome: Outcome | None = "complete",
    *,
    deviations: int = 0,
    practice: bool = False,
) -> SessionSummary:
    """A session of March 2031 in a list, begun at noon UTC."""
    began = f"2031-03-{day:02d}T12:00:00Z"
    return SessionSummary(session, f"session/{session}", title, began, outcome, practice, deviations, (), began)


def plain_rows(picture: Picture) -> tuple[str, ...]:
    """The words of a picture, row by row."""
    return tuple("".join(span.text for span in row) for row in picture)


class Seat:
    """A person in front of this screen. Each key comes a second after the last.

    results: what the screen was left with, once it is.
    """

    _seated: list[Seat] = []  # noqa: RUF012

    def __init__(self, terminal: Terminal, screen: Screen[Any], settings: Settings | None = None) -> None:
        self.screen = screen
        self.results: list[Any] = []
        self.app = WetsideApp(terminal, settings or Settings(), Screen)
        self._loop = asyncio.new_event_loop()
        self._here, self._over = asyncio.Event(), asyncio.Event()
        self._task = self._loop.create_task(self._sit())
        self._loop.run_until_complete(self._here.wait())
        self._at = 0.0
        self._seated.append(self)
        self.app.call_later(self.app.push_screen, screen, self.results.append)
        self._loop.run_until_complete(self._press(()))

    @property
    def top(self) -> Any:
        """The screen on top."""
        return self.app.screen

    def press(self, *keys: str) -> None:
        """Press these keys."""
        self._loop.run_until_complete(self._press(keys))

    def rows(self, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
        """What is painted at this size."""
        self._loop.run_until_complete(self._look(columns, rows))
        return painted(self.app)

    def styled_rows(self) -> list[list[Segment]]:
        """What was painted, with its styles."""
        return painted_rows(self.app)

    async def _sit(self) -> None:
        async with self.app.run_test(size=(80, 24)) as self._pilot:
            self._here.set()
            await self._over.wait()

    async def _press(self, keys: tuple[str, ...]) -> None:
        for key in keys:
            character = " " if key == "space" else key if len(key) == 1 else None
            event = events.Key(key, character)
            self._at += 1.0
            event.time = self._at
            self.app.post_message(event)
            for _ in range(_TURNS if key in _ENDS else 3):
                await asyncio.sleep(0)
        for _ in range(_TURNS):
            await asyncio.sleep(0)

    async def _look(self, columns: int, rows: int) -> None:
        if self.app.size != (columns, rows):
            await self._pilot.resize_terminal(columns, rows)
        else:  # as after a second, when only a clock has gone on
            self.app.call_later(getattr(self.app.screen, "redraw", self.app.refresh))
        await self._pilot.pause()

    @classmethod
    def leave_all(cls) -> None:
        """End every app that was started."""
        while cls._seated:
            seat = cls._seated.pop()
            seat._over.set()
            seat._loop.run_until_complete(seat._task)
            seat._loop.close()


def seat_of(screen: WidgetScreen) -> Seat:
    """The one `Seat` of this screen, on its terminal."""
    found = (seat for seat in Seat._seated if seat.screen is screen)
    return next(found, None) or Seat(screen.terminal, screen)


def press(screen: WidgetScreen, *keys: str) -> None:
    """Press keys in front of this screen, whatever is on top of it."""
    seat_of(screen).press(*keys)


def text_of(screen: WidgetScreen, columns: int = 80, rows: int = 24) -> tuple[str, ...]:
    """What is painted in front of this screen, whatever is on top of it."""
    return seat_of(screen).rows(columns, rows)


def painted(app: Any) -> tuple[str, ...]:
    """The rows of the top screen as Textual has painted them, as plain text."""
    return tuple("".join(segment.text for segment in row) for row in painted_rows(app))


def painted_rows(app: Any) -> list[list[Segment]]:
    """The same rows with their styles."""
    screen = app.screen
    ground = screen.rich_style
    rows = [Strip([])] * screen.size.height
    leaves = [each for each in screen.walk_children() if not each.children and each.region]
    for leaf in sorted(leaves, key=lambda leaf: leaf.region.x):
        clip = screen.find_widget(leaf).visible_region
        for y in range(max(clip.y, 0), min(clip.bottom, len(rows))):
            (strip,) = leaf.render_lines(Region(0, y - leaf.region.y, leaf.size.width, 1))
            rows[y] = Strip.join([rows[y].adjust_cell_length(leaf.region.x, ground), strip])
    return [list(row.adjust_cell_length(screen.size.width, ground)) for row in rows]
