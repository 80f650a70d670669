"""One step's clock, and the time film waits between two of them. Pure."""

from __future__ import annotations

from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import ClockStarted
from wetside.frozen import dataclass

LONGEST_CHANGE_S = 90.0
"""A developer followed later than this after its pouring out began has worked on in the film (our own number: half
a minute to pour out, as long to pour in, and as long again)."""


@dataclass(frozen=True, slots=True)
class StepClock:
    """One step's clock. t0 as corrected, first_t0 as first marked; end_s: planned length from t0, or None."""

    t0: float
    first_t0: float
    end_s: float | None
    drained_at: float | None = None
    paused_since: float | None = None
    paused_s: float = 0.0

    def elapsed(self, at: float) -> float:
        """Seconds the step has run at `at` (negative in the lead-in); pauses do not count."""
        stop = self.paused_since if self.paused_since is not None else at
        return stop - self.t0 - self.paused_s

    def remaining(self, at: float) -> float | None:
        """Seconds to the planned end at `at` (negative when over); None without an end."""
        return None if self.end_s is None else self.end_s - self.elapsed(at)


@dataclass(frozen=True, slots=True)
class Gap:
    """`step` began `waited_s` after pouring out the on-time bath before it had begun."""

    at: float
    step: str
    waited_s: float


def gap(before: PlannedStep, clock: StepClock | None, step: PlannedStep, event: ClockStarted) -> Gap | None:
    """The wait between `before`, whose clock is `clock`, and `step`, which begins; None when it is short."""
    if clock is None or clock.drained_at is None or before.ends != "on time":
        return None
    waited_s = event.t0 - clock.drained_at
    same = before.batch == step.batch and step.kind in (Kind.BATH, Kind.WASH)
    return Gap(event.at, event.step, waited_s) if same and waited_s > LONGEST_CHANGE_S else None
