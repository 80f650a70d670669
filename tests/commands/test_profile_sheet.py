"""`wetside profiles --show` and what `wetside check` says of a place: file, line and step."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.shipped import shipped_profile

from wetside.cli import main
from wetside.commands.common import JSON_FORMAT
from wetside.files.profile_places import find_profile, profiles_by_name, shipped_dir
from wetside.present.profile_sheet import figures, marked_prose, sheet_data, sheet_lines

Printed = pytest.CaptureFixture[str]
NAMES = list(profiles_by_name())


@pytest.mark.parametrize("name", NAMES)
def test_the_sheet_of_a_profile_has_every_figure_with_its_source(name: str) -> None:
    profile = shipped_profile(name)
    known = {each.id for each in profile.sources}
    shown = figures(profile)
    assert all(each.source in known for each in shown)
    of = {(each.of, each.what) for each in shown}
    for solution in profile.solutions:
        times = [each for each in shown if each.of == solution.id and each.what == "time"]
        assert len(times) >= len(solution.table)
        assert (solution.capacity_per_l is None) or (solution.id, "capacity") in of
        assert (solution.life_full_days is None) or (solution.id, "life, full") in of
    for step in profile.steps:
        if step.solution is not None:
            assert {(step.id, what) for what in ("pours", "clock", "draining", "lead-in")} <= of
        assert (step.agitation is None) or (step.id, "agitation") in of
        assert (step.time_s is None) or (step.id, "time") in of
    assert max(len(line) for line in sheet_lines(profile)) <= 100


def test_texts_that_name_a_figure_or_a_film_are_marked() -> None:
    prose = marked_prose(shipped_profile("two-bath"))
    assert all(re.search(r"\d", each.text) for each in prose if each.figure)
    assert any(each.film and "backing" in each.text.lower() for each in prose)
    assert any(each.of == "backing" and "43 °C" in each.text for each in prose)


def test_the_sheet_is_shown_as_a_page_and_as_json(capsys: Printed, tmp_path: Path) -> None:
    assert main(["--data", str(tmp_path), "profiles", "--show", "three-bath"]) == 0
    page = capsys.readouterr().out
    assert "3:15 at 37.8 °C (100.0 °F)" in page
    assert "z-131, read in print" in page
    assert "counts as time in the bath" in page
    assert main(["--data", str(tmp_path), "profiles", "--show", "three-bath", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data == {"format": JSON_FORMAT} | json.loads(json.dumps(sheet_data(shipped_profile("three-bath"))))
    assert {"of", "title", "what", "text", "source", "sure"} == set(data["figures"][0])


def test_a_finding_of_the_proof_has_file_line_and_step(capsys: Printed, tmp_path: Path) -> None:
    text = shipped_profile("three-bath").text.replace('id = "three-bath"', 'id = "mine"')
    before, wash, after = text.partition('id = "bleach-wash"')
    file = tmp_path / "mine.toml"
    file.write_text(before + wash + after.replace('rinses = [\n    "tank",\n]\n', "", 1), encoding="utf-8")
    assert main(["--data", str(tmp_path), "check", str(file)]) == 1
    said = capsys.readouterr().out
    found = re.search(r'mine\.toml, line (\d+): Step "fixer" .*still carries bleach', said)
    assert found, said
    lines = file.read_text(encoding="utf-8").split("\n")
    assert lines[int(found[1]) - 1] == "[[steps]]"
    assert lines[int(found[1])] == 'id = "fixer"'
    assert "<- here" in said


def test_a_finding_of_the_proof_names_the_file_of_the_base_where_the_step_stands(
    capsys: Printed, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        'format = 1\nid = "mine"\ntitle = "Mine"\nbased_on = "three-bath"\n\n'
        '[[steps]]\nid = "bleach-wash"\nleave_out = ["rinses"]\n',
        encoding="utf-8",
    )
    assert main(["--data", str(tmp_path), "check", str(file)]) == 1
    found = re.search(r'(\w+\.toml), line (\d+): Step "fixer" .*still carries bleach', capsys.readouterr().out)
    assert found
    base = next(path for path in shipped_dir().rglob(found[1]))
    assert base.read_text(encoding="utf-8").split("\n")[int(found[2])] == 'id = "fixer"'


def test_a_copy_with_other_figures_is_asked_to_take_an_id_of_its_own(capsys: Printed, tmp_path: Path) -> None:
    text = find_profile("three-bath").read_text(encoding="utf-8")
    file = tmp_path / "copy.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["--data", str(tmp_path), "check", str(file)]) == 0
    capsys.readouterr()
    file.write_text(text.replace('["37.8 °C", "3:15"]', '["37.8 °C", "3:20"]'), encoding="utf-8")
    assert main(["--data", str(tmp_path), "check", str(file)]) == 1
    said = capsys.readouterr().out
    assert re.search(r'copy\.toml, line \d+: It keeps the id "three-bath".*developer, time', said)


def test_a_finding_of_a_setup_has_the_line_of_its_own_file(capsys: Printed, tmp_path: Path) -> None:
    main(["--data", str(tmp_path), "profiles", "--copy", "three-rolls", str(tmp_path / "mine.toml")])
    text = (tmp_path / "mine.toml").read_text(encoding="utf-8")
    labels = re.findall(r'label = "([^"]+)"', text)
    (tmp_path / "mine.toml").write_text(text.replace(labels[1], labels[0], 1), encoding="utf-8")
    capsys.readouterr()
    assert main(["--data", str(tmp_path), "check", str(tmp_path / "mine.toml")]) == 1
    assert re.search(r"mine\.toml, line \d+: Two rolls are called", capsys.readouterr().out)
