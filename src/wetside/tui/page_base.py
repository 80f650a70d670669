"""A drawn screen outside a session: one that takes no key once another screen lies over it or it was left.

Keys that come faster than screens change (a stuck or a wet key) are queued to the screen that was on top; acted
on there, three BACKSPACEs would leave three screens that were not looked at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import events

from wetside.tui.canvas import DrawnScreen

if TYPE_CHECKING:  # home asks nothing, and is drawn before what a question needs is loaded
    from wetside.tui.questions import Question

HELD_S = 0.15
"""BACKSPACE again sooner than this is held down (consoles repeat 10 to 30 times a second)."""


class PaperScreen(DrawnScreen):
    """Answers keys only while it is on top. question: what is asked over the page now, if anything."""

    question: Question | None = None
    _rubbed_at: float | None = None

    def on_key(self, event: events.Key) -> None:
        """Hand the key on, unless this screen is no longer the one looked at."""
        if self.on_top and not self._rubs_nothing(event):
            super().on_key(event)
        else:
            event.stop()
            event.prevent_default()

    def _rubs_nothing(self, event: events.Key) -> bool:
        """Whether BACKSPACE, held down to rub a field out, has come to its end: it must not leave the page too."""
        back = event.key == "backspace"
        held = back and self._rubbed_at is not None and event.time < self._rubbed_at + HELD_S
        typed = self.question is not None and bool(self.question.typed)
        self._rubbed_at = event.time if back and (typed or held) else None
        return held and not typed
