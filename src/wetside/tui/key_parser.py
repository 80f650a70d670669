"""From the bytes a terminal sends to key events, whatever bytes they are.

It must never go deaf: a wet plug, a bad serial line or a stray program can send anything, and the keys pressed
after it still count. What is not UTF-8 becomes a sign that no screen knows; a sequence that cannot be understood
is dropped with what came in the same piece. It must not take a paste for keys either: everything between the
marks of a paste is thrown away here, since the library gives what follows an escape character inside a paste to
the screens as keys; a paste that is never closed is closed here. Only a look at the terminal that found nothing
shows a silence: bytes that are read late, since the program stood still, may have lain there all the time. It
reads no terminal and decides nothing about a session.
"""

from __future__ import annotations

from codecs import getincrementaldecoder
from collections.abc import Callable, Iterable
from typing import Final

from textual._xterm_parser import BRACKETED_PASTE_END, BRACKETED_PASTE_START, XTermParser
from textual.message import Message

PASTE_SILENCE_S: Final = 2.0
"""A paste that has stopped coming for so long is over, closed or not."""

PASTE_LONGEST_S: Final = 10.0
"""So is one that goes on for longer than this: by then it is somebody pressing keys that nobody hears."""

ALONE_S: Final = 0.1
"""An escape character, or the beginning of a paste's mark, that nothing has followed for so long stands alone."""


class Keyboard:
    """Understands one terminal's bytes. `at` is seconds on any clock that never steps."""

    def __init__(self) -> None:
        self._decode = getincrementaldecoder("utf-8")("replace").decode
        self._parser = XTermParser()
        self._held = ""
        self._paste_since: float | None = None
        self._last_at = 0.0

    def heard(self, data: bytes, at: float) -> list[Message]:
        """What these bytes, read at `at`, mean."""
        text = self._held + self._decode(data)
        self._held, self._last_at = "", at
        return self._understood(self._without_pastes(text, at))

    def waited(self, at: float) -> list[Message]:
        """What it means that nothing lay there at `at`: an escape key pressed alone, the end of a paste."""
        since, silent_s = self._paste_since, at - self._last_at
        if since is not None and (silent_s > PASTE_SILENCE_S or at - since > PASTE_LONGEST_S):
            self._paste_since, self._held = None, ""
        held = ""
        if self._paste_since is None and silent_s >= ALONE_S:
            held, self._held = self._held, ""
        return self._understood(held) + self._caught(self._parser.tick)

    def _without_pastes(self, text: str, at: float) -> str:
        """The text outside of pastes; what may be the beginning of a mark is held back."""
        kept = ""
        while text:
            mark = BRACKETED_PASTE_START if self._paste_since is None else BRACKETED_PASTE_END
            before, found, after = text.partition(mark)
            if not found:
                before, self._held = _split_beginning(text, mark)
            if self._paste_since is None:
                kept += before
            if found:
                self._paste_since = at if self._paste_since is None else None
            text = after
        return kept

    def _understood(self, text: str) -> list[Message]:
        return self._caught(lambda: self._parser.feed(text)) if text else []

    def _caught(self, parse: Callable[[], Iterable[Message]]) -> list[Message]:
        events: list[Message] = []
        try:
            events.extend(parse())
        except Exception:  # whatever the library's parser stumbles over, its next one must hear the next key
            self._parser = XTermParser()
        return events


def _split_beginning(text: str, mark: str) -> tuple[str, str]:
    """The text without its end, and that end, where it may be the beginning of `mark`."""
    for length in range(len(mark) - 1, 0, -1):
        if text.endswith(mark[:length]):
            return text[:-length], text[-length:]
    return text, ""
