"""What has touched what: the residues each thing carries, and the pours they forbid.

One job: keep, for every vessel, funnel and for the film, the solutions it has carried since it was last
rinsed, and say which pour would bring a forbidden one along. The proof over all paths of a profile and the
gates of a running session call these same functions. It must not know steps, ticks or names of any process:
things, residues and solutions are plain ids.

What it does not model: traces that travel on through a pour nobody forbids. A rinse done through a dirty
funnel clears only the things it names, so the profile names the funnel too.

Source: common practice, no source (a drop of bleach-fix ends a developer; rinsing before anything goes
near the developer).
"""

from __future__ import annotations

from collections.abc import Iterable

from wetside.frozen import dataclass

NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Rule:
    """`residue` must not reach `solution`; `why` is the sentence a person reads."""

    residue: str
    solution: str
    why: str


@dataclass(frozen=True, slots=True)
class Residues:
    """What each thing carries: pairs (thing, residues) sorted by thing, none of them empty.

    A thing that carries nothing is not listed, so that equal states are equal values. The constructor
    raises ValueError for pairs out of order, repeated or empty; `Residues.of` puts any pairs in order.
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
        """The residues on `thing`: empty when it is clean or was never named."""
        for name, carried in self.things:
            if name == thing:
                return carried
        return NOTHING


CLEAN = Residues()


@dataclass(frozen=True, slots=True)
class Breach:
    """`thing` still carries `residue`, which must not reach `solution`, because `why`."""

    thing: str
    residue: str
    solution: str
    why: str


def breaches(
    residues: Residues, solution: str, things: tuple[str, ...], rules: tuple[Rule, ...]
) -> tuple[Breach, ...]:
    """The rules that pouring `solution` with or into `things` would break, by thing, then by rule.

    Empty means the pour is allowed. It changes nothing: an allowed pour is then made with `pour`.
    """
    return tuple(
        Breach(thing, rule.residue, solution, rule.why)
        for thing in dict.fromkeys(things)
        for rule in rules
        if rule.solution == solution and rule.residue in residues.on(thing)
    )


def pour(residues: Residues, solution: str, things: tuple[str, ...]) -> Residues:
    """The state after `solution` went through or into `things`: each carries it besides what it carried."""
    return Residues.of((*residues.things, *((thing, (solution,)) for thing in things)))


def rinse(residues: Residues, things: tuple[str, ...], cleared: frozenset[str] | None = None) -> Residues:
    """The state after `things` were rinsed: of everything, or of the residues in `cleared` alone."""
    return Residues.of(
        (thing, (NOTHING if cleared is None else carried - cleared) if thing in things else carried)
        for thing, carried in residues.things
    )
