"""What a key press does: SPACE, ENTER, BACKSPACE, letters and digits, as a pure function.

A press returns the next `KeyState` and at most one command. What SPACE and ENTER mean in a step is in
`key_meaning.py`; the keys of an open panel are in `prompts.py`. Both return the label together with the effect.

Invariants: ENTER pressed repeatedly, or SPACE pressed repeatedly, passes at most one gate, except that ENTER
starts the bath that follows a developer a second or more after the tank was emptied; a key held down acts once;
while a call waits for its answer, SPACE answers it and does nothing else; no sequence of SPACE and ENTER in answer
to calls ends a developer early; a critical item cannot be confirmed in the first second it is shown; in the dark
only SPACE followed by ENTER has an effect; a label is shown exactly for the keys that have an effect.
"""

from __future__ import annotations

from msgspec.structs import replace

from wetside.domain.session import commands as c
from wetside.domain.session.cues import Cue, current_call
from wetside.domain.session.state import State
from wetside.present.action_effects import available, open_action, reading_panel
from wetside.present.actions import ActionId, by_letter
from wetside.present.key_meaning import closed_key, enter_key, gate_shut, over_panel_key, pace, space_key
from wetside.present.key_state import KeyResult, KeyState, Meaning, applied, passing, refused
from wetside.present.presenter import is_dark, next_tick
from wetside.present.prompt_answers import answered, bells_panel
from wetside.present.prompts import Answer, Choice, Keys, Menu, Number, Panel, Words, panel_keys, press_panel

FLUSH_S = 0.25
"""Keys pressed this soon after a step opened are taken as meant for the step before, and ignored."""

_TOO_SOON = "Too soon: this has only just opened. Read it, then press."

_FOLLOWS = "This terminal only follows and changes nothing. BACKSPACE leaves."

REPEAT_S = 0.15
"""The same key again sooner than this counts as held down (consoles repeat 10 to 30 times a second)."""

ANSWER_S = 15.0
"""How long the message after SPACE or ENTER stays, in real seconds, as "0:53 more" soon becomes wrong."""

LOADED_SOON_S = 10.0
"""Loading film takes longer than this (our own number); a leave pair before it must be repeated."""


def current_key_state(key_state: KeyState, state: State, at: float) -> KeyState:
    """The key state brought up to date with the session: a new step resets it, a new tick its time of display."""
    step = state.step
    id_ = step.id if step is not None else ""
    if id_ != key_state.step:
        key_state = replace(key_state, step=id_, opened_at=at, moved=False, pair=False, keys_ignored=0)
        key_state = replace(key_state, confirmed=False, panel=None, message="")
    answer = key_state.answer
    if answer and key_state.message == answer and key_state.gate_shut and step is not None:
        shut = gate_shut(state, step, at)
        answer = shut.message if shut is not None else ""
        key_state = replace(key_state, message=answer, answer=answer)
    if answer and at - key_state.last_at > ANSWER_S * pace(state):
        message = "" if key_state.message == answer else key_state.message
        key_state = replace(key_state, message=message, answer="")
    tick = next_tick(state, step, at) if step is not None else None
    up = tick.id if tick is not None else ""
    return replace(key_state, tick_up=up, tick_shown_at=at) if up != key_state.tick_up else key_state


def press_key(
    state: State, key_state: KeyState, key: str, at: float, *, lit: bool = False, follows: bool = False
) -> KeyResult:
    """The result of pressing `key`: "space", "enter", "backspace", or one character.

    lit: the screen is drawn in a dark step, as the person has stated that the light is on. follows: this terminal
    only follows the session.
    """
    dark = is_dark(state)
    if (lit or not dark) and (follows or dark) and key in ("backspace", "q"):
        return KeyResult(key_state, wish="leave")
    if (lit or not dark) and follows:
        return KeyResult(refused(key_state, _FOLLOWS))
    key_state = current_key_state(key_state, state, at)
    held_down = key == key_state.last_key and key_state.last_at < at < key_state.last_at + REPEAT_S
    confirmed = key_state.confirmed and key in ("space", "enter")
    key_state = replace(key_state, last_key=key, last_at=at, confirmed=confirmed)
    if dark:
        return _in_the_dark(state, key_state, key, at)
    if held_down and not _may_repeat(key_state.panel, key):
        return KeyResult(key_state)
    if key in ("space", "enter") and (call := _call_over_panel(state, key_state, at)) is not None:
        return passing(applied(key_state, over_panel_key(state, key_state, call, key, at)))
    key_state = replace(key_state, touched_at=at)
    if key_state.panel is not None:
        return _on_panel(state, key_state, key_state.panel, key, at)
    if key_state.opened_at < at < key_state.opened_at + FLUSH_S:
        return passing(applied(key_state, Meaning(message=_TOO_SOON)))
    if key == "backspace":
        return applied(key_state, Meaning(panel=_menu(state, at)))
    if key in ("space", "enter"):
        result = applied(key_state, _large_key(state, key_state, key, at))
        return result if state.current is None else passing(result)
    return _letter(state, replace(key_state, message=""), key, at)


def keys(state: State, key_state: KeyState, at: float, *, lit: bool = False, follows: bool = False) -> Keys:
    """The labels of the three large keys now; `lit` and `follows` as of `press_key`."""
    key_state, dark = current_key_state(key_state, state, at), is_dark(state)
    if dark and not lit:
        return Keys("", "", "")
    if follows:
        return Keys("", "", "leaves: this terminal only follows")
    if dark:
        return Keys(
            "the lid is on and locked", "tries again to keep it" if key_state.pair else "", "leaves the guide"
        )
    if key_state.panel is not None:
        named = panel_keys(key_state.panel)
        if (call := _call_over_panel(state, key_state, at)) is None:
            return named
        space, enter = (over_panel_key(state, key_state, call, key, at) for key in ("space", "enter"))
        return replace(named, space=space.label, enter=enter.label)
    space, enter = (_large_key(state, key_state, key, at) for key in ("space", "enter"))
    return Keys(space.label, enter.label, "menu")


def bells_rung(state: State, key_state: KeyState, bells: int, at: float) -> KeyState:
    """The key state after `bells` bells were rung: with the field for the number heard."""
    key_state = current_key_state(key_state, state, at)
    if key_state.panel is not None:
        return key_state  # a panel was opened meanwhile; SPACE rings and asks again
    return replace(key_state, panel=bells_panel(key_state.tick_up, bells), touched_at=at)


def _large_key(state: State, key_state: KeyState, key: str, at: float) -> Meaning:
    """The meaning of SPACE or ENTER where no panel is open."""
    if state.step is None:
        return closed_key(key_state, key)
    return (space_key if key == "space" else enter_key)(state, key_state, state.step, at)


def _call_over_panel(state: State, key_state: KeyState, at: float) -> Cue | None:
    """The call that was made while a panel is open and that SPACE and ENTER answer first; None without one.

    Pages and free text are not interrupted. Any other key still goes to the panel.
    """
    if not isinstance(key_state.panel, Menu | Choice | Number):
        return None
    call = current_call(state, at)
    return call if call is not None and call.at > key_state.touched_at else None


def _may_repeat(panel: Panel | None, key: str) -> bool:
    """Whether a key held down repeats: only to type, delete, step a number or move the mark of a list.

    Stepping a temperature stops where nothing is kept, so that one key held down finds the way out.
    """
    if panel is None or key == "enter" or (isinstance(panel, Number) and panel.not_read):
        return False
    return key != "backspace" or isinstance(panel, Number | Words)


def _menu(state: State, at: float, marked: str = "") -> Menu:
    items = available(state, at)
    return Menu(items, next((number for number, each in enumerate(items) if each.id == marked), 0))


def _in_the_dark(state: State, key_state: KeyState, key: str, at: float) -> KeyResult:
    """The result in a dark step: SPACE followed by ENTER ends it; all other keys are counted."""
    if key == "enter" and key_state.pair and state.current is not None:
        key_state, clock = replace(key_state, pair=False), state.clocks.get(state.current)
        if not key_state.left_soon and clock is not None and at - clock.t0 < LOADED_SOON_S * pace(state):
            # Lighting the screen now would fog film, so the pair must be repeated; no question can be shown.
            return KeyResult(replace(key_state, left_soon=True))
        return KeyResult(key_state, c.EndStep(at, state.current, key_state.keys_ignored))
    ignored = key_state.keys_ignored + int(key_state.pair) + int(key != "space")
    return KeyResult(replace(key_state, pair=key == "space", keys_ignored=ignored))


def _on_panel(state: State, key_state: KeyState, panel: Panel, key: str, at: float) -> KeyResult:
    if key == "a" and isinstance(panel, Choice | Number):
        return _act(state, key_state, "first aid", at)
    after = press_panel(panel, key)
    if not isinstance(after, Answer):
        unmarked = key == "enter" and after == panel and isinstance(panel, Choice)
        message = "Nothing is marked yet: SPACE marks." if unmarked else ""
        return applied(key_state, Meaning(panel=after, message=message))
    if isinstance(after.panel, Menu):
        chosen = after.panel.items[after.panel.index].id
        if not open_action(state, chosen, at).acts:
            return applied(key_state, Meaning(message="That has settled itself meanwhile: nothing was done."))
        return _act(state, key_state, chosen, at)
    meant = answered(state, after, at)
    return applied(key_state, replace(meant, moved=True) if meant.command is not None else meant)


def _letter(state: State, key_state: KeyState, key: str, at: float) -> KeyResult:
    step = state.step
    if step is not None and key.isdecimal() and key.isascii() and step.kind.traits.reads:
        # The step asks for a number, so a digit opens its field and is the first character.
        panel = reading_panel(state, step, at)
        after = press_panel(panel, key) if panel is not None else None
        return KeyResult(
            key_state if after is None or isinstance(after, Answer) else replace(key_state, panel=after)
        )
    chosen = by_letter(key)
    if chosen is None or not state.begun or not open_action(state, chosen.id, at).acts:
        return KeyResult(key_state)
    if chosen.at_once:
        return applied(key_state, Meaning(panel=_menu(state, at, chosen.id)))
    return _act(state, key_state, chosen.id, at)


def _act(state: State, key_state: KeyState, id_: ActionId, at: float) -> KeyResult:
    """The result of choosing an action in the menu or by its letter."""
    meant = open_action(state, id_, at)
    if meant.wish == "far":
        key_state = replace(key_state, far=not key_state.far)
    return applied(key_state, meant)
