"""Where keys stand in a TOML text: every key is found, on the line it is written on."""

from __future__ import annotations

import tomllib
from typing import Any

import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from wetside.files.profile_places import shipped_dir
from wetside.files.toml_lines import Path, lines_of

TEXT = '''\
# a comment with [brackets] and = signs
top = 1
"quoted key" = 'x' # "not a string"
dotted . "two" = 2

[table.inner]
list = [ # one
    "a,]", 'b"',
    { x = 1, y = [2, 3] }, # two
    """
    three
    lines ""\\" """,
    5,
]
after = \'\'\'it''s\'\'\'

[[rows]]
id = 1
[rows.sub]
z = 2026-05-01T07:32:00Z

[[rows]]
id = 2
[[rows.deep]]
w = "]"
'''


def test_each_key_is_found_on_its_line() -> None:
    assert lines_of(TEXT) == {
        (): 1,
        ("top",): 2,
        ("quoted key",): 3,
        ("dotted",): 4,
        ("dotted", "two"): 4,
        ("table",): 6,
        ("table", "inner"): 6,
        ("table", "inner", "list"): 7,
        ("table", "inner", "list", 0): 8,
        ("table", "inner", "list", 1): 8,
        ("table", "inner", "list", 2): 9,
        ("table", "inner", "list", 2, "x"): 9,
        ("table", "inner", "list", 2, "y"): 9,
        ("table", "inner", "list", 2, "y", 0): 9,
        ("table", "inner", "list", 2, "y", 1): 9,
        ("table", "inner", "list", 3): 10,
        ("table", "inner", "list", 4): 13,
        ("table", "inner", "after"): 15,
        ("rows",): 17,
        ("rows", 0): 17,
        ("rows", 0, "id"): 18,
        ("rows", 0, "sub"): 19,
        ("rows", 0, "sub", "z"): 20,
        ("rows", 1): 22,
        ("rows", 1, "id"): 23,
        ("rows", 1, "deep"): 24,
        ("rows", 1, "deep", 0): 24,
        ("rows", 1, "deep", 0, "w"): 25,
    }
    assert tomllib.loads(TEXT)["rows"][1]["deep"][0]["w"] == "]"


leaves = st.one_of(st.integers(-5, 5), st.booleans(), st.text(max_size=6), st.floats(allow_nan=False))
keys = st.text(alphabet="ab\"'. =#[]é\n", max_size=4)
tables = st.dictionaries(
    keys,
    st.recursive(leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3)),
    max_size=4,
)


@given(tables, st.booleans())
def test_every_value_of_any_text_is_found(data: dict[str, Any], multiline: bool) -> None:
    text = tomli_w.dumps(data, multiline_strings=multiline)
    assert tomllib.loads(text) == data
    assert set(leaf_paths(data, ())) <= set(lines_of(text))


def leaf_paths(data: object, path: Path) -> list[Path]:
    match data:
        case dict():
            return [leaf for key, value in data.items() for leaf in leaf_paths(value, (*path, key))]
        case list():
            return [leaf for number, value in enumerate(data) for leaf in leaf_paths(value, (*path, number))]
        case _:
            return [path]


def test_lines_of_a_shipped_profile_hold_their_keys() -> None:
    text = (shipped_dir() / "parts" / "common.toml").read_text(encoding="utf-8")
    rows = text.split("\n")
    named = {path: line for path, line in lines_of(text).items() if path and isinstance(path[-1], str)}
    assert len(named) > 500
    assert all(str(path[-1]) in rows[line - 1] for path, line in named.items())
