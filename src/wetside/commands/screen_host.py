"""What a screen's maker may ask of the run of the full screen it belongs to."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any, Protocol

from textual.screen import Screen

from wetside.app.clock import Clock
from wetside.app.terminal import Terminal
from wetside.errors import WetsideError
from wetside.files.settings import Places, Settings
from wetside.storage.store import Store

if TYPE_CHECKING:
    from wetside.app.controller import SessionController
    from wetside.commands.tonight import Evening


class ScreenHost(Protocol):
    """One run of the full screen. wrong: what is wrong with the settings file, "" for nothing."""

    terminal: Terminal
    places: Places
    settings: Settings
    wrong: str

    @property
    def clock(self) -> Clock:
        """The time."""

    @property
    def journal(self) -> Store:
        """The journal, open as long as the run lasts."""

    def now(self) -> datetime:
        """The local time of day."""

    def open(self, screen: Screen[Any]) -> None:
        """Show a screen over the one there is."""

    def close(self) -> None:
        """Back to the screen before."""

    def go_home(self, words: str = "") -> None:
        """Close every screen and open home anew, with these words on it."""

    def say(self, problem: WetsideError) -> None:
        """Say why something could not be done."""

    def begin(self, evening: Evening) -> None:
        """Begin a session of this evening and guide it."""

    def guide(self, controller: SessionController) -> None:
        """Guide the session of this controller."""

    def take_settings(self) -> None:
        """Let the screens go by the settings as they are now."""
