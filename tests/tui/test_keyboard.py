"""Whatever bytes a terminal sends, the keys pressed after them are recognised."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual import events
from textual.message import Message
from textual.messages import TerminalSupportsSynchronizedOutput

from wetside.tui.key_parser import PASTE_LONGEST_S, PASTE_SILENCE_S, Keyboard

PASTE = b"\x1b[200~"
PASTE_OVER = b"\x1b[201~"


class Typist:
    """A keyboard and the keys it has recognised, on a manual clock."""

    def __init__(self) -> None:
        self.keyboard = Keyboard()

    def sends(self, data: bytes, at: float) -> list[str]:
        """The keys these bytes are."""
        return _keys(self.keyboard.heard(data, at))

    def waits(self, until: float) -> list[str]:
        """The keys after a poll that found no bytes."""
        return _keys(self.keyboard.waited(until))


def _keys(found: list[Message]) -> list[str]:
    return [event.key for event in found if isinstance(event, events.Key)]


@pytest.mark.parametrize(
    ("data", "keys"),
    [
        (b" \r\x7f\x08\t", "space enter backspace backspace tab"),
        ("q7+°é".encode(), "q 7 + ° é"),
        (b"\x03\x11\n", "ctrl+c ctrl+q ctrl+j"),
        (b"\x1b[A\x1b[B\x1b[C\x1b[D\x1b[H\x1b[F", "up down right left home end"),
        (b"\x1bOA\x1bOB\x1bOH\x1bOF", "up down home end"),
        (b"\x1b[5~\x1b[6~\x1b[1~\x1b[4~\x1b[3~", "pageup pagedown home end delete"),
        (b"\x1bOM\x1bOp\x1bOy\x1bOn", "enter 0 9 ."),
        (b"\x1b[1;5A\x1b[1;2B\x1b[Z", "ctrl+up shift+down shift+tab"),
        (b"\x1b ", "space"),
        (b"\x1b\x1b[A", "escape up"),
        (b"\x1b[97u\x1b[97;2;65u\x1b[99;5u\x1b[32;1:3u\x1b[57441;2u\x1b[13u", "a A ctrl+c enter"),
        (b"\x1b[I\x1b[O\x1b[24;80R\x1b[?1;2c\x1b[M!!!\x1b[[A\x1b]0;name\x07\x1bPx\x1b\\ ", "space"),
    ],
    ids=repr,
)
def test_keys_are_told_from_what_a_terminal_reports(data: bytes, keys: str) -> None:
    assert Typist().sends(data, 0.0) == keys.split()


def test_a_terminal_that_writes_whole_pictures_at_once_is_heard() -> None:
    (answer,) = Keyboard().heard(b"\x1b[?2026;2$y", 0.0)
    assert isinstance(answer, TerminalSupportsSynchronizedOutput)
    assert Keyboard().heard(b"\x1b[?2026;0$y", 0.0) == []


@pytest.mark.parametrize(
    "harm",
    [
        b"\xff\xfe",
        b"\xe2\x82",
        b"\x80" * 50,
        b"\x1b[48;0;0;0;0t\x1b[<0;10;10M",
        b"\x1b[48;9999999999;9999999999;1;1t",
        b"\x1b[" + b"9" * 28 + b";1R",
        b"\x1b]0;title\x07",
        b"\x1bP",
        b"\x1b",
        b"\x1b[1114112u",
        b"\x1b[99999999999;99u",
    ],
    ids=repr,
)
def test_after_harmful_bytes_the_next_key_is_heard(harm: bytes) -> None:
    typist = Typist()
    typist.sends(harm, 0.0)
    typist.waits(60.0)
    typist.waits(60.2)
    assert typist.sends(b"  ", 61.0)[-1] == "space"  # the first may have ended half a letter


@given(st.lists(st.binary(max_size=40), max_size=8))
def test_after_any_bytes_the_next_key_is_heard(pieces: list[bytes]) -> None:
    typist = Typist()
    for piece in pieces:
        typist.sends(piece, 0.0)
    typist.waits(60.0)
    typist.waits(120.0)
    assert typist.sends(b"  ", 121.0)[-1] == "space"


def test_pasted_text_presses_no_key_and_later_keys_work() -> None:
    typist = Typist()
    assert typist.sends(PASTE + b" \r \r" + PASTE_OVER, 0.0) == []
    assert typist.sends(b"\r", 0.1) == ["enter"]


@pytest.mark.parametrize("cut", range(1, len(PASTE)))
def test_a_paste_in_pieces_presses_no_key(cut: int) -> None:
    typist = Typist()
    assert typist.sends(PASTE[:cut], 0.0) == []
    assert typist.sends(PASTE[cut:] + b" \r", 0.01) == []
    assert typist.waits(0.5) == []
    assert typist.sends(b" \r" + PASTE_OVER, 1.0) == []
    assert typist.sends(b" ", 1.1) == ["space"]


def test_an_unfinished_paste_ends_after_a_silence() -> None:
    typist = Typist()
    assert typist.sends(PASTE + b" \r", 0.0) == []
    assert typist.waits(PASTE_SILENCE_S) == []
    assert typist.waits(PASTE_SILENCE_S + 0.1) == []
    assert typist.sends(b" \r", PASTE_SILENCE_S + 0.2) == ["space", "enter"]


def test_an_unfinished_paste_ends_for_a_person_who_keeps_pressing_keys() -> None:
    typist = Typist()
    typist.sends(PASTE, 0.0)
    at = 0.0
    while at < PASTE_LONGEST_S:
        assert typist.sends(b" ", at) == []
        at += 0.5
        assert typist.waits(at) == []
    typist.waits(PASTE_LONGEST_S + 0.05)
    assert typist.sends(b" ", PASTE_LONGEST_S + 0.1) == ["space"]


@given(st.floats(0.0, 3600.0), st.integers(1, len(PASTE) - 1))
def test_a_paste_read_late_presses_no_key(still_s: float, cut: int) -> None:
    """The program stood still for so long in mid-paste, as on a loaded machine: what lay there is no key."""
    typist = Typist()
    assert typist.sends(PASTE + b" \r", 0.0) == []
    assert typist.sends(b" \r \r" + PASTE_OVER[:cut], still_s) == []
    assert typist.sends(PASTE_OVER[cut:] + b" ", 2 * still_s) == ["space"]
    assert typist.sends(PASTE[:cut], 2 * still_s) == []
    assert typist.sends(PASTE[cut:] + b" \r", 3 * still_s) == []


def test_a_paste_broken_off_inside_an_escape_sequence_ends_too() -> None:
    typist = Typist()
    typist.sends(PASTE + b"abc\x1b[2", 0.0)
    typist.waits(PASTE_SILENCE_S + 0.1)
    assert typist.sends(b" ", PASTE_SILENCE_S + 0.2) == ["space"]


@given(st.binary(max_size=60).filter(lambda data: PASTE_OVER not in data), st.integers(0, 60))
def test_nothing_inside_a_paste_presses_a_key(data: bytes, cut: int) -> None:
    typist = Typist()
    assert typist.sends(PASTE + data[:cut], 0.0) == []
    assert typist.sends(data[cut:], 0.5) == []
    assert typist.sends(PASTE_OVER + b" ", 1.0) == ["space"]


def test_an_escape_sequence_inside_a_paste_presses_no_key() -> None:
    assert Typist().sends(PASTE + b"\x1b[31m\r \r" + PASTE_OVER, 0.0) == []


def test_escape_alone_is_a_key_and_an_escape_sequence_in_pieces_is_one_key() -> None:
    typist = Typist()
    assert typist.sends(b"\x1b", 0.0) == []
    assert typist.waits(0.05) == []
    assert typist.waits(0.15) == ["escape"]
    assert typist.sends(b"\x1b", 1.0) == []
    assert typist.sends(b"[A", 1.01) == ["up"]
