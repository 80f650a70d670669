"""The known word nearest to a mistyped one."""

from __future__ import annotations

from collections.abc import Iterable

NEAR = 0.5
"""The share of letters in common from which a word counts as near (our own number)."""


def nearest_of(word: str, known: Iterable[str], near: float = NEAR) -> str | None:
    """The word nearest to `word`, or None when none is near."""
    import difflib  # slow to import, and needed for a mistyped word only

    return next(iter(difflib.get_close_matches(word, list(known), n=1, cutoff=near)), None)
