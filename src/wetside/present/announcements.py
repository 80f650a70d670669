"""The calls of a session with their words."""

from __future__ import annotations

from msgspec import Struct

from wetside.domain.session.cues import Call, Cue
from wetside.present.message_words import in_words


class Announcement(Struct, frozen=True):
    """A call with its words on the screen. at: session seconds. ahead_s: how long before the act it calls for."""

    step: str
    call: Call
    at: float
    text: str
    ahead_s: float = 0.0

    @property
    def spoken(self) -> str:
        """The words for output without the large digits."""
        return f"{self.text} In {self.ahead_s:.0f} s." if self.ahead_s else self.text


def announced(cue: Cue) -> Announcement:
    """A cue as an announcement with its words."""
    return Announcement(cue.step, cue.call, cue.at, in_words(cue.about), cue.ahead_s)
