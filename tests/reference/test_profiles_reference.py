"""The shipped profiles' figures against what is published, seen second-hand or remembered.

Sources, each with how it is known:
- process manual Z-131, table 4-1: developer 3:15 at 37.8 ± 0.15 °C (100.0 ± 0.25 °F), bleach and fixer 38 ± 3 °C,
  washes and final rinse 24 to 41 °C — read in print; table 2-1: the times after the developer — seen second-hand;
- H-24.07: prebath 27 ± 1 °C, rinse 27 to 38 °C, developer 41.1 °C; bleach 3:00 is the ferricyanide bleach's — seen
  second-hand;
- US Army subcourse SS0520-5, p. 17: developers within 1/4 to 1/2 °F — read in print;
- hand-processing table of 2004 for motion-picture negative: prebath 27 ± 1 °C, 1:00 by hand; removal 27 ± 3 °C,
  0:30 by hand; developer 3:00 at 41.1 ± 0.1 °C — seen second-hand;
- registration dossier of the colour developer CD-3: oral LD50 75 to 300 mg/kg, harms eyes, sensitises —
  read in print;
- kit sheet of a two-bath powder kit: 3:30 at 102 °F — two second-hand copies; its other rows — from memory;
- US Army SS0509-8, p. 84: steps of more than 5 °F (2.8 °C) can crack the emulsion — read in print;
- ILO Encyclopaedia, chapter Photography; ICSC 1228 (hexamine); HCIS 4750 (formaldehyde) — read in print;
- 30 s a stop of push at 3:15 — a club table, seen second-hand;
- everything else on bleach, fixer, washes, stop, rinses and the whole reversal process — from memory.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.shipped import shipped_profile

from wetside.domain.profile.model import Profile, Sure
from wetside.files.profile_places import profiles_by_name

PRINT, SEEN, MEMORY = Sure.PRINT, Sure.SECOND_HAND, Sure.MEMORY


def sure(of: Profile, source: str) -> Sure:
    return next(each.sure for each in of.sources if each.id == source)


def sure_of(of: Profile, solution: str, what: str) -> Sure:
    """How sure a solution's figure is said to be."""
    found = of.solution(solution)
    return sure(of, dict(found.sources).get(what, found.source))


def c(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


# profile, solution, °C, seconds, how sure the published sheet of values is of the row
BATHS = (
    ("three-bath", "developer", 37.8, 195.0, PRINT),
    ("three-bath", "bleach", 37.8, 390.0, MEMORY),
    ("three-bath", "fixer", 37.8, 390.0, MEMORY),
    ("three-bath", "final-rinse", 24.0, 90.0, MEMORY),
    ("motion-picture", "prebath", 27.0, 60.0, SEEN),
    ("motion-picture", "developer", 41.1, 180.0, SEEN),
    ("motion-picture", "stop", 38.0, 30.0, MEMORY),
    ("motion-picture", "bleach", 38.0, 390.0, MEMORY),
    ("motion-picture", "fixer", 38.0, 120.0, MEMORY),
    ("motion-picture", "final-rinse", 30.0, 10.0, MEMORY),
    ("two-bath-prebath", "prebath", 38.0, 60.0, MEMORY),
    ("one-shot-reversal", "first-developer", 38.0, 360.0, MEMORY),
    ("one-shot-reversal", "reversal", 35.0, 120.0, MEMORY),
    ("one-shot-reversal", "colour-developer", 38.0, 360.0, MEMORY),
    ("one-shot-reversal", "pre-bleach", 35.0, 120.0, MEMORY),
    ("one-shot-reversal", "bleach", 35.0, 360.0, MEMORY),
    ("one-shot-reversal", "fixer", 35.0, 240.0, MEMORY),
    ("one-shot-reversal", "final-rinse", 24.0, 60.0, MEMORY),
)

# profile, step, seconds, how sure
STEPS = (
    ("three-bath", "bleach-wash", 195.0, MEMORY),
    ("three-bath", "wash", 195.0, MEMORY),
    ("motion-picture", "flush", 30.0, SEEN),
    ("motion-picture", "stop-wash", 30.0, MEMORY),
    ("motion-picture", "bleach-wash", 60.0, MEMORY),
    ("motion-picture", "wash", 120.0, MEMORY),
    ("one-shot-reversal", "first-wash", 120.0, MEMORY),
    ("one-shot-reversal", "wash", 240.0, MEMORY),
)

# profile, solution, °C from, °C to, how sure
RANGES = (
    ("three-bath", "developer", 37.65, 37.95, PRINT),
    ("three-bath", "bleach", 35.0, 41.0, PRINT),
    ("three-bath", "fixer", 35.0, 41.0, PRINT),
    ("three-bath", "water", 24.0, 41.0, PRINT),
    ("three-bath", "final-rinse", 24.0, 41.0, PRINT),
    ("motion-picture", "prebath", 26.0, 28.0, SEEN),
    ("motion-picture", "developer", 41.0, 41.2, SEEN),
    ("motion-picture", "stop", 27.0, 38.0, MEMORY),
    ("motion-picture", "bleach", 37.0, 39.0, MEMORY),
    ("motion-picture", "fixer", 37.0, 39.0, MEMORY),
    ("two-bath-prebath", "prebath", 35.0, 40.0, MEMORY),
)


@pytest.mark.parametrize(("name", "solution", "at_c", "seconds", "how"), BATHS)
def test_bath_times(name: str, solution: str, at_c: float, seconds: float, how: Sure) -> None:
    assert shipped_profile(name).solution(solution).table == ((at_c, seconds),)
    assert shipped_profile(name).solution(solution).target_c == at_c
    assert sure_of(shipped_profile(name), solution, "table") is how


@pytest.mark.parametrize(("name", "step", "seconds", "how"), STEPS)
def test_wash_times(name: str, step: str, seconds: float, how: Sure) -> None:
    assert shipped_profile(name).step(step).time_s == seconds
    assert sure(shipped_profile(name), shipped_profile(name).step(step).source) is how


@pytest.mark.parametrize(("name", "solution", "low_c", "high_c", "how"), RANGES)
def test_accepted_ranges(name: str, solution: str, low_c: float, high_c: float, how: Sure) -> None:
    assert shipped_profile(name).solution(solution).range_c == pytest.approx((low_c, high_c), abs=1e-9)
    assert sure_of(shipped_profile(name), solution, "range") is how


def test_the_printed_developer_in_both_units() -> None:
    """Z-131 table 4-1 prints 37.8 ± 0.15 °C and 100.0 ± 0.25 °F: the two agree to a twentieth of a degree."""
    low_c, high_c = shipped_profile("three-bath").solution("developer").range_c or (0.0, 0.0)
    assert (c(99.75), c(100.25)) == pytest.approx((low_c, high_c), abs=0.05)
    assert shipped_profile("three-bath").solution("developer").table_tolerance_c == 0.15


def test_the_motion_picture_developer_in_both_units() -> None:
    """Seen second-hand: 41.1 ± 0.1 °C stands beside 106.0 ± 0.2 °F, the prebath's 27 ± 1 °C by 80 ± 2 °F."""
    developer = shipped_profile("motion-picture").solution("developer")
    assert developer.table[0][0] == pytest.approx(c(106.0), abs=0.05)
    assert developer.table_tolerance_c == 0.1
    assert shipped_profile("motion-picture").solution("prebath").target_c == pytest.approx(c(80.0), abs=0.5)


def test_push_of_the_printed_developer() -> None:
    """30 s a stop at 3:15, from a club table seen second-hand: 3:45 and 4:15."""
    developer = shipped_profile("three-bath").solution("developer")
    times = [developer.table[0][1] * factor for _, factor in developer.push]
    assert times == pytest.approx([195.0, 225.0, 255.0], abs=0.1)
    assert sure_of(shipped_profile("three-bath"), "developer", "push") is SEEN


def test_push_of_the_first_developer() -> None:
    """From memory: 6:00, 8:00 for one stop, 11:00 for two."""
    developer = shipped_profile("one-shot-reversal").solution("first-developer")
    assert [360.0 * factor for _, factor in developer.push] == pytest.approx([360.0, 480.0, 660.0], abs=0.5)


@pytest.mark.parametrize("name", ["two-bath", "two-bath-prebath"])
def test_the_table_of_the_kit_has_its_known_and_remembered_rows(name: str) -> None:
    """Powder-kit sheet: 102 °F 3:30 (second-hand); 95, 90, 85 °F from memory, so the table says that."""
    rows = shipped_profile(name).solution("developer").table
    printed = ((c(85), 765.0), (c(90), 510.0), (c(95), 345.0), (c(102), 210.0))
    assert [row for row in rows if row[1] in {765.0, 510.0, 345.0, 210.0}] == [
        pytest.approx(row, abs=1e-6) for row in printed
    ]
    assert sure_of(shipped_profile(name), "developer", "table") is MEMORY
    assert shipped_profile(name).solution("bleach-fix").table[-1][1] == 390.0


def test_the_developing_agent_has_the_hazard_class_of_its_dossier() -> None:
    """CD-3: oral LD50 between 75 and 300 mg/kg is acute toxicity category 3 (H301, UN GHS: 50 to 300 mg/kg)."""
    for name, solution in (("motion-picture", "developer"), ("one-shot-reversal", "colour-developer")):
        codes = {hazard.code for hazard in shipped_profile(name).solution(solution).hazards}
        assert {"H301", "H317", "H318", "H410"} <= codes
        assert sure_of(shipped_profile(name), solution, "hazards") is PRINT


def test_the_backing_is_flushed_with_one_water_inside_the_rinse_of_the_machine_process() -> None:
    """H-24.07, seen second-hand: the rinse after the prebath is 27 to 38 °C. It is more than the 5 °F (2.8 °C)
    that US Army SS0509-8, p. 84 (read) allows camera film, and the notes say so."""
    process = shipped_profile("motion-picture")
    flush = process.step("flush")
    low_c, high_c = process.solution(flush.solution or "").range_c or (0.0, 99.0)
    assert 27.0 <= low_c < high_c <= 38.0
    (tick,) = (tick for tick in process.step("prebath").ticks if tick.id == "flush-ready")
    assert re.findall(r"\d+(?:\.\d+)?", tick.text) == ["35", "38", "95", "100"]
    assert (c(95), c(100)) == pytest.approx((low_c, high_c), abs=0.3)
    assert low_c - (process.solution("prebath").target_c or 0.0) > c(37.0)
    assert any("SS0509-8" in note and "2.8 °C" in note for note in process.notes)
    assert not any("six" in tick.text for step in process.steps for tick in step.ticks)


def test_bleach_time_says_which_bleach_it_belongs_to() -> None:
    """H-24.07, seen second-hand: 3:00 belongs to the ferricyanide bleach. 6:30 for an iron bleach is from memory;
    a bleach that runs to its end may be longer, so the longer one stands."""
    process = shipped_profile("motion-picture")
    (note,) = (note for note in process.notes if note.startswith("Bleach time"))
    assert all(words in note for words in ("3:00", "ferricyanide", "iron", "6:30", "from memory", "sheet"))
    bleach = process.solution("bleach")
    assert (bleach.ends, bleach.table[0][1]) == ("not before", 390.0)
    assert next(tick for tick in process.step("chemistry").ticks if tick.id == "bleach-kind").killer


def test_no_bath_that_takes_silver_out_runs_cold() -> None:
    """Read: TG2044-1, p. 30: low temperature, a weak bleach and no air leave silver; Z-131: 38 ± 3 °C."""
    for path in profiles_by_name().values():
        for solution in shipped_profile(path.stem).solutions:
            if solution.id in ("bleach", "fixer", "bleach-fix"):
                assert (solution.range_c or (0.0, 0.0))[0] >= 33.0, (path.stem, solution.id)
    readings = [ask for step in shipped_profile("three-bath").steps for ask in step.readings]
    assert {ask.range_c for ask in readings if ask.of in ("bleach", "fixer")} == {None, (35.0, 41.0)}


def hazard_texts(name: str, solution: str) -> dict[str, str]:
    return {hazard.code: hazard.text for hazard in shipped_profile(name).solution(solution).hazards}


def test_colour_developing_agents_are_named_as_sensitisers() -> None:
    """Read: ILO Encyclopaedia, "Photography": p-phenylenediamine developers, most often dermatitis."""
    developers = [(name, "developer") for name in ("two-bath", "two-bath-prebath", "three-bath", "motion-picture")]
    for name, solution in (*developers, ("one-shot-reversal", "colour-developer")):
        text = hazard_texts(name, solution)["H317"]
        assert "p-phenylenediamine" in text
        assert "skin allergic (read in print)" in text
        assert shipped_profile(name).caution("allergy").source == "substances"


def test_last_baths_send_the_reader_to_the_kits_sheet_for_formaldehyde_and_hexamine() -> None:
    """Read: HCIS 4750, formaldehyde in mixtures H317, H350; ICSC 1228, hexamine gives formaldehyde off, hot or in
    acid. Seen second-hand: hexamine H317."""
    last = [("two-bath", "stabiliser"), ("two-bath-prebath", "stabiliser")]
    last += [(name, "final-rinse") for name in ("three-bath", "motion-picture", "one-shot-reversal")]
    for name, solution in last:
        texts = hazard_texts(name, solution)
        for code in ("H317", "H350"):
            assert "formaldehyde" in texts[code]
            assert texts[code].endswith("Read the kit's own sheet.")
        assert "hexamine gives off formaldehyde (read in print)" in texts["P261"]


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_how_sure_a_hazard_is_stands_beside_it_in_the_words_used_for_sources(path: Path) -> None:
    texts = [hazard.text for each in shipped_profile(path.stem).solutions for hazard in each.hazards]
    marks = [mark for text in texts for mark in re.findall(r"\(([^)]*)\)", text)]
    assert marks
    assert {*marks} <= {sure.value for sure in Sure}


def test_only_what_was_read_in_print_says_so() -> None:
    """No bath's times claim to be read in print but the one whose table was read."""
    claims = {
        (path.stem, solution.id)
        for path in profiles_by_name().values()
        for solution in shipped_profile(path.stem).solutions
        if solution.table and sure_of(shipped_profile(path.stem), solution.id, "table") is PRINT
    }
    assert claims == {("three-bath", "developer")}


@pytest.mark.parametrize("path", profiles_by_name().values(), ids=lambda path: path.stem)
def test_figures_from_memory_are_named_on_screen(path: Path) -> None:
    """Where a bath's times are from memory, the notes that the plan shows say "from memory"."""
    found = shipped_profile(path.stem)
    if any(sure_of(found, each.id, "table") is MEMORY for each in found.solutions if each.table):
        assert any("from memory" in note for note in found.notes)
