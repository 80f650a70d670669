"""Reading a profile: what comes out of a sound one, and the exact sentences for everything that can be wrong."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest
from tests.shipped import profile_from_text

from wetside.domain.profile.model import Agitation, Gear, Kind, Profile, ReadingAsk, Sure, Tick
from wetside.errors import FileUnusable
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import shipped_dir
from wetside.files.toml_file import LARGEST_BYTES
from wetside.files.units import temperature_c

SMALL = """\
format = 1
id = "small"
title = "A small process"
accepts = ["standard"]

[sources.practice]
title = "Common practice"
sure = "common practice"

[[stages]]
id = "baths"
title = "Baths"

[solutions.developer]
title = "Developer"
storage = "bottle"
ends = "on time"
source = "practice"
target = "102 °F"
range = ["100 °F", "103 °F"]
table = [["95 °F", "5:45"], ["102 °F", "3:30"]]
use = { kind = "linear", per_roll = "2 %" }
push = [[0, 1.0], [1, 1.3]]
capacity = "8 rolls per litre"
life_full = "6 weeks"

[vessels.tank]
title = "Tank"
kind = "tank"

[[gear]]
text = "Thermometer within reach"
killer = true

[[gear]]
id = "bag"
text = "Changing bag"
when = "changing bag"

[[steps]]
id = "gear"
title = "Gear"
stage = "baths"
kind = "check"
scope = "session"
instruction = "Lay it out."
safe_way_out = "Stop here."
list_gear = true
ticks = [{ text = "Bench dry" }, { text = "Bench dry!" }]

[[steps]]
id = "develop"
title = "Developer"
stage = "baths"
kind = "bath"
scope = "batch"
instruction = "Pour it in."
safe_way_out = "Pour it back."
source = "practice"
solution = "developer"
into = "tank"
lead_in = "0 s"
agitation = { first = "30 s", every = "1 min", for = "10 s", words = "Turn it over." }
readings = [{ of = "developer", title = "Tank", range = ["100 °F", "103 °F"], required = false, when = "backed" }]
ticks = [{ id = "lid", text = "Tank lid on and locked", due = "start", killer = true, lid = "on" }]
"""


def findings(text: str, name: str = "my.toml") -> tuple[str, ...]:
    with pytest.raises(FileUnusable) as caught:
        profile_from_text(text, name)
    assert str(caught.value) == "\n".join(caught.value.sentences)
    return caught.value.sentences


def changed(old: str, new: str) -> str:
    assert SMALL.count(old) >= 1
    return SMALL.replace(old, new, 1)


def small() -> Profile:
    return profile_from_text(SMALL, "my.toml")


def test_a_sound_profile_is_read_in_base_units() -> None:
    developer = small().solution("developer")
    assert developer.target_c == pytest.approx(38.8889, abs=1e-4)
    assert developer.table == ((35.0, 345.0), (temperature_c("102 °F"), 210.0))
    assert developer.use.per_roll == pytest.approx(0.02)
    assert developer.push == ((0.0, 1.0), (1.0, 1.3))
    assert developer.capacity_per_l == 8.0
    assert developer.life_full_days == 42.0
    step = small().step("develop")
    assert step.kind is Kind.BATH
    assert step.agitation == Agitation(30.0, 60.0, 10.0, "Turn it over.")
    assert step.lead_in_s == 0.0
    warm = (temperature_c("100 °F"), temperature_c("103 °F"))
    assert step.readings == (ReadingAsk("developer", "Tank", warm, False, ("backed",)),)
    assert small().sources[0].sure is Sure.PRACTICE


def test_the_text_and_its_digest_are_kept() -> None:
    assert small().text == SMALL
    assert small().sha256 == hashlib.sha256(SMALL.encode()).hexdigest()


def test_gear_becomes_ticks_and_ids_are_made_from_the_words() -> None:
    assert small().gear[0] == Gear("thermometer-within-reach", "Thermometer within reach", True)
    assert small().step("gear").ticks == (
        Tick("thermometer-within-reach", "Thermometer within reach", killer=True),
        Tick("bag", "Changing bag", when=("changing bag",)),
        Tick("bench-dry", "Bench dry"),
        Tick("bench-dry-2", "Bench dry!"),
    )


def test_a_step_may_list_only_some_of_the_gear() -> None:
    profile = profile_from_text(changed("list_gear = true", 'list_gear = ["bag"]'), "my.toml")
    assert [tick.id for tick in profile.step("gear").ticks] == ["bag", "bench-dry", "bench-dry-2"]


@pytest.mark.parametrize(
    ("text", "id_"),
    [
        ("Tank lid on and locked", "tank-lid-on-and-locked"),
        ("…", "tick"),
        ("A" * 60, "a" * 40),
        ("38 °C!", "38-c"),
    ],
)
def test_ids_are_made_from_words(text: str, id_: str) -> None:
    assert slug(text) == id_


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        (
            'title = "A small process"',
            'tittle = "A small process"',
            'my.toml, line 3, tittle: "tittle" is no key here; the nearest is "title".',
        ),
        (
            'accepts = ["standard"]',
            'accepts = ["standart"]',
            'my.toml, line 4, accepts 1: "standart" is not "standard", "backed" or "slide"; '
            'the nearest is "standard".',
        ),
        (
            'target = "102 °F"',
            'target = "102"',
            'my.toml, line 19, solutions.developer.target: "102" has no unit: '
            "write it like 102 F, 38.9 C or 311 K.",
        ),
        (
            'target = "102 °F"',
            "target = 102",
            "my.toml, line 19, solutions.developer.target: write it in quotes, with its unit.",
        ),
        (
            'target = "102 °F"',
            'target = "102 °C"',
            'my.toml, line 19, solutions.developer.target: "102 °C" makes no sense here: '
            "baths are between 0 and 60 °C.",
        ),
        (
            'range = ["100 °F", "103 °F"]\ntable',
            'range = ["103 °F", "100 °F"]\ntable',
            "my.toml, line 20, solutions.developer.range: the first temperature must be lower than the second.",
        ),
        (
            'range = ["100 °F", "103 °F"]\ntable',
            'range = ["100 °F"]\ntable',
            "my.toml, line 20, solutions.developer.range: it needs 2 or more entries.",
        ),
        (
            '["95 °F", "5:45"]',
            '["95 °F", "3:15"]',
            "my.toml, line 21, solutions.developer.table: "
            "35.0 °C takes 3:15, 38.9 °C 3:30: a warmer bath must take less time.",
        ),
        (
            '["95 °F", "5:45"]',
            '["102 °F", "5:45"]',
            "my.toml, line 21, solutions.developer.table: two rows are for 38.8889 °C: take one of them out.",
        ),
        (
            '["95 °F", "5:45"]',
            '["95 °F", "8 days"]',
            'my.toml, line 21, solutions.developer.table 1, 2: "8 days" makes no sense here: '
            "a time is more than 0 and at most 7 days.",
        ),
        (
            '["95 °F", "5:45"]',
            '["95 °F"]',
            "my.toml, line 21, solutions.developer.table 1: a row has two entries, in square brackets.",
        ),
        (
            "[1, 1.3]",
            "[1, 0.9]",
            "my.toml, line 23, solutions.developer.push: the factor 0.9 at 1 is less than 1 at 0 stops.",
        ),
        (
            "[1, 1.3]",
            "[1, 1.0]",
            "my.toml, line 23, solutions.developer.push: the factor 1 at 1 stops is that at 0: it must rise.",
        ),
        (
            "[1, 1.3]",
            "[-1, 1.2]",
            "my.toml, line 23, solutions.developer.push: the factor 1 at 0 is less than 1.2 at -1 stops.",
        ),
        (
            "[0, 1.0]",
            "[0, 1.1]",
            "my.toml, line 23, solutions.developer.push: 0 stops have the factor 1: take that row out.",
        ),
        (
            'kind = "linear", per_roll = "2 %"',
            'kind = "linear", rows = [["4 rolls per litre", 1.1]]',
            "my.toml, line 22, solutions.developer.use: "
            'rows of rolls and factors belong to the kind "steps", which needs them.',
        ),
        (
            'kind = "linear"',
            'kind = "none"',
            "my.toml, line 22, solutions.developer.use: "
            'a share for each roll does not go with the kind "none": leave it out.',
        ),
        (
            'kind = "linear", per_roll = "2 %"',
            'kind = "steps", rows = [["4 rolls per litre", 0.9]]',
            "my.toml, line 22, solutions.developer.use: a used bath takes no less time: factors are 1 or more.",
        ),
        (
            'title = "Developer"',
            'title = "bath"\ntempered = true',
            "my.toml, line 14, solutions.developer: there is more than one solution in the warm bath called"
            ' "bath".',
        ),
        (
            '"8 rolls per litre"',
            '"8 rolls"',
            'my.toml, line 24, solutions.developer.capacity: "8 rolls" is not understood: '
            "write it like 8 rolls per litre, 16 rolls of 120 per 2 l or 640 in² per litre.",
        ),
        (
            'per_roll = "2 %"',
            "per_roll = 0.02",
            "my.toml, line 22, solutions.developer.use.per_roll: write it in quotes, with its unit.",
        ),
        (
            'kind = "tank"',
            'kind = "bucket"',
            'my.toml, line 29, vessels.tank.kind: "bucket" is not "tank", "funnel", "graduate" or "basin".',
        ),
        (
            "killer = true\n",
            'killer = "yes"\n',
            "my.toml, line 33, gear 1, killer: it must be true or false, without quotes.",
        ),
        (
            'when = "changing bag"',
            'when = "changing bags"',
            'my.toml, line 38, gear 2, when: "changing bags" is no condition; the nearest is "changing bag".',
        ),
        (
            'when = "backed"',
            'when = "not baked"',
            'my.toml, line 64, steps 2, readings 1, when: "not baked" is no condition; the nearest is "backed".',
        ),
        (
            'when = "backed"',
            "wen = []",
            'my.toml, line 64, steps 2, readings 1, wen: "wen" is no key here; the nearest is "when".',
        ),
        (
            'instruction = "Lay it out."\n',
            "",
            'my.toml, line 40, steps 1: the key "instruction" is missing.',
        ),
        (
            'text = "Bench dry"',
            f'text = "{"x" * 61}"',
            "my.toml, line 49, steps 1, ticks 1, text: it has 61 characters; at most 60 fit.",
        ),
        (
            'text = "Bench dry"',
            'text = ""',
            "my.toml, line 49, steps 1, ticks 1, text: it is empty.",
        ),
        (
            "list_gear = true",
            'list_gear = ["bags"]',
            'my.toml, line 48, steps 1, list_gear 1: there is no gear item "bags"; the nearest is "bag".',
        ),
        (
            'id = "develop"\n',
            'id = "Step two"\n',
            'my.toml, line 52, steps 2, id: "Step two" is no id: at most 40 of a to z, 0 to 9 and single hyphens.',
        ),
        (
            'id = "develop"\n',
            'id = "gear"\n',
            'my.toml, line 52, steps 2, id: there is more than one step "gear".',
        ),
        (
            'stage = "baths"\nkind = "bath"',
            'stage = "bath"\nkind = "bath"',
            'my.toml, line 54, steps 2, stage: there is no stage "bath"; the nearest is "baths".',
        ),
        (
            'solution = "developer"',
            'solution = "develloper"',
            'my.toml, line 60, steps 2, solution: there is no solution "develloper"; the nearest is "developer".',
        ),
        (
            'into = "tank"',
            'into = "tnk"',
            'my.toml, line 61, steps 2, into: there is no vessel "tnk"; the nearest is "tank".',
        ),
        (
            'for = "10 s"',
            'fro = "10 s"',
            'my.toml, line 63, steps 2, agitation: the key "for" is missing.',
        ),
        (
            'of = "developer"',
            'of = "devloper"',
            'my.toml, line 64, steps 2, readings 1, of: there is no solution "devloper"; '
            'the nearest is "developer".',
        ),
        (
            'due = "start"',
            'due = "gaer"',
            'my.toml, line 65, steps 2, ticks 1, due: there is no step "gaer"; the nearest is "gear".',
        ),
        (
            'source = "practice"\nsolution',
            "solution",
            "my.toml, line 51, steps 2: it holds figures, so it needs a source.",
        ),
        (
            'source = "practice"\ntarget',
            'source = "practise"\ntarget',
            'my.toml, line 18, solutions.developer.source: there is no source "practise"; '
            'the nearest is "practice".',
        ),
        (
            'sure = "common practice"',
            'sure = "certain"',
            'my.toml, line 8, sources.practice.sure: "certain" is not "read in print", "seen second-hand", '
            '"from memory", "common practice", "kit sheet" or "own measurement".',
        ),
        (
            "[vessels.tank]",
            "[vessels.developer]",
            "my.toml, line 27, vessels.developer: a vessel and a solution cannot share an id.",
        ),
        ("format = 1", 'format = "1"', "my.toml, line 1, format: write format = 1 at the top."),
        ("format = 1", "", "my.toml, line 1, write format = 1 at the top."),
    ],
)
def test_each_fault_has_its_sentence(old: str, new: str, finding: str) -> None:
    assert finding in findings(changed(old, new))


def test_all_findings_come_at_once_and_in_the_order_of_the_file() -> None:
    text = changed('title = "A small process"', 'tittle = "A"')
    text = text.replace('target = "102 °F"', 'target = "hot"').replace('into = "tank"', 'into = "tnk"')
    assert findings(text) == (
        'my.toml, line 1, the key "title" is missing.',
        'my.toml, line 3, tittle: "tittle" is no key here; the nearest is "title".',
        'my.toml, line 19, solutions.developer.target: "hot" is not a temperature: '
        "write it like 102 F, 38.9 C or 311 K.",
        'my.toml, line 61, steps 2, into: there is no vessel "tnk"; the nearest is "tank".',
    )


@pytest.mark.parametrize(
    ("right", "wrong", "first", "words"),
    [
        (
            "[solutions.developer",
            "[solutions.developr",
            'solution = "developer"',
            'solutions.developr: is this the solution "developer"?',
        ),
        ('id = "baths"', 'id = "bathz"', 'stage = "baths"', 'stages 5, id: is this the stage "baths"?'),
    ],
)
def test_a_misspelt_id_is_reported_once_where_it_is_defined(
    right: str, wrong: str, first: str, words: str
) -> None:
    text = read_profile(shipped_dir() / "two-bath.toml").text
    assert right in text
    at, named = (text[: text.index(each)].count("\n") + 1 for each in (right, first))
    (said,) = findings(text.replace(right, wrong))
    assert said.startswith(f"my.toml, line {at}, {words} Line {named} and ")
    assert said.endswith(" more places name it, and nothing is called so.")


def test_an_id_misspelt_in_two_places_is_reported_at_both() -> None:
    text = read_profile(shipped_dir() / "two-bath.toml").text
    said = findings(text.replace('into = "tank"', 'into = "tnk"', 2))
    assert [finding.rpartition(": ")[2] for finding in said] == [
        'there is no vessel "tnk"; the nearest is "tank".'
    ] * 2


def test_a_caution_must_fit_its_space_on_the_screen() -> None:
    text = (
        SMALL
        + '\n[cautions.hot]\nsignal = "WARNING"\n'
        + "".join(f'{key} = "{"x" * 60}"\n' for key in ("hazard", "consequence", "avoid"))
    )
    assert findings(text) == (
        "my.toml, line 67, cautions.hot: hazard, consequence and avoid have 180 characters in all; "
        "at most 150 fit.",
    )


def test_a_newer_format_is_refused_in_words_and_nothing_else_is_said() -> None:
    assert findings("format = 2\nwhatever = 1") == (
        "my.toml, line 1, format: it is written in a newer format than this Wetside reads (1); "
        "get a newer Wetside, or a file in the older format.",
    )


NO_VALUE = 'after "=" there is no value that can be read; words go in quotes, like "1 l".'
LEFT_OVER = 'something is left over after the value; words and what has a unit go in quotes, like "1 l".'
A_LINE = 'a line reads like volume = "1 l".'
ONE_OUT = "take one of the two out."


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ('format = 1\nid = "a\n', "line 2: this is not TOML: a text in quotes is not closed on its line."),
        ("format = 1\nid = \n", f"line 2: this is not TOML: {NO_VALUE}"),
        ("format = 1\nid\n", f'line 2: this is not TOML: there is no "=" after the first word; {A_LINE}'),
        ("format = 1\n= 2\n", f"line 2: this is not TOML: the line begins with what is no name; {A_LINE}"),
        ("format = 1\nformat = 1\n", f"line 2: this is not TOML: it is written a second time; {ONE_OUT}"),
        ("format = 1\n[a]\n[a]\n", f"line 3: this is not TOML: this table stands there already; {ONE_OUT}"),
        ("format = 1\nid = [1,\n\n", f"line 2: this is not TOML: {NO_VALUE}"),
        ("format = 1\nid = Harbour\n", f"line 2: this is not TOML: {NO_VALUE}"),
        ("format = 1\nlife = 1 bottle\n", f"line 2: this is not TOML: {LEFT_OVER}"),
        ("format = 1\nlife = 20 °C\n", f"line 2: this is not TOML: {LEFT_OVER}"),
        (
            "format = 1\n[tank\n",
            "line 2: this is not TOML: the square brackets around a table's name are not closed.",
        ),
        (
            "id = [1 2]\n",
            "line 1: this is not TOML: a list in square brackets is not closed, or a comma is missing in it.",
        ),
        (
            "use = { a = 1\nb = 2 }\n",
            "line 1: this is not TOML: a table in curly brackets is not closed on its line, "
            "or a comma is missing in it.",
        ),
        (
            'id = "a\\q"\n',
            'line 1: this is not TOML: a text in "..." has a stroke \\ in it; write two of them, '
            "or the text in single quotes.",
        ),
    ],
)
def test_a_toml_syntax_error_names_its_line(text: str, finding: str) -> None:
    assert findings(text) == (f"my.toml, {finding}",)


@pytest.mark.parametrize("letter", ["\\u202e", "\\u001b", "\\u200b", "\\u0007", "\\n", "\\u2028"])
def test_escaped_control_characters_are_refused(letter: str) -> None:
    (finding,) = findings(changed("A small process", f"A small{letter} process"))
    assert finding.startswith("my.toml, line 3, title: it holds the character U+")


@pytest.mark.parametrize("letter", ["\u202e", "\u2066", "\u200b", "\x85"])
def test_control_characters_are_refused_even_in_a_comment(letter: str) -> None:
    assert findings(f"# a comment{letter}\n" + SMALL) == (
        f"my.toml, line 1: it holds the character U+{ord(letter):04X}, which cannot be shown; take it out.",
    )


def test_markup_is_shown_as_text() -> None:
    title = "[red]A[/red] [@click=app.quit]b[/]"
    assert profile_from_text(changed("A small process", title), "my.toml").title == title


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("a = " + "[" * 1900 + "]" * 1900, "my.toml is nested too deeply: at most 20 levels are read."),
        ("a = " + "[" * 30 + "]" * 30, "my.toml is nested too deeply: at most 20 levels are read."),
        ("a" + ".a" * 30 + " = 1", "my.toml, line 1: a key has more than 20 parts."),
        ("a = '" + "x" * 5000 + "'", "my.toml, line 1: the line has 5006 characters; at most 4000 are read."),
        ("# x\n" * (LARGEST_BYTES // 4 + 1), "my.toml is larger than 256 kB, too large for a file of this kind."),
        ("a = \ud800", "my.toml, line 1: it holds the character U+D800, which cannot be shown; take it out."),
    ],
)
def test_hostile_texts_give_one_sentence(text: str, finding: str) -> None:
    assert findings(text) == (finding,)


@pytest.mark.parametrize(
    ("digits", "times", "what"),
    [
        ("1e999", 1, "it must be a number that can be written out"),
        ("inf", 1, "it must be a number that can be written out"),
        ("nan", 1, "it must be a number that can be written out"),
        ("-1", 1, "it must be 0.2 or more"),
        ("6", 1, "it must be 5 or less"),
        ("9", 3000, "the number is too large"),
        ("0xff" + "f", 1, "it must be 5 or less"),
    ],
)
def test_huge_and_impossible_numbers_are_findings(digits: str, times: int, what: str) -> None:
    assert findings(changed("[1, 1.3]", f"[1, {digits * times}]")) == (
        f"my.toml, line 23, solutions.developer.push 2, 2: {what}.",
    )


@pytest.mark.parametrize("value", ["1", '"x"', "[]", "{}", "true", "1979-05-27", "[[1]]", "{ a = { b = 1 } }"])
@pytest.mark.parametrize(
    "key", ["sources", "stages", "solutions", "vessels", "steps", "gear", "cautions", "title"]
)
def test_wrong_types_are_findings(key: str, value: str) -> None:
    text = f"format = 1\n{key} = {value}\n"
    assert all(finding.startswith("my.toml, line ") and finding.endswith(".") for finding in findings(text))


def test_many_findings_are_cut_short_and_counted() -> None:
    found = findings("format = 1\n" + "\n".join(f"k{number} = 1" for number in range(100)))
    assert len(found) == 51
    assert found[-1] == "my.toml: at least 58 more findings are not shown."


def test_a_missing_file_is_reported(tmp_path: Path) -> None:
    assert file_finding(tmp_path / "no.toml") == f"{tmp_path / 'no.toml'} does not exist: check the name."


def test_a_folder_is_reported(tmp_path: Path) -> None:
    assert file_finding(tmp_path) == f"{tmp_path.name[:80]} is a folder: name a file in it."


def test_a_file_that_is_not_utf_8_is_reported(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(b'format = 1\ntitle = "caf\xe9"\n')
    assert file_finding(path) == "latin.toml, line 2: this is not UTF-8 text; save the file as UTF-8."


def test_a_file_that_is_too_large_is_reported(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * (LARGEST_BYTES + 1))
    assert file_finding(path) == "large.toml is larger than 256 kB, too large for a file of this kind."


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_permission_is_reported(tmp_path: Path) -> None:
    path = tmp_path / "shut.toml"
    path.write_text(SMALL)
    path.chmod(0)
    assert file_finding(path) == "shut.toml may not be read: change its permissions."


def test_a_refused_permission_gives_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    path = tmp_path / "shut.toml"
    assert file_finding(path) == "shut.toml may not be read: change its permissions."


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe.toml"
    os.mkfifo(path)
    assert file_finding(path) == "pipe.toml is no ordinary file: name a file."


def test_a_file_name_with_a_null_character_is_reported(tmp_path: Path) -> None:
    assert file_finding(tmp_path / "a\0b.toml") == "a?b.toml cannot be read: its name cannot be used."


def test_a_circular_link_is_reported(tmp_path: Path) -> None:
    path = tmp_path / "circle.toml"
    path.symlink_to(path)
    assert file_finding(path).startswith("circle.toml cannot be read: ")


def test_a_symbolic_link_and_a_byte_order_mark_are_read(tmp_path: Path) -> None:
    path = tmp_path / "real.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    assert read_profile(link) == small()


def file_finding(path: Path) -> str:
    with pytest.raises(FileUnusable) as caught:
        read_profile(path)
    (finding,) = caught.value.sentences
    return finding


def test_every_shipped_profile_is_read() -> None:
    paths = sorted(shipped_dir().glob("*.toml"))
    assert shipped_dir() / "two-bath.toml" in paths
    assert [read_profile(path).id for path in paths] == [path.stem for path in paths]
