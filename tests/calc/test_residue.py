"""Residues: what a pour leaves, what a rinse takes, and what is then forbidden."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.residue import CLEAN, Residues, Rule, breaches, carried, pour, rinse

WHY = "A drop of bleach-fix ends the developer."
RULES = (
    Rule("bleach-fix", "developer", WHY),
    Rule("stabiliser", "developer", "Stabiliser spoils the developer."),
    Rule("stabiliser", "bleach-fix", "Stabiliser weakens the bleach-fix."),
)
THINGS = ("film", "funnel", "graduate", "tank")
SOLUTIONS = ("bleach-fix", "developer", "stabiliser", "water")

states = st.frozensets(st.tuples(st.sampled_from(THINGS), st.sampled_from(SOLUTIONS)))
picks = st.lists(st.sampled_from(THINGS), max_size=4).map(tuple)
solutions = st.sampled_from(SOLUTIONS)


def test_a_funnel_that_carried_bleach_fix_bars_the_developer() -> None:
    after = pour(CLEAN, "bleach-fix", ("funnel", "tank"))
    assert breaches(after, "developer", ("funnel",), RULES) == (("funnel", RULES[0]),)
    assert breaches(after, "developer", ("funnel", "tank", "film"), RULES) == (
        ("funnel", RULES[0]),
        ("tank", RULES[0]),
    )


def test_reverse_order_is_allowed_when_no_rule_forbids_it() -> None:
    assert breaches(pour(CLEAN, "developer", ("tank",)), "bleach-fix", ("tank",), RULES) == ()


def test_rinsing_the_funnel_alone_leaves_the_tank_as_it_was() -> None:
    after = rinse(pour(CLEAN, "bleach-fix", ("funnel", "tank")), ("funnel",))
    assert after == {("tank", "bleach-fix")}


def test_the_residues_of_a_thing_are_those_of_that_thing_alone() -> None:
    state = pour(pour(CLEAN, "bleach-fix", ("funnel", "tank")), "stabiliser", ("tank",))
    assert carried(state, ("tank",)) == {("tank", "bleach-fix"), ("tank", "stabiliser")}


@given(states, solutions, picks)
def test_pouring_adds_the_solution_and_takes_nothing(
    state: Residues, solution: str, used: tuple[str, ...]
) -> None:
    after = pour(state, solution, used)
    assert after >= state
    assert after - state == {(thing, solution) for thing in used} - state
    assert pour(after, solution, used) == after


@given(states, picks)
def test_rinsing_clears_what_it_names_and_nothing_else(state: Residues, used: tuple[str, ...]) -> None:
    after = rinse(state, used)
    for thing in THINGS:
        assert carried(after, (thing,)) == (CLEAN if thing in used else carried(state, (thing,)))
    assert rinse(after, used) == after


@given(states, solutions, picks)
def test_rinsed_things_break_no_rule(state: Residues, solution: str, used: tuple[str, ...]) -> None:
    assert breaches(rinse(state, used), solution, used, RULES) == ()


@given(states, solutions, picks)
def test_each_breach_is_a_rule_whose_residue_is_on_the_thing(
    state: Residues, solution: str, used: tuple[str, ...]
) -> None:
    expected = {
        (thing, rule.residue)
        for thing in used
        for rule in RULES
        if rule.solution == solution and (thing, rule.residue) in state
    }
    found = breaches(state, solution, used, RULES)
    assert {(thing, rule.residue) for thing, rule in found} == expected
    assert len(found) == len(expected)


@given(states, solutions, solutions, picks, picks)
def test_more_pouring_never_lifts_a_breach(
    state: Residues, poured: str, solution: str, first: tuple[str, ...], used: tuple[str, ...]
) -> None:
    before = breaches(state, solution, used, RULES)
    assert set(before) <= set(breaches(pour(state, poured, first), solution, used, RULES))


@given(states, solutions, solutions, picks, picks)
def test_the_order_of_two_pours_changes_no_residue(
    state: Residues, one: str, other: str, first: tuple[str, ...], second: tuple[str, ...]
) -> None:
    assert pour(pour(state, one, first), other, second) == pour(pour(state, other, second), one, first)
