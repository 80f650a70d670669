"""What each key does now: the three big keys, letters and digits, as a pure function.

`KeyState` is what the keyboard side remembers between two presses (an open panel, a half-made pair of keys). It is
never stored: after a restart nothing is armed. A press gives the next hand, and at most one command.

Laws: no run of ENTER alone, and no run of SPACE alone, passes more than one gate, but for the bath that follows a
developer at once, which ENTER starts a second or more after the tank was empty; a key that repeats because it is
held acts once; while a call stands SPACE answers it and does nothing else; no run of SPACE and ENTER in answer
to calls ends a developer early; a killer item is not confirmed in the first second in which it is shown; in the
dark only SPACE, ENTER does anything.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from wetside.domain.calc.wording import the
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session.cues import Cue, is_answered, standing, to_answer
from wetside.domain.session.gates import blockers_now, follows_at_once, may_drain, too_warm_unseen
from wetside.domain.session.state import State
from wetside.frozen import dataclass
from wetside.present.actions import available, by_letter
from wetside.present.key_legend import Keys
from wetside.present.presenter import is_dark, next_lines, next_tick, waiting_tick
from wetside.present.prompt_answers import answered, bells_panel, open_action, reading_panel
from wetside.present.prompts import Answer, Choice, Menu, Number, Panel, Words, panel_keys, press_panel

FLUSH_S = 0.25
"""Keys this soon after a step opened were meant for the one before."""

_TOO_SOON = "Too soon: this has only just opened. Read it, then press."

TOO_QUICK_S = 1.0
"""A killer item answered sooner than this has not been read (guided-procedure practice; our own number)."""

REPEAT_S = 0.15
"""The same key again sooner than this is held down (consoles repeat 10 to 30 times a second)."""

ANSWER_S = 15.0
"""How long the answer to SPACE or ENTER stays, in the person's own seconds: "0:53 more" is not true for long."""

Wish = Literal["leave", "ring", "far"]


@dataclass(frozen=True, slots=True)
class KeyState:
    """The keyboard's own memory. moved: a key other than ENTER was used since the last gate.

    answer: the message, where it is the passing answer to a key; "" where it stays until the next key.
    touched_at: when a key last did something, so that a call that came after it is known.
    left_soon: the leave pair was pressed right after it went dark, and is wanted once more.
    confirmed: SPACE has confirmed a `!` line since the last gate, and no key but SPACE and ENTER came after it.
    one_answer: the person has set that one SPACE confirms all plain lines. roomy: the window shows them all.
    """

    step: str = ""
    opened_at: float = 0.0
    moved: bool = False
    confirmed: bool = False
    tick_up: str = ""
    tick_shown_at: float = 0.0
    pair: bool = False
    left_soon: bool = False
    keys_ignored: int = 0
    message: str = ""
    answer: str = ""
    panel: Panel | None = None
    far: bool = False
    last_key: str = ""
    last_at: float = 0.0
    touched_at: float = 0.0
    one_answer: bool = False
    roomy: bool = True

    @property
    def together(self) -> bool:
        """Whether SPACE confirms all plain lines now: only where all of them stand on the screen."""
        return self.one_answer and self.roomy and not self.far


@dataclass(frozen=True, slots=True)
class KeyResult:
    """What a press gives: the hand after it, at most one command, and at most one wish to the shell."""

    key_state: KeyState
    command: c.Command | None = None
    wish: Wish | None = None


def current_key_state(key_state: KeyState, state: State, at: float) -> KeyState:
    """The hand after the session has changed: a new step forgets what was begun; a new tick starts its second."""
    step = state.current or ""
    if step != key_state.step:
        key_state = replace(key_state, step=step, opened_at=at, moved=False, pair=False, keys_ignored=0)
        key_state = replace(key_state, confirmed=False, panel=None, message="")
    if key_state.answer and key_state.message == key_state.answer:
        key_state = _still_true(state, key_state, at)
    if key_state.answer and at - key_state.last_at > ANSWER_S * _pace(state):
        key_state = replace(
            key_state, message="" if key_state.message == key_state.answer else key_state.message, answer=""
        )
    tick = next_tick(state, state.plan.step(step), at) if state.plan is not None and step else None
    up = tick.id if tick is not None else ""
    return replace(key_state, tick_up=up, tick_shown_at=at) if up != key_state.tick_up else key_state


def press_key(state: State, key_state: KeyState, key: str, at: float, lead_in_s: float | None = None) -> KeyResult:
    """What `key` does: "space", "enter", "backspace", or one character. `lead_in_s` overrides the plan's."""
    key_state = current_key_state(key_state, state, at)
    held_down = key == key_state.last_key and key_state.last_at < at < key_state.last_at + REPEAT_S
    key_state = replace(
        key_state, last_key=key, last_at=at, confirmed=key_state.confirmed and key in ("space", "enter")
    )
    if is_dark(state):
        return _in_the_dark(state, key_state, key, at)
    if held_down and not _may_repeat(key_state.panel, key):
        return KeyResult(key_state)
    if (
        key_state.panel is not None
        and key in ("space", "enter")
        and (call := _over_panel(state, key_state, at)) is not None
    ):
        return _passing(_answer_over_panel(state, key_state, call, key, at))
    key_state = replace(key_state, touched_at=at)
    if key_state.panel is not None:
        return _on_panel(state, key_state, key_state.panel, key, at)
    if at - key_state.opened_at < FLUSH_S and at > key_state.opened_at:
        return _passing(KeyResult(replace(key_state, message=_TOO_SOON)))
    key_state = replace(key_state, message="")
    if key == "backspace":
        return KeyResult(replace(key_state, panel=_menu(state, at)))
    if state.current is None or state.plan is None:
        return _when_closed(state, key_state, key, at)
    step = state.plan.step(state.current)
    if key == "space":
        return _passing(_space(state, key_state, step, at))
    if key == "enter":
        return _passing(_enter(state, key_state, step, at, lead_in_s))
    return _letter(state, key_state, key, at)


def keys(state: State, key_state: KeyState, at: float) -> Keys:
    """What the three keys do now, in words."""
    key_state = current_key_state(key_state, state, at)
    if is_dark(state):
        return Keys("", "", "")
    if key_state.panel is not None:
        named = panel_keys(key_state.panel)
        if (call := _over_panel(state, key_state, at)) is not None:
            return replace(named, space=_answer_words(state, call), enter="")
        return named
    if state.current is None or state.plan is None:
        return Keys("", "leaves", "menu") if key_state.moved else Keys("I am ready to leave", "", "menu")
    step = state.plan.step(state.current)
    return Keys(_space_words(state, key_state, step, at), _enter_words(state, key_state, step, at), "menu")


def refused(key_state: KeyState, reason: str) -> KeyState:
    """The hand after a command was refused: the reason stands on screen for a while."""
    return replace(key_state, message=reason, answer=reason)


def bells_rung(state: State, key_state: KeyState, bells: int, at: float) -> KeyState:
    """After the shell has rung `bells` bells: ask how many were heard."""
    key_state = current_key_state(key_state, state, at)
    if key_state.panel is not None:
        return key_state  # opened while they rang: the count is asked for again by the same SPACE
    return replace(key_state, panel=bells_panel(key_state.tick_up, bells), touched_at=at)


def _passing(done: KeyResult) -> KeyResult:
    return replace(done, key_state=replace(done.key_state, answer=done.key_state.message))


def _may_repeat(panel: Panel | None, key: str) -> bool:
    """Whether a key held down goes on acting: only to type, to rub out, to step a number or to move a mark."""
    if panel is None or key == "enter":
        return False
    return key != "backspace" or isinstance(panel, Number | Words)


def _menu(state: State, at: float, marked: str = "") -> Menu:
    items = tuple((each.id, each.title, each.letter) for each in available(state, at))
    return Menu(items, next((number for number, item in enumerate(items) if item[0] == marked), 0))


def _in_the_dark(state: State, key_state: KeyState, key: str, at: float) -> KeyResult:
    if key == "enter" and key_state.pair and not key_state.left_soon and _just_begun(state, at):
        # A screen that lit up now would fog the film, and so would one that asks: the pair is wanted once more.
        return KeyResult(replace(key_state, pair=False, left_soon=True))
    if key == "enter" and key_state.pair and state.current is not None:
        return KeyResult(replace(key_state, pair=False), c.EndStep(at, state.current, key_state.keys_ignored))
    if key == "space":
        return KeyResult(replace(key_state, pair=True, keys_ignored=key_state.keys_ignored + int(key_state.pair)))
    return KeyResult(replace(key_state, pair=False, keys_ignored=key_state.keys_ignored + 1 + int(key_state.pair)))


LOADED_SOON_S = 10.0
"""Nobody has loaded film so soon after the loading began (our own number)."""


def _just_begun(state: State, at: float) -> bool:
    clock = state.clocks.get(state.current or "")
    return clock is not None and at - clock.t0 < LOADED_SOON_S * _pace(state)


def _on_panel(state: State, key_state: KeyState, panel: Panel, key: str, at: float) -> KeyResult:
    if key == "a" and isinstance(panel, Choice | Number):
        return _act(state, key_state, "first aid", at)
    after = press_panel(panel, key)
    if key == "enter" and after == panel and isinstance(panel, Choice):
        return KeyResult(replace(key_state, message="Nothing is marked yet: SPACE marks."))
    if not isinstance(after, Answer):
        return KeyResult(replace(key_state, panel=after, message=""))
    key_state = replace(key_state, panel=None, message="")
    if isinstance(after.panel, Menu):
        if all(each.id != after.value for each in available(state, at)):
            return KeyResult(replace(key_state, message="That has settled itself meanwhile: nothing was done."))
        return _act(state, key_state, after.value, at)
    panel_or_message, command, wish = answered(state, after, at)
    if isinstance(panel_or_message, str):
        key_state = replace(key_state, message=panel_or_message)
    else:
        key_state = replace(key_state, panel=panel_or_message)
    return KeyResult(replace(key_state, moved=key_state.moved or command is not None), command, wish)


def _letter(state: State, key_state: KeyState, key: str, at: float) -> KeyResult:
    step = state.plan.step(state.current) if state.plan is not None and state.current is not None else None
    if step is not None and key.isdecimal() and key.isascii() and step.kind in (Kind.MEASURE, Kind.WAIT):
        # A number is wanted here, so a digit goes straight into its field.
        panel = reading_panel(state, step, at)
        after = press_panel(panel, key) if panel is not None else None
        return KeyResult(
            key_state if after is None or isinstance(after, Answer) else replace(key_state, panel=after)
        )
    chosen = by_letter(key)
    if chosen is None or chosen not in available(state, at):
        return KeyResult(key_state)
    if chosen.at_once:
        return KeyResult(replace(key_state, panel=_menu(state, at, chosen.id)))
    return _act(state, key_state, chosen.id, at)


def _act(state: State, key_state: KeyState, id_: str, at: float) -> KeyResult:
    if id_ == "far":
        return KeyResult(replace(key_state, far=not key_state.far), wish="far")
    panel, command = open_action(state, id_, at)
    return KeyResult(replace(key_state, panel=panel), command)


def _when_closed(state: State, key_state: KeyState, key: str, at: float) -> KeyResult:
    """The last press of an evening may still be held down: leaving is a pair too."""
    if key == "space":
        return KeyResult(replace(key_state, moved=True))
    if key != "enter":
        return _letter(state, key_state, key, at)
    if key_state.moved:
        return KeyResult(key_state, wish="leave")
    return KeyResult(replace(key_state, message="First SPACE, then ENTER: so that a stuck key does not leave."))


def _over_panel(state: State, key_state: KeyState, at: float) -> Cue | None:
    """The call that was made over an open panel, and that SPACE and ENTER answer; None without one.

    What can be left without harm, or only typed into, is not meant. Any other key goes on with the panel.
    """
    if not isinstance(key_state.panel, Menu | Choice | Number):
        return None
    call = standing(state, at)
    return call if call is not None and call.at > key_state.touched_at else None


def _answer_over_panel(state: State, key_state: KeyState, call: Cue, key: str, at: float) -> KeyResult:
    words = "SPACE and ENTER answer the call first; any other key goes on here."
    if key == "enter" or is_answered(state, call):
        return KeyResult(replace(key_state, message=words))
    return KeyResult(replace(key_state, message=f"Heard. {words}"), c.AnswerCue(at, call.step, call.call))


def _space(state: State, key_state: KeyState, step: PlannedStep, at: float) -> KeyResult:
    call = to_answer(state, step, at)
    if call is not None:
        return _answer(state, key_state, step, call, at)
    if state.held_since is not None:
        return KeyResult(replace(key_state, message="On hold: ENTER lets the guide go on."))
    if may_drain(state, step, at):
        if _meant_for_another(state, step, at):
            name = the(step.solution_title) if step.solution_title else "it"
            return KeyResult(
                replace(key_state, message=f"Its time has come: SPACE when you start pouring {name} out.")
            )
        return KeyResult(replace(key_state, moved=True), c.BeginDrain(at, step.id))
    tick = next_tick(state, step, at)
    if tick is not None:
        if tick.killer and at - key_state.tick_shown_at < TOO_QUICK_S:
            return KeyResult(replace(key_state, message=f"Wait a second and read it, then SPACE: {tick.text}."))
        if tick.asks == "bells":
            return KeyResult(key_state, wish="ring")
        also = tuple(each.id for each in next_lines(state, step, at, key_state.together) if each.id != tick.id)
        if also and at - key_state.tick_shown_at < TOO_QUICK_S:
            return KeyResult(replace(key_state, message="Wait a second and read the marked lines, then SPACE."))
        key_state = replace(key_state, moved=True, confirmed=key_state.confirmed or tick.killer)
        return KeyResult(key_state, c.MakeTick(at, tick.id, also=also))
    panel = reading_panel(state, step, at) if step.kind in (Kind.MEASURE, Kind.WAIT) else None
    if panel is not None and not (key_state.moved and not blockers_now(state, step, at)):
        return KeyResult(replace(key_state, panel=panel))
    if step.kind is Kind.DARK and too_warm_unseen(state, step, at):
        return KeyResult(replace(key_state, panel=open_action(state, "temperature", at)[0]))
    if _in_the_tank(state, step):
        return KeyResult(replace(key_state, message=_not_yet(state, step, at)))
    return KeyResult(_ready(state, key_state, step, at))


def _answer(state: State, key_state: KeyState, step: PlannedStep, call: Cue, at: float) -> KeyResult:
    """A call is answered. The step's own, where it is no bath, says that its time is up: that is the first key."""
    command = None if is_answered(state, call) else c.AnswerCue(at, call.step, call.call)
    if call.step == step.id and step.kind is not Kind.BATH and call.call == "ready":
        return KeyResult(_ready(state, key_state, step, at), command)
    return KeyResult(replace(key_state, message="Heard."), command)


def _in_the_tank(state: State, step: PlannedStep) -> bool:
    """Whether a bath runs that nobody has begun to pour out."""
    clock = state.clocks.get(step.id)
    return step.kind is Kind.BATH and clock is not None and clock.drained_at is None


def _ready(state: State, key_state: KeyState, step: PlannedStep, at: float) -> KeyState:
    if words := _blocked(state, step, at):
        return replace(key_state, message=words)
    return replace(key_state, moved=True)


_NOT_YET = "Not yet: "


def _blocked(state: State, step: PlannedStep, at: float) -> str:
    """What stands in the way of the next gate, in a sentence; empty when nothing does."""
    blockers = blockers_now(state, step, at)
    if not blockers:
        return ""
    more = f" (and {len(blockers) - 1} more)" if len(blockers) > 1 else ""
    return f"{_NOT_YET}{blockers[0].text}{more}"


def _still_true(state: State, key_state: KeyState, at: float) -> KeyState:
    """The passing answer to a key with its seconds as they are now; without it when it is not true any more."""
    if state.plan is None or state.current is None:
        return key_state
    step = state.plan.step(state.current)
    words = _blocked(state, step, at) if key_state.answer.startswith(_NOT_YET) else key_state.answer
    return replace(key_state, message=words, answer=words)


def _pace(state: State) -> float:
    """Seconds of the session's clock in one of the person's."""
    return state.speed if state.practice else 1.0


def _enter(state: State, key_state: KeyState, step: PlannedStep, at: float, lead_in_s: float | None) -> KeyResult:
    if state.held_since is not None:
        return KeyResult(key_state, c.Release(at))
    clock = state.clocks.get(step.id)
    if clock is not None and clock.paused_since is not None:
        return KeyResult(key_state, c.Unpause(at, step.id))
    if _in_the_tank(state, step):
        return KeyResult(replace(key_state, message=_not_yet(state, step, at)))
    if also := _lines_of_gate(state, key_state, step, at):
        if at - key_state.tick_shown_at < TOO_QUICK_S * _pace(state):
            return KeyResult(replace(key_state, message="Wait a second and read the marked lines, then ENTER."))
        return KeyResult(replace(key_state, moved=False), c.EndStep(at, step.id, also=also))
    if words := _blocked(state, step, at):
        return KeyResult(replace(key_state, message=words))
    at_once = _starts_at_once(state, step)
    if at_once and _bounced(state, key_state, at):
        return KeyResult(replace(key_state, message=f"ENTER again as {the(step.solution_title)} goes in."))
    if not (key_state.moved or at_once):
        return KeyResult(
            replace(key_state, message="First SPACE, then ENTER: so that a stuck key starts nothing.")
        )
    if step.timed and clock is None:
        lead = 0.0 if step.kind in (Kind.DARK, Kind.HANG, Kind.WASH) else step.lead_in_s
        if lead_in_s is not None and step.kind is Kind.BATH:
            lead = lead_in_s
        return KeyResult(replace(key_state, moved=False, confirmed=False), c.StartStep(at, step.id, lead))
    return KeyResult(replace(key_state, moved=False), c.EndStep(at, step.id))


def _lines_of_gate(state: State, key_state: KeyState, step: PlannedStep, at: float) -> tuple[str, ...]:
    """The plain lines that the ENTER which ends this step confirms with it; none where SPACE has to.

    They are all that is open, all marked on the screen, and SPACE has confirmed the `!` lines before them. No
    clock is started so, no bath ended, nothing done between a developer and what stops it.
    """
    starts = step.timed and step.id not in state.clocks
    if not (key_state.together and key_state.moved and key_state.confirmed) or starts or step.kind is Kind.BATH:
        return ()
    if state.plan is None or follows_at_once(state.plan, step):
        return ()
    lines = next_lines(state, step, at, together=True)
    marked = tuple(tick.id for tick in lines if not tick.killer and tick.asks == "yes")
    open_ = {blocker.tick.id if blocker.tick is not None else "" for blocker in blockers_now(state, step, at)}
    return marked if open_ == set(marked) else ()


def _starts_at_once(state: State, step: PlannedStep) -> bool:
    """Whether ENTER alone starts this bath: the developer still works in the film, and its tank is empty."""
    return state.plan is not None and step.id not in state.clocks and follows_at_once(state.plan, step)


def _bounced(state: State, key_state: KeyState, at: float) -> bool:
    """Whether ENTER comes so soon after that for the empty tank that nobody can have poured the next bath yet."""
    return at - key_state.opened_at < TOO_QUICK_S * _pace(state)


def _not_yet(state: State, step: PlannedStep, at: float) -> str:
    clock = state.clocks[step.id]
    if clock.elapsed(at) < 0:
        return "The clock is about to start."
    if may_drain(state, step, at):
        return f"Its time has come: SPACE when you start pouring {the(step.solution_title)} out."
    if step.ends == "on time":
        return f"{step.solution_title} still works. To end it early: key e, or the menu."
    return f"{step.solution_title} has not had its time yet, which is a minimum."


def _meant_for_another(state: State, step: PlannedStep, at: float) -> bool:
    """Whether SPACE has come to mean pouring out less than a second ago, and meant a line or a call before."""
    before = at - TOO_QUICK_S
    call = to_answer(state, step, before)
    unanswered = call is not None and not is_answered(state, call)
    return unanswered or (not may_drain(state, step, before) and waiting_tick(state, step, at) is not None)


def _answer_words(state: State, call: Cue) -> str:
    return "" if is_answered(state, call) else "answers the call"


def _space_words(state: State, key_state: KeyState, step: PlannedStep, at: float) -> str:
    call = to_answer(state, step, at)
    if call is not None:
        return _answer_words(state, call)
    if state.held_since is not None:
        return ""
    if may_drain(state, step, at):
        return "pouring out now"
    tick = next_tick(state, step, at)
    if tick is not None:
        lines = len(next_lines(state, step, at, key_state.together))
        marked = "confirms the marked line" if lines == 1 else f"confirms the {lines} marked lines"
        return "rings bells to count" if tick.asks == "bells" else marked
    panel = reading_panel(state, step, at) if step.kind in (Kind.MEASURE, Kind.WAIT) else None
    if panel is not None and not (key_state.moved and not blockers_now(state, step, at)):
        return "types a temperature"
    if step.kind is Kind.DARK and too_warm_unseen(state, step, at):
        return "types a temperature"
    if (
        key_state.moved
        or _in_the_tank(state, step)
        or _starts_at_once(state, step)
        or blockers_now(state, step, at)
    ):
        return ""
    return "the lid is on and locked" if step.kind is Kind.DARK and step.id in state.clocks else "I am ready"


def _enter_words(state: State, key_state: KeyState, step: PlannedStep, at: float) -> str:
    if state.held_since is not None:
        return "lets the guide go on"
    clock = state.clocks.get(step.id)
    if clock is not None and clock.paused_since is not None:
        return "lets the clock go on"
    if _in_the_tank(state, step):
        return ""
    if also := _lines_of_gate(state, key_state, step, at):
        lines = "1 line" if len(also) == 1 else f"{len(also)} lines"
        return f"confirms {lines} and {_end_words(state, step)}"
    at_once = _starts_at_once(state, step)
    if (
        blockers_now(state, step, at)
        or not (key_state.moved or at_once)
        or (at_once and _bounced(state, key_state, at))
    ):
        return ""
    if not step.timed or clock is not None:
        return "the tank is empty" if step.kind is Kind.BATH else _end_words(state, step)
    if step.kind is Kind.DARK:
        return "goes dark" if step.in_the_dark else "starts: hands in the bag"
    # Water from the tap is named by what it is for: "the warm water" starts nothing.
    named = step.kind is Kind.BATH and step.storage != "tap"
    return f"starts {the(step.solution_title)}" if named else f"starts: {step.title}"


def _end_words(state: State, step: PlannedStep) -> str:
    last = state.plan is not None and step.id == state.plan.steps[-1].id
    return "closes the session" if last else "goes on"
