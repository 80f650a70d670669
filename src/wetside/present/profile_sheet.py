"""A profile as a sheet for comparison with the kit's own, and notes on its figures and texts. Pure.

Every figure is listed with its source and how sure that is; a text that names a figure is marked, as no check
compares texts with figures. Two profiles with equal figures lead to the same evening.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from textwrap import wrap
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.profile.model import Profile, Solution, Step
from wetside.domain.proof.print_comparison import profile_notes
from wetside.present.message_words import in_words
from wetside.present.wording import counted, minutes_seconds, on_scale, temperature, temperatures

_FIGURE: Final = re.compile(r"\d")
_KINDS: Final = re.compile(r"\b(standard|backed|backing|slide)\b", re.IGNORECASE)
_WIDTH: Final = 100

KIT_SHEET: Final = (
    "target", "range", "time", "push", "use", "capacity", "stretch", "life, full", "life, part", "agitation"
)  # fmt: skip
"""The figures that a kit's printed sheet has; all others are about the way the guide uses them."""


class Figure(Struct, frozen=True):
    """One figure. of: a solution's or step's id. what: its name on the sheet. source: the id of a source.

    key: the key of the profile's file that states it.
    """

    of: str
    title: str
    what: str
    text: str
    source: str
    key: str


class Prose(Struct, frozen=True):
    """A text of the profile that names a figure, a kind of film, or both."""

    of: str
    text: str
    figure: bool
    film: bool


def figures(profile: Profile) -> tuple[Figure, ...]:
    """Every figure of the process: those of the solutions, then those of the steps in their order."""
    found = [each for solution in profile.solutions for each in _of_solution(solution)]
    found += [each for step in profile.steps for each in _of_step(profile, step)]
    return tuple(found)


def marked_prose(profile: Profile) -> tuple[Prose, ...]:
    """Every text that names a figure or a kind of film, as no check compares it with the figures."""
    texts: list[tuple[str, str]] = [("notes", text) for text in profile.notes]
    texts += [("first aid", text) for text in profile.first_aid]
    for solution in profile.solutions:
        words = (solution.looks_healthy, solution.looks_spent, solution.disposal, *solution.mixing)
        texts += [(solution.id, text) for text in (*words, *(each.text for each in solution.hazards))]
    for caution in profile.cautions:
        texts.append((f"caution {caution.id}", caution.sentence))
    for step in profile.steps:
        ticks = (tick.text for tick in step.ticks)
        moved = in_words(step.agitation.words) if step.agitation else ""
        words_of = (step.title, step.instruction, step.safe_way_out, moved, *ticks, *step.remember)
        texts += [(step.id, text) for text in words_of]
    marked = (Prose(of, text, bool(_FIGURE.search(text)), bool(_KINDS.search(text))) for of, text in texts)
    return tuple(dict.fromkeys(each for each in marked if each.figure or each.film))


def sheet_data(profile: Profile) -> dict[str, Any]:
    """The sheet as data for JSON, with stable keys and the texts of `sheet_lines`."""
    sure = {each.id: each.sure.value for each in profile.sources}
    shown = ("of", "title", "what", "text", "source")
    return {
        "id": profile.id,
        "title": profile.title,
        "accepts": list(profile.accepts),
        "sha256": profile.sha256,
        "figures": [
            {name: getattr(each, name) for name in shown} | {"sure": sure.get(each.source, "not said")}
            for each in figures(profile)
        ],
        "prose": [
            {"of": each.of, "text": each.text, "names_a_figure": each.figure, "names_a_film": each.film}
            for each in marked_prose(profile)
        ],
        "sources": [{"id": each.id, "title": each.title, "sure": each.sure.value} for each in profile.sources],
    }


def figures_of(profile: Profile, of: str, keys: tuple[str, ...]) -> tuple[Figure, ...]:
    """The figures of a solution or step that are stated by one of these keys."""
    return tuple(each for each in figures(profile) if holds(each, of, keys))


def holds(figure: Figure, of: str, keys: tuple[str, ...]) -> bool:
    """Whether a figure belongs to this solution or step and is stated by one of these keys."""
    return figure.of == of and not _keys_of(figure).isdisjoint(keys)


def _keys_of(figure: Figure) -> set[str]:
    """The keys that can state a figure: `time` of a solution is short for a `table` of one row."""
    return {"table", "time"} if figure.key == "table" else {figure.key}


def figure_line(figure: Figure, own: frozenset[tuple[str, str]]) -> str:
    """A figure on one line, without its source: "= target           38.0 °C (100.4 °F)".

    own: as in `sheet_lines`.
    """
    stated = any((figure.of, key) in own for key in _keys_of(figure))
    return f"{'=' if stated else ' '} {figure.what:<16} {figure.text}"


class SheetLine(Struct, frozen=True):
    """One line of a kit's sheet; `of` is a solution's or step's id. figure: None in a heading."""

    of: str
    text: str
    figure: Figure | None = None


def kit_lines(profile: Profile, own: frozenset[tuple[str, str]]) -> tuple[SheetLine, ...]:
    """The headings and figures that a kit's printed sheet has. own: as in `sheet_lines`."""
    lines: list[SheetLine] = []
    for each in figures(profile):
        if each.what in KIT_SHEET:
            if not lines or lines[-1].of != each.of:
                lines.append(SheetLine(each.of, each.title))
            lines.append(SheetLine(each.of, figure_line(each, own), each))
    return tuple(lines)


def sheet_lines(profile: Profile, own: frozenset[tuple[str, str]] = frozenset()) -> tuple[str, ...]:
    """The sheet as lines of at most 100 characters.

    own: (id of a solution or step, key) of the values that the profile's own file states, where it has a base.
    """
    lines = [f"{profile.title} ({profile.id}); film: {', '.join(profile.accepts)}"]
    lines += ["Hold it beside the kit's own sheet: that one decides."]
    if own:
        lines.append('A line with "=" is stated in the file itself; every other is taken over, or follows.')
    lines.append("")
    sure = {each.id: each.sure.value for each in profile.sources}
    of = ""
    for each in figures(profile):
        if each.of != of:
            of = each.of
            lines.append(f"{each.title} ({of})")
        where = f"{each.source}, {sure.get(each.source, 'not said')}"
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


def _of_solution(solution: Solution) -> Iterator[Figure]:
    sources = dict(solution.sources)

    def figure(what: str, text: str, key: str = "", about: str = "") -> Figure:
        """about: the name of the figure in the profile's `sources`, where it differs from `what`."""
        source = sources.get(about or what, solution.source)
        return Figure(solution.id, solution.title, what, text, source, key or what)

    yield figure("kept as", f"{solution.storage}; ends {solution.ends}", "storage", "source")
    if solution.target_c is not None:
        yield figure("target", _both(solution.target_c))
    if solution.range_c is not None:
        yield figure("range", _both_of(solution.range_c))
    for at_c, seconds in solution.table:
        yield figure("time", f"{minutes_seconds(seconds)} at {_both(at_c)}", "table", "table")
    if solution.table and solution.ends == "on time":
        tolerance = f"± {solution.table_tolerance_c:g} °C beside the table"
        yield figure("tolerance", tolerance, "table_tolerance", "table")
        yield figure("shortest", minutes_seconds(solution.shortest_s), about="table")
    if solution.use.kind != "none":
        rows = ", ".join(f"x {factor:g} from {rolls:g} rolls per litre" for rolls, factor in solution.use.rows)
        compound = ", compound" if solution.use.kind == "compound" else ""
        share = f"+{solution.use.per_roll:.1%} per roll{compound}"
        yield figure("use", rows or share)
    for stops, factor in solution.push:
        yield figure("push", _pushed(factor, stops))
    if solution.capacity_per_l is not None:
        yield figure("capacity", f"{solution.capacity_per_l:g} rolls per litre")
    if solution.stretch_per_l is not None:
        yield figure("stretch", f"{solution.stretch_per_l:g} rolls per litre", about="capacity")
    if solution.life_full_days is not None:
        yield figure("life, full", counted(round(solution.life_full_days), "day"), "life_full", "life")
    if solution.life_part_days is not None:
        yield figure("life, part", counted(round(solution.life_part_days), "day"), "life_part", "life")
    if solution.makes_light_safe:
        yield figure("light", "film is safe for light after it", "makes_light_safe", "source")
    if solution.hazards:
        yield figure("hazards", ", ".join(each.code for each in solution.hazards))


def _of_step(profile: Profile, step: Step) -> Iterator[Figure]:
    def figure(what: str, key: str, text: str) -> Figure:
        return Figure(step.id, step.title, what, text, step.source, key)

    if step.solution is not None:
        film = f", {' and '.join(step.when)} only" if step.when else ""
        pours = f"{profile.solution(step.solution).title}, {step.ends or 'as it says'}{film}"
        starts = f"starts when {'the pour begins' if step.clock_starts == 'pour begins' else 'full'}"
        lead_in = "the person's own" if step.lead_in_s is None else f"{step.lead_in_s:g} s"
        counts = "counts as time in the bath" if step.draining_counts else "does not count"
        yield figure("pours", "solution", pours)
        yield figure("clock", "clock_starts", starts)
        yield figure("draining", "draining_counts", counts)
        yield figure("lead-in", "lead_in", f"{lead_in}, before the clock")
    if step.time_s is not None:
        yield figure("time", "time", f"{minutes_seconds(step.time_s)}{f', {step.ends}' if step.ends else ''}")
    if step.water_every_s is not None:
        yield figure("water", "water_every", f"changed every {minutes_seconds(step.water_every_s)}")
    if step.agitation is not None:
        moved = step.agitation
        pace = f"{moved.first_s:g} s, then {moved.for_s:g} s every {moved.every_s:g} s"
        yield figure("agitation", "agitation", pace)
    for ask in step.readings:
        wanted = _both_of(ask.range_c) if ask.range_c is not None else "anything"
        yield figure("reads", "readings", f"{ask.of}: {wanted}{'' if ask.required else ', if wanted'}")


def _both(value_c: float) -> str:
    return f"{temperature(value_c, '°C')} ({temperature(value_c, '°F')})"


def _both_of(range_c: tuple[float, float]) -> str:
    return f"{temperatures(range_c, '°C')} ({temperatures(range_c, '°F')})"


def _pushed(factor: float, stops: float) -> str:
    return f"x {factor:g} for {counted(stops, 'stop')}"


def note_lines(profile: Profile) -> tuple[str, ...]:
    """The notes on a profile that are no faults, in words."""
    return tuple(map(in_words, profile_notes(profile)))


def words_of_base(profile: Profile, base: Profile) -> tuple[str, ...]:
    """One sentence for each text taken over from the base that names a figure which the profile has changed.

    Only target temperatures and times of tables are searched for; other numbers in a text have no known meaning.
    """
    changed = {
        figure: re.compile(rf"(?<![\d.:]){re.escape(figure)}(?![\d:]|\.\d)")
        for figure in _changed_figures(profile, base)
    }
    sentences = []
    for prose in marked_prose(profile):
        names = [figure for figure, named in changed.items() if named.search(prose.text)]
        if names:
            sentences.append(
                f'The words at {prose.of} still name {", ".join(names)}, taken over: "{prose.text}"'
                " Put your sheet's figure into the file there."
            )
    return tuple(sentences)


def _changed_figures(profile: Profile, base: Profile) -> Iterator[str]:
    """The figures of the base that the profile has changed, as they are written in texts: "37.8 °C", "3:15"."""
    own = {each.id: each for each in profile.solutions}
    for solution in base.solutions:
        now = own.get(solution.id)
        if now is None:
            continue
        if solution.target_c is not None and now.target_c != solution.target_c:
            yield f"{round(solution.target_c, 1):g} °C"
            yield f"{round(on_scale(solution.target_c, '°F'), 1):g} °F"
        times = {seconds for _, seconds in now.table}
        yield from (minutes_seconds(seconds) for _, seconds in solution.table if seconds not in times)
