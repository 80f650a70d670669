"""Roll numbers: which patterns are valid, no number is given twice, and a number once given stays."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.archive.numbering import (
    FIRST_PATTERN,
    Archive,
    ClosedSession,
    checked_pattern,
    number_all,
    number_session,
    replay,
)
from wetside.domain.archive.sleeve import cut_plan, frames_of, scan_name, strip_frames_of

DAYS = st.dates(date(2024, 1, 1), date(2033, 12, 31))
ROLLS = st.lists(st.integers(0, 11), max_size=6, unique=True).map(lambda rolls: tuple(sorted(rolls)))
PATTERNS = st.sampled_from(
    (FIRST_PATTERN, "{###}", "N{####}", "{yy}{month}-{##}", "{year}{#}", "{year}-{month}-{day} {#}", "{#}{yy}")
)


def evenings(most: int = 8) -> st.SearchStrategy[list[ClosedSession]]:
    """Closed sessions in any order of days, each with an id of its own."""
    rows = st.lists(st.tuples(DAYS, ROLLS), max_size=most)
    return rows.map(lambda found: [ClosedSession(f"s{n}", day, rolls) for n, (day, rolls) in enumerate(found)])


def given_numbers(archive: Archive) -> list[str]:
    return list(archive.numbers.values())


@given(evenings(), evenings(), st.lists(PATTERNS, min_size=8, max_size=8))
def test_no_roll_number_is_given_twice_under_any_pattern(
    earlier: list[ClosedSession], later: list[ClosedSession], patterns: list[str]
) -> None:
    archive = replay(number_all(Archive(), earlier))
    for closed, pattern in zip(later, patterns, strict=False):
        own = ClosedSession(f"later-{closed.session}", closed.day, closed.rolls)
        before = dict(archive.numbers)
        archive = replay((number_session(archive, own, pattern),), archive)
        assert {key: archive.numbers[key] for key in before} == before, "what was given stays"
        assert {key[1] for key in archive.numbers if key[0] == own.session} == set(own.rolls)
    assert len(set(given_numbers(archive))) == len(archive.numbers)


@given(evenings(), evenings())
def test_later_evenings_change_no_number_given_before(
    first: list[ClosedSession], more: list[ClosedSession]
) -> None:
    more = [ClosedSession(f"more-{each.session}", each.day, each.rolls) for each in more]
    alone, together = (replay(number_all(Archive(), each)).numbers for each in (first, [*first, *more]))
    assert {key: together[key] for key in alone} == alone


def test_the_counter_restarts_only_when_the_year_in_the_pattern_changes() -> None:
    days = (date(2031, 12, 30), date(2031, 12, 31), date(2032, 1, 1))
    closed = [ClosedSession(f"s{n}", day, (0, 1)) for n, day in enumerate(days)]
    found = given_numbers(replay(number_all(Archive(), closed)))
    assert found == ["2031-001", "2031-002", "2031-003", "2031-004", "2032-001", "2032-002"]
    archive = Archive()
    for each in closed:
        archive = replay((number_session(archive, each, "N{####}"),), archive)
    assert given_numbers(archive) == ["N0001", "N0002", "N0003", "N0004", "N0005", "N0006"]


def test_a_session_is_numbered_once() -> None:
    first = number_session(Archive(), ClosedSession("s", date(2031, 1, 1), (0,)), FIRST_PATTERN)
    archive = replay((first,))
    second = number_session(archive, ClosedSession("s", date(2031, 1, 1), (0,)), FIRST_PATTERN)
    assert replay((second,), archive).numbers == {("s", 0): "2031-001"}


@pytest.mark.parametrize("pattern", ["{year}-{###}", "N{#}", "{######}", "{yy}.{month}.{day}_{##}", "Fächer {##}"])
def test_valid_patterns_are_accepted(pattern: str) -> None:
    assert checked_pattern(pattern) == pattern


@pytest.mark.parametrize(
    "pattern",
    ["", "{year}", "{#}{##}", "{year}/{###}", "../{###}", "-{###}", "{hour}{#}", "{#######}", "a\n{#}", "x" * 41],
)
def test_invalid_patterns_are_refused(pattern: str) -> None:
    with pytest.raises(ValueError, match=r"^it has"):
        checked_pattern(pattern)


@given(st.integers(1, 99), st.integers(1, 99))
def test_every_frame_is_on_one_strip(frames: int, strip: int) -> None:
    cut = cut_plan(frames, strip)
    on_strips = [frame for first, last in cut.strips for frame in range(first, last + 1)]
    assert on_strips == list(range(1, frames + 1))
    lengths = [last - first + 1 for first, last in cut.strips]
    assert set(lengths[:-1]) <= {strip}
    assert lengths[-1] + cut.last_short == strip


def test_film_is_cut_into_strips_of_six_frames() -> None:
    assert cut_plan(frames_of("135-36"), strip_frames_of("135-36")).strips[-1] == (31, 36)
    assert cut_plan(38, 6).last_short == 4
    assert (frames_of("120"), strip_frames_of("120", 5), frames_of("4x5")) == (12, 3, 1)


def test_names_of_scans_sort_in_the_order_of_the_frames() -> None:
    names = [scan_name("2031-014", frame) for frame in range(1, 40)]
    assert names == sorted(names)
    assert scan_name("a 7", 3) == "a_7_03"
