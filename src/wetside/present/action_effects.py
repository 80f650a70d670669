"""What choosing an action does, and when it can be chosen; one function decides both. Pure."""

from __future__ import annotations

from typing import get_args

from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session.cues import all_cues, is_answered
from wetside.domain.session.events import DARK_TROUBLES, MishapId
from wetside.domain.session.gates import beside_range, blockers_now, drain_opens_in
from wetside.domain.session.state import State
from wetside.present.actions import ACTIONS, LOOK_STAGE, Action, ActionId, AtOnce, Opening
from wetside.present.film_faults import edges
from wetside.present.key_state import Meaning
from wetside.present.message_words import in_words
from wetside.present.prompts import Choice, Number, Page, Panel, Words
from wetside.present.sentences import word_table
from wetside.present.step_facts import rolls_looked_at, way_out
from wetside.present.wording import on_scale


def available(state: State, at: float) -> tuple[Action, ...]:
    """The actions that have an effect now, in the order of the table (first aid always first)."""
    if not state.begun:
        return ()
    return tuple(each for each in ACTIONS if open_action(state, each.id, at).acts)


def open_action(state: State, id_: ActionId, at: float) -> Meaning:
    """The effect of choosing an action: a panel, a command or a wish; none where it is not possible now."""
    plan, step = state.plan, state.step
    match id_:
        case "first aid":
            return Meaning(panel=Page("first aid", "First aid", plan.first_aid))
        case "help":
            lines = tuple(f"{each.letter}  {each.title}: {each.help}" for each in ACTIONS)
            return Meaning(panel=Page("help", "Keys and help", (*word_table("prompt_words")["keys"], *lines)))
        case "note":
            return Meaning(panel=Words("note", "A note", ""))
        case "look":
            possible = bool(plan.setup.rolls) if step is None else step.stage == LOOK_STAGE
            return Meaning(panel=_look_panel(state, plan) if possible else None)
        case "far":
            return Meaning(wish="far")
        case "leave":
            lines = ("The session stays open and its clocks run on. 'wetside' offers it again.",)
            options = (("stay", "Stay"), ("leave", "Leave"))
            return Meaning(panel=Choice("leave", "Leave the guide?", lines, options))
        case "hold" | "undo" | "quiet" | "still in" | "pause":
            return Meaning() if step is None else Meaning(command=_at_once(state, step, id_, at))
        case "safe way out" | "mishap" | "late" | "temperature" | "early" | "against" | "dark trouble":
            return Meaning() if step is None else Meaning(panel=_opened(state, plan, step, id_, at))


def _at_once(state: State, step: PlannedStep, id_: AtOnce, at: float) -> c.Command | None:
    """The command of an action that acts at once; None where it is not possible now."""
    clock = state.clocks.get(step.id)
    match id_:
        case "hold" if state.held_since is None:
            return c.Hold(at)
        case "undo" if state.ticks:
            return c.UndoTick(at, tuple(state.ticks)[-1])
        case "quiet" if (sounding := repeating(state, at)) is not None:
            return c.AnswerCue(at, sounding, "over")
        case "still in" if step.kind is Kind.BATH and clock is not None and clock.drained_at is not None:
            return c.TakeBackDrain(at, step.id)
        case "pause" if step.pausable and clock is not None and clock.drained_at is clock.paused_since is None:
            return c.Pause(at, step.id)
        case "hold" | "undo" | "quiet" | "still in" | "pause":
            return None


def _opened(state: State, plan: Plan, step: PlannedStep, id_: Opening, at: float) -> Panel | None:
    """The panel that an action opens in a step; None where it is not possible now."""
    match id_:
        case "safe way out":
            options = (("stay", "Go on with the evening"), ("abandon", "Abandon: close the record"))
            return Choice("safe way out", "The safe way out of here", (way_out(state, step),), options)
        case "mishap" if plan.kit is None:  # all mishaps are about film and its baths
            from wetside.present.mishap_text import title_of  # not needed for the first screen

            titles = tuple((what, title_of(what)) for what in get_args(MishapId))
            return Choice("mishap", "What has happened?", (), titles)
        case "late" if (running := correctable(state)) is not None:
            title = f"{running.title}: by how much was the clock late?"
            return Number("late", title, running.id, "s", 10.0, 5.0)
        case "temperature" if things := measured_here(state, step):
            if len(things) == 1:
                return temperature_panel(state, step, *things[0])
            ask = _wanted_next(state, step, at)
            marked = next((n for n, (of, _) in enumerate(things) if ask is not None and of == ask.of), -1)
            return Choice("measure", "What was read?", (), things, index=marked)
        case "early" if step.ends == "on time" and _left_in_tank_s(state, step, at) > 0:
            lines = ("Its time has not come; what is poured out too early cannot be made good.",)
            options = (("stay", "Leave it in"), ("early", "Pour it out NOW, too early"))
            return Choice("early", "Pour out before the time?", lines, options, about=step.id)
        case "against" if blockers := blockers_now(state, step, at):
            rules = tuple((blocker.key, in_words(blocker.why, plan.units)) for blocker in blockers)
            return Choice("blocker", "Which rule is set aside?", (), rules)
        case "dark trouble" if any(s.kind is Kind.DARK and s.id in state.ended for s in plan.steps):
            troubles = tuple((each.code, in_words(each)) for each in DARK_TROUBLES)
            return Choice("dark trouble", "What went wrong in the dark?", (), troubles)
        case "mishap" | "late" | "temperature" | "early" | "against" | "dark trouble":
            return None


def _left_in_tank_s(state: State, step: PlannedStep, at: float) -> float:
    """The time (s) until a running bath is due to be poured out; 0 where none runs or it is due."""
    clock, opens_in = state.clocks.get(step.id), drain_opens_in(state, step, at)
    running = clock is not None and clock.drained_at is None
    return max(0.0, opens_in) if running and opens_in is not None else 0.0


def _look_panel(state: State, plan: Plan) -> Choice:
    """The choice of the roll that is looked at; with one roll, the choice of how its edge numbers look."""
    if len(plan.setup.rolls) < 2:
        return edge_panel(state, "0")
    noted = rolls_looked_at(state)
    rolls = tuple(
        (str(number), f"{roll.label}, noted" if number in noted else roll.label)
        for number, roll in enumerate(plan.setup.rolls)
    )
    return Choice("look roll", "Which roll?", (), rolls)


def reading_panel(state: State, step: PlannedStep, at: float) -> Number | None:
    """The field for the reading this step needs next; None where it asks for none."""
    ask = _wanted_next(state, step, at)
    return temperature_panel(state, step, ask.of, ask.title) if ask is not None else None


def _wanted_next(state: State, step: PlannedStep, at: float) -> PlannedReading | None:
    """The reading to take next; None where the step asks for none.

    First come required readings not yet taken, then required ones to repeat, then optional ones not yet taken,
    then the rest; among readings already taken the oldest comes first.
    """
    wanting = {blocker.key for blocker in blockers_now(state, step, at)}

    def order(ask: PlannedReading) -> tuple[int, float]:
        reading = state.last_reading(ask.of)
        needed = f"reading:{ask.of}:{step.id}" in wanting
        if reading is None or reading.at < state.opened_at:
            return (0 if needed else 2, 0.0)
        return (1 if needed else 3, reading.at)

    return min(step.readings, key=order, default=None)


def edge_panel(state: State, roll: str) -> Choice:
    """The choice of how the edge markings look. It comes first: they tell faults of processing from exposure."""
    lines = ("The edge numbers are exposed in the factory: what is wrong with them, processing did.",)
    return Choice("look edge", "How do the edge numbers look?", lines, edges(state.plan.yields), about=roll)


STEP_C, STEP_F = 0.2, 0.5
"""The step of one key press in °C and in °F, about the resolution of a thermometer."""
FAR_C = 5.0
"""Where the last reading is further from the range than this (25 presses), stepping begins at the range."""


def temperature_panel(state: State, step: PlannedStep, of: str, title: str) -> Number:
    """The field for the temperature of `of`, in the person's unit, with a value from which stepping begins."""
    unit = state.plan.unit
    suggested_c = _suggested_c(state, step, of)
    value = on_scale(suggested_c, unit)
    return Number("temperature", title, of, unit, round(value, 1), STEP_C if unit == "°C" else STEP_F)


def _suggested_c(state: State, step: PlannedStep, of: str) -> float:
    """The value (°C) from which stepping begins: the last reading, or just below the range.

    The suggested value is never in range, so that one which was not read cannot be accepted by mistake. The warm
    bath has no range and begins at the planned temperature.
    """
    last = state.last_reading(of)
    wanted = next((ask.range_c for ask in step.readings if ask.of == of), None)
    if wanted is not None:
        near = last is not None and wanted[0] - FAR_C <= last.temperature_c <= wanted[1] + FAR_C
        outside = last is not None and beside_range(last.temperature_c, wanted) is not None
        return last.temperature_c if last is not None and near and outside else wanted[0] - STEP_C
    if last is not None:
        return last.temperature_c
    water = state.plan.water
    if of == "bath" and water is not None and water.target_c > 0:
        return water.target_c
    return step.target_c if step.target_c is not None else 20.0


def correctable(state: State) -> PlannedStep | None:
    """The step whose clock "started late" corrects: the one on screen, else the last background one; or None."""
    if state.current is None:
        return None
    running = [
        step
        for step in state.plan.steps
        if step.id in state.clocks
        and step.id not in state.ended
        and step.kind is not Kind.DARK
        and state.clocks[step.id].drained_at is None
    ]
    here = [step for step in running if step.id == state.current]
    found = here or running[-1:]
    return found[0] if found else None


def measured_here(state: State, step: PlannedStep) -> tuple[tuple[str, str], ...]:
    """What can be measured in this step, as (id, title), the bath's own solution first."""
    plan = state.plan
    found = [(ask.of, ask.title) for ask in step.readings]
    if step.solution is not None and step.target_c is not None and all(of != step.solution for of, _ in found):
        found.insert(0, (step.solution, f"{step.solution_title} in the tank"))
    if step.kind is Kind.DARK and step.id not in state.clocks and plan.loading is not None and plan.loading.unseen:
        # Bottles that warm meanwhile may be too warm to be left: they are read here before the light goes off.
        waits = next((later for later in plan.steps[plan.number(step.id) :] if later.kind is Kind.WAIT), None)
        if waits is not None and step.id in dict(plan.loading.unseen):
            found += [(ask.of, ask.title) for ask in waits.readings]
    return tuple(found)


def repeating(state: State, at: float) -> str | None:
    """The step whose call "over" is repeating now; None without one."""
    for cue in all_cues(state):
        if cue.repeats and cue.at <= at and not is_answered(state, cue):
            return cue.step
    return None
