"""Typed answers as values, and one value put into a text whose rest stays as it is."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.files.short_profile import at, values_of, with_value, words_of

KIT = (Path(__file__).parents[1] / "profile" / "kits" / "from-the-sheet.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("answer", "keys", "many", "values"),
    [
        ("", 2, False, (None, None)),
        ("  6:30 ", 1, False, ("6:30",)),
        ("38 °C, 38 ± 0.3 °C", 2, False, ("38 °C", "38 ± 0.3 °C")),
        ("38 ± 0.3 °C", 2, False, ("38 °C", "38 ± 0.3 °C")),
        ("37,8 ± 0,15 °C", 2, False, ("37,8 °C", "37,8 ± 0,15 °C")),
        ("100 F +/- 0.25 F", 2, False, ("100 F", "100 F +/- 0.25 F")),
        ("24 to 41 °C", 2, False, (None, "24 to 41 °C")),
        ("38 °C", 2, False, ("38 °C", None)),
        ("12 rolls; 16 rolls", 2, False, ("12 rolls", "16 rolls")),
        ("1 stop x 1.25 and 2 stops x 1.5", 1, True, (["1 stop x 1.25", "2 stops x 1.5"],)),
        ("37,8 °C 3:15, 36 °C 4:00", 1, True, (["37,8 °C 3:15", "36 °C 4:00"],)),
        ("2 % per roll, compound", 1, True, ("2 % per roll, compound",)),
    ],
)
def test_typed_answers_are_read_as_values(answer: str, keys: int, many: bool, values: tuple[Any, ...]) -> None:
    assert values_of(answer, keys, many) == values


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((None, None), ""),
        (("38 °C", None), "38 °C"),
        (([["38 °C", "3:15"], ["36 °C", "4:00"]],), "38 °C 3:15, 36 °C 4:00"),
        (([[1, 1.25], [2, 1.5]],), "1 x 1.25, 2 x 1.5"),
        (({"kind": "linear", "per_roll": "2 %"},), '{ kind = "linear", per_roll = "2 %" }'),
    ],
)
def test_values_are_written_as_a_person_would_type_them(values: tuple[Any, ...], words: str) -> None:
    assert words_of(values) == words


@given(
    st.sampled_from(
        [
            ("makes",),
            ("notes",),
            ("solutions", "developer", "push"),
            ("solutions", "bleach", "range"),
            ("solutions", "stop", "time"),
            ("steps", "wash", "time"),
            ("steps", "off-reel", "time"),
        ]
    ),
    st.one_of(st.none(), st.text(st.characters(codec="utf-8"), max_size=20), st.lists(st.text(max_size=5))),
)
def test_one_value_of_a_file_is_changed_and_no_other(key: tuple[str, ...], value: Any) -> None:
    text = with_value(KIT, key, value)
    after = tomllib.loads(text)
    assert at(after, key) == value
    assert without(after, key) == without(tomllib.loads(KIT), key)
    assert KIT.splitlines()[0] in text.splitlines()


def without(data: dict[str, Any], key: tuple[str, ...]) -> list[tuple[Any, ...]]:
    """Every value but the one at `key`, with where it stands; a table that holds only its id is none."""
    found: list[tuple[Any, ...]] = []
    for name, value in data.items():
        if name == "solutions":
            found += [(name, id_, k, v) for id_, entry in value.items() for k, v in entry.items()]
        elif name == "steps":
            found += [(name, entry["id"], k, v) for entry in value for k, v in entry.items() if k != "id"]
        else:
            found.append((name, value))
    return [each for each in found if each[:-1] != key]


@pytest.mark.parametrize(
    "text",
    [
        '[solutions]\ndeveloper = { target = "38 °C" } # warm\n',
        'solutions.developer.target = "38 °C"\n',
        '[solutions.developer]\ntarget = """\n38 °C"""\n',
        '[solutions.developer]\nrange = [\n  "37 °C",\n  "39 °C",\n]\n# target =\ntarget = "38 °C"\n[vessels]\n',
    ],
)
def test_a_value_is_replaced_in_every_way_of_writing_it(text: str) -> None:
    new = tomllib.loads(with_value(text, ("solutions", "developer", "target"), "40 °C"))
    wanted = tomllib.loads(text)
    wanted["solutions"]["developer"]["target"] = "40 °C"
    assert new == wanted


def test_a_commented_figure_is_enabled_in_its_place() -> None:
    text = '[solutions.developer]\n# target = "37.8 °C"\n# push = [[0, 1.0]]\n'
    assert with_value(text, ("solutions", "developer", "target"), "38 °C") == (
        '[solutions.developer]\ntarget = "38 °C"\n# push = [[0, 1.0]]\n'
    )
