"""The yardstick: a full-screen app with one line of text, and one key handler that changes it."""

from __future__ import annotations

from textual import events
from textual.app import App, ComposeResult
from textual.widgets import Static


class Empty(App[None]):
    """Shows how many keys were pressed."""

    ENABLE_COMMAND_PALETTE = False

    def compose(self) -> ComposeResult:
        """One line."""
        self.keys = 0
        self.line = Static("READY 0")
        yield self.line

    def on_key(self, event: events.Key) -> None:
        """Count."""
        self.keys += 1
        self.line.update(f"READY {self.keys}")


if __name__ == "__main__":
    Empty().run()
