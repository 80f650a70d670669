"""The processes that ship, whole, as they stood when each was one long file: their shape keeps what they say.

`effective.json` holds a digest of every step and solution and of the rest. A change of a process that is meant is
written anew with `.venv/bin/python -m tests.profile.test_effective`; a difference names what changed.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from msgspec import to_builtins
from msgspec.structs import replace
from tests.shipped import profile_from_text

from wetside.domain.profile.model import Profile
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import profiles_by_name, shipped_dir

KEPT = Path(__file__).with_name("effective.json")
IN_ANY_ORDER = ("sources", "cautions", "vessels", "residue_rules", "gear", "notes")
"""Parts of a profile in which the order says nothing."""


def essentials(profile: Profile) -> dict[str, Any]:
    """A digest of each step and solution by its id, in their order, and of the rest by its name."""
    data = to_builtins(replace(profile, text="", sha256="", remarks=()))
    for solution in data["solutions"]:
        del solution["role"]  # it says what a bath is, and changes nothing in the process
    for part in IN_ANY_ORDER:
        data[part] = sorted(data[part], key=lambda each: json.dumps(each, sort_keys=True))
    found: dict[str, Any] = {part: _digest(data.pop(part)) for part in (*IN_ANY_ORDER, "stages", "first_aid")}
    for part in ("solutions", "steps"):
        found[part] = [f"{each['id']} {_digest(each)}" for each in data.pop(part)]
    return found | {"rest": _digest(data)}


def _digest(value: object) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True).encode()).hexdigest()[:12]


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_a_shipped_process_is_unchanged(path: Path) -> None:
    kept = json.loads(KEPT.read_text("utf-8"))[path.stem]
    assert essentials(read_profile(path)) == kept


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_its_whole_text_reads_back_as_the_same_process(path: Path) -> None:
    profile = read_profile(path)
    again = profile_from_text(profile.text, "kept.toml")
    assert essentials(again) == essentials(profile)
    assert again.sha256 == profile.sha256 == hashlib.sha256(profile.text.encode()).hexdigest()
    assert "based_on" not in profile.text


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_the_title_of_a_reading_repeats_no_figure_of_its_range(path: Path) -> None:
    """An own kit may change the figure, and its range is shown; words would go on naming the old one."""
    profile = read_profile(path)
    targets = {f"{each.target_c:.1f} °C" for each in profile.solutions if each.target_c is not None}
    named = [
        (step.id, figure)
        for step in profile.steps
        if step.readings
        for figure in targets
        if figure in step.instruction
    ]
    assert named == []


def test_the_shipped_profiles_have_at_most_2600_lines_together() -> None:
    files = [*profiles_by_name().values(), *(shipped_dir() / "parts").glob("*.toml")]
    assert sum(len(path.read_text("utf-8").splitlines()) for path in files) <= 2600


def test_a_changed_figure_changes_the_digest() -> None:
    profile = read_profile(next(iter(profiles_by_name().values())))
    step = replace(profile.steps[0], title="Another")
    assert essentials(replace(profile, steps=(step, *profile.steps[1:]))) != essentials(profile)


if __name__ == "__main__":
    KEPT.write_text(
        json.dumps({path.stem: essentials(read_profile(path)) for path in profiles_by_name().values()}, indent=1)
        + "\n"
    )
