"""The effect of an answered panel, and the questions that the guide asks by itself. Pure."""

from __future__ import annotations

from typing import get_args

from wetside.domain.messages import message
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session.events import BY_EYE, OWN_WORDS, REASONS, WELL, Edge, Look, MishapId
from wetside.domain.session.gates import drain_lead_s
from wetside.domain.session.mishaps import find
from wetside.domain.session.readings import not_kept
from wetside.domain.session.state import State
from wetside.present.action_effects import edge_panel, temperature_panel
from wetside.present.film_faults import group_choices, look_choices, look_lines
from wetside.present.key_state import Meaning
from wetside.present.message_words import in_words
from wetside.present.prompts import Answer, Choice, Menu, Number, Page, SeenEdge, Words, to_celsius
from wetside.present.sentences import word_table
from wetside.present.wording import minutes_seconds, span, the


def bells_panel(tick: str, bells: int) -> Number:
    """The field for the number of bells heard."""
    return Number("bells", "How many bells did you hear? 0 for none", tick, "bells", 1.0, 1.0, hidden=str(bells))


def _no_bell(tick: str) -> Choice:
    """The choice where no bell was heard: ring again, or watch the screen instead."""
    lines = ("Calls are then large on the screen, and stay for as long as they hold.",)
    options = (("again", "The sound is on now: ring again"), ("watch", "I watch the screen instead"))
    return Choice("no bell", "No bell heard?", lines, options, about=tick)


def poured_out_question(state: State, at: float) -> Choice | None:
    """After an interruption: the question about a bath that was due to be poured out meanwhile, or None."""
    step = state.step
    if step is None:
        return None
    clock = state.clocks.get(step.id)
    if step.kind.value != "bath" or step.background or clock is None or clock.drained_at is not None:
        return None
    left = clock.remaining(at)
    if left is None or left - drain_lead_s(step) > 0:
        return None
    name = the(step.solution_title)
    lines = (f"By the clock {name} has been in the tank for {minutes_seconds(clock.elapsed(at))}.",)
    options = (
        ("still", "It is still in the tank"),
        ("on time", "It was poured out at its time"),
        ("unknown", "It was poured out; I do not know when"),
    )
    return Choice("poured out", f"Was {name} poured out?", lines, options, about=step.id)


def confirm_large_move(reason: str, reading: c.TakeReading) -> Choice:
    """The question that confirms an implausible reading. reason: the doubt."""
    options = (("no", "No, I will read it again"), ("yes", "Yes, it is right"))
    return Choice("large move", reason, (), options, subject=reading)


def _confirm_large_late(state: State, late: c.CorrectClock) -> Choice | None:
    """The question where a correction would start a bath before that was possible; None elsewhere.

    A bath cannot start before its step was on the screen, nor before the previous bath had left the tank.
    """
    plan, clock, step = state.plan, state.clocks.get(late.step), late.step
    if clock is None:
        return None
    before = [s for s in plan.steps[: plan.number(step)] if not s.background and s.id in state.ended]
    since = max((state.ended[s.id] for s in before), default=0.0)
    if step == state.current:
        since = max(since, state.opened_at)
    if late.by_s <= clock.t0 - since:
        return None
    passed = minutes_seconds(max(0.0, clock.t0 - since))
    last = before[-1] if before else None
    left_it = last is not None and last.kind is Kind.BATH and state.ended[last.id] == since
    why = (
        f"{last.title} left the tank {passed} before this clock began."
        if last is not None and left_it
        else f"{plan.step(step).title} was on the screen for {passed} before its clock."
    )
    title = f"{late.by_s:.0f} s late? {why}"
    options = (("no", "No, leave the clock as it is"), ("yes", "Yes, it was poured before"))
    return Choice("large late", title, (), options, subject=late)


def answered(state: State, answer: Answer, at: float) -> Meaning:
    """The effect of an answered panel: another panel, a message, a command or a wish."""
    match answer.panel:
        case Number():
            return _number(state, answer.panel, answer.value, at)
        case Words():
            return _words(state, answer.panel, answer.value, at)
        case Choice():
            return _choice(state, answer.panel, answer.value, at)
        case Menu() | Page():
            return Meaning()


def _number(state: State, panel: Number, value: str, at: float) -> Meaning:
    match panel.what:
        case "temperature":
            unit = state.plan.unit
            celsius = to_celsius(value, unit)
            if celsius is None:
                return Meaning(message=f"{value} is not a number: type it like 38.5.")
            return Meaning(command=c.TakeReading(at, panel.about, celsius, f"{value} {unit}"))
        case "late":
            try:
                by_s = float(value)
            except ValueError:
                return Meaning(message=f"{value} is not a number of seconds.")
            corrected = c.CorrectClock(at, panel.about, by_s, f"{value} s")
            asked = _confirm_large_late(state, corrected)
            return Meaning(panel=asked) if asked is not None else Meaning(command=corrected)
        case "bells" if value.strip("0") == "":
            return Meaning(panel=_no_bell(panel.about))
        case "bells":
            return Meaning(command=c.MakeTick(at, panel.about, typed=value, expected=panel.hidden))


def _words(state: State, panel: Words, value: str, at: float) -> Meaning:
    match panel.what:
        case "asked":  # outside a session: its own screen takes the answer
            return Meaning()
        case "note":
            return Meaning(command=c.AddNote(at, value))
        case "reason":
            return Meaning(command=c.Override(at, state.current or "", panel.about, value))
        case "look":
            seen = panel.subject
            assert seen is not None
            return Meaning(command=_look(state, seen, OWN_WORDS, at, value), message="Kept.")


def _choice(state: State, panel: Choice, value: str, at: float) -> Meaning:
    match panel.what:
        case "asked":  # outside a session: its own screen takes the answer
            return Meaning()
        case "dark trouble":
            return Meaning(
                command=c.AddNote(at, message(value), "dark"),
                message=word_table("prompt_words")["troubles"][value],
            )
        case "mishap" | "mishap about":
            return _mishap(state, panel, value, at)
        case "measure":
            step = state.plan.step(state.current or "")
            return Meaning(panel=temperature_panel(state, step, value, dict(panel.options)[value]))
        case "blocker":
            options = (*((each.code, in_words(each)) for each in REASONS), ("own", "In my own words"))
            title = "Why? It is recorded and stays on screen."
            return Meaning(panel=Choice("reason", title, (), options, about=value))
        case "reason":
            if value == "own":
                return Meaning(panel=Words("reason", "The reason", panel.about))
            return Meaning(command=c.Override(at, state.current or "", panel.about, message(value)))
        case "look roll" | "look edge" | "look group" | "look":
            return _negatives(state, panel, value, at)
        case "poured out":
            return _poured_out(state, panel.about, value, at)
        case "leave" | "safe way out" | "early" | "no bell" | "large move" | "large late":
            return _decided(state, panel, value, at)


def _decided(state: State, panel: Choice, value: str, at: float) -> Meaning:
    """The effect of a choice between two options; the first one changes nothing, or asks again."""
    match panel.subject:
        case c.TakeReading() as read if value == "no":
            refused = not_kept(state.plan, read.of, read.text)
            return Meaning(command=c.AddNote(at, refused), message="Read the thermometer again, then type it.")
        case c.TakeReading() as read:
            return Meaning(command=c.TakeReading(at, read.of, read.temperature_c, read.text, confirmed=True))
        case c.CorrectClock() if value == "no":
            return Meaning(message="The clock stays as it is.")
        case c.CorrectClock() as late:
            return Meaning(command=c.CorrectClock(at, late.step, late.by_s, f"{late.by_s:g} s"))
    match value:
        case "leave":
            return Meaning(wish="leave")
        case "abandon":
            return Meaning(command=c.Abandon(at, "safe way out"))
        case "early":
            return Meaning(command=c.BeginDrain(at, panel.about, early=True))
        case "watch":
            return Meaning(command=c.MakeTick(at, panel.about, typed=BY_EYE))
        case "again":
            return Meaning(wish="ring")
        case _:
            return Meaning()


def _mishap(state: State, panel: Choice, value: str, at: float) -> Meaning:
    """The effect of choosing a mishap, or what it is about: it is recorded, and a page says what to do now."""
    from wetside.present.mishap_text import asked_next, mishap_lines, options_about, title_of

    what: MishapId = next(each for each in get_args(MishapId) if each in (value, panel.about))
    if panel.what == "mishap" and (options := options_about(state, what)):
        return Meaning(panel=Choice("mishap about", asked_next(what), (), options, about=what))
    about = value if panel.what == "mishap about" else ""
    step = state.plan.step(state.current or "")
    lines = mishap_lines(state.plan, step, find(state, what, about, at))
    return Meaning(command=c.NoteMishap(at, what, about), panel=Page("mishap", title_of(what), lines))


def _negatives(state: State, panel: Choice, value: str, at: float) -> Meaning:
    """The next question on how a roll came out (its edge, the group, the fault); the last answer is recorded."""
    yields = state.plan.yields
    if panel.what == "look roll":
        return Meaning(panel=edge_panel(state, value))
    if panel.what == "look edge":
        seen = SeenEdge(int(panel.about), next(each for each in get_args(Edge) if each == value))
        return Meaning(panel=Choice("look group", "What is seen?", (), group_choices(yields, value), subject=seen))
    seen_edge = panel.subject
    assert isinstance(seen_edge, SeenEdge)
    if value == OWN_WORDS:
        return Meaning(panel=Words("look", "What is seen", "", subject=seen_edge))
    if panel.what == "look group" and value != WELL:
        options = look_choices(yields, seen_edge.edge, value)
        return Meaning(panel=Choice("look", dict(panel.options)[value], (), options, subject=seen_edge))
    page = Page("look", dict(panel.options)[value], look_lines(yields, value))
    return Meaning(command=_look(state, seen_edge, value, at), panel=page)


def _look(state: State, seen: SeenEdge, fault: str, at: float, text: str = "") -> c.AddNote:
    return c.AddNote(at, text, "look", seen.roll, Look(fault, seen.edge, state.plan.yields))


def _poured_out(state: State, step_id: str, value: str, at: float) -> Meaning:
    step = state.plan.step(step_id)
    clock = state.clocks[step_id]
    if value == "still" or clock.end_s is None:
        late = -(clock.remaining(at) or 0.0)
        over = f" It is {span(late)} over its time." if step.ends == "on time" and late > 0 else ""
        return Meaning(message=f"Then pour it out: SPACE when you begin.{over}")
    began_at = min(at, clock.t0 + clock.paused_s + clock.end_s - drain_lead_s(step))
    known = value == "on time"
    command = c.BeginDrain(at, step_id, True, began_at, "stated" if known else "unknown")
    return Meaning(command=command, message="" if known else "The moment is not known; the record says so.")
