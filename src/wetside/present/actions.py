"""The one table of what can be done besides the three big keys; bindings, menu, help and key page come from it.

Letters are accelerators for things that change nothing irreversible; the menu (BACKSPACE) reaches all of them.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.cues import all_cues, is_answered
from wetside.domain.session.gates import blockers_now, drain_opens_in
from wetside.domain.session.state import State
from wetside.frozen import dataclass

ActionId = Literal[
    "first aid",
    "safe way out",
    "mishap",
    "late",
    "temperature",
    "early",
    "still in",
    "quiet",
    "undo",
    "against",
    "hold",
    "pause",
    "note",
    "dark trouble",
    "look",
    "far",
    "help",
    "leave",
]


@dataclass(frozen=True, slots=True)
class Action:
    """One thing that can be done. `title` stands in the menu, `help` on the key page.

    at_once: it is recorded as soon as it is chosen; its letter then only marks it in the menu, so that a stray
    key changes nothing.
    """

    id: ActionId
    letter: str
    title: str
    help: str
    at_once: bool = False


LOOK_STAGE = "look"
"""The stage in which negatives are looked at, in every profile."""

ACTIONS: tuple[Action, ...] = (
    Action("first aid", "a", "First aid", "What to do for skin, eyes, breath, a swallow or a scald."),
    Action("safe way out", "w", "Stop the evening: the safe way out", "How to leave film and baths safely."),
    Action("mishap", "m", "A mishap, in the light", "What to do now, and what it means for the film; recorded."),
    Action("late", "l", "The clock was started late", "Take off what has passed: 5, 10, 30 s or a typed number."),
    Action("temperature", "t", "A temperature was read", "Type it, or step it with SPACE and BACKSPACE."),
    Action("early", "e", "Pour out before the time", "End an on-time bath early; asks once more."),
    Action("still in", "i", "Not poured out: it is in the tank", "Its clock goes on; the slip is recorded.", True),
    Action("quiet", "s", "Silence the call", "Stops the repeating bell; the bath still waits.", True),
    Action("undo", "u", "Take back the last tick", "The first answer stays in the record.", True),
    Action("against", "g", "Go on against the rule", "Passes a gate with a reason; it is recorded."),
    Action("hold", "h", "Hold the guide", "The guide waits. The chemistry does not.", True),
    Action("pause", "p", "Pause this step", "Only where the process really can pause.", True),
    Action("note", "n", "Write a note", "Free words, kept with the session."),
    Action("dark trouble", "d", "Something went wrong in the dark", "Light leak, dropped film, jammed reel."),
    Action("look", "r", "How the film came out", "Edge numbers first, then what is seen; shown next time."),
    Action("far", "v", "Far view, on or off", "The clock and the next act fill the screen."),
    Action("help", "k", "Keys and help", "What each key does."),
    Action("leave", "q", "Leave the guide", "The session stays open; 'wetside' offers it again."),
)


def action(id_: ActionId) -> Action:
    """The action with this id."""
    return next(each for each in ACTIONS if each.id == id_)


def by_letter(letter: str) -> Action | None:
    """The action with this accelerator, or None."""
    return next((each for each in ACTIONS if each.letter == letter), None)


def available(state: State, at: float) -> tuple[Action, ...]:
    """The actions that make sense now, in the table's order (first aid first, always)."""
    return tuple(each for each in ACTIONS if _makes_sense(each.id, state, at))


def _makes_sense(id_: ActionId, state: State, at: float) -> bool:
    if state.plan is None:
        return False
    if state.current is None:
        seen = ("look",) if state.plan.setup.rolls else ()
        return id_ in ("first aid", "note", *seen, "far", "help", "leave")
    step = state.plan.step(state.current)
    clock = state.clocks.get(step.id)
    running = clock is not None and clock.drained_at is None
    match id_:
        case "first aid" | "safe way out" | "note" | "far" | "help" | "leave":
            return True
        case "mishap":
            return state.plan.kit is None  # what is known of mishaps is about film and what it has been in
        case "hold":
            return state.held_since is None
        case "late":
            return correctable(state) is not None
        case "temperature":
            return bool(measured_here(state, step))
        case "early":
            opens_in = drain_opens_in(state, step, at)
            return running and step.ends == "on time" and opens_in is not None and opens_in > 0
        case "still in":
            return step.kind is Kind.BATH and clock is not None and clock.drained_at is not None
        case "quiet":
            return repeating(state, at) is not None
        case "undo":
            return bool(state.ticks)
        case "against":
            return bool(blockers_now(state, step, at))
        case "pause":
            return running and step.pausable and clock is not None and clock.paused_since is None
        case "look":
            return step.stage == LOOK_STAGE
        case "dark trouble":
            return any(s.kind is Kind.DARK and s.id in state.ended for s in state.plan.steps)


def correctable(state: State) -> PlannedStep | None:
    """The step whose clock "started late" would correct: the one on screen, else the newest background one."""
    if state.plan is None or state.current is None:
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
    """What can be measured at this step: pairs of (id, title), the bath's own solution first."""
    plan = state.plan
    if plan is None:
        return ()
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
    """The step whose "over" call is sounding again and again now, or None."""
    for cue in all_cues(state):
        if cue.repeats and cue.at <= at and not is_answered(state, cue):
            return cue.step
    return None
