"""The messages of a session: why a command is refused, why a gate is shut, what a call is about.

`present/session_words.py` has the words of every code.
"""

from __future__ import annotations

from collections.abc import Callable

from wetside.domain.messages import Message, Refusal
from wetside.domain.planning.plan import Plan
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class EndMove:
    """Why readings moved the end of a developer from old_s to new_s (s after its start), or left it (same).

    read_c: the last reading; at_s: when it was made in the tank (s after the start), None of one in the bottle.
    drop_c: the drop in the tank at the pour (K). passed: the new end is over already.
    left_table_at_s: when the forecast leaves the table, which serves table_c; None when it does not.
    """

    read_c: float
    at_s: float | None
    drop_c: float
    old_s: float
    new_s: float
    same: bool
    passed: bool
    left_table_at_s: float | None
    table_c: tuple[float, float]


@dataclass(frozen=True, slots=True)
class EndStays:
    """Why a reading leaves the end where it is.

    refusal: why the table of times does not serve the temperature. None where the sheet has one row, so that
    there is no time for read_c, only advice.
    """

    step: str
    read_c: float
    refusal: Message | None


RecordWords = Callable[[Plan, EndMove | EndStays], str]
"""Makes the text that an event stores: why an end moved."""


class AskFirst(Refusal):
    """A reading is doubtful and must be confirmed: the same command with `confirmed` records it."""
