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
    """One thing that is wrong with a file, and where.

    what: the sentence without the place. file: its name as shown; "" where `what` names it. line: from 1; 0 for
    the whole file. key: the path of the key as shown, "" for none. joint: between the place and `what`.
    """

    what: str
    file: str = ""
    line: int = 0
    key: str = ""
    joint: str = ": "

    def sentence(self) -> str:
        """The whole sentence, its place first."""
        place = ", ".join(part for part in (self.file, f"line {self.line}" if self.line else "", self.key) if part)
        return f"{place}{self.joint}{self.what}" if place else self.what


class FileUnusable(Unusable):
    """A file written by a person cannot be used as it is, for one or more reasons."""

    def __init__(self, *findings: FileFinding) -> None:
        super().__init__("\n".join(finding.sentence() for finding in findings))
        self.findings = findings

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each finding with its place."""
        return tuple(finding.sentence() for finding in self.findings)


class JournalUnusable(Unusable):
    """The journal is locked, damaged, or newer than this program."""


class JournalDamaged(JournalUnusable):
    """Bytes of the journal are gone or wrong, or its file was taken away while this program used it."""
