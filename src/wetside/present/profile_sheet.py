"""A profile as one printed sheet: every figure with its source and how sure it is, and prose that names figures.

One job: make values of it (`figures`, `marked_prose`) and lay them out in lines (`sheet_lines`), so that a person
can hold them beside the kit's own sheet. Two profiles whose figures are equal lead to the same evening.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from textwrap import wrap
from typing import Any, Final

from wetside.domain.calc.wording import minutes_seconds, temperature, temperatures
from wetside.domain.profile.model import Profile, Solution, Step
from wetside.frozen import dataclass

_FIGURE = re.compile(r"\d")
_KINDS = re.compile(r"\b(standard|backed|backing|slide)\b", re.IGNORECASE)
_WIDTH = 100


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: `of` is a solution's or step's id, `text` how it is read, `source` the id of a source."""

    of: str
    title: str
    what: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Prose:
    """A text of the profile that names a figure, a kind of film, or both."""

    of: str
    text: str
    figure: bool
    film: bool


def figures(profile: Profile) -> tuple[Figure, ...]:
    """Every figure that the process goes by, solutions first, then steps in their order."""
    found = [each for solution in profile.solutions for each in _of_solution(solution)]
    found += [each for step in profile.steps for each in _of_step(profile, step)]
    return tuple(found)


def marked_prose(profile: Profile) -> tuple[Prose, ...]:
    """Every text that names a figure or a kind of film: no check compares it with the figures."""
    texts: list[tuple[str, str]] = [("notes", text) for text in profile.notes]
    texts += [("first aid", text) for text in profile.first_aid]
    for solution in profile.solutions:
        words = (solution.looks_healthy, solution.looks_spent, solution.disposal, *solution.mixing)
        texts += [(solution.id, text) for text in (*words, *(each.text for each in solution.hazards))]
    for caution in profile.cautions:
        texts.append((f"caution {caution.id}", f"{caution.hazard} {caution.consequence} {caution.avoid}"))
    for step in profile.steps:
        ticks = (tick.text for tick in step.ticks)
        moved = step.agitation.words if step.agitation else ""
        words_of = (step.title, step.instruction, step.safe_way_out, moved, *ticks, *step.remember)
        texts += [(step.id, text) for text in words_of]
    marked = (Prose(of, text, bool(_FIGURE.search(text)), bool(_KINDS.search(text))) for of, text in texts)
    return tuple(dict.fromkeys(each for each in marked if each.figure or each.film))


def sheet_data(profile: Profile) -> dict[str, Any]:
    """The sheet as plain data, for JSON: stable keys, texts as on the page."""
    known = {each.id: each for each in profile.sources}
    return {
        "id": profile.id,
        "title": profile.title,
        "accepts": list(profile.accepts),
        "sha256": profile.sha256,
        "figures": [
            {
                "of": each.of,
                "title": each.title,
                "what": each.what,
                "text": each.text,
                "source": each.source,
                "sure": known[each.source].sure.value if each.source in known else "not said",
            }
            for each in figures(profile)
        ],
        "prose": [
            {"of": each.of, "text": each.text, "names_a_figure": each.figure, "names_a_film": each.film}
            for each in marked_prose(profile)
        ],
        "sources": [{"id": each.id, "title": each.title, "sure": each.sure.value} for each in profile.sources],
    }


_KEYS = {
    "kept as": "storage",
    "time": "table",
    "tolerance": "table_tolerance",
    "life, full": "life_full",
    "life, part": "life_part",
    "light": "makes_light_safe",
    "pours": "solution",
    "clock": "clock_starts",
    "draining": "draining_counts",
    "lead-in": "lead_in",
    "water": "water_every",
    "reads": "readings",
}
"""The key of a solution or step that holds what the sheet calls otherwise."""


def figures_of(profile: Profile, of: str, keys: tuple[str, ...]) -> tuple[Figure, ...]:
    """The figures of a solution or step that these keys of it hold."""
    return tuple(each for each in figures(profile) if holds(each, of, keys))


def holds(figure: Figure, of: str, keys: tuple[str, ...]) -> bool:
    """Whether a figure is of this solution or step, and one of these keys of it holds it."""
    # `time` in a solution is a table of one row; in a step it is its time.
    return figure.of == of and _KEYS.get(figure.what, figure.what) in (
        *keys,
        *(("table",) if "time" in keys else ()),
    )


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of a kit's sheet; `of` is a solution's or step's id. figure: None in a heading."""

    of: str
    text: str
    figure: Figure | None = None


KIT_SHEET: Final = (
    "target", "range", "time", "push", "use", "capacity", "stretch", "life, full", "life, part", "agitation"
)  # fmt: skip
"""The figures that a kit's printed sheet has; the others say how this guide goes about them."""


def stated(figure: Figure, own: frozenset[tuple[str, str]]) -> bool:
    """Whether a profile's own file states a figure; own as in `sheet_lines`."""
    key = _KEYS.get(figure.what, figure.what)
    return (figure.of, key) in own or (key == "table" and (figure.of, "time") in own)


def figure_line(figure: Figure, own: frozenset[tuple[str, str]]) -> str:
    """A figure on one line, without its source: "= target           38.0 °C (100.4 °F)"."""
    return f"{'=' if stated(figure, own) else ' '} {figure.what:<16} {figure.text}"


def kit_lines(profile: Profile, own: frozenset[tuple[str, str]]) -> tuple[SheetLine, ...]:
    """The sheet as a kit's printed sheet has it: headings and figures."""
    lines: list[SheetLine] = []
    for each in figures(profile):
        if each.what in KIT_SHEET:
            if not lines or lines[-1].of != each.of:
                lines.append(SheetLine(each.of, each.title))
            lines.append(SheetLine(each.of, figure_line(each, own), each))
    return tuple(lines)


def sheet_lines(profile: Profile, own: frozenset[tuple[str, str]] = frozenset()) -> tuple[str, ...]:
    """The sheet as lines of at most 100 characters.

    own: (id of a solution or step, key) of what the profile's own file states, where it stands on another.
    """
    lines = [f"{profile.title} ({profile.id}); film: {', '.join(profile.accepts)}"]
    lines += ["Hold it beside the kit's own sheet: that one decides."]
    if own:
        lines.append('A line with "=" is stated in the file itself; every other is taken over, or follows.')
    lines.append("")
    known = {each.id: each for each in profile.sources}
    of = ""
    for each in figures(profile):
        if each.of != of:
            of = each.of
            lines.append(f"{each.title} ({of})")
        where = f"{each.source}, {known[each.source].sure.value if each.source in known else 'not said'}"
        first, *more = wrap(each.text, _WIDTH - 62) or [""]
        lines.append(f"{figure_line(replace(each, text=first), own):<59} {where}".rstrip())
        lines += [f"  {'':<16} {line}" for line in more]
    lines += ["", "Prose that names a figure (#) or a kind of film (*): compare it by eye."]
    for prose in marked_prose(profile):
        mark = f"{'#' if prose.figure else ' '}{'*' if prose.film else ' '}"
        lines += wrap(f"{prose.of}: {prose.text}", _WIDTH, initial_indent=f"{mark} ", subsequent_indent="     ")
    lines += ["", "Sources"]
    for source in profile.sources:
        said = f"{source.id}: {source.title}. {source.sure.value.capitalize()}."
        lines += wrap(said, _WIDTH, initial_indent="  ", subsequent_indent="     ")
    return tuple(lines)


def _both(value_c: float) -> str:
    return f"{temperature(value_c, '°C')} ({temperature(value_c, '°F')})"


def _both_of(range_c: tuple[float, float]) -> str:
    return f"{temperatures(range_c, '°C')} ({temperatures(range_c, '°F')})"


def _of_solution(solution: Solution) -> Iterator[Figure]:
    sources = dict(solution.sources)

    def figure(what: str, text: str, about: str = "") -> Figure:
        return Figure(solution.id, solution.title, what, text, sources.get(about or what, solution.source))

    yield figure("kept as", f"{solution.storage}; ends {solution.ends}", "source")
    if solution.target_c is not None:
        yield figure("target", _both(solution.target_c))
    if solution.range_c is not None:
        yield figure("range", _both_of(solution.range_c))
    for at_c, seconds in solution.table:
        yield figure("time", f"{minutes_seconds(seconds)} at {_both(at_c)}", "table")
    if solution.table and solution.ends == "on time":
        yield figure("tolerance", f"± {solution.table_tolerance_c:g} °C beside the table", "table")
        yield figure("shortest", minutes_seconds(solution.shortest_s), "table")
    if solution.use.kind != "none":
        rows = ", ".join(f"x {factor:g} from {rolls:g} rolls per litre" for rolls, factor in solution.use.rows)
        yield figure("use", f"{solution.use.kind}: {rows or f'{solution.use.per_roll:.1%} a roll'}")
    for stops, factor in solution.push:
        yield figure("push", f"x {factor:g} for {stops:g} {'stop' if stops == 1 else 'stops'}")
    if solution.capacity_per_l is not None:
        yield figure("capacity", f"{solution.capacity_per_l:g} rolls per litre")
    if solution.stretch_per_l is not None:
        yield figure("stretch", f"{solution.stretch_per_l:g} rolls per litre", "capacity")
    for what, days in (("life, full", solution.life_full_days), ("life, part", solution.life_part_days)):
        if days is not None:
            yield figure(what, f"{days:.0f} days", "life")
    if solution.makes_light_safe:
        yield figure("light", "film is safe for light after it", "source")
    if solution.hazards:
        yield figure("hazards", ", ".join(each.code for each in solution.hazards))


def _of_step(profile: Profile, step: Step) -> Iterator[Figure]:
    def figure(what: str, text: str) -> Figure:
        return Figure(step.id, step.title, what, text, step.source)

    if step.solution is not None:
        film = f", {' and '.join(step.when)} only" if step.when else ""
        yield figure("pours", f"{profile.solution(step.solution).title}, {step.ends or 'as it says'}{film}")
        yield figure("clock", f"starts when {'the pour begins' if step.clock_starts == 'pour begins' else 'full'}")
        yield figure("draining", "counts as time in the bath" if step.draining_counts else "does not count")
        lead_in = "the person's own" if step.lead_in_s is None else f"{step.lead_in_s:g} s"
        yield figure("lead-in", f"{lead_in}, before the clock")
    if step.time_s is not None:
        yield figure("time", f"{minutes_seconds(step.time_s)}{f', {step.ends}' if step.ends else ''}")
    if step.water_every_s is not None:
        yield figure("water", f"changed every {minutes_seconds(step.water_every_s)}")
    if step.agitation is not None:
        moved = step.agitation
        yield figure("agitation", f"{moved.first_s:g} s, then {moved.for_s:g} s every {moved.every_s:g} s")
    for ask in step.readings:
        span = _both_of(ask.range_c) if ask.range_c is not None else "anything"
        yield figure("reads", f"{ask.of}: {span}{'' if ask.required else ', if wanted'}")
