"""Every error Wetside raises on purpose, and the exit code each one ends in.

    WetsideError
    ├── Refused            1  an act is not allowed now; the sentence says what is missing
    │   └── CheckFailed    1  a profile or setup does not pass its checks (carries all findings)
    ├── UsageError         2  the command line cannot be understood or served here
    └── Unusable           3  a file or the data folder cannot be used
        ├── FileUnusable   3  a file a person wrote: says file, key or line, what to do
        └── JournalUnusable 3 the journal: locked, newer than this program
            └── JournalDamaged  bytes of it are gone or wrong, or its file was taken away

Exit codes: 0 done · 1 refused or failed check · 2 usage · 3 file or data cannot be used ·
128+n ended by signal n.

Every message is one sentence, or one for each finding: what, where, and what to do. The module imports nothing of
Wetside, so that the domain may use it.
"""

from __future__ import annotations

from typing import NamedTuple


class WetsideError(Exception):
    """Base of all errors raised on purpose; `exit_code` is what a command ends in."""

    exit_code = 1


class Refused(WetsideError):
    """An act is not allowed now. Nothing has changed."""

    exit_code = 1


class CheckFailed(Refused):
    """A profile or setup fails its checks; `findings` holds one sentence each."""

    def __init__(self, findings: tuple[str, ...]) -> None:
        super().__init__("\n".join(findings))
        self.findings = findings


class UsageError(WetsideError):
    """The command line cannot be understood, or cannot be served on this terminal."""

    exit_code = 2


class Unusable(WetsideError):
    """A file or the data folder cannot be used. `brief` is a shorter message for places with room for one line."""

    exit_code = 3

    def __init__(self, message: str, brief: str = "") -> None:
        super().__init__(message)
        self.brief = brief or message


class FileFinding(NamedTuple):
    """One thing that is wrong in a file a person wrote.

    what: the sentence, which in display follows the place. line: from 1; 0 for the file as a whole.
    key: the key as shown, such as "solutions.developer.target"; "" for none.
    """

    what: str
    file: str = ""
    line: int = 0
    key: str = ""

    @property
    def sentence(self) -> str:
        """The whole sentence: "my.toml, line 3, title: it is empty."; "my.toml: it is empty."."""
        if not self.file:
            return self.what
        line = f", line {self.line}" if self.line else ""
        key = f", {self.key}" if self.key else ""
        return f"{self.file}{line}{key}: {self.what}"


class FileUnusable(Unusable):
    """A file written by a person cannot be used as it is; `findings` has the sentence of each in `found`."""

    def __init__(self, *found: FileFinding | str) -> None:
        self.found = tuple(FileFinding(each) if isinstance(each, str) else each for each in found)
        self.findings = tuple(each.sentence for each in self.found)
        super().__init__("\n".join(self.findings))


class JournalUnusable(Unusable):
    """The journal is locked, damaged, or newer than this program."""


class JournalDamaged(JournalUnusable):
    """Bytes of the journal are gone or wrong, or its file was taken away while this program used it."""
