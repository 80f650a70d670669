"""The warnings after a restart or suspend of the machine: which clock may be wrong, and what to do. Pure.

While the machine is off, the time passed is known from the wall clock alone, so the session's clocks are as
correct as the wall clock. Where that was put back, they are behind by an unknown time.
"""

from __future__ import annotations

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.session.state import State
from wetside.present.action_effects import correctable
from wetside.present.wording import long_span

UNKNOWN = "Nobody knows how long it was off"


def in_doubt(state: State) -> PlannedStep | None:
    """The step whose clock ran while the machine was off and was not corrected since; None without one."""
    step, restarted = correctable(state), state.restarted
    if step is None or restarted is None:
        return None
    begun_before = state.clocks[step.id].first_t0 < restarted.at + step.lead_in_s
    set_right = any(fix.step == step.id and fix.at >= restarted.at for fix in state.corrections)
    return step if begun_before and not set_right else None


def gap_words(state: State) -> str:
    """The warning on resume where the time off is unknown; "" where it is known or was corrected."""
    restarted = state.restarted
    if restarted is None or restarted.how != "not known":
        return ""
    if in_doubt(state) is not None:
        return f"{UNKNOWN}, so this clock is behind: read a second one, then key l (The clock was started late)."
    return f"{UNKNOWN}: read each temperature again." if restarted.at == state.at else ""


def jump_words(state: State, by_s: float, stepped: bool) -> str:
    """The message after a suspend of `by_s`, or after a step of the wall clock by `by_s` (negative: put back)."""
    direction = "forward" if by_s > 0 else "back"
    words = f"The wall clock was moved {direction} by" if stepped else "The machine slept for"
    return f"{words} {long_span(by_s)}. {_meaning(state, stepped)}"


def _meaning(state: State, stepped: bool) -> str:
    step, restarted = in_doubt(state), state.restarted
    if step is not None and restarted is not None and restarted.how == "not known":
        return gap_words(state)
    if step is not None and stepped:
        return "It had told how long the machine was off: check this clock by a second one, and set it with key l."
    return "Elapsed times are right all the same."
