"""How film came out: what is seen, its likely causes, and what to change next time.

The rows and all their words are in `film_faults.toml`, beside this module, which is read on first use. It has one
table for negatives and one for positives.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Final, Literal

from msgspec import Struct, convert

from wetside.domain.profile.model import Sure, Yield
from wetside.domain.session.events import OWN_WORDS, WELL, Edge, Look
from wetside.present.sentences import word_table

Group = Literal["density", "colour", "light", "lines", "marks", "surface"]

_OWN_WORDS: Final = (OWN_WORDS, "Something else, in my own words")


class FilmFault(Struct, frozen=True):
    """One row of the table; the head of `film_faults.toml` explains each field."""

    id: str
    group: Group
    words: str
    causes: tuple[str, ...]
    change: tuple[str, ...]
    tell: str
    source: str
    sure: Sure = Sure.MEMORY
    edges: tuple[Edge, ...] = ("normal", "weak", "dense")
    cast: bool = False


def _table() -> Any:
    return word_table("film_faults")


@cache
def faults(yields: Yield) -> tuple[FilmFault, ...]:
    """Every row for negatives or for positives."""
    table = _table()
    rows = [{"tell": "", "source": ["no print seen"], **row} for row in (*table[yields], *table["both"])]
    for row in rows:
        row["tell"] = table["tells"].get(row["tell"], row["tell"])
        row["source"] = "; ".join(table["sources"].get(each, each) for each in row["source"])
    return convert(rows, tuple[FilmFault, ...])


def edges(yields: Yield) -> tuple[tuple[Edge, str], ...]:
    """What the edge markings can look like: (id, words)."""
    return tuple(_table()["edges"][yields].items())


def fault(yields: Yield, id_: str) -> FilmFault:
    """The row with this id. Raises KeyError where there is none."""
    return {each.id: each for each in faults(yields)}[id_]


def faults_with(yields: Yield, edge: str) -> tuple[FilmFault, ...]:
    """The faults that go with this look of the edge markings, those that go with the fewest looks first."""
    seen = (each for each in faults(yields) if edge in each.edges)
    return tuple(sorted(seen, key=lambda each: len(each.edges)))


def group_choices(yields: Yield, edge: str) -> tuple[tuple[str, str], ...]:
    """The groups of faults with these edge markings, as (id, words), with "came out well" and own words."""
    there = {each.group for each in faults_with(yields, edge)}
    well = ((WELL, "They came out well"),) if edge == "normal" else ()
    return (*well, *((id_, words) for id_, words in _table()["groups"].items() if id_ in there), _OWN_WORDS)


def look_choices(yields: Yield, edge: str, group: str) -> tuple[tuple[str, str], ...]:
    """The faults of one group, as (id, words), with own words at the end."""
    seen = ((each.id, each.words) for each in faults_with(yields, edge) if each.group == group)
    return (*seen, _OWN_WORDS)


def seen(look: Look | None, typed: str) -> str:
    """What was seen; `typed` where it was told in own words; the id of a fault that the table does not have."""
    if look is None or look.fault == OWN_WORDS:
        return typed
    if look.fault == WELL:
        return "Came out well"
    return next((each.words for each in faults(look.yields) if each.id == look.fault), look.fault)


def seen_with_edges(look: Look | None, typed: str) -> str:
    """As `seen`, and how the edge markings looked."""
    words = seen(look, typed)
    return f"{words}; edge numbers {look.edge}" if look is not None and look.edge else words


def searched_text(look: Look | None, typed: str) -> str:
    """The text in which `wetside rolls` searches, casefolded: words, row, group, "cast" for a colour cast."""
    row = next((each for each in faults(look.yields) if each.id == look.fault), None) if look else None
    kind = "" if row is None else f"{row.id} {row.group} {'cast' if row.cast else ''}"
    return f"{seen_with_edges(look, typed)} {kind}".casefold()


def look_lines(yields: Yield, id_: str) -> tuple[str, ...]:
    """The page about what was seen: likely causes, what to change, and how sure that is."""
    if id_ == WELL:
        return ("Kept. Nothing to change.",)
    found = fault(yields, id_)
    return (
        "Likely causes:",
        *(f"- {cause}." for cause in found.causes),
        *((f"How to tell: {found.tell}.",) if found.tell else ()),
        "What to change next time:",
        *(f"- {each}" for each in found.change),
        f"How sure the causes are: {found.sure.value}; {found.source}. What to change is common practice.",
        "Kept with this session; shown when the same process or bottles are planned again.",
    )
