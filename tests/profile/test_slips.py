"""Typical slips of typing in a short profile: each is told with its line and what to write instead."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.checking import check_profile
from tests.shipped import profile_from_text

from wetside.errors import FileUnusable
from wetside.files.profile_file import read_profile

KIT = Path(__file__).parent / "kits" / "from-the-sheet.toml"
TEXT = KIT.read_text("utf-8")

SLIPS: list[tuple[str, str, str]] = [
    # the head of the file
    ("format = 1", "format = 2", "get a newer Wetside"),
    ("format = 1", 'format = "1"', "write format = 1"),
    ("format = 1", "fromat = 1", 'the nearest is "format"'),
    ('id = "from-the-sheet"', 'id = "From the sheet"', "is no id"),
    ('id = "from-the-sheet"', 'name = "from-the-sheet"', '"name" is no key here'),
    ('id = "from-the-sheet"', "id = from-the-sheet", "words go in quotes"),
    ('title = "A three-bath kit, from its sheet"', 'titel = "A kit"', 'the nearest is "title"'),
    ('title = "A three-bath kit, from its sheet"', f'title = "{"A" * 41}"', "at most 40 fit"),
    ('title = "A three-bath kit, from its sheet"', 'title = "A kit', "not closed"),
    ('based_on = "three-bath"', 'based_on = "three-baths"', 'the nearest is "three-bath"'),
    ('based_on = "three-bath"', 'based_on = "tree bath"', 'the nearest is "three-bath"'),
    ('based_on = "three-bath"', 'based_on = ["three-bath"]', "name one profile in quotes"),
    ('based_on = "three-bath"', 'based_on = ""', "name one profile in quotes"),
    ('based_on = "three-bath"', 'based_on = "./three-bath.toml"', "there is no profile"),
    ('based_on = "three-bath"', 'based-on = "three-bath"', 'the nearest is "based_on"'),
    ('based_on = "three-bath"', 'baesd_on = "three-bath"', 'the nearest is "based_on"'),
    ('with = ["prebath"]', 'with = "prebath"', "a list of parts in square brackets"),
    ('with = ["prebath"]', 'with = ["pre-bath"]', 'the nearest is "prebath"'),
    ('with = ["prebath"]', 'with = ["prebath", "prebath"]', "take it out here"),
    ('with = ["prebath"]', "with = [prebath]", "words go in quotes"),
    ('with = ["prebath"]', 'wiht = ["prebath"]', 'the nearest is "with"'),
    ('accepts = ["standard", "backed"]', 'accepts = ["standart", "backed"]', 'the nearest is "standard"'),
    ('accepts = ["standard", "backed"]', 'accepts = "standard"', "a list in square brackets"),
    ('accepts = ["standard", "backed"]', 'accepts = ["standard" "backed"]', "a comma is missing"),
    ('makes = "1 l"', 'makes = "1"', "write it like"),
    ('makes = "1 l"', "makes = 1", "in quotes"),
    ('makes = "1 l"', 'makes = "32 oz"', "US fl oz"),
    ('makes = "1 l"', 'make = "1 l"', 'the nearest is "makes"'),
    # solutions and their figures
    ("[solutions.developer]", "[solution.developer]", 'the nearest is "solutions"'),
    ("[solutions.developer]", "[solutions.developper]", 'the nearest is "developer"'),
    ("[solutions.developer]", "[solutions developer]", "square brackets"),
    ("[solutions.developer]", "[[solutions.developer]]", "table"),
    ("[solutions.final-rinse]", "[solutions.final_rinse]", 'the nearest is "final-rinse"'),
    ('target = "36 °C"', "target = 36", "in quotes, with its unit"),
    ('target = "36 °C"', 'target = "36"', "has no unit"),
    ('target = "36 °C"', 'target = "36 °"', "has no unit"),
    ('target = "36 °C"', 'target = "36 °Celsius"', "write it like"),
    ('target = "36 °C"', 'target = "360 °C"', "which no bath here can have"),
    ('target = "36 °C"', 'target = "3,6 °C °C"', "is not a temperature"),
    ('target = "36 °C"', 'target "36 °C"', 'there is no "="'),
    ('target = "36 °C"', 'traget = "36 °C"', 'the nearest is "target"'),
    ('target = "36 °C"', 'target = "63 °C"', "0 and 60"),
    ('range = "38 ± 0.3 °C"', 'range = "38 plus minus 0.3 °C"', "is no range"),
    ('range = "38 ± 0.3 °C"', 'range = "38.3 to 37.7 °C"', "the first temperature must be lower"),
    ('range = "38 ± 0.3 °C"', 'range = ["37.7 °C"]', "2 or more"),
    ('range = "38 ± 0.3 °C"', 'range = "38 ± 0.3"', "write it like"),
    ('range = "38 ± 0.3 °C"', 'range = "37.7 to 38.3"', "unit"),
    ('"38 °C 3:15"', '"38 °C 3.15"', "is not a length of time"),
    ('"38 °C 3:15"', '"38 °C 3:75"', "is not a length of time"),
    ('"38 °C 3:15"', '"38 °C, 3 m"', "minutes or months"),
    ('"38 °C 3:15"', '"38 3:15"', "has no unit"),
    ('"38 °C 3:15"', '"3:15 38 °C"', "write it like"),
    ('"38 °C 3:15"', '["38 °C"]', "two entries"),
    ('"38 °C 3:15"', '"36 °C 3:15"', "two rows are for 36 °C"),
    ('"38 °C 3:15"', '"38 °C 5:15"', "a warmer bath must take less time"),
    ('table = ["39 °C 3:00", "38 °C 3:15", "36 °C 4:00"]', 'table = "38 °C 3:15"', "a list in square brackets"),
    ('table = ["39 °C 3:00", "38 °C 3:15", "36 °C 4:00"]', "table = []", "1 or more"),
    ('"2 stops x 1.5"', '"2 stops 1.5"', "write it like 1 stop x 1.25"),
    ('"2 stops x 1.5"', '"two stops x 1.5"', "write it like 1 stop x 1.25"),
    ('"2 stops x 1.5"', '"2 stops x 15"', "it must be 5 or less"),
    ('"2 stops x 1.5"', '"2 stops x 1,5,0"', "is no factor"),
    ('"2 stops x 1.5"', '"12 stops x 1.5"', "it must be 5"),
    ('"2 stops x 1.5"', '"1 stop x 1.5"', "two rows are for 1 stops"),
    ('"2 stops x 1.5"', '"2 stops x 1.2"', "is less than 1.25 at 1"),
    ('use = "+10 % after 8 rolls"', 'use = "+10 after 8 rolls"', "is no factor"),
    ('use = "+10 % after 8 rolls"', 'use = "+10 % afer 8 rolls"', "write it like"),
    ('use = "+10 % after 8 rolls"', 'use = "+10 % after eight rolls"', "write it like"),
    ('use = "+10 % after 8 rolls"', 'use = "10 %"', "write it like"),
    ('capacity = "12 rolls"', "capacity = 12", "in quotes"),
    ('capacity = "12 rolls"', 'capacity = "12"', "write it like 8 rolls per litre"),
    ('capacity = "12 rolls"', 'capacity = "12 rolls per bottle"', "is not a volume"),
    ('capacity = "12 rolls"', 'capactiy = "12 rolls"', 'the nearest is "capacity"'),
    ('capacity = "24 rolls per 2 litres"', 'capacity = "24 rolls per 2 quarts"', "US"),
    ('life_full = "8 weeks"', 'life_full = "8"', "is not a length of time"),
    ('life_full = "8 weeks"', 'life_full = "8 wekks"', "is not a length of time"),
    ('life_full = "8 weeks"', 'life-full = "8 weeks"', 'the nearest is "life_full"'),
    ('life_full = "8 weeks"', 'life_full = "80 years"', "20 years"),
    ('time = "5:00"', "time = 5:00", "words and what has a unit go in quotes"),
    ('time = "5:00"', 'time = "5"', "is not a length of time"),
    # steps
    ('id = "bleach-wash"', 'id = "bleach-whas"', "after"),
    ('id = "bleach-wash"', 'id = "rinse"\nafter = "blech"', 'the nearest is "bleach"'),
    ('id = "bleach-wash"', 'id = "rinse"\nafter = "bleach"\nbefore = "fixer"', "not both"),
    ('[[steps]]\nid = "bleach-wash"', '[steps]\nid = "bleach-wash"', "stands there already"),
    ('leave_out = ["ticks.no-backing"]', 'leave_out = ["ticks.nobacking"]', 'the nearest is "ticks.no-backing"'),
    ('leave_out = ["ticks.no-backing"]', 'leave_out = ["no-backing"]', "to leave out"),
    ('leave_out = ["ticks.no-backing"]', 'leave_out = "ticks.no-backing"', "a list of names"),
    ('leave_out = ["ticks.no-backing"]', 'leaveout = ["ticks.no-backing"]', 'the nearest is "leave_out"'),
    ('agitation = "30 s, then 10 s every 30 s"', 'agitation = "every 30 s"', "write it like"),
    (
        'agitation = "30 s, then 10 s every 30 s"',
        'agitation = "30 s, then 10 s every 30"',
        "is not a length of time",
    ),
    ('time = "4:00"', 'time = "-4:00"', "is not a length of time"),
]
"""What stands in the file, what is typed instead, and a part of what is answered."""


def test_there_are_eighty_typing_errors() -> None:
    assert len(SLIPS) >= 80
    assert len({(old, new) for old, new, _ in SLIPS}) == len(SLIPS)
    assert check_profile(read_profile(KIT)) == ()


@pytest.mark.parametrize(("old", "new", "answer"), SLIPS, ids=[new for _, new, _ in SLIPS])
def test_a_typing_error_is_reported_with_its_line_and_a_remedy(old: str, new: str, answer: str) -> None:
    assert TEXT.count(old) >= 1
    first = TEXT[: TEXT.index(old)].count("\n") + 1
    lines = range(first, first + new.count("\n") + 1)
    with pytest.raises(FileUnusable) as caught:
        profile_from_text(TEXT.replace(old, new, 1), "mine.toml")
    told = [finding for finding in caught.value.sentences if answer in finding]
    assert told, caught.value.sentences
    assert any(told[0].startswith(f"mine.toml, line {line},") for line in lines) or told[0].startswith(
        tuple(f"mine.toml, line {line}:" for line in lines)
    ), told
    assert len(caught.value.sentences) <= 3, caught.value.findings
