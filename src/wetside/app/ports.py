"""What a surface (the full screen, the lines) needs of the session it shows, and the bells it has counted.

One job: the shape of a desk as a surface sees it, so that either can be shown one made by a test. It decides
nothing and knows no terminal.
"""

from __future__ import annotations

import random
from typing import Final, Protocol

from wetside.domain.session.state import State
from wetside.present.key_legend import Keys
from wetside.present.key_state import KeyState, Wish
from wetside.present.session_words import Announcement
from wetside.present.view_model import View

MOST_BELLS: Final = 4
"""The sound check rings one to four bells."""


class GuidedSession(Protocol):
    """One session at work; `wetside.app.controller.Desk` is one."""

    state: State
    key_state: KeyState
    trouble: str
    read_only: bool

    @property
    def dark(self) -> bool: ...
    @property
    def kept_in(self) -> str: ...
    def now(self) -> float: ...
    def view(self) -> View: ...
    def keys(self) -> Keys: ...
    def cue_words(self) -> str: ...
    def press(self, key: str) -> Wish | None: ...
    def bells_rung(self, bells: int) -> None: ...
    def beat(self) -> tuple[Announcement, ...]: ...
    def wait_s(self) -> float: ...
    def release(self) -> None: ...


def program_for(controller: GuidedSession) -> str:
    """How the program is called to find this session again."""
    from shlex import quote

    return f"wetside --data {quote(controller.kept_in)}" if controller.kept_in else "wetside"


def bells_to_count() -> int:
    """How many bells the sound check rings this time; nobody can know before."""
    return random.SystemRandom().randint(1, MOST_BELLS)
