"""Messages of the core as values: a code, and what its words need. `present/` has the words of every code.

A test checks that none is missing. Temperatures are in °C (`_c`), lengths of time in s (`_s`), volumes in ml
(`_ml`).
"""

from __future__ import annotations

from typing import Final, TypeAlias

from msgspec import Struct

from wetside.errors import Refused
from wetside.sanitize import MOST_TYPED

Value: TypeAlias = "str | float | tuple[float | str | Message, ...] | Message"
Text: TypeAlias = "str | Message"
"""What a profile or a person wrote, as it is; or what the program has to say."""


class Message(Struct, frozen=True):
    """A code, and the values that its words need, by name.

    The value "variant" tells which of the sentences of a code is meant, where it has several.
    """

    code: str
    values: tuple[tuple[str, Value], ...] = ()


def message(code: str, **values: Value) -> Message:
    """A message with these values."""
    return Message(code, tuple(values.items()))


def alert(code: str, variant: str = "", /, **values: Value) -> Message:
    """An alert of a plan or about a bottle; plans and exports keep its code, so that a code stays as it is.

    `present/alerts.toml` has the sentence of each code. variant: which sentence, where a code has several. Rolls
    are of 135-36.
    """
    return Message(code, (*((("variant", variant),) if variant else ()), *values.items()))


AS_WRITTEN: Final = "as written"


def as_written(words: str, code: str = AS_WRITTEN) -> Message:
    """A message whose words an earlier version, or a person, wrote: nothing else is known of them."""
    return Message(code, ((AS_WRITTEN, words),))


class Unfit(Refused):
    """A setup fails its checks; `findings` has a message for each."""

    def __init__(self, findings: tuple[Message, ...]) -> None:
        super().__init__(findings)
        self.findings = findings


class Refusal(Unfit):
    """An act is not allowed now; `why` says why. Nothing has changed."""

    def __init__(self, why: Message) -> None:
        super().__init__((why,))
        self.why = why


def refused(code: str, **values: Value) -> Refusal:
    """The exception to raise for this refusal."""
    return Refusal(message(code, **values))


def typed_text(text: str, empty: str) -> str:
    """Typed text, trimmed. Raises Refusal where it is empty (code `empty`), too long or not plain text."""
    text = text.strip()
    if not text:
        raise refused(empty)
    return plain_text(text)


def plain_text(text: str) -> str:
    """The text itself. Raises Refusal where it is longer than MOST_TYPED or not printable."""
    if len(text) > MOST_TYPED:
        raise refused("too long", length=len(text), most=MOST_TYPED)
    if not text.isprintable():
        raise refused("not plain")
    return text
