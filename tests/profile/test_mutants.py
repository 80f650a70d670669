"""Ruinous changes to the shipped profiles are all refused, and sound profiles raise no false alarm."""

from __future__ import annotations

import random
import tomllib
from collections import Counter

import pytest
from msgspec.structs import replace
from tests.profile.mutants import KINDS, Mutant, mutants
from tests.profile.sound import sound
from tests.shipped import read_shipped

from wetside.domain.proof.check import profile_findings
from wetside.domain.proof.consistency import consistency_findings
from wetside.errors import FileUnusable
from wetside.files.profile_file import place_of
from wetside.files.profile_places import profiles_by_name
from wetside.files.toml_file import parse
from wetside.present.proof_text import finding_text

SAMPLE = 8
MANY_PATHS = "two-bath-prebath"
"""Its proof takes as long as those of all other profiles together; in the short form it is among the sample."""


def missed(tried: list[Mutant]) -> list[str]:
    """What is done in each change that neither the reader nor the check refuses."""
    return [f"{each.kind}, {each.profile}: {each.what}" for each in tried if not refused(each)]


def refused(mutant: Mutant) -> bool:
    try:
        profile = mutant.read()
    except FileUnusable:
        return True
    return bool(consistency_findings(profile) or profile_findings(profile))  # the quick half first


def test_there_are_a_thousand_changes_of_every_kind_over_all_profiles() -> None:
    made = mutants()
    assert len(made) >= 1000
    assert {each.kind for each in made} == {kind.__name__ for kind in KINDS}
    assert min(Counter(each.profile for each in made).values()) >= 150


def test_the_unchanged_profiles_are_sound_in_the_form_that_is_changed() -> None:
    """What refuses a change is the change, not the mended copy it is made to: that reads as the shipped one."""
    for path in profiles_by_name().values():
        shipped = read_shipped(path)
        copy = Mutant("none", path.stem, "nothing", {**tomllib.loads(shipped.text), "id": "mutant"}).read()
        assert consistency_findings(copy) == ()
        assert replace(copy, id=shipped.id, text=shipped.text, sha256=shipped.sha256) == shipped
        if path.stem == "three-bath":
            assert profile_findings(copy) == ()


def test_a_sample_and_one_change_of_every_kind_is_refused() -> None:
    chance = random.Random(16)
    by_kind: dict[str, list[Mutant]] = {}
    for each in mutants():
        if each.profile != MANY_PATHS:
            by_kind.setdefault(each.kind, []).append(each)
    assert len(by_kind) == len(KINDS)
    tried = [chance.choice(group) for group in by_kind.values()] + chance.sample(mutants(), SAMPLE)
    assert missed(tried) == []


@pytest.mark.long
def test_every_change_is_refused() -> None:
    assert missed(list(mutants())) == []


@pytest.mark.parametrize("sample", [8, pytest.param(40, marks=pytest.mark.long)])
def test_every_finding_names_its_line_and_has_a_path_unless_it_holds_on_all(sample: int) -> None:
    """The line is that of the step or solution the sentence names."""
    chance = random.Random(11)
    seen: Counter[str] = Counter()
    many = [each for each in mutants() if sample > SAMPLE or each.profile != MANY_PATHS]
    for mutant in chance.sample(many, sample):
        try:
            profile = mutant.read()
        except FileUnusable:
            continue
        lines = mutant.text.split("\n")
        document = parse(mutant.text, "changed.toml")
        for finding in profile_findings(profile):
            _, line = place_of(document, finding.place)
            seen[finding.place[0] if finding.place else "file"] += 1
            if finding.place[:1] == ("steps",) and len(finding.place) > 1:
                assert f'Step "{finding.place[1]}"' in finding_text(finding)
                assert line - 1 >= max(n for n, text in enumerate(lines[:line]) if text == "[[steps]]")
                block = "\n".join(lines[:line][-60:] + lines[line : line + 40])
                assert f'id = "{finding.place[1]}"' in block
            if len(finding.place) > 1 and finding.place[0] == "solutions":
                assert f"[solutions.{finding.place[1]}" in "\n".join(lines[:line])
    assert seen["steps"] > sample // 4
    assert seen["solutions"] > sample // 4


SOUND = [pytest.param(seed, marks=[pytest.mark.long] if seed >= 30 else []) for seed in range(200)]
"""Two hundred sound profiles, of which the first thirty are the short form."""


@pytest.mark.parametrize("seed", SOUND)
def test_no_false_alarm_on_a_sound_profile(seed: int) -> None:
    assert [finding_text(finding) for finding in profile_findings(sound(random.Random(seed)))] == []
