"""Decides commands as the program does, with the sentences of records and refusals."""

from __future__ import annotations

from wetside.domain.messages import Refusal
from wetside.domain.session import commands as c
from wetside.domain.session.decide import decide
from wetside.domain.session.events import Event
from wetside.domain.session.state import State
from wetside.present.message_words import in_words


def decided(state: State, command: c.Command) -> tuple[Event, ...]:
    """The events of `command`. Raises Refusal with the sentence on the screen as its text."""
    try:
        return decide(state, command)
    except Refusal as refusal:
        refusal.args = (in_words(refusal.why, state.plan.units),)
        raise
