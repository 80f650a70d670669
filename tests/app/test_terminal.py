"""What is detected of a terminal before anything is drawn, and the refusals of an unusable one."""

from __future__ import annotations

import fcntl
import io
import os
import pty
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator, Mapping
from contextlib import closing

import pytest
from msgspec import Struct
from msgspec.structs import replace

from wetside.app.terminal import Colours, Terminal, examine, refuse_reason

GOOD = Terminal(columns=80, rows=24, utf8=True, colours="full", is_tty=True, term="xterm-256color")


class Line(Struct, frozen=True):
    """A stream on a real pseudo-terminal (or on none), with an encoding of the test's choice."""

    descriptor: int
    encoding: str = "utf-8"

    def isatty(self) -> bool:
        return os.isatty(self.descriptor)

    def fileno(self) -> int:
        return self.descriptor


@pytest.fixture
def line() -> Iterator[Line]:
    ours, theirs = pty.openpty()
    yield Line(theirs)
    os.close(ours)
    os.close(theirs)


def sized(line: Line, columns: int, rows: int) -> Line:
    fcntl.ioctl(line.descriptor, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    return line


def test_the_properties_of_a_real_terminal_are_detected(line: Line) -> None:
    environ = {"TERM": "xterm-256color", "LANG": "de_DE.UTF-8", "COLORTERM": "truecolor"}
    found = examine(environ, line, sized(line, 100, 30))
    assert found == Terminal(100, 30, utf8=True, colours="full", is_tty=True, term="xterm-256color")
    assert refuse_reason(found) is None


def test_unknown_size_is_taken_as_80_by_24(line: Line) -> None:
    found = examine({"TERM": "vt100"}, line, sized(line, 0, 0))
    assert (found.columns, found.rows) == (80, 24)


@pytest.mark.parametrize(
    ("environ", "size"),
    [
        ({"COLUMNS": "60", "LINES": "20"}, (60, 20)),
        ({"COLUMNS": "60"}, (60, 30)),
        ({"COLUMNS": "0", "LINES": ""}, (100, 30)),
        ({"COLUMNS": "-5", "LINES": "many"}, (100, 30)),
        ({"COLUMNS": "٣٠", "LINES": "9" * 5_000}, (100, 30)),
    ],
)
def test_a_valid_size_in_the_environment_is_used(
    line: Line, environ: Mapping[str, str], size: tuple[int, int]
) -> None:
    found = examine(environ, line, sized(line, 100, 30))
    assert (found.columns, found.rows) == size


@pytest.mark.parametrize(
    ("environ", "encoding", "utf8"),
    [
        ({"LANG": "en_US.UTF-8"}, "utf-8", True),
        ({"LANG": "C.UTF-8"}, "UTF-8", True),
        ({"LANG": "ca_ES.utf8@valencia"}, "utf-8", True),
        ({"LC_CTYPE": "UTF-8"}, "utf-8", True),
        ({"LC_ALL": "C", "LANG": "en_US.UTF-8"}, "utf-8", False),
        ({"LANG": "en_US.UTF-8"}, "iso8859-1", False),
        ({"LANG": "de_DE.ISO-8859-1"}, "iso8859-1", False),
        ({"LANG": "de_DE"}, "utf-8", False),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, "utf-8", False),
        ({"LC_CTYPE": "C.UTF-8"}, "utf-8", False),
        ({"LANG": "en_US.UTF-8", "LC_CTYPE": "C.UTF-8"}, "utf-8", True),
        ({"LANG": "C", "PYTHONUTF8": "1"}, "utf-8", True),
        ({}, "utf-8", False),
        ({}, "", False),
    ],
)
def test_utf8_is_used_only_where_python_and_the_locale_both_choose_it(
    line: Line, environ: Mapping[str, str], encoding: str, utf8: bool
) -> None:
    assert examine(environ, line, replace(line, encoding=encoding)).utf8 is utf8


@pytest.mark.parametrize(("language", "utf8"), [("C", False), ("POSIX", False), ("C.UTF-8", True), (None, False)])
def test_a_utf8_locale_set_by_python_is_not_taken_for_the_persons_choice(language: str | None, utf8: bool) -> None:
    """In a real process, since Python changes LC_CTYPE before any program of ours runs."""
    program = (
        "import os, sys; from wetside.app.terminal import examine; "
        "print(examine(os.environ, sys.stdin, sys.stdout).utf8)"
    )
    environ = {} if language is None else {"LANG": language}
    done = subprocess.run([sys.executable, "-c", program], env=environ, check=True, capture_output=True, text=True)
    assert done.stdout.strip() == str(utf8)


@pytest.mark.parametrize(
    ("environ", "colours"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, "full"),
        ({"TERM": "xterm-direct"}, "full"),
        ({"TERM": "screen-256color"}, "256"),
        ({"TERM": "linux"}, "16"),
        ({"TERM": "screen"}, "16"),
        ({"TERM": "vt100"}, "none"),
        ({"TERM": "vt220"}, "none"),
        ({"TERM": "xterm-mono"}, "none"),
        ({"TERM": "dumb", "COLORTERM": "truecolor"}, "none"),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, "none"),
        ({"TERM": "xterm-256color", "NO_COLOR": ""}, "256"),
        ({}, "none"),
    ],
)
def test_colours_follow_the_terminal_and_no_color(
    line: Line, environ: Mapping[str, str], colours: Colours
) -> None:
    assert examine(environ, line, line).colours == colours


def test_a_pipe_on_either_end_is_not_a_terminal(line: Line) -> None:
    reading, writing = os.pipe()
    with closing(os.fdopen(reading)) as source, closing(os.fdopen(writing, "w")) as sink:
        for stdin, stdout in ((source, line), (line, sink), (source, sink)):
            found = examine({"TERM": "xterm", "COLORTERM": "truecolor"}, stdin, stdout)
            assert not found.is_tty
            assert found.colours == "none"
            assert "--plain" in (refuse_reason(found) or "")


def test_a_closed_or_missing_stream_is_not_a_terminal(line: Line) -> None:
    gone = io.StringIO()
    gone.close()
    for stream in (gone, None):
        found = examine({"TERM": "xterm"}, stream, stream)
        assert not found.is_tty
        assert (found.columns, found.rows) == (80, 24)
    assert not examine({"TERM": "xterm"}, None, line).is_tty


@pytest.mark.parametrize("term", ["", "dumb", "unknown"])
def test_an_unusable_terminal_is_refused_with_an_alternative(term: str) -> None:
    reason = refuse_reason(replace(GOOD, term=term))
    assert reason is not None
    assert "TERM is" in reason
    assert "--plain" in reason


@pytest.mark.parametrize(("columns", "rows"), [(39, 24), (80, 11), (10, 3), (1, 1)])
def test_the_refusal_of_a_small_terminal_names_both_sizes_and_a_remedy(columns: int, rows: int) -> None:
    reason = refuse_reason(replace(GOOD, columns=columns, rows=rows))
    assert reason is not None
    assert f"{columns} columns by {rows} rows" in reason
    assert "40 by 12" in reason
    assert "enlarge" in reason
    assert "--plain" in reason


@pytest.mark.parametrize(("columns", "rows"), [(40, 12), (80, 24), (200, 60)])
@pytest.mark.parametrize("term", ["linux", "vt100", "screen", "tmux-256color", "xterm"])
def test_a_terminal_large_enough_is_accepted(columns: int, rows: int, term: str) -> None:
    assert refuse_reason(replace(GOOD, columns=columns, rows=rows, term=term, utf8=False, colours="none")) is None


def test_every_refusal_is_one_ascii_sentence() -> None:
    refused = (
        replace(GOOD, is_tty=False),
        replace(GOOD, term=""),
        replace(GOOD, term="dumb"),
        replace(GOOD, rows=1),
    )
    for terminal in refused:
        reason = refuse_reason(terminal)
        assert reason is not None
        assert reason.isascii()
        assert reason.endswith(".")
        assert "\n" not in reason
