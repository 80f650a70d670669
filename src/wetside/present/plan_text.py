"""A plan as lines of text: duration, volumes, temperatures, batches, finishing time, and warnings. Pure.

A line without indentation is a heading; the lines that belong to it are indented by two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.tank import coverages
from wetside.domain.calc.timeline import Timeline
from wetside.domain.calc.water import water_hazard
from wetside.domain.messages import Message
from wetside.domain.planning.bottles import bottle_of
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Bottle
from wetside.domain.planning.warm_bath import water_in_all
from wetside.domain.profile.model import Kind
from wetside.domain.session.developer import pours
from wetside.present.developer_words import pour_words
from wetside.present.message_words import in_words
from wetside.present.plan_words import (
    agitation_words,
    batches_words,
    bottle_words,
    order_words,
    slope_words,
    warming_words,
    warmth_in_short,
    warmth_words,
)
from wetside.present.shelf_text import LEFT_AFTER
from wetside.present.step_facts import plan_wash_water
from wetside.present.tempering_text import bath_water, plan_answers
from wetside.present.text_page import LABEL, TextPage
from wetside.present.timeline_chart import LEAST_WIDTH, chart
from wetside.present.water_text import drawn_water
from wetside.present.wording import (
    later_by_clock,
    minutes_seconds,
    sentence,
    span,
    temperature,
    temperatures,
    time_of_day,
    volume,
)

MILD: Final = {
    "thermometer": "thermometer's error",
    "age-unknown": "bottle of unknown age",
    "slide": "slide film",
    "from-memory": "times from memory",
    "hot-bath": "the warm bath scalds",
    "second-bottle": "second bottle not used",
    "looked-before": "how film came out before",
    "used-all-the-same": "bottle used all the same",
    "still-invented": "marked as invented",
    "note-on-profile": "figures of the process to look at",
}
"""The codes of harmless warnings, with their names; every other warning is serious and comes first."""

ENDS: Final = {"on time": "on time", "not before": "at least", "when done": "about"}


def serious(plan: Plan) -> tuple[Message, ...]:
    """The warnings to resolve before the evening begins."""
    return tuple(warning for warning in plan.warnings if warning.code not in MILD)


def settle_first(plan: Plan) -> tuple[str, ...]:
    """The sentences of what is to be resolved before the evening begins."""
    return tuple(in_words(warning, plan.units) for warning in serious(plan))


def worth_knowing(plan: Plan) -> tuple[Message, ...]:
    """The harmless warnings."""
    return tuple(warning for warning in plan.warnings if warning.code in MILD)


def plan_lines(
    plan: Plan, width: int, ascii_only: bool, starts_at: datetime | None, left: Iterable[str] = ()
) -> tuple[str, ...]:
    """The whole plan in lines of at most `width` cells (32 at least; narrower is taken as 32).

    starts_at: the wall-clock time the evening begins; without it times count from the beginning. left: what is
    left in the kits of the shelf afterwards.
    """
    page = TextPage(max(width, LEAST_WIDTH), ascii_only)
    in_short = (*_in_short(plan, starts_at), ("Agitation", agitation_words(plan.setup)), *_water_and_cost(plan))
    return (
        *page.heading(plan.setup.title + (" (invented)" if plan.setup.invented else "")),
        *page.section("Settle this first", page.items(settle_first(plan))),
        *page.section("In short", page.labelled(in_short)),
        *page.section("Baths, one after the other", _baths(plan, page)),
        *page.section("What each bottle has to cover", page.items(_bottles(plan))),
        *page.section("Water for the warm bath", page.items(bath_water(plan))),
        *page.section("Warm water for the washes", page.items(plan_wash_water(plan))),
        *page.section("Warming the bottles", page.items(map(sentence, plan_answers(plan)))),
        *page.section("The evening", _chart(plan, page, starts_at)),
        *page.section("Worth knowing", page.items(_worth_knowing_in_words(plan))),
        *page.section(LEFT_AFTER, page.items(left)),
    )


def _worth_knowing_in_words(plan: Plan) -> Iterator[str]:
    yield from (in_words(each, plan.units) for each in worth_knowing(plan))
    if plan.notes:
        many = f"{len(plan.notes)} notes" if len(plan.notes) > 1 else "A note"
        yield f"{many} on the process itself: at the end of its review."


class ShortLine(Struct, frozen=True):
    """A line of a plan in short. opens_warning: it is the first line of a serious warning."""

    text: str
    opens_warning: bool = False


def short_lines(plan: Plan, width: int, ascii_only: bool, starts_at: datetime | None) -> tuple[ShortLine, ...]:
    """The plan in short, to stand beside a list: serious warnings, then duration, volumes, temperatures, times."""
    page = TextPage(width, ascii_only)
    lines = [
        ShortLine(line, opens_warning=number == 0)
        for warning in serious(plan)
        for number, line in enumerate(page.hanging("! ", in_words(warning, plan.units)))
    ]
    lines += map(ShortLine, page.labelled((*_in_short(plan, starts_at), *_warmth(plan))))
    return tuple(lines)


def in_a_sentence(plan: Plan, starts_at: datetime | None) -> str:
    """The plan in one sentence, for a space of two lines: bath times, finishing time, number of warnings."""
    done = f"in {span(plan.hands_done_s)}"
    if starts_at is not None:
        done = f"at {_clock(starts_at, plan.hands_done_s)}"
    batches = f"{len(plan.batches)} batch{'es' if len(plan.batches) > 1 else ''}"
    return f"{_times(plan)}; {batches}, done {done}; {_count(plan)}."


def _in_short(plan: Plan, starts_at: datetime | None) -> tuple[tuple[str, str], ...]:
    done = f"after {span(plan.hands_done_s)}, dry after about {span(plan.total_s)}"
    if starts_at is not None:
        dry = _clock(starts_at, plan.total_s)
        done = f"{_clock(starts_at, plan.hands_done_s)}, dry about {dry}, begun {starts_at:%H:%M}"
    dark = f", {span(plan.dark_s)} in the dark" if plan.dark_s else ""
    pairs = (
        ("How long", f"{span(plan.hands_done_s)}{dark}"),
        ("Done", done),
        ("Batches", batches_words(plan)),
        ("How hot", _how_hot(plan)),
        ("Times", _times(plan)),
        ("How much", _how_much(plan)),
        ("Warm bath", _warm_bath(plan)),
        ("Warming", warming_words(plan)),
        ("Loading", order_words(plan)),
        ("Worries", _warnings(plan)),
    )
    return tuple((label, text) for label, text in pairs if text)


def _water_and_cost(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The water of the whole evening, and its cost where a bottle has a price, as (label, text)."""
    hot_ml, cold_ml = water_in_all(plan)
    hot, cold, whole = (volume(round(ml, -2), plan.volume_unit) for ml in (hot_ml, cold_ml, hot_ml + cold_ml))
    pairs = [("Water", f"{whole} in all, {hot} hot and {cold} cold; basins and rinsing come on top")]
    if plan.cost is not None:
        less = f"; no price or capacity: {', '.join(plan.cost.without)}" if plan.cost.without else ""
        each = f"{plan.cost.evening:.2f}, {plan.cost.per_roll:.2f} a roll: each bottle's price by its capacity"
        pairs.append(("Cost", f"about {each}{less}"))
    return tuple(pairs)


def _warm_bath(plan: Plan) -> str:
    """How to mix the warm bath; "" where there is none."""
    if plan.water is None or plan.tempering is None:
        return ""
    water = plan.setup.water
    found = drawn_water(water, plan.water.target_c, plan.volume_unit)
    if plan.water.hot_ml is None or found is None:
        return f"{temperature(plan.water.target_c, plan.unit)}, which the taps cannot make: see above"
    parts = [
        f"{words} of {temperature(tap_c, plan.unit)}"
        for words, tap_c in ((found.hot, water.hot_c), (found.cold, water.cold_c))
        if words
    ]
    scalds = ". The hot tap scalds: no hand in it" if water_hazard(water.hot_c) == "scalds" else ""
    return f"{found.whole} at {temperature(plan.water.target_c, plan.unit)}: {' and '.join(parts)}{scalds}"


def _solution_steps(plan: Plan) -> dict[str, list[PlannedStep]]:
    """The baths of each solution except tap water, in order."""
    found: dict[str, list[PlannedStep]] = {}
    for step in plan.steps:
        if step.kind is Kind.BATH and step.solution is not None and step.storage != "tap":
            found.setdefault(step.solution, []).append(step)
    return found


def _how_hot(plan: Plan) -> str:
    """Each bath's temperature, with its range for a bath that ends on time."""
    parts = []
    for steps in _solution_steps(plan).values():
        step = steps[0]
        if step.target_c is None:
            continue
        exact = step.range_c is not None and step.ends == "on time"
        between = f" ({temperatures(step.range_c, plan.unit)})" if exact and step.range_c is not None else ""
        parts.append(f"{step.solution_title} {temperature(step.target_c, plan.unit)}{between}")
    return ", ".join(parts)


def _times(plan: Plan) -> str:
    parts = []
    for steps in _solution_steps(plan).values():
        times = dict.fromkeys(minutes_seconds(step.planned_s) for step in steps if step.planned_s is not None)
        if times:
            parts.append(f"{steps[0].solution_title} {' and '.join(times)}")
    return ", ".join(parts)


def _warmth(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The effect of half a degree on the time of each bath with a table of times, in its first batch."""
    steps = [baths[0] for baths in _solution_steps(plan).values() if baths[0].table]
    found = [(step.solution_title, *warmth_in_short(step, plan.unit)) for step in steps]
    return tuple((label, f"{title} {words}") for title, label, words in found if words)


def _how_much(plan: Plan) -> str:
    volumes = dict.fromkeys(volume(batch.volume_ml, plan.volume_unit) for batch in plan.batches)
    short = [warning for warning in plan.warnings if warning.code == "too-little"]
    enough = "the bottles do not cover it all" if short else "every bottle covers it"
    return f"{' and '.join(volumes)} in the tank for each bath; {enough}"


def _count(plan: Plan) -> str:
    grave, mild = len(serious(plan)), len(worth_knowing(plan))
    parts = []
    if grave:
        parts.append(f"{grave} to settle first")
    if mild:
        parts.append(f"{mild} worth knowing")
    return ", ".join(parts) or "none"


def _warnings(plan: Plan) -> str:
    """The number of warnings, and the names of those that are not printed in full above."""
    codes = [warning.code for warning in worth_knowing(plan)]
    names = [
        MILD[code] + (f" ({codes.count(code)})" if codes.count(code) > 1 else "") for code in dict.fromkeys(codes)
    ]
    return f"{_count(plan)}: {', '.join(names)}" if names else _count(plan)


def _baths(plan: Plan, page: TextPage) -> list[str]:
    lines = []
    for batch in plan.batches:
        rolls = "; ".join(plan.setup.rolls[roll].label for roll in batch.rolls)
        if len(plan.batches) > 1:
            pushed = f", pushed {batch.push:g}" if batch.push else ""
            lines += page.hanging("  ", f"Batch {batch.number}{pushed}: {rolls}")
        steps = [step for step in plan.steps if step.batch == batch.number and step.planned_s is not None]
        seen: set[str] = set()
        for step in steps:
            if step.of not in seen and step.kind.traits.wets:
                seen.add(step.of)
                lines += _bath(plan, page, step, sum(1 for other in steps if other.of == step.of))
    return lines


def _bath(plan: Plan, page: TextPage, step: PlannedStep, times: int) -> list[str]:
    """The lines of one bath: time, way of ending, volume and temperature; below, the reasons for the time.

    The slope of a sheet's times is printed with the first such bath only.
    """
    first = step is next(other for other in plan.steps if other.of == step.of)
    what = []
    if step.volume_ml is not None and step.kind is Kind.BATH:
        what.append(volume(step.volume_ml, plan.volume_unit))
    if step.target_c is not None:
        what.append(f"at {temperature(step.target_c, plan.unit)}")
    if step.roll is not None:
        what.append(f"for each of {times} rolls" if times > 1 else f"for {step.roll_label}")
    words = f"{minutes_seconds(step.planned_s or 0.0)} {ENDS[step.ends]}" + (f", {' '.join(what)}" if what else "")
    name = page.plain(step.title)
    room = max(LABEL, *(len(page.plain(each.title)) for each in plan.steps if each.kind is Kind.BATH))
    lines = page.hanging(f"    {name:<{room}} ", words)
    pour = next((pour_words(plan, each) for each in pours(plan) if each.step == step.id), "")
    for below in (
        in_words(step.about, plan.units),
        pour,
        warmth_words(step, plan.unit),
        slope_words(step) if first else "",
    ):
        if below:
            lines += page.hanging("      ", below)
    return lines


def _bottles(plan: Plan) -> tuple[str, ...]:
    """A sentence for each bottle of tonight: what every batch takes from it, and whether it is enough."""
    texts = []
    poured = {step.solution for step in plan.steps if step.volume_ml is not None}
    for solution in dict.fromkeys(step.solution for step in plan.steps if step.solution is not None):
        step = next(step for step in plan.steps if step.solution == solution)
        bottle = bottle_of(plan.setup, solution)
        if bottle is None:
            fills = ", ".join(dict.fromkeys(volume(batch.volume_ml, plan.volume_unit) for batch in plan.batches))
            texts.append(f"{step.solution_title}: {fills} from the tap each time.")
        elif solution in poured:
            covering = _covering(plan, bottle, one_shot=step.storage == "one-shot")
            texts.append(f"{bottle_words(bottle, plan.volume_unit)}: {covering}.")
        else:
            texts.append(f"{bottle_words(bottle, plan.volume_unit)}: one roll at a time, as it stands.")
    return tuple(texts)


def _covering(plan: Plan, bottle: Bottle, *, one_shot: bool) -> str:
    carry_ml = plan.setup.tank.carry_over_ml
    poured = {step.batch for step in plan.steps if step.solution == bottle.solution}
    batches = [batch for batch in plan.batches if batch.number in poured]
    fills = tuple(
        (batch.volume_ml, batch.volume_ml if one_shot else carry_ml * len(batch.rolls)) for batch in batches
    )
    parts = []
    for batch, answer in zip(batches, coverages(bottle.volume_ml, fills), strict=True):
        enough = "enough" if answer.enough else f"{volume(answer.short_ml, plan.volume_unit)} SHORT"
        parts.append(f"batch {batch.number} takes {volume(answer.needed_ml, plan.volume_unit)}, {enough}")
    return "; ".join(parts)


def _chart(plan: Plan, page: TextPage, starts_at: datetime | None) -> list[str]:
    """The timeline of the evening until the handwork is done; work on dry film is named below it."""
    begun = [row for row in plan.timeline if row.start_s < plan.hands_done_s]
    rows = tuple(replace(row, label=page.plain(row.label)) for row in begun)
    timeline = Timeline(plan.total_s, plan.dark_s, rows, plan.hands_done_s)
    width = max(LEAST_WIDTH, page.width - 2)
    drawn = chart(timeline, width, ascii_only=page.ascii_only, starts_at=starts_at)
    indent = "  " if page.width - 2 >= LEAST_WIDTH else ""
    lines = [f"{indent}{line}" for line in drawn]
    later = dict.fromkeys(row.label for row in plan.timeline if row.start_s >= plan.hands_done_s)
    if later:
        lines += page.hanging(indent, f"When the film is dry: {', '.join(later)}.")
    return lines


def _clock(starts_at: datetime, plus_s: float) -> str:
    """The time of day `plus_s` seconds after the start, to the minute, with the day where it is a later one."""
    days = (later_by_clock(starts_at, plus_s + 30.0).date() - starts_at.date()).days
    later = " the next day" if days == 1 else f" {days} days later" if days > 1 else ""
    return f"{time_of_day(starts_at, plus_s)}{later}"
