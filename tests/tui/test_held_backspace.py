"""BACKSPACE held down to rub a field out stops at its beginning: it leaves neither the field nor the page."""

from __future__ import annotations

from collections.abc import Callable, Generator

import pytest
from textual import events

from wetside.app.terminal import Terminal
from wetside.files.settings import Settings
from wetside.present.prompts import Asked, Words
from wetside.tui.app import WetsideApp
from wetside.tui.dialog import DialogScreen
from wetside.tui.page_screen import HELD_S, PageScreen

RATES_S = (1 / 30, 1 / 11)


def pressed(screen: PageScreen | DialogScreen, key: str, at: float) -> None:
    event = events.Key(key, None)
    event.time = at
    screen.post_message(event)


def asks(typed: str) -> Callable[[], Generator[Asked, str, str]]:
    def flow() -> Generator[Asked, str, str]:
        return (yield Words("asked", "A name", "", typed, needed=True))

    return flow


@pytest.mark.parametrize("every_s", RATES_S)
async def test_holding_backspace_empties_a_field_but_does_not_leave_it(terminal: Terminal, every_s: float) -> None:
    page = PageScreen(terminal, "A page", lambda layout, cells: [])
    app = WetsideApp(terminal, Settings(), lambda: page)
    async with app.run_test() as pilot:
        dialog = DialogScreen(terminal, "A page", asks("sunday"))
        await app.push_screen(dialog)
        for number in range(40):
            pressed(dialog, "backspace", 100.0 + number * every_s)
        await pilot.pause()
        assert app.screen is dialog
        assert dialog.field.value == ""
        pressed(dialog, "backspace", 100.0 + 40 * every_s + HELD_S)
        await pilot.pause()
        assert app.screen_stack[-1:] == [page]


async def test_two_quick_backspaces_on_an_empty_field_both_count(terminal: Terminal) -> None:
    page = PageScreen(terminal, "A page", lambda layout, cells: [])
    app = WetsideApp(terminal, Settings(), lambda: page)
    async with app.run_test() as pilot:
        under, over = (DialogScreen(terminal, "A page", asks("")) for _ in range(2))
        await app.push_screen(under)
        await app.push_screen(over)
        pressed(over, "backspace", 100.0)
        await pilot.pause()
        assert app.screen is under
        pressed(under, "backspace", 100.0 + HELD_S / 2)
        await pilot.pause()
        assert app.screen_stack[-1:] == [page]
