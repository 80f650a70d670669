"""A finding of the check as a value: what kind it is, where in the profile or setup it lies, and its words."""

from __future__ import annotations

from wetside.frozen import dataclass

Place = tuple[str, ...]
"""("steps", its id, a key of it), ("solutions", its id, a key of it) and so on; () for the file as a whole.

Things are named by their ids, so that a place holds for a profile made without a file as well. Rolls of a setup
are named by their label, bottles by their solution.
"""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong.

    code: stable and short, such as "residue". sentence: what is wrong and what to do, with the id of the step or
    solution in it. account: the path that breaks, line by line; empty where it is wrong on every path.
    """

    code: str
    place: Place
    sentence: str
    account: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The sentence and, below it, the path."""
        return "\n".join((self.sentence, *self.account))
