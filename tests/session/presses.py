"""Counts the key presses of a clean evening by what they are for: `python -m tests.session.presses`.

The walker leads the evening of three rolls to its end: it confirms every line as soon as SPACE offers it, types
every temperature with one decimal, makes no mistake and uses no letter. No key answers a call.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.domain.session.events import TickMade
from wetside.present.action_effects import reading_panel
from wetside.present.prompts import Number

SETUP = "three-rolls"


@dataclass
class Presses:
    """The presses of one evening. `critical_alone`: critical lines that one SPACE confirmed alone."""

    by_kind: Counter[str] = field(default_factory=Counter)
    ticks: int = 0
    planned_ticks: int = 0
    critical_alone: int = 0

    @property
    def total(self) -> int:
        """The number of all presses."""
        return sum(self.by_kind.values())


class Typist(Walker):
    """Types temperatures with digits at once, and answers no call."""

    def step(self) -> bool:
        controller = self.guide.controller
        keys = controller.keys()
        if controller.key_state.panel is None and keys.space == "answers the call" and not keys.enter:
            self.guide.wait(1.0)
            return True
        if controller.key_state.panel is None and keys.enter.startswith("confirms "):
            self.guide.wait(1.2)
            self._press("enter")
            return True
        if controller.key_state.panel is None and keys.space == "types a temperature" and not keys.enter:
            step = controller.state.step
            asked = reading_panel(controller.state, step, controller.now()) if step is not None else None
            self._digits(self._value(asked.about if asked is not None else ""))
            return True
        return super().step()

    def _temperature(self, panel: Number) -> None:
        self._digits(self._value(panel.about))

    def _value(self, of: str) -> str:
        wanted = next((row.wanted for row in self.guide.view.readings if row.of == of), "")
        low, high = (float(word) for word in wanted.split(" °")[0].split(" to ")) if wanted else (20.0, 22.0)
        return f"{(low + high) / 2:.1f}"


def kind_of(key: str, words: str) -> str:
    """The purpose of a press, from the key and the words of the bottom line."""
    if words == "in a panel":
        return "number typed"
    if words == "a letter":
        return "number typed"
    if words == "in the dark":
        return words
    if key == "space":
        return {"confirms the marked line": "line", "answers the call": "call answered"}.get(
            words, "lines at once" if words.endswith("marked lines") else words
        )
    if words.startswith("confirms "):
        return "lines at once and goes on"
    return "goes on" if words == "goes on" else "starts or ends"


def clean_evening(*, one_answer: bool) -> Presses:
    """The presses of the shipped evening of three rolls. one_answer: one SPACE confirms all plain lines."""
    plan = shipped_plan(SETUP)
    guide: Guide = guide_for(plan, one_answer=one_answer)
    Typist(guide).lead(15_000)
    found = Presses(Counter(kind_of(key, words) for key, words in guide.presses))
    ticks = {tick.id: tick for step in plan.steps for tick in step.ticks}
    made = [event for event in guide.events if isinstance(event, TickMade)]
    at = Counter(event.at for event in made)
    found.ticks, found.planned_ticks = len(made), len(ticks)
    found.critical_alone = sum(ticks[event.tick].killer and at[event.at] == 1 for event in made)
    return found


def main() -> None:
    """Print both counts."""
    for one_answer in (False, True):
        found = clean_evening(one_answer=one_answer)
        print(f"{SETUP}, {'one answer for plain lines' if one_answer else 'each line alone'}: {found.total}")
        for kind, count in found.by_kind.most_common():
            print(f"  {count:4} {kind}")


if __name__ == "__main__":
    main()
