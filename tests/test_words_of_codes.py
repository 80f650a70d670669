"""The core speaks in codes and values; each code has its words, which use just these values."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from datetime import date
from itertools import chain, product
from pathlib import Path
from string import Formatter
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest
from msgspec import Struct, to_builtins
from msgspec.structs import asdict, replace
from tests.factories import session_began
from tests.shelf.shelving import after, kit_shelf
from tests.shipped import PROFILES, SETUPS, plan_for, shipped_plan, shipped_profile, shipped_setup

import wetside.domain
from wetside.domain.archive.numbering import DensitiesMeasured, RollsNumbered
from wetside.domain.messages import Message, as_written, message
from wetside.domain.planning.setup import Setup, Units, Water
from wetside.domain.session import events as session
from wetside.domain.session.events import MishapHappened
from wetside.domain.session.state import replay
from wetside.domain.shelf import events as shelf
from wetside.domain.shelf.commands import TryLeader
from wetside.domain.shelf.debit import setup_after, suspicions
from wetside.domain.shelf.mixing import KitRequest, mixing_plan
from wetside.domain.shelf.setup_bottles import with_shelf
from wetside.present.message_words import COMMON, PLANNING, SESSION, in_words
from wetside.present.sentences import word_table

DOMAIN = Path(wetside.domain.__path__[0])
CORE = sorted(
    path for room in ("session", "shelf", "planning", "calc", "proof") for path in (DOMAIN / room).glob("*.py")
)
PROOF = dict(word_table("proof_findings"))
PROOF.pop("shipped id")  # said by the command that looks for it
TEXTS = {code: said for code, said in PLANNING.items() if ", " not in code}
ALERTS: Mapping[str, str] = word_table("alerts")
TABLES: dict[tuple[str, ...], Mapping[str, str]] = {
    ("session",): word_table("refusals")["session"] | SESSION,
    ("shelf",): word_table("refusals")["shelf"],
    ("planning", "calc"): {**word_table("refusals")["planning"], **TEXTS},
    ("proof",): PROOF,
}
"""The rooms of the core, and the table that words their codes."""


def calls(rooms: tuple[str, ...]) -> Iterator[tuple[set[str], ast.Call]]:
    """Each call in these rooms that makes a message: the codes it may have, and the call."""
    paths = [path for room in rooms for path in (DOMAIN / room).glob("*.py") if path.stem != "mixing"]
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                place = {"message": 0, "refused": 0, "typed_text": 1}.get(node.func.id)
                if place is not None:
                    named = [each.value for each in ast.walk(node.args[place]) if isinstance(each, ast.Constant)]
                    variants = [
                        each for key in node.keywords if key.arg == "variant" for each in strings(key.value)
                    ]
                    codes = [code for code in named if isinstance(code, str)]
                    keys = [f"{code}, {variant}" if variant else code for code in codes for variant in variants]
                    yield set(keys if variants else codes), node


def strings(of: ast.expr) -> list[str]:
    """Every text in an expression."""
    return [each.value for each in ast.walk(of) if isinstance(each, ast.Constant) and isinstance(each.value, str)]


@pytest.mark.parametrize("rooms", TABLES)
def test_each_code_has_words_and_is_used_somewhere(rooms: tuple[str, ...]) -> None:
    """A code may be chosen by an expression, whose other strings are no codes."""
    codes = TABLES[rooms].keys()
    assert all(named & codes for named, _ in calls(rooms) if named)
    assert set().union(*(named for named, _ in calls(rooms))) >= codes


@pytest.mark.parametrize("rooms", TABLES)
def test_the_words_of_a_code_use_just_the_values_that_come_with_it(rooms: tuple[str, ...]) -> None:
    templates = TABLES[rooms]
    checked = 0
    for named, call in calls(rooms):
        values = {keyword.arg for keyword in call.keywords} - {"variant"}
        for code in named & templates.keys():
            used = {name for _, name, _, _ in Formatter().parse(templates[code]) if name}
            assert used > values - {None} if None in values else used == values, code
            checked += 1
    assert checked > 10


def alert_calls() -> Iterator[tuple[set[str], set[str | None]]]:
    """Each call that makes an alert: the keys of its sentences, its values by name (None: there are more)."""
    for path in DOMAIN.parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "alert":
                codes, variants = [[*_texts(each)] for each in (*node.args, ast.Constant(""))][:2]
                named = {f"{code}, {variant}" if variant else code for code in codes for variant in variants}
                yield named & ALERTS.keys(), {each.arg for each in node.keywords}


def _texts(of: ast.expr) -> Iterator[str]:
    """The texts that an expression may come to; a variable may be any variant."""
    strings = [
        each.value for each in ast.walk(of) if isinstance(each, ast.Constant) and isinstance(each.value, str)
    ]
    return iter(strings or [key.partition(", ")[2] for key in ALERTS])


def test_each_alert_has_its_sentence_with_just_its_values_and_is_raised_somewhere() -> None:
    raised = set()
    for keys, values in alert_calls():
        assert keys
        raised |= keys
        for key in keys if None not in values else ():
            assert values == {name for _, name, _, _ in Formatter().parse(ALERTS[key]) if name}, key
    assert raised == ALERTS.keys()


def test_texts_of_earlier_versions_are_shown_as_they_were_written() -> None:
    for kept in (as_written("Kept {so}."), as_written("Kept {so}.", "too-little")):
        assert in_words(kept) == "Kept {so}."


def test_a_code_has_the_same_sentence_wherever_it_comes_from() -> None:
    tables = (COMMON, PLANNING, SESSION, *word_table("refusals").values(), ALERTS, word_table("mixing_words"))
    sentences: dict[str, str] = {}
    for code, sentence in chain.from_iterable(table.items() for table in tables):
        assert sentences.setdefault(code, sentence) == sentence, code


SENTENCE = re.compile(r"\w+ \w+.*[.?!:,;]( |$)")


def sentences(of: object, where: str = "") -> Iterator[tuple[str, str]]:
    """Each text in a value that reads like a sentence, with the name of its field."""
    if isinstance(of, dict):
        for name, value in of.items():
            yield from sentences(value, name)
    elif isinstance(of, tuple | list):
        for each in of:
            yield from sentences(each, where)
    elif isinstance(of, str) and SENTENCE.search(of):
        yield where, of


def worn(setup: Setup) -> Setup:
    """An evening of which everything can be said: old and worn bottles, dry air, a small and cool warm bath."""
    bottles = tuple(
        replace(each, used_rolls=7.0, mixed_on="2030-01-01", volume_ml=700.0, backed_rolls=1.0)
        for each in setup.bottles
    )
    water = replace(setup.water, hot_c=36.0, humidity=0.9)
    return replace(setup, bottles=bottles, water=water, agitated_by="rotation")


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("changed", [replace, worn])
def test_a_plan_keeps_no_sentence_but_those_of_its_profile_and_its_setup(name: str, changed: Any) -> None:
    setup = changed(shipped_setup(name))
    plan = plan_for(setup, today=date(2031, 3, 1))
    given = {text for _, text in sentences(to_builtins((shipped_profile(setup.profile), setup)))}
    kept = [(where, text) for where, text in sentences(to_builtins(plan)) if text not in given]
    assert plan.warnings or changed is replace
    assert not kept


def test_why_a_bottle_is_spent_or_suspect_is_stored_without_a_sentence() -> None:
    """By the shelf's event, and in the setup of tonight and of the next time."""
    plan = shipped_plan("three-rolls")
    bottles = tuple(replace(each, shelf_id=f"1-{each.solution}") for each in plan.setup.bottles)
    step = next(step.id for step in plan.steps if step.solution == "developer")
    mishap = MishapHappened(9.0, step, "thermometer", "bottle", "developer", ("developer",))
    on_shelf = session_began(replace(plan, setup=replace(plan.setup, bottles=bottles)))
    (suspected,) = suspicions(replay((on_shelf, mishap)))
    shelf = after(kit_shelf(), TryLeader(suspected.on, "1-developer", went_dark=False), suspected)
    tonight = with_shelf(replace(plan.setup, bottles=bottles[:1]), shelf).bottles[0]
    next_time = setup_after(replay((session_began(plan), mishap))).bottles[0]
    said = "The thermometer broke: In the bottle: Developer (step: Developer)."
    assert [in_words(each.suspect) for each in (tonight, next_time)] == [f"{suspected.on}: {said}", said]
    assert tonight.spent is not None
    assert not [*sentences(to_builtins((suspected, tonight, next_time)))]


@pytest.mark.parametrize("ml", [500.0, 1000.0])
@pytest.mark.parametrize("name", sorted(path.stem for path in PROFILES.glob("*.toml")))
def test_an_evening_that_mixes_a_kit_keeps_no_sentence_but_those_of_its_profile(name: str, ml: float) -> None:
    profile = shipped_profile(name)
    bottles = tuple((each.id, ml) for each in profile.solutions if each.storage != "tap")
    plan = mixing_plan(profile, KitRequest("Spring", bottles, "2031-03-01", taps=Water(hot_c=30.0)))
    given = {text for _, text in sentences(to_builtins(profile))}
    given |= {f"{hazard.code} {hazard.text}" for each in profile.solutions for hazard in each.hazards}
    given |= {each.mixing[0].rstrip(".") for each in profile.solutions if each.mixing}
    assert not [text for _, text in sentences(to_builtins(plan)) if text not in given]


def messages_in(of: Any) -> Iterator[Message]:
    """Every message in a value, those within messages too."""
    if isinstance(of, Message):
        yield of
    for each in of if isinstance(of, tuple) else asdict(of).values() if isinstance(of, Struct) else ():
        yield from messages_in(each)


def test_each_sentence_of_a_mixing_evening_is_used_and_each_message_has_one() -> None:
    keys = set()
    for path in PROFILES.glob("*.toml"):
        whole = shipped_profile(path.stem)
        silent = replace(whole, solutions=tuple(replace(each, mixing=()) for each in whole.solutions))
        for profile, ml, guessed in product((whole, silent), (500.0, 1000.0), (True, False)):
            bottles = tuple((each.id, ml) for each in profile.solutions if each.storage != "tap")
            plan = mixing_plan(profile, KitRequest("Spring", bottles, "2031-03-01", taps_guessed=guessed))
            for each in messages_in(plan):
                assert in_words(each)
                variant = dict(each.values).get("variant")
                keys.add(f"{each.code}, {variant}" if variant else each.code)
    assert keys == word_table("mixing_words").keys()


KEPT_TEXTS = {
    "ids and codes": "about bottle bottles back boot_id call case clears closes due_step fault format id joins"
    " mark marks of pour profile_id profile_sha256 residue rinses session shelf_id solution source step suspects"
    " terminal tick unseen version what",
    "names": "label name number once over profile_title roll_label series solution_title stage stages title titles"
    " without",
    "days and moments": "best_before mixed_on on shot_on tested wall",
    "typed by a person": "camera note profile reason shot_at stock text typed who",
    "of the profile": "avoid consequence disposal first_aid hazard hazards instruction looks_healthy looks_spent"
    " notes profile_text remember safe_way_out sources why words",
}
"""What a text in an event, or in a plan, may be, by the name of its field."""


def text_fields(kept: Any, seen: set[Any]) -> Iterator[str]:
    """The name of every field that may hold a text, in these structs and all within them."""
    if not (isinstance(kept, type) and issubclass(kept, Struct)):
        for each in get_args(kept):
            yield from text_fields(each, seen)
    elif kept not in seen and kept is not Message:
        seen.add(kept)
        for name, hint in get_type_hints(kept).items():
            if _holds_text(hint):
                yield name
            yield from text_fields(hint, seen)


def _holds_text(hint: Any) -> bool:
    return hint is str or (get_origin(hint) is not Literal and any(map(_holds_text, get_args(hint))))


def test_every_stored_text_field_is_listed_by_its_kind() -> None:
    """A new field that holds a text belongs to one of these; what the program says is a message."""
    known = [name for names in KEPT_TEXTS.values() for name in names.split()]
    assert len(known) == len(set(known))
    assert set(text_fields(session.Event | shelf.Event | RollsNumbered | DensitiesMeasured, set())) == set(known)


@pytest.mark.parametrize("path", CORE, ids=lambda path: path.stem)
def test_the_core_has_no_sentence(path: Path) -> None:
    tree = ast.parse(path.read_text())
    prose = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    strings = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    found = [n.value for n in strings if id(n) not in prose and re.search(r"\w+ \w+.*[.?!:]( |$)", str(n.value))]
    assert not found


def test_values_with_braces_are_left_unchanged_and_temperatures_are_in_the_persons_unit() -> None:
    assert in_words(message("line open", text="{Lid} on")) == "{Lid} on"
    asked = message("out of range", title="Fixer", read_c=36.0, wanted_c=(37.8, 39.0))
    assert in_words(asked) == "Fixer: 36.0 °C read, 37.8 to 39.0 °C wanted."
    assert in_words(asked, Units("°F")) == "Fixer: 96.8 °F read, 100.1 to 102.2 °F wanted."


def test_each_reason_why_a_journal_cannot_be_used_has_its_sentence_and_is_given() -> None:
    table = dict(word_table("journal_errors"))
    remedies = table.pop("remedies")
    codes = {code for code in table if not code.startswith("SQLITE_")}
    named: set[object] = set()
    checked = 0
    for path in (DOMAIN.parent / "storage").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Constant):
                named.add(node.value)
            match node:
                case ast.Call(func=ast.Name(id="unusable"), args=[_, ast.Constant(value=code)], keywords=given):
                    used = {name for _, name, _, _ in Formatter().parse(table[code]["why"]) if name}
                    assert used == {keyword.arg for keyword in given}, code
                    checked += 1
    assert checked > 15
    assert codes <= named
    assert {words["do"] for words in table.values()} >= remedies.keys()
