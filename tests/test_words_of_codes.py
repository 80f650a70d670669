"""The core speaks in codes and values; each code has its words, which use just these values."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from string import Formatter

import pytest

import wetside.domain
from wetside.domain.messages import message
from wetside.present import session_words
from wetside.present.sentences import COMMON, word_table
from wetside.present.session_words import words

DOMAIN = Path(wetside.domain.__path__[0])
CORE = sorted(
    path for room in ("session", "shelf", "planning", "calc", "proof") for path in (DOMAIN / room).glob("*.py")
)
PROOF = dict(word_table("proof_findings"))
PROOF.pop("shipped id")  # said by the command that looks for it
TABLES: dict[tuple[str, ...], Mapping[str, str]] = {
    ("session",): {code: said for code, said in session_words.TEMPLATES.items() if code not in COMMON},
    ("shelf",): word_table("refusals")["shelf"],
    ("planning", "calc"): word_table("refusals")["planning"],
    ("proof",): PROOF,
}
"""The rooms of the core, and the table that words their codes."""


def calls(rooms: tuple[str, ...]) -> Iterator[tuple[set[str], ast.Call]]:
    """Each call in these rooms that makes a message: the codes it may have, and the call."""
    for path in (path for room in rooms for path in (DOMAIN / room).glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                place = {"message": 0, "refused": 0, "typed_text": 1}.get(node.func.id)
                if place is not None:
                    named = [each.value for each in ast.walk(node.args[place]) if isinstance(each, ast.Constant)]
                    yield {code for code in named if isinstance(code, str)}, node


@pytest.mark.parametrize("rooms", TABLES)
def test_each_code_has_words_and_is_said_somewhere(rooms: tuple[str, ...]) -> None:
    """A code may be chosen by an expression, whose other strings are no codes."""
    codes = TABLES[rooms].keys()
    assert all(named & codes for named, _ in calls(rooms) if named)
    assert set().union(*(named for named, _ in calls(rooms))) >= codes


@pytest.mark.parametrize("rooms", TABLES)
def test_the_words_of_a_code_use_just_the_values_that_come_with_it(rooms: tuple[str, ...]) -> None:
    templates = TABLES[rooms]
    checked = 0
    for named, call in calls(rooms):
        values = {keyword.arg for keyword in call.keywords}
        for code in named & templates.keys():
            used = {name for _, name, _, _ in Formatter().parse(templates[code]) if name}
            assert used == values, code
            checked += 1
    assert checked > 10


@pytest.mark.parametrize("path", CORE, ids=lambda path: path.stem)
def test_the_core_has_no_sentence(path: Path) -> None:
    tree = ast.parse(path.read_text())
    prose = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    strings = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    found = [n.value for n in strings if id(n) not in prose and re.search(r"\w+ \w+.*[.?!:]( |$)", str(n.value))]
    assert not found


def test_a_value_with_braces_is_left_alone_and_temperatures_follow_the_person() -> None:
    assert words(message("line open", text="{Lid} on")) == "{Lid} on"
    asked = message("out of range", title="Fixer", read_c=36.0, wanted_c=(37.8, 39.0))
    assert words(asked) == "Fixer: 36.0 °C read, 37.8 to 39.0 °C wanted."
    assert words(asked, "°F") == "Fixer: 96.8 °F read, 100.1 to 102.2 °F wanted."
