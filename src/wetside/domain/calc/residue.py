"""Residues of solutions on vessels, funnels and film, and the pours they forbid.

Used by the proof over all paths of a profile and by the gates of a session. Things, residues and solutions are
ids. Not modelled: traces carried on by a pour that no rule forbids; a rinse through a dirty funnel clears only the
things it names, so the profile names the funnel too. Source: common practice, no source (a drop of bleach-fix ends
a developer).
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

NOTHING: frozenset[str] = frozenset()


class Rule(Struct, frozen=True):
    """`residue` must not reach `solution`; `why` is a sentence for the person."""

    residue: str
    solution: str
    why: str


class Residues(Struct, frozen=True):
    """The residues on each thing: pairs sorted by thing, clean things left out, so that equal states are equal.

    The constructor raises ValueError for other pairs; `Residues.of` takes any.
    """

    things: tuple[tuple[str, frozenset[str]], ...] = ()

    def __post_init__(self) -> None:
        names = [thing for thing, _ in self.things]
        if names != sorted(set(names)):
            raise ValueError("things must be sorted and each named once")
        if any(not carried for _, carried in self.things):
            raise ValueError("a thing that carries nothing is left out")

    @classmethod
    def of(cls, pairs: Iterable[tuple[str, Iterable[str]]]) -> Residues:
        """Build from pairs in any order; a thing named twice carries both sets."""
        gathered: dict[str, frozenset[str]] = {}
        for thing, carried in pairs:
            gathered[thing] = gathered.get(thing, NOTHING) | frozenset(carried)
        return cls(tuple(sorted((thing, carried) for thing, carried in gathered.items() if carried)))

    def on(self, thing: str) -> frozenset[str]:
        """The residues on `thing`."""
        return next((carried for name, carried in self.things if name == thing), NOTHING)


CLEAN = Residues()


class Breach(Struct, frozen=True):
    """`thing` carries `residue`, which must not reach `solution`, because `why`."""

    thing: str
    residue: str
    solution: str
    why: str


def breaches(
    residues: Residues, solution: str, things: tuple[str, ...], rules: tuple[Rule, ...]
) -> tuple[Breach, ...]:
    """The rules that pouring `solution` with or into `things` would break, by thing, then by rule."""
    return tuple(
        Breach(thing, rule.residue, solution, rule.why)
        for thing in dict.fromkeys(things)
        for rule in rules
        if rule.solution == solution and rule.residue in residues.on(thing)
    )


def pour(residues: Residues, solution: str, things: tuple[str, ...]) -> Residues:
    """The state after `solution` went through or into `things`."""
    return Residues.of((*residues.things, *((thing, (solution,)) for thing in things)))


def rinse(residues: Residues, things: tuple[str, ...], cleared: frozenset[str] | None = None) -> Residues:
    """The state after `things` were rinsed of the residues in `cleared`; None: of all."""
    return Residues.of(
        (thing, (NOTHING if cleared is None else carried - cleared) if thing in things else carried)
        for thing, carried in residues.things
    )
