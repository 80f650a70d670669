"""BACKSPACE held down to rub a field out stops at its beginning: it leaves neither the field nor the page."""

from __future__ import annotations

import pytest
from textual import events
from textual.app import App

from wetside.app.terminal import Terminal
from wetside.present.prompts import Words, asked
from wetside.tui.frame import Body, PageView
from wetside.tui.page_screen import HELD_S, WidgetScreen
from wetside.tui.rows import StyledText

RATES_S = (1 / 30, 1 / 11)


class Asking(WidgetScreen):
    """A page that asks for a name, and counts how often it was left."""

    def __init__(self, terminal: Terminal, typed: str) -> None:
        super().__init__(terminal)
        self.question = asked("A name", typed=typed)
        self.left = 0

    def draw(self, columns: int, rows: int) -> PageView:
        words = self.question.typed if isinstance(self.question, Words) else "page"
        return PageView((), Body([(StyledText(words),)]), [])

    def press_page(self, key: str) -> None:
        self.left += key == "backspace"


def pressed(screen: WidgetScreen, key: str, at: float) -> None:
    event = events.Key(key, None)
    event.time = at
    screen.on_key(event)


@pytest.mark.parametrize("every_s", RATES_S)
async def test_holding_backspace_empties_a_field_but_does_not_leave_it(terminal: Terminal, every_s: float) -> None:
    app: App[None] = App()
    async with app.run_test():
        await app.push_screen(screen := Asking(terminal, "sunday"))
        for number in range(40):
            pressed(screen, "backspace", 100.0 + number * every_s)
        assert (screen.question, screen.left) == (asked("A name"), 0)
        pressed(screen, "backspace", 100.0 + 40 * every_s + HELD_S)
        assert screen.question is None
        pressed(screen, "backspace", 110.0)
        assert screen.left == 1


async def test_two_quick_backspaces_on_an_empty_field_both_count(terminal: Terminal) -> None:
    app: App[None] = App()
    async with app.run_test():
        await app.push_screen(screen := Asking(terminal, ""))
        for number in range(2):
            pressed(screen, "backspace", 100.0 + number * HELD_S / 2)
        assert (screen.question, screen.left) == (None, 1)
