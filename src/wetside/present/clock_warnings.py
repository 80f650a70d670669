"""Which clock may be wrong after a restart of the machine, and what to say of it. Pure.

No clock of the machine goes on while it is off. If the wall clock tells how long that was, the running clocks are
as right as it is; if it was put back, nobody knows, and they are behind by just that time.
"""

from __future__ import annotations

from wetside.domain.calc.wording import span
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.session.state import State
from wetside.present.actions import correctable

UNKNOWN = "Nobody knows how long it was off"


def in_doubt(state: State) -> PlannedStep | None:
    """The step whose clock ran on while the machine was off and was not set right since; None without one."""
    step, restarted = correctable(state), state.restarted
    if step is None or restarted is None:
        return None
    begun_before = state.clocks[step.id].first_t0 < restarted.at + step.lead_in_s
    set_right = any(fix.step == step.id and fix.at >= restarted.at for fix in state.corrections)
    return step if begun_before and not set_right else None


def gap_words(state: State) -> str:
    """To say on going on, where nobody knows how long the machine was off; "" where that is known or made good."""
    restarted = state.restarted
    if restarted is None or restarted.how != "not known":
        return ""
    if in_doubt(state) is not None:
        return f"{UNKNOWN}, so this clock is behind: read a second one, then key l (The clock was started late)."
    return f"{UNKNOWN}: read each temperature again." if restarted.at == state.at else ""


def jump_words(state: State, by_s: float, stepped: bool) -> str:
    """To say after a suspend of `by_s`, or a step of the wall clock by it (negative when put back): how long, and
    what it means for the clock that runs."""
    direction = "forward" if by_s > 0 else "back"
    words = f"The wall clock was moved {direction} by" if stepped else "The machine slept for"
    return f"{words} {days(by_s)}. {_meaning(state, stepped)}"


def days(seconds: float) -> str:
    """A length of time from seconds to days: "45 s", "2 h 05 min", "2 days", "2 days 5 h"."""
    minutes = round(abs(seconds) / 60)
    if minutes < 1440:
        return span(seconds)
    whole, hours = divmod(round(minutes / 60), 24)
    return f"{whole} day{'s' if whole > 1 else ''}{f' {hours} h' if hours else ''}"


def _meaning(state: State, stepped: bool) -> str:
    step, restarted = in_doubt(state), state.restarted
    if step is not None and restarted is not None and restarted.how == "not known":
        return gap_words(state)
    if step is not None and stepped:
        return "It had told how long the machine was off: check this clock by a second one, and set it with key l."
    return "Elapsed times are right all the same."
