"""The faster frozen dataclasses behave as the standard ones: law by law, side by side."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, is_dataclass, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside import frozen


@frozen.dataclass(frozen=True, slots=True)
class Ours:
    """Four fields, each of another kind."""

    number: float
    words: str = "none"
    many: tuple[int, ...] = ()
    by_name: dict[str, int] = field(default_factory=dict)


@dataclasses.dataclass(frozen=True, slots=True)
class Theirs:
    """The same by the standard library."""

    number: float
    words: str = "none"
    many: tuple[int, ...] = ()
    by_name: dict[str, int] = field(default_factory=dict)


@frozen.dataclass(frozen=True, slots=True)
class Alone:
    """One field, and a check."""

    number: float

    def __post_init__(self) -> None:
        if self.number < 0:
            raise ValueError("less than nothing")


@frozen.dataclass(frozen=True, slots=True)
class Nothing:
    """No field."""


@frozen.dataclass(frozen=True, slots=True)
class Built:
    """Fields without defaults; no instance is made before Hypothesis makes the first."""

    number: float
    words: str


VALUES = st.tuples(st.floats(allow_nan=False), st.text(max_size=5), st.lists(st.integers(), max_size=3).map(tuple))


@given(VALUES, VALUES)
def test_equal_where_the_standard_ones_are(a: Any, b: Any) -> None:
    assert (Ours(*a) == Ours(*b)) == (Theirs(*a) == Theirs(*b))
    assert Ours(*a).__eq__(Theirs(*a)) is NotImplemented
    assert Ours(*a) == Ours(*a)


@given(VALUES)
def test_shown_and_taken_apart_alike(values: Any) -> None:
    ours, theirs = Ours(*values), Theirs(*values)
    assert repr(ours) == repr(theirs).replace("Theirs", "Ours")
    assert dataclasses.asdict(ours) == dataclasses.asdict(theirs)
    assert [part.name for part in fields(Ours)] == [part.name for part in fields(Theirs)]
    assert Ours.__match_args__ == Theirs.__match_args__
    assert replace(ours, words="new") == Ours(values[0], "new", values[2])


@pytest.mark.parametrize("copied", [copy.copy, copy.deepcopy, lambda value: pickle.loads(pickle.dumps(value))])
def test_a_copy_is_equal(copied: Callable[[Any], Any]) -> None:
    value = Ours(1.5, "a", (1, 2), {"x": 1})
    assert copied(value) == value


def test_frozen_and_slotted() -> None:
    value = Ours(1.0)
    with pytest.raises(FrozenInstanceError, match="number"):
        value.number = 2.0  # type: ignore[misc]  # that it cannot be set is what is tested
    with pytest.raises(FrozenInstanceError, match="number"):
        del value.number
    assert not hasattr(value, "__dict__")
    assert is_dataclass(value)


def test_defaults_are_made_anew_each_time() -> None:
    assert Ours(1.0).by_name is not Ours(1.0).by_name
    assert Ours(number=1.0, words="w") == Ours(1.0, "w")


def test_hashes_by_its_values() -> None:
    assert hash(Alone(2.0)) == hash(Alone(2.0))
    assert len({Alone(1.0), Alone(1.0), Alone(2.0)}) == 2
    assert Nothing() == Nothing()
    assert hash(Nothing()) == hash(Nothing())


def test_checks_itself_after_it_is_made() -> None:
    with pytest.raises(ValueError, match="less than nothing"):
        Alone(-1.0)
    with pytest.raises(ValueError, match="less than nothing"):
        replace(Alone(1.0), number=-1.0)


def test_its_signature_is_known_before_and_after_the_first_instance() -> None:
    @frozen.dataclass(frozen=True, slots=True)
    class Fresh:
        number: float
        words: str = "none"
        by_name: dict[str, int] = field(default_factory=dict)

    before = inspect.signature(Fresh)
    assert str(before) == "(number: 'float', words: 'str' = 'none', by_name: 'dict[str, int]' = <factory>) -> None"
    assert Fresh(1.0) == Fresh(number=1.0)
    assert inspect.signature(Fresh) == before
    assert str(inspect.signature(Ours)) == str(inspect.signature(Theirs))
    assert str(inspect.signature(Nothing)) == "() -> None"


@given(st.builds(Built), st.builds(Built, words=st.just("given")))
def test_a_strategy_fills_its_fields_by_their_types(built: Built, given_words: Built) -> None:
    assert isinstance(built.number, float)
    assert isinstance(built.words, str)
    assert given_words.words == "given"


def test_a_missing_or_unknown_value_is_refused() -> None:
    for values in ({}, {"number": 1.0, "unknown": 2}):
        with pytest.raises(TypeError, match=r"number|unknown"):
            Ours(**values)  # type: ignore[arg-type]  # that it is refused is what is tested


def test_what_only_the_standard_decorator_knows_is_refused() -> None:
    class Strange:
        hidden: int = field(default=0, compare=False)

    with pytest.raises(TypeError, match="standard decorator"):
        frozen.dataclass(frozen=True, slots=True)(Strange)
    with pytest.raises(TypeError, match="only for frozen"):
        frozen.dataclass(frozen=False, slots=True)(Strange)


def test_results_are_remembered_for_the_last_value_alone() -> None:
    asked: list[tuple[Ours, str]] = []

    @frozen.remembers_last
    def words_of(value: Ours, more: str) -> str:
        asked.append((value, more))
        if not more:
            raise ValueError("nothing asked for")
        return f"{value.words} {more}"

    first, second = Ours(1.0, "one", by_name={"not": 1}), Ours(1.0, "two")
    for value, words in ((first, "one"), (second, "two"), (first, "one")):
        assert [words_of(value, more) for more in "aab"] == [f"{words} a", f"{words} a", f"{words} b"]
    assert [more for _, more in asked] == ["a", "b"] * 3
    for _ in range(2):
        with pytest.raises(ValueError, match="nothing asked for"):
            words_of(first, "")
    assert len(asked) == 8
