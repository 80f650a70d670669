"""From a closed session's record to its negatives: SPACE and ENTER at the end of the page, and not before."""

from __future__ import annotations

import pytest
from tests.tui.seen import painted, summary

from wetside.app.terminal import Terminal
from wetside.errors import Refused
from wetside.files.settings import Settings
from wetside.storage.sessions import SessionSummary
from wetside.tui.app import WetsideApp
from wetside.tui.page_screen import PageScreen
from wetside.tui.sessions_screen import PastScreen

CLOSED = summary("k3v9", "Two rolls of ours")
OPEN = summary("m2p4", "One roll more", outcome=None)
DRY = summary("p1p1", "Dry run", practice=True)


def past(terminal: Terminal, seen: list[str], session: SessionSummary, refused: str = "") -> PastScreen:
    def revisit(name: str) -> None:
        if refused:
            raise Refused(refused)
        seen.append(name)

    return PastScreen(terminal, (session,), lambda name: "# A page\n", revisit, {})


async def test_enter_at_the_end_of_a_record_asks_how_the_film_came_out(terminal: Terminal) -> None:
    seen: list[str] = []
    screen = past(terminal, seen, CLOSED)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        page = app.screen
        assert isinstance(page, PageScreen)
        await pilot.press("enter")
        await pilot.pause()
        assert seen == [], "a stuck ENTER opens nothing"
        await pilot.press("space")
        assert "how the film came out" in "\n".join(painted(app))
        await pilot.press("enter")
        await pilot.pause()
        assert seen == ["k3v9"]
        assert app.screen is screen


@pytest.mark.parametrize("session", [OPEN, DRY])
async def test_an_open_session_and_a_practice_can_only_be_read(
    terminal: Terminal, session: SessionSummary
) -> None:
    seen: list[str] = []
    screen = past(terminal, seen, session)
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert seen == []
        assert app.screen is screen


async def test_the_list_says_why_a_session_cannot_be_opened(terminal: Terminal) -> None:
    screen = past(terminal, [], CLOSED, refused="Session k3v9 is open in another terminal.")
    app = WetsideApp(terminal, Settings(), lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("space", "enter")
        await pilot.pause()
        assert app.screen is screen
        assert "open in another terminal" in "\n".join(painted(app))
