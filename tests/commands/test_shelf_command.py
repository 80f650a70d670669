"""`wetside shelf`: what is recorded, what is shown, and one sentence for each error."""

from __future__ import annotations

import argparse
import io
import json
import re
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from tests.manual_clock import ManualClock

from wetside.commands import arguments, shelf
from wetside.errors import FileUnusable, Refused, UsageError
from wetside.files.settings import Places


@dataclass
class Person:
    """Somebody at the command line on an invented day."""

    places: Places
    answers: list[str] = field(default_factory=list)
    clock: ManualClock = field(default_factory=lambda: ManualClock(datetime(2031, 2, 1, 12, 0, tzinfo=UTC)))

    def run(self, *words: str, ask: Callable[[str], str] | None = None) -> str:
        parser = argparse.ArgumentParser(prog="wetside shelf")
        arguments.add_shelf(parser)
        with redirect_stdout(io.StringIO()) as out:
            assert shelf.run(parser.parse_args(words), self.places, clock=self.clock, ask=ask) == 0
        return out.getvalue()

    def json(self, *words: str) -> list[dict[str, Any]]:
        bottles: list[dict[str, Any]] = json.loads(self.run(*words, "--json"))["bottles"]
        return bottles


@pytest.fixture
def person(tmp_path: Path) -> Person:
    return Person(Places(tmp_path / "data", tmp_path / "settings" / "settings.toml"))


def mix(person: Person, *more: str) -> str:
    return person.run("mix", "two-bath", "--name", "Spring kit", "--price", "36", "--on", "2031-01-10", *more)


def test_an_empty_shelf_makes_no_journal(person: Person) -> None:
    assert "The shelf is empty" in person.run()
    assert person.json("list") == []
    assert not person.places.data.exists()


def test_a_kit_is_recorded_and_listed(person: Person) -> None:
    said = mix(person)
    kit, again, *lines = said.splitlines()
    assert kit == "Spring kit (Two-bath colour negative), mixed on 2031-01-10, 36.00 for the set"
    assert re.fullmatch(r"  Developer good to 2031-02-21: order again (by 2031-02-07|now)\.", again)
    assert [line.split()[0] for line in lines] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    assert all("  1 l  to 2031-" in line for line in lines)
    assert said.count("36") == 1
    assert person.run() == said
    developer = person.json()[0]
    assert (developer["id"], developer["mixed_on"], developer["kit_price"]) == ("1-developer", "2031-01-10", 36.0)
    assert (developer["left_rolls"], developer["cost_at_capacity"]) == (8.0, 4.5)
    assert [bottle["id"] for bottle in person.json("mix", "two-bath", "--name", "One", "--only", "developer")] == [
        "2-developer"
    ]


def test_a_kit_in_use_is_recorded_with_its_rolls(person: Person) -> None:
    mix(person, "--used", "3.5")
    developer = person.json()[0]
    assert (developer["rolls"], developer["used_before"], developer["left_rolls"]) == (3.5, 3.5, 4.5)
    assert (developer["sessions"], developer["cost_so_far"]) == ([], pytest.approx(36.0 / 3.5))
    assert "3.5 rolls (of 135-36) have gone through it (3.5 before" in person.run("show", "1-developer")


def test_the_price_at_a_bottle_is_named_as_that_of_its_kit(person: Person) -> None:
    bottles = person.json("mix", "two-bath", "--name", "One", "--price", "36")
    assert len(bottles) > 1
    assert {(bottle["kit_price"], "price" in bottle) for bottle in bottles} == {(36.0, False)}


def test_a_price_is_read_as_people_write_it(person: Person) -> None:
    assert person.json("mix", "two-bath", "--name", "One", "--price", "12,50")[0]["kit_price"] == 12.5


def test_a_kit_recorded_by_mistake_is_removed_whole(person: Person, capsys: pytest.CaptureFixture[str]) -> None:
    mix(person)
    person.run("mix", "two-bath", "--name", "Slip")
    left = person.run("take-back", "2-bleach-fix", "--reason", "typed twice")
    assert [line.split()[0] for line in left.splitlines()[2:]] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    assert "Bleach-fix, Slip" in capsys.readouterr().err
    assert [each["id"] for each in person.json("list", "--all")] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    assert person.json("mix", "two-bath", "--name", "Slip", "--only", "developer")[0]["id"] == "3-developer"


def test_labels_are_ascii_and_at_most_36_characters_wide(person: Person) -> None:
    mix(person, "--used", "3")
    said = person.run("label")
    assert said.isascii()
    assert max(map(len, said.splitlines())) <= 36
    developer, fix, last = (label.splitlines() for label in said.split("\n\n"))
    assert developer[:5] == [
        "DEVELOPER",
        "Spring kit",
        "Mixed 2031-01-10",
        "Best before 2031-02-21",
        "Rolls of 135-36 so far: 3",
    ]
    assert "WARNING" in developer
    assert "can make the skin allergic" in " ".join(developer)
    assert (fix[-1], last[-1]) == ("No. 1-bleach-fix", "No. 1-stabiliser")
    assert person.run("label", "1-developer") == "\n".join(developer) + "\n"


def test_a_kit_is_shown_by_its_name(person: Person) -> None:
    said = mix(person)
    assert "1-developer   Developer, Spring kit" in said
    assert "kit 1" not in said
    assert "Developer of Spring kit (Two-bath colour negative), 1 l" in person.run("show", "1-developer")


def test_volumes_without_a_unit_are_in_the_persons_unit(person: Person) -> None:
    person.places.settings.parent.mkdir()
    person.places.settings.write_text('volume_unit = "US fl oz"\n')
    person.places.settings.chmod(0o600)
    mix(person)
    person.run("level", "1-developer", "20", "--part-full")
    assert person.json("show", "1-developer")[0]["volume_ml"] == pytest.approx(591.47, abs=0.01)


def test_tests_top_ups_and_notes_are_recorded(person: Person) -> None:
    mix(person)
    assert "went dark" in person.json("test", "1-developer", "--dark")[0]["tests"][0]
    assert "! The leader stayed pale" in person.run("test", "1-developer", "--pale")
    assert person.json("test", "1-bleach-fix", "--seconds", "150", "--fresh", "60")[0]["status"] == "spent"
    assert "! The blackened leader stayed dark" in person.run("test", "1-bleach-fix", "--not-bleached")
    assert "blackened leader cleared" in " ".join(person.json("test", "1-bleach-fix", "--bleached")[0]["tests"])
    with pytest.raises(Refused, match="is not suspect"):
        person.run("trust", "1-developer", "--reason", "it looks as ever")
    assert person.json("top-up", "1-developer", "100 ml")[0]["volume_ml"] == 1100.0
    assert person.json("level", "1-developer", "0")[0]["status"] == "empty"
    assert [bottle["id"] for bottle in person.json("squeeze", "1-stabiliser")] == ["1-stabiliser"]
    person.run("note", "1-developer", "cap was loose")
    assert "cap was loose" in person.run("show", "1-developer")


def test_the_mixing_instructions_are_shown_without_recording_anything(person: Person) -> None:
    said = person.run("guide", "two-bath", "--volume", "500 ml", "--only", "developer")
    assert "400 ml for 500 ml" in said
    assert "Bleach-fix" not in said
    assert not person.places.data.exists()


def test_the_caution_comes_before_the_discard(person: Person, capsys: pytest.CaptureFixture[str]) -> None:
    mix(person)
    with pytest.raises(UsageError, match="add --yes"):
        person.run("discard", "1-developer", "--reason", "spent")
    assert "CAUTION: Take spent developer" in capsys.readouterr().err
    with pytest.raises(UsageError, match="Nothing was discarded"):
        person.run("discard", "1-developer", "--reason", "spent", ask=lambda words: "y\n")
    assert len(person.json()) == 3
    person.run("discard", "1-developer", "--reason", "spent", ask=lambda words: "yes\n")
    person.run("discard", "1-bleach-fix", "--reason", "spent", "--yes")
    assert capsys.readouterr().err.count("CAUTION") == 3
    assert [bottle["id"] for bottle in person.json()] == ["1-stabiliser"]
    assert len(person.json("list", "--all")) == 3


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("show", "1-develper"), "the nearest is 1-developer"),
        (("show", "\x1b[2J"), 'There is no bottle "?[2J"'),
        (("squeeze", "9-nothing"), "on the shelf"),
        (("top-up", "1-developer", "much"), "much"),
        (("top-up", "1-developer", "-1 l"), "-1 l"),
        (("test", "1-developer", "--seconds", "60"), "does not clear"),
        (("test", "1-developer", "--dark", "--on", "yesterday"), "is no day"),
        (("mix", "two-bath", "--name", "x", "--on", "2031-02-02"), "in the future"),
        (("mix", "two-bath", "--name", "x", "--price", "nan"), "is no number"),
        (("mix", "two-bath", "--name", "x", "--price", "-1"), "price of the set"),
        (("take-back", "1-developer", "--reason", " "), "Say why"),
        (("label", "1-develper"), "the nearest is 1-developer"),
        (("mix", "two-bath", "--name", "x", "--only", "wine"), 'keeps no "wine"'),
        (("mix", "two-bth", "--name", "x"), "two-bath"),
        (("mix", "two-bath", "--name", "x", "--volume", "26 l"), "at most 25 l"),
        (("mix", "two-bath", "--name", "x", "--used", "-1"), "from 0 to 1000"),
        (("mix", "two-bath", "--name", "x", "--only", "bleach"), "the nearest is bleach-fix"),
        (("guide", "two-bath", "--only", "wine"), "it has developer, bleach-fix, stabiliser."),
        (("guide", "two-bath", "--only", "develop"), "; the nearest is developer."),
        (("guide", "two-bath", "--volume", "26 l"), "at most 25 l"),
    ],
)
def test_a_wrong_request_gives_one_sentence(person: Person, words: tuple[str, ...], says: str) -> None:
    mix(person)
    before = person.run("list", "--all", "--json")
    with pytest.raises((Refused, FileUnusable)) as wrong:
        # "--" only where a volume begins with a minus
        person.run(*(("top-up", "1-developer", "--", "-1 l") if "-1 l" in words else words))
    assert says in str(wrong.value)
    assert "\n" not in str(wrong.value)
    assert str(wrong.value).isprintable()
    assert person.run("list", "--all", "--json") == before
