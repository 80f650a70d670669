"""What the keyboard side remembers between two presses, and what one press does: two frozen values.

`KeyState` is never stored: after a restart nothing is armed.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.session import commands as c
from wetside.frozen import dataclass, replace
from wetside.present.prompts import Panel

Wish = Literal["leave", "ring", "far"]
"""What the shell is asked for: leave the guide, ring the bells of the sound check, switch the far view."""


@dataclass(frozen=True, slots=True)
class KeyState:
    """The keyboard's own memory. moved: a key other than ENTER was used since the last gate.

    answer: the message, where it is the passing answer to a key; "" where it stays until the next key.
    gate_shut: the answer is that a gate is shut, so it is kept true from second to second.
    touched_at: when a key last did something, so that a call that came after it is known.
    left_soon: the leave pair was pressed right after it went dark, and is wanted once more.
    confirmed: SPACE has confirmed a `!` line since the last gate, and no key but SPACE and ENTER came after it.
    one_answer: the person has set that one SPACE confirms all plain lines. roomy: the window shows them all.
    """

    step: str = ""
    opened_at: float = 0.0
    moved: bool = False
    confirmed: bool = False
    tick_up: str = ""
    tick_shown_at: float = 0.0
    pair: bool = False
    left_soon: bool = False
    keys_ignored: int = 0
    message: str = ""
    answer: str = ""
    gate_shut: bool = False
    panel: Panel | None = None
    far: bool = False
    last_key: str = ""
    last_at: float = 0.0
    touched_at: float = 0.0
    one_answer: bool = False
    roomy: bool = True

    @property
    def together(self) -> bool:
        """Whether SPACE confirms all plain lines now: only where all of them stand on the screen."""
        return self.one_answer and self.roomy and not self.far


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a key means now: the label the bottom line shows, and what a press does.

    label: "" exactly where a press changes nothing; it then at most says why (message). A label with a message and
    no effect is a key pressed too soon: the same key a second later does what the label says.
    moved, confirmed: what becomes of these fields of `KeyState`, None where they stay.
    gate_shut: the message is that a gate is shut.
    """

    label: str = ""
    command: c.Command | None = None
    panel: Panel | None = None
    message: str = ""
    wish: Wish | None = None
    moved: bool | None = None
    confirmed: bool | None = None
    gate_shut: bool = False

    @property
    def acts(self) -> bool:
        """Whether a press changes anything."""
        return any(each is not None for each in (self.command, self.panel, self.wish, self.moved))


@dataclass(frozen=True, slots=True)
class KeyResult:
    """What a press gives: the key state after it, at most one command, and at most one wish to the shell."""

    key_state: KeyState
    command: c.Command | None = None
    wish: Wish | None = None


def applied(key_state: KeyState, meant: Meaning) -> KeyResult:
    """The result of pressing a key that means this."""
    key_state = replace(
        key_state,
        panel=meant.panel,
        message=meant.message,
        gate_shut=meant.gate_shut,
        moved=key_state.moved if meant.moved is None else meant.moved,
        confirmed=key_state.confirmed if meant.confirmed is None else meant.confirmed,
    )
    return KeyResult(key_state, meant.command, meant.wish)


def passing(result: KeyResult) -> KeyResult:
    """The same with its message as an answer that goes by itself after a while."""
    return replace(result, key_state=replace(result.key_state, answer=result.key_state.message))


def refused(key_state: KeyState, reason: str, *, gate_shut: bool = False) -> KeyState:
    """The key state after a command was refused: the reason stands on screen for a while."""
    return replace(key_state, message=reason, answer=reason, gate_shut=gate_shut)
