"""How film came out: what is seen, its likely causes, and what to change next time. A table to find in.

The edge markings are asked about first: they are exposed in the factory, so they tell what processing did from
what the camera did. The table is that of negatives or of positives, by what the process yields. Each row says
where its causes come from and how sure they are; what to change is common practice, no source. Nothing is
diagnosed: causes are likely ones.
"""

from __future__ import annotations

from wetside.domain.profile.model import Yield
from wetside.frozen import dataclass
from wetside.present.faults import GROUPS, Edge, FilmFault
from wetside.present.faults_negative import NEGATIVE
from wetside.present.faults_positive import POSITIVE

_EDGES: dict[Yield, tuple[tuple[Edge, str], ...]] = {
    "negative": (
        ("normal", "Clear and sharp, as usual"),
        ("weak", "Weak, hard to read"),
        ("dense", "Heavy and dark, or filled in"),
        ("missing", "None at all"),
        ("fogged", "Grey or coloured fog over them"),
    ),
    "positive": (
        ("normal", "Bright on a deep black edge, as usual"),
        ("weak", "Dark, hard to read"),
        ("dense", "Bright or spread, and the edge no deep black"),
        ("missing", "None: the edge is black"),
        ("fogged", "None: the edge is clear, or has light fog"),
    ),
}

WELL = "well"
CAME_OUT_WELL = "Came out well"
OWN_WORDS = "own words"
_EDGE_MARK = "; edge numbers "
_CASTS = ("cast", "crossover", "low-red")
"""Rows that are a colour cast, whatever words they have for it."""


def edges(yields: Yield) -> tuple[tuple[Edge, str], ...]:
    """What edge numbers and edge print can look like; asked first."""
    return _EDGES[yields]


def faults(yields: Yield) -> tuple[FilmFault, ...]:
    """Every row there is for what the process yields."""
    return NEGATIVE if yields == "negative" else POSITIVE


def fault(yields: Yield, id_: str) -> FilmFault:
    """The row with this id; KeyError when there is none."""
    for each in faults(yields):
        if each.id == id_:
            return each
    raise KeyError(id_)


def faults_with(yields: Yield, edge: str) -> tuple[FilmFault, ...]:
    """What can be seen when the edge markings look like this, what only they tell apart first."""
    seen = (each for each in faults(yields) if edge in each.edges)
    return tuple(sorted(seen, key=lambda each: len(each.edges)))


def group_choices(yields: Yield, edge: str) -> tuple[tuple[str, str], ...]:
    """The kinds of thing that can be seen with these edges: (id, words); that all is well, and own words, too."""
    there = {each.group for each in faults_with(yields, edge)}
    well = ((WELL, "They came out well"),) if edge == "normal" else ()
    kinds = tuple((id_, words) for id_, words in GROUPS if id_ in there)
    return (*well, *kinds, (OWN_WORDS, "Something else, in my own words"))


def look_choices(yields: Yield, edge: str, group: str) -> tuple[tuple[str, str], ...]:
    """The options of the list of what can be seen of one kind: (id, words), and own words."""
    seen = tuple((each.id, each.words) for each in faults_with(yields, edge) if each.group == group)
    return (*seen, (OWN_WORDS, "Something else, in my own words"))


def look_note(yields: Yield, edge: str, id_: str) -> str:
    """What is kept with the session: what was seen, and how the edge markings looked."""
    words = CAME_OUT_WELL if id_ == WELL else fault(yields, id_).words
    return f"{words}{_EDGE_MARK}{edge}"


@dataclass(frozen=True, slots=True)
class Look:
    """A kept look, read again. id: `WELL`, a row of the table, or `OWN_WORDS`; edge: "" where not said."""

    id: str
    words: str
    edge: str
    searched: str


def look_of(yields: Yield, text: str) -> Look:
    """What `look_note` put together, as values.

    searched: what somebody may find it by, in lower case: its words, its row and kind, and "cast" for a cast.
    """
    words, mark, edge = text.rpartition(_EDGE_MARK)
    words, edge = (words, edge) if mark else (text, "")
    row = next((each for each in faults(yields) if each.words == words), None)
    kind = "" if row is None else f"{row.id} {row.group} {'cast' if row.id in _CASTS else ''}"
    id_ = WELL if words == CAME_OUT_WELL else OWN_WORDS if row is None else row.id
    return Look(id_, words, edge, f"{text} {kind}".casefold())


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
