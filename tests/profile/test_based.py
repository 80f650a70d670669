"""A profile based on another: how they are merged, where each value comes from, and what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.checking import check_profile
from tests.shipped import shipped_profile

from wetside.domain.profile.model import Profile
from wetside.errors import FileUnusable
from wetside.files.profile_base import base_digest, whole_document
from wetside.files.profile_file import read_profile
from wetside.files.profile_merge import Node, merged, node, places, plain
from wetside.files.toml_file import Place
from wetside.files.toml_lines import Path as KeyPath
from wetside.present.message_words import in_words

HEAD = 'format = 1\nid = "mine"\ntitle = "Mine"\nbased_on = "three-bath"\n'


def file(folder: Path, text: str, name: str = "mine.toml") -> Path:
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def mine(folder: Path, text: str, head: str = HEAD) -> Profile:
    return read_profile(file(folder, head + text))


def refused(folder: Path, text: str, head: str = HEAD) -> tuple[str, ...]:
    with pytest.raises(FileUnusable) as caught:
        mine(folder, text, head)
    return caught.value.sentences


@pytest.fixture(scope="module")
def base() -> Profile:
    return shipped_profile("three-bath")


# ---------------------------------------------------------------- merging


def test_changing_one_key_of_a_solution_leaves_the_others(tmp_path: Path, base: Profile) -> None:
    changed = mine(tmp_path, '[solutions.bleach]\ncapacity = "20 rolls per litre"\n').solution("bleach")
    assert changed.capacity_per_l == 20
    assert changed.table == base.solution("bleach").table
    assert dict(changed.sources)["capacity"] == "sheet"
    assert changed.source == base.solution("bleach").source


def test_a_stretch_belongs_to_the_capacity_it_stretches(tmp_path: Path, base: Profile) -> None:
    assert base.solution("fixer").stretch_per_l == 12
    own = mine(tmp_path, '[solutions.fixer]\ncapacity = "4 rolls per litre"\n').solution("fixer")
    assert (own.capacity_per_l, own.stretch_per_l) == (4, None), "12 stands on no sheet that says 4"
    said = '[solutions.fixer]\ncapacity = "4 rolls per litre"\nleave_out = ["stretch"]\n'
    assert mine(tmp_path, said).solution("fixer").stretch_per_l is None, "left out by hand it is no mistake"
    both = '[solutions.fixer]\ncapacity = "20 rolls per litre"\nstretch = "24 rolls per litre"\n'
    assert mine(tmp_path, both).solution("fixer").stretch_per_l == 24
    assert mine(tmp_path, '[solutions.fixer]\ntime = "6:00"\n').solution("fixer").stretch_per_l == 12


def test_a_table_without_an_id_is_replaced_as_one_value(tmp_path: Path) -> None:
    text = '[solutions.developer]\nuse = { kind = "steps", rows = [["8 rolls per litre", 1.1]] }\n'
    use = mine(tmp_path, text).solution("developer").use
    assert (use.kind, use.per_roll, use.rows) == ("steps", 0.0, ((8.0, 1.1),))


def test_a_list_of_texts_is_replaced_whole(tmp_path: Path) -> None:
    assert mine(tmp_path, 'first_aid = ["Ask."]\n').first_aid == ("Ask.",)


def test_title_and_notes_are_never_inherited(tmp_path: Path, base: Profile) -> None:
    assert base.notes
    assert mine(tmp_path, "").notes == ()
    findings = refused(tmp_path, "", 'format = 1\nbased_on = "three-bath"\n')
    assert findings == (
        'mine.toml, line 1, the key "id" is missing.',
        'mine.toml, line 1, the key "title" is missing.',
    )


def test_notes_of_parts_are_inherited_with_their_figures(tmp_path: Path) -> None:
    profile = mine(tmp_path, 'with = ["stop"]\nnotes = ["My own."]\n')
    assert profile.notes[0] == "My own."
    assert any("stop" in note for note in profile.notes[1:])


def test_a_tick_and_a_step_are_changed_by_their_ids(tmp_path: Path, base: Profile) -> None:
    text = '[[steps]]\nid = "wash"\ntime = "5:00"\nticks = [{ id = "fixer-capped", text = "Fixer shut" }]\n'
    step, before = mine(tmp_path, text).step("wash"), base.step("wash")
    assert step.time_s == 300
    assert [tick.id for tick in step.ticks] == [tick.id for tick in before.ticks]
    told = next(tick for tick in step.ticks if tick.id == "fixer-capped")
    assert (told.text, told.closes, told.killer) == ("Fixer shut", "fixer", True)
    assert step.instruction == before.instruction


def test_new_steps_are_placed_where_they_say_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = "".join(
        f'[[steps]]\nid = "{id_}"\n{where} = "bleach"\nsolution = "water"\ntime = "1:00"\n'
        for id_, where in (("one", "after"), ("two", "after"), ("three", "before"), ("four", "before"))
    )
    ids = [step.id for step in mine(tmp_path, text).steps]
    at = ids.index("bleach")
    assert ids[at - 2 : at + 3] == ["three", "four", "bleach", "one", "two"]


def test_a_step_of_the_base_can_be_moved(tmp_path: Path, base: Profile) -> None:
    ids = [step.id for step in mine(tmp_path, '[[steps]]\nid = "room"\nafter = "protect"\n').steps]
    assert ids.index("room") == ids.index("protect") + 1
    assert sorted(ids) == sorted(step.id for step in base.steps)


def test_items_due_before_an_omitted_step_fall_due_before_the_next(tmp_path: Path, base: Profile) -> None:
    due = next(tick for tick in base.step("bleach").ticks if tick.id == "developer-capped").due
    assert due == "bleach-wash"
    left = mine(tmp_path, 'leave_out = ["steps.bleach-wash"]\n')
    assert "bleach-wash" not in [step.id for step in left.steps]
    assert next(t for t in left.step("bleach").ticks if t.id == "developer-capped").due == "fixer"


def test_an_omitted_solution_removes_what_names_it(tmp_path: Path) -> None:
    profile = mine(tmp_path, 'leave_out = ["solutions.final-rinse"]\n')
    assert "final-rinse" not in {solution.id for solution in profile.solutions}
    assert not [rule for rule in profile.residue_rules if "final-rinse" in (rule.residue, rule.solution)]
    assert not [tick for step in profile.steps for tick in step.ticks if tick.closes == "final-rinse"]
    assert "rinse-jar" not in {vessel.id for vessel in profile.vessels}
    assert profile.step("hang-up").joins is None


def test_a_stage_that_no_step_uses_any_more_is_removed(tmp_path: Path) -> None:
    profile = mine(tmp_path, 'leave_out = ["steps.hang-up", "steps.final-rinse", "solutions.final-rinse"]\n')
    assert "finish" not in {stage.id for stage in profile.stages}


def test_new_gear_is_listed_where_there_is_room(tmp_path: Path) -> None:
    profile = mine(tmp_path, '[[gear]]\ntext = "A headlamp for afterwards"\n')
    listing = [step for step in profile.steps for tick in step.ticks if tick.id == "a-headlamp-for-afterwards"]
    assert len(listing) == 1
    assert len(listing[0].ticks) <= 7
    assert check_profile(profile) == ()


# ------------------------------------------------------------- provenance


def test_each_value_has_the_file_and_line_it_comes_from(tmp_path: Path) -> None:
    path = file(tmp_path, HEAD + 'with = ["stop"]\n\n[solutions.bleach]\ncapacity = "20 rolls per litre"\n')
    laid = whole_document(path.read_text("utf-8"), path.name, path).tree
    assert laid is not None
    found = dict(places(laid))
    assert found[("solutions", "bleach", "capacity")] == Place("mine.toml", 8)
    shipped = Path(__file__).parents[2] / "profiles"
    for key, name in (
        (("solutions", "bleach", "title"), "common.toml"),
        (("solutions", "bleach", "table"), "three-bath.toml"),
        (("solutions", "stop", "target"), "stop.toml"),
    ):
        place = found[key]
        where = shipped / name if (shipped / name).exists() else shipped / "parts" / name
        assert place.name == name
        line = where.read_text("utf-8").splitlines()[place.line - 1]
        assert line.startswith(f"{key[-1]} = ")
    assert {place.name for place in found.values()} <= {"mine.toml", "stop.toml", "three-bath.toml", "common.toml"}


def test_a_finding_in_a_base_names_the_base(tmp_path: Path) -> None:
    file(tmp_path, HEAD.replace("mine", "first") + '[solutions.bleach]\ntarget = "hot"\n', "first.toml")
    found = refused(tmp_path, "", HEAD.replace("three-bath", "first"))
    assert found == (
        'first.toml, line 6, solutions.bleach.target: "hot" is not a temperature: '
        "write it like 102 F, 38.9 C or 311 K.",
    )


def test_derived_values_are_marked_as_derived(tmp_path: Path) -> None:
    text = HEAD + '[solutions.hold]\nrole = "stop"\ntarget = "38 °C"\ntime = "0:30"\n\n'
    text += '[[steps]]\nid = "hold"\nafter = "developer"\nsolution = "hold"\n'
    laid = whole_document(text, "mine.toml").tree
    assert laid is not None
    found = dict(places(laid))
    assert not found[("solutions", "hold", "target")].derived
    assert found[("solutions", "hold", "storage")].derived
    assert found[("vessels", "hold-funnel")].derived


# ------------------------------------------------------------------ bases


def test_an_own_base_is_found_beside_the_file_and_in_the_own_folder(tmp_path: Path) -> None:
    own, other = tmp_path / "own", tmp_path / "other"
    own.mkdir()
    other.mkdir()
    file(own, HEAD.replace("mine", "first") + 'accepts = ["slide"]\n', "first.toml")
    text = HEAD.replace("three-bath", "first")
    assert read_profile(file(other, text), own).accepts == ("slide",)
    assert read_profile(file(own, text)).accepts == ("slide",)
    assert read_profile(file(other, text.replace('"first"', '"../own/first.toml"'))).accepts == ("slide",)


def test_a_file_with_a_shipped_name_may_be_based_on_the_shipped_profile_of_that_name(tmp_path: Path) -> None:
    text = HEAD.replace('id = "mine"', 'id = "three-bath"')
    assert read_profile(file(tmp_path, text, "three-bath.toml")).id == "three-bath"


def test_a_circle_of_bases_gives_one_sentence(tmp_path: Path) -> None:
    file(tmp_path, HEAD.replace('"three-bath"', '"mine"'), "other.toml")
    assert refused(tmp_path, "", HEAD.replace('"three-bath"', '"other"')) == (
        "other.toml, line 4, based_on: mine.toml is based on other.toml, which is based on mine.toml: "
        "they go round in a circle; one of them must stand alone.",
    )


def test_a_chain_without_an_end_is_refused(tmp_path: Path) -> None:
    for number in range(12):
        file(tmp_path, HEAD.replace('"three-bath"', f'"n{number + 1}"'), f"n{number}.toml")
    (finding,) = refused(tmp_path, "", HEAD.replace('"three-bath"', '"n0"'))
    assert "more than 8 files stand one on the other" in finding


def test_a_missing_base_and_a_missing_part_give_one_sentence_each(tmp_path: Path) -> None:
    assert refused(tmp_path, "", HEAD.replace("three-bath", "tree-bath")) == (
        'mine.toml, line 4, based_on: there is no profile "tree-bath"; the nearest is "three-bath".',
    )
    assert refused(tmp_path, 'with = ["stopp"]\n') == (
        'mine.toml, line 5, with 1: there is no part "stopp"; the nearest is "stop".',
    )


def test_a_part_cannot_be_based_on_another_file(tmp_path: Path) -> None:
    file(tmp_path, 'format = 1\nbased_on = "two-bath"\n', "odd.toml")
    (finding,) = refused(tmp_path, 'with = ["odd"]\n')
    assert finding == "odd.toml, line 2, based_on: a part stands on no other file; take it out."


def test_an_unreadable_base_is_reported_under_its_own_name(tmp_path: Path) -> None:
    file(tmp_path, "format = 1\n[broken\n", "first.toml")
    (finding,) = refused(tmp_path, "", HEAD.replace("three-bath", "first"))
    assert finding.startswith("first.toml, line 2: this is not TOML")


def test_a_changed_base_is_noted_and_not_refused(tmp_path: Path) -> None:
    first = file(tmp_path, HEAD.replace("mine", "first"), "first.toml")
    digest = base_digest("first", tmp_path / "mine.toml")
    text = HEAD.replace("three-bath", "first") + f'base_digest = "{digest}"\n'
    assert read_profile(file(tmp_path, text)).remarks == ()
    first.write_text(HEAD + '[solutions.bleach]\ntarget = "37 °C"\n', "utf-8")
    (remark,) = read_profile(file(tmp_path, text)).remarks
    told = in_words(remark)
    assert told.startswith("first has changed since mine.toml was written: look at what it takes over")
    assert base_digest("first", tmp_path / "mine.toml") in told


def test_the_kit_sheet_is_not_given_as_source_of_a_figure_that_names_another(tmp_path: Path) -> None:
    text = '[solutions.bleach]\ntable = [["37.8 °C", "7:00"]]\nsources = { table = "practice" }\n'
    profile = mine(tmp_path, text)
    assert dict(profile.solution("bleach").sources)["table"] == "practice"
    assert "sheet" not in {source.id for source in profile.sources}


# ------------------------------------------------------------------- laws

HERE, THERE = Place("base.toml", 1), Place("own.toml", 1)
values = st.recursive(
    st.one_of(st.text(max_size=3), st.booleans(), st.integers(0, 3)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text("abc", min_size=1, max_size=2), inner, max_size=3)
    ),
    max_leaves=8,
)
KEYS = (
    "solutions",
    "sources",
    "vessels",
    "cautions",
    "steps",
    "gear",
    "stages",
    "residue",
    "first_aid",
    "accepts",
)
documents = st.dictionaries(st.sampled_from(KEYS), values, max_size=4)


def ignore(place: Place, path: KeyPath, what: str) -> None:
    """Findings of made-up documents."""


@given(documents)
def test_merging_nothing_over_a_base_gives_the_base(data: dict[str, Any]) -> None:
    assert plain(merged(node(data, HERE), node({}, THERE), ignore)) == data


@given(documents, documents)
def test_every_value_of_a_merged_profile_comes_from_one_of_the_two_files(
    base: dict[str, Any], own: dict[str, Any]
) -> None:
    laid = merged(node(base, HERE), node(own, THERE), ignore)
    assert {place for _, place in places(laid)} <= {HERE, THERE}
    for key, value in own.items():
        if not isinstance(value, dict | list):
            assert key in base or plain(laid)[key] == value


@given(documents, documents)
def test_merging_changes_neither_file(base: dict[str, Any], own: dict[str, Any]) -> None:
    first, second = node(base, HERE), node(own, THERE)
    merged(first, second, ignore)
    assert (plain(first), plain(second)) == (base, own)


@settings(max_examples=50)  # each puts a whole profile together; the merging itself has laws of its own above
@given(
    documents, st.lists(st.sampled_from(("steps.a", "solutions.a", "gear", "steps", "residue.a.b")), max_size=2)
)
def test_a_nonsensical_file_is_refused_in_sentences(own: dict[str, Any], leave_out: list[str]) -> None:
    import tomli_w

    text = tomli_w.dumps(
        {"format": 1, "id": "x", "title": "X", "based_on": "two-bath", "leave_out": leave_out, **own}
    )
    findings: tuple[str, ...] = ()
    try:
        assert isinstance(whole_document(text, "mine.toml").tree, Node)
    except FileUnusable as unusable:
        findings = unusable.sentences
    assert all(len(finding) < 600 and ", line " in finding for finding in findings)
