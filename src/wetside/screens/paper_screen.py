"""A drawn screen outside a session: one that takes no key once another screen lies over it or it was left.

Keys that come faster than screens change (a stuck or a wet key) are queued to the screen that was on top; acted
on there, three BACKSPACEs would leave three screens that were not looked at.
"""

from __future__ import annotations

from textual import events

from wetside.screens.canvas import DrawnScreen


class PaperScreen(DrawnScreen):
    """Answers keys only while it is on top."""

    def on_key(self, event: events.Key) -> None:
        """Hand the key on, unless this screen is no longer the one looked at."""
        if self.on_top:
            super().on_key(event)
        else:
            event.stop()
            event.prevent_default()
