"""A table of a file is read into a frozen dataclass by the names of its fields."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec import Struct
from pydantic import TypeAdapter, ValidationError

from wetside.files.toml_values import TickText, form, key_of, table, tables


class Jar(Struct, frozen=True):
    """A table with one field of each sort."""

    id: str
    warm_c: float
    words: str
    wait_s: float = 5.0
    loose: bool = False


def read(kind: Any, value: object) -> Any:
    return TypeAdapter(kind).validate_python(value, strict=True)


def test_a_key_is_the_field_without_its_unit_and_comes_out_in_base_units() -> None:
    assert [key_of(name) for name in ("warm_c", "wait_s", "cover_ml", "life_days", "capacity_per_l", "loose")] == [
        "warm", "wait", "cover", "life", "capacity", "loose",
    ]  # fmt: skip
    jar = {"id": "a", "warm": "311.15 K", "words": "Its lid.", "wait": "1 min", "loose": True}
    assert read(table(Jar, words=TickText), jar) == Jar("a", 38.0, "Its lid.", 60.0, True)


def test_a_key_that_is_left_out_has_the_default_of_the_dataclass() -> None:
    assert read(table(Jar, id=(str, "b"), words=TickText), {"warm": "38 °C", "words": "Its lid."}) == Jar(
        "b", 38.0, "Its lid."
    )
    with pytest.raises(ValidationError, match="warm"):
        read(table(Jar, words=TickText), {"id": "a", "words": "Its lid."})


def test_tables_get_their_names_as_ids_and_accept_no_key_of_another_table() -> None:
    jars = tables(Jar, 2, words=TickText)
    assert read(jars, {"red": {"warm": "38 °C", "words": "It."}}) == (Jar("red", 38.0, "It."),)
    with pytest.raises(ValidationError, match="id"):
        read(jars, {"red": {"id": "blue", "warm": "38 °C", "words": "It."}})
    assert [each.alias for each in form(Jar).model_fields.values()] == ["id", "warm", "words", "wait", "loose"]
