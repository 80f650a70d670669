"""The charts of the page: temperatures, plan against actual, and what the developer's work came to.

One job: take the numbers of the log that are drawn, and name them. They are those of the tables.
"""

from __future__ import annotations

from wetside.domain.calc.wording import minutes_seconds, on_scale, temperatures
from wetside.export.log_entries import ReadingLog, StepLog
from wetside.export.page_rows import is_bath, percent_of_plan, step_name, when
from wetside.export.session_log import TAKEN_BACK, SessionLog
from wetside.export.svg_charts import Bar, Curve, Points, bar_chart, line_chart
from wetside.frozen import dataclass
from wetside.sanitize import coded

BATH = "bath"


@dataclass(frozen=True, slots=True)
class Chart:
    """One picture, and the words under it."""

    svg: str
    caption: str


def charts(log: SessionLog) -> tuple[Chart, ...]:
    """Those that have something to show, in the order of the evening."""
    developers = [step for step in log.steps if step.ends == "on time" and is_bath(step)]
    found = [_evening(log, developers), _baths(log)]
    for step in developers:
        found += [_in_the_bath(log, step), _dose(log, step)]
    return tuple(chart for chart in found if chart is not None)


def _evening(log: SessionLog, developers: list[StepLog]) -> Chart | None:
    """Developer and warm bath from the first reading to the last developer's end, over the forecast."""
    solutions = {step.solution for step in developers}
    read = [each for each in log.readings if each.of in (*solutions, BATH) and each.verdict != TAKEN_BACK]
    if not read or not developers:
        return None
    began_s = log.began.at
    spans = [
        (s.started.at - began_s, s.ended.at - began_s, coded(step_name(log, s)))
        for s in developers
        if s.started is not None and s.ended is not None
    ]
    end_s = max([each.when.at - began_s for each in read] + [span[1] for span in spans])
    bath = [each for each in read if each.of == BATH]
    plan_bath, plan_developer = _forecast(log, bath[0].when.at - began_s if bath else None, end_s)
    curves = (
        Curve("developer as read", "full", (), tuple(_mark(log, each) for each in read if each.of != BATH)),
        Curve("warm bath as read", "open", (), tuple(_mark(log, each) for each in bath)),
        Curve("developer as forecast", "dashed", plan_developer),
        Curve("warm bath as forecast", "dotted", plan_bath),
    )
    range_c = log.plan.step(developers[0].id).range_c
    svg = line_chart(
        "Temperatures",
        curves,
        f"minutes from the beginning at {when(log, log.began)}",
        lambda at: f"{at / 60.0:g}",
        lambda value: f"{value:g} {log.plan.unit}",
        _band(log, range_c),
        spans,
    )
    wanted = "" if range_c is None else f" Shaded: the developer's range, {temperatures(range_c, log.plan.unit)}."
    caption = (
        "Temperatures. Full dots: developer as read; rings: warm bath as read; dashed and dotted: their forecast."
    )
    return Chart(svg, caption + wanted)


def _forecast(log: SessionLog, from_s: float | None, until_s: float) -> tuple[Points, Points]:
    """The plan's curves of bath and developer, begun when the bath was first read; empty where it has none."""
    tempering = log.plan.tempering
    if tempering is None or from_s is None:
        return (), ()
    rows = [(from_s + at_s, bath_c, developer_c) for at_s, bath_c, developer_c in tempering.curve]
    rows = [row for row in rows if row[0] <= until_s]
    bath, developer = (tuple((row[0], _shown(log, row[column])) for row in rows) for column in (1, 2))
    return bath, developer


def _mark(log: SessionLog, read: ReadingLog) -> tuple[float, float, str]:
    said = f"{when(log, read.when)} {coded(read.title)} {read.value:.2f} {read.unit}"
    return read.when.at - log.began.at, _shown(log, read.value), said


def _shown(log: SessionLog, value_c: float) -> float:
    """On the scale of the person: its round figures are written beside the picture."""
    return on_scale(value_c, log.plan.unit)


def _band(log: SessionLog, range_c: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if range_c is None else (_shown(log, range_c[0]), _shown(log, range_c[1]))


def _baths(log: SessionLog) -> Chart | None:
    bars = [
        Bar(
            coded(step_name(log, step)),
            step.due_s,
            step.actual_s,
            f"{minutes_seconds(step.due_s)} due, {minutes_seconds(step.actual_s)} was",
        )
        for step in log.steps
        if is_bath(step) and step.due_s is not None and step.actual_s is not None
    ]
    caption = "Each bath up to pouring out. Outline: as due; grey: as it was."
    return Chart(bar_chart("Plan against actual", bars), caption) if bars else None


def _in_the_bath(log: SessionLog, step: StepLog) -> Chart | None:
    """The developer's readings near to, over the time in the bath."""
    if step.started is None or step.ended is None or not step.read_within_c:
        return None
    t0, until = step.started.at, step.ended.at
    within = [
        e for e in log.readings if e.of == step.solution and t0 <= e.when.at <= until and e.verdict != TAKEN_BACK
    ]
    marks = tuple((at - (t0 - log.began.at), c, said) for at, c, said in (_mark(log, each) for each in within))
    planned = log.plan.step(step.id)
    target_c = planned.target_c
    target: Points = () if target_c is None else tuple((at, _shown(log, target_c)) for at in (0.0, until - t0))
    svg = line_chart(
        f"{coded(step_name(log, step))}: temperature",
        (Curve("as read", "full", (), marks), Curve("as planned", "dashed", target)),
        "time in the bath",
        minutes_seconds,
        lambda value: f"{value:g} {log.plan.unit}",
        _band(log, planned.range_c),
    )
    return Chart(
        svg, f"{step_name(log, step)}: as read in the bath (dots), as planned (dashed), its range (shaded)."
    )


def _dose(log: SessionLog, step: StepLog) -> Chart | None:
    """How the developer's work grew, by its readings, beside what was planned."""
    if not step.doses or step.last_planned_s is None:
        return None
    at_s, share = step.doses[-1]
    planned = ((0.0, 0.0), (step.planned_s or step.last_planned_s, 1.0))
    said = f"{percent_of_plan(share)} at {minutes_seconds(at_s)}"
    svg = line_chart(
        f"{coded(step_name(log, step))}: dose",
        (
            Curve("by the readings", "solid", step.doses, ((at_s, share, said),)),
            Curve("as planned", "dashed", planned),
        ),
        "time in the bath",
        minutes_seconds,
        lambda part: f"{part * 100.0:.0f} %",
    )
    caption = (
        f"{step_name(log, step)}: its work by the readings (line), as planned (dashed): {said}, draining counted."
    )
    return Chart(svg, caption)
