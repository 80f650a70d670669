"""Residues of solutions on vessels, funnels and film, and the pours they forbid.

Used by the proof over all paths of a profile and by the gates of a session. Things, residues and solutions are
ids. Not modelled: traces carried on by a pour that no rule forbids; a rinse through a dirty funnel clears only the
things it names, so the profile names the funnel too. Source: common practice, no source (a drop of bleach-fix ends
a developer).
"""

from __future__ import annotations

from typing import TypeAlias

from msgspec import Struct

Residues: TypeAlias = "frozenset[tuple[str, str]]"
"""What is on which thing: pairs (thing, residue)."""

CLEAN: Residues = frozenset()


class Rule(Struct, frozen=True):
    """`residue` must not reach `solution`; `why` is a sentence for the person."""

    residue: str
    solution: str
    why: str


def breaches(
    residues: Residues, solution: str, things: tuple[str, ...], rules: tuple[Rule, ...]
) -> tuple[tuple[str, Rule], ...]:
    """The rules that pouring `solution` with or into `things` would break, each with the thing, by thing."""
    return tuple(
        (thing, rule)
        for thing in dict.fromkeys(things)
        for rule in rules
        if rule.solution == solution and (thing, rule.residue) in residues
    )


def pour(residues: Residues, solution: str, things: tuple[str, ...]) -> Residues:
    """The state after `solution` went through or into `things`."""
    return residues | {(thing, solution) for thing in things}


def rinse(residues: Residues, things: tuple[str, ...]) -> Residues:
    """The state after `things` were rinsed."""
    return residues - carried(residues, things)


def carried(residues: Residues, things: tuple[str, ...]) -> Residues:
    """What `things` carry."""
    return frozenset(pair for pair in residues if pair[0] in things)
