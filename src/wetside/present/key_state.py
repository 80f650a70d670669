"""The state of the keyboard between two presses (`KeyState`), and the effect of one press, as frozen values.

`KeyState` is never stored, so after a restart no half of a key pair counts as pressed.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.session import commands as c
from wetside.present.prompts import Panel

Wish = Literal["leave", "ring", "far"]
"""A request to the screen: leave the guide, ring the bells of the sound check, switch the far view."""


class KeyState(Struct, frozen=True):
    """What is remembered between two presses. moved: a key other than ENTER was used since the last gate.

    answer: the message, where it disappears after a while; "" where it stays until the next key.
    gate_shut: the answer is that a gate is shut, so its text is updated every second.
    touched_at: when a key last had an effect, to tell whether a call came after it.
    left_soon: the leave pair was pressed right after the dark began, and must be repeated.
    confirmed: SPACE has confirmed a `!` line since the last gate, and no key but SPACE and ENTER came after it.
    one_answer: by the settings one SPACE confirms all plain lines. roomy: the window shows them all.
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
        """Whether SPACE confirms all plain lines now, which requires that all of them are on the screen."""
        return self.one_answer and self.roomy and not self.far


class Meaning(Struct, frozen=True):
    """What a key means now: the label in the bottom line, and the effect of a press.

    label: "" exactly where a press has no effect; message may then give the reason. A label with a message but no
    effect belongs to a key pressed too soon: a second later the same key does what the label says.
    moved, confirmed: the new values of these fields of `KeyState`, None where they stay.
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
        """Whether a press has an effect."""
        return any(each is not None for each in (self.command, self.panel, self.wish, self.moved))


class KeyResult(Struct, frozen=True):
    """The result of a press: the new key state, at most one command, and at most one request to the screen."""

    key_state: KeyState
    command: c.Command | None = None
    wish: Wish | None = None


def applied(key_state: KeyState, meant: Meaning) -> KeyResult:
    """The result of pressing a key with this meaning."""
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
    """The same result with a message that disappears after a while."""
    return replace(result, key_state=replace(result.key_state, answer=result.key_state.message))


def refused(key_state: KeyState, reason: str, *, gate_shut: bool = False) -> KeyState:
    """The key state after a command was refused: the reason is shown for a while."""
    return replace(key_state, message=reason, answer=reason, gate_shut=gate_shut)
