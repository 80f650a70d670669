"""The cache for the last value: each result is worked out once for a value, and never for the one before."""

from __future__ import annotations

import pytest
from msgspec import Struct

from wetside.memo import remembers_last


class Named(Struct, frozen=True):
    """A value that cannot be hashed, as one of its fields cannot."""

    words: str
    by_name: dict[str, int] = {}


def test_results_are_cached_for_the_last_value_only() -> None:
    asked: list[tuple[Named, str]] = []

    @remembers_last
    def words_of(value: Named, more: str) -> str:
        asked.append((value, more))
        if not more:
            raise ValueError("nothing asked for")
        return f"{value.words} {more}"

    first, second = Named("one", {"not": 1}), Named("two")
    for value, words in ((first, "one"), (second, "two"), (first, "one")):
        assert [words_of(value, more) for more in "aab"] == [f"{words} a", f"{words} a", f"{words} b"]
    assert [more for _, more in asked] == ["a", "b"] * 3
    for _ in range(2):
        with pytest.raises(ValueError, match="nothing asked for"):
            words_of(first, "")
    assert len(asked) == 8
