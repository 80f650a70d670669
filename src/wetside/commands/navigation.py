"""Navigates between the screens of one run of the full screen, starting and ending at home.

The screens draw; journal, files and clock are accessed from here. `screens.py` makes the screens that need
planning, files and units. `home.py` imports it when such a screen is opened, as it would double the time to the
first screen; a session's own modules are imported when there is one.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from textual.screen import Screen

from wetside.app.clock import LocalZone, SystemClock
from wetside.app.terminal import Terminal
from wetside.commands.run_session import (
    PRACTICE_SETUP,
    PRACTICE_SPEED,
    TOUR_SPEED,
    begin,
    holder_of,
    say_how_to_go_on,
)
from wetside.errors import JournalUnusable, WetsideError
from wetside.files.settings import Places, Settings
from wetside.storage import sessions
from wetside.storage.store import Store, only_shown, open_to_guide
from wetside.tui.app import WetsideApp, run_screens
from wetside.tui.home_screen import HomeChoice, HomeScreen, Unfinished, unfinished
from wetside.tui.page_screen import PageScreen, text_of

if TYPE_CHECKING:
    from wetside.app.controller import SessionController
    from wetside.app.probe import Probe
    from wetside.commands.tonight import Evening

TAKE_OVER = (
    "It is open for writing in {holder}.",
    "",
    "Taking it over makes that terminal a follower: it goes on to show the session, and changes nothing more.",
)


_DAMAGE_CHECK_AFTER_S = 0.3
"""The check for damage reads the whole journal, so it runs once the first screen is drawn."""


class Navigator:
    """One run of the full screen. wrong: the problem with the settings file in a sentence, "" without one."""

    def __init__(
        self, terminal: Terminal, places: Places, settings: Settings, wrong: str = "", probe: Probe | None = None
    ) -> None:
        self.probe = probe
        self.terminal = terminal
        self.places = places
        self.settings = settings
        self.wrong = wrong
        self.clock = SystemClock()
        self._store: Store | None = None
        self._controller: SessionController | None = None
        self._screen: Screen[Any] | None = None

    def run_home(self, open_chosen: Callable[[Navigator, HomeChoice], None]) -> int:
        """Run from the home screen on; returns the exit code. open_chosen: opens what needs planning or files."""
        self._open_chosen = open_chosen
        return self.run(self._first_home)

    def run(self, first: Callable[[], Screen[Any]]) -> int:
        """Run from this screen on; returns the exit code."""
        with open_to_guide(self.places) as store:
            self._store = store
            code = run_screens(self.terminal, self.settings, lambda: self._shown(first()))
        if self._controller is not None and self._controller.state.outcome is None:
            say_how_to_go_on(self._controller)
        return code

    @property
    def journal(self) -> Store:
        """The journal, open during the whole run."""
        assert self._store is not None
        return self._store

    @property
    def _app(self) -> WetsideApp:
        assert self._screen is not None
        app = self._screen.app
        assert isinstance(app, WetsideApp)
        return app

    def _shown(self, screen: Screen[Any]) -> Screen[Any]:
        self._screen = screen
        return screen

    def open(self, screen: Screen[Any], left: Callable[[Any], None] | None = None) -> None:
        """Show a screen on top of the current one. left: called with its result."""
        self._app.push_screen(screen, left)

    def close(self) -> None:
        self._app.pop_screen()

    def leave(self) -> None:
        """End the run."""
        self._app.leave(0)

    def go_home(self, words: str = "") -> None:
        """Close every screen and open a new home screen with the current sessions. words: its first message."""
        app = self._app
        while len(app.screen_stack) > 1:
            app.pop_screen()
        app.push_screen(self._shown(self._home(words)))

    # home

    def _first_home(self) -> HomeScreen:
        """The home screen; the check of the journal for damage is scheduled shortly after it is drawn."""
        asyncio.get_running_loop().call_later(_DAMAGE_CHECK_AFTER_S, self._check_for_damage)
        return self._home(self.wrong)

    def _check_for_damage(self) -> None:
        from wetside.commands.salvage import damage_words

        try:
            words = damage_words(self.journal, self.places)
        except JournalUnusable as problem:
            words = str(problem)
        home = self._screen
        if words and isinstance(home, HomeScreen) and home.on_top:
            home.say(" ".join(each for each in (self.wrong, words) if each))

    def _home(self, words: str) -> HomeScreen:
        try:
            offers, barred = self._offers(), self.journal.barred
        except JournalUnusable as problem:
            offers, barred = (), problem
        if barred is not None and not words:
            words = f"Nothing can be kept in the journal: {barred.brief}"
        return HomeScreen(
            self.terminal,
            offers,
            self._chosen,
            seconds=lambda: self.clock.now().boot_s,
            wall=lambda: f"{self.now():%H:%M}",
            words=words,
        )

    def _offers(self) -> tuple[Unfinished, ...]:
        offers = []
        for row in sessions.unfinished(self.journal):
            from wetside.app.session_start import clock_of, elapsed

            try:
                state = sessions.load_state(self.journal, row.stream)
            except JournalUnusable:
                continue  # the list of past sessions shows the reason
            at, how = elapsed(state, datetime.fromisoformat(row.last_at), clock_of(state).now())
            offer = unfinished(state, at, how == "not known")
            offers += [offer] if offer is not None else []
        return tuple(sorted(offers, key=lambda offer: offer.practice))

    def _chosen(self, choice: HomeChoice) -> None:
        """Open the chosen screen, or show at home why it cannot be opened."""
        try:
            self._enter(choice)
        except WetsideError as problem:
            self.say(problem)

    def _enter(self, choice: HomeChoice) -> None:
        match choice.act:
            case "go on":
                self._go_on(choice.session)
            case "practise" | "tour":
                from wetside.commands.tonight import plan_evening
                from wetside.files.profile_places import tour_setup

                tour = choice.act == "tour"
                evening = plan_evening(str(tour_setup()) if tour else PRACTICE_SETUP, self.places, self.settings)
                self.begin(evening, practice=True, speed=TOUR_SPEED if tour else PRACTICE_SPEED)
            case "leave":
                self.leave()
            case _:
                self._open_chosen(self, choice)

    def take_settings(self) -> None:
        """Pass the changed settings on to the screens."""
        self._app.settings = self.settings

    def say(self, problem: WetsideError) -> None:
        """Show the error on the home screen; where the run has none, end the run with that message."""
        words = str(problem).splitlines()[0]
        home = self._screen
        if not isinstance(home, HomeScreen):
            self._app.leave(problem.exit_code, words)
        elif home.on_top:
            home.say(words)
        else:
            self.go_home(words)

    # sessions

    def begin(self, evening: Evening, *, practice: bool = False, speed: float = 1.0) -> None:
        """Begin a session of this evening and show its guide."""
        self.guide(begin(self.journal, self.places, evening, self.settings, practice=practice, speed=speed))

    def _go_on(self, session: str) -> None:
        stream = sessions.resolve(self.journal, session)
        if only_shown(self.journal):
            from wetside.app.session_factory import follow_session

            self.guide(follow_session(self.journal, stream))
            return
        holder = holder_of(self.places, stream)
        if holder is None:
            self._resume(stream, take_over=False)
            return
        lines = tuple(line.format(holder=holder) for line in TAKE_OVER)

        def taken(acted: bool | None) -> None:
            try:
                if acted:
                    self._resume(stream, take_over=True)
            except WetsideError as problem:
                self.say(problem)

        page = PageScreen(self.terminal, "Another terminal", text_of(lines), "takes it over")
        self.open(page, taken)

    def _resume(self, stream: str, *, take_over: bool) -> None:
        from wetside.app.session_factory import resume_session

        self.guide(resume_session(self.journal, self.places, stream, self.settings, take_over=take_over))

    def guide(self, controller: SessionController) -> None:
        from wetside.tui.guide_screen import GuideScreen

        self._controller = controller
        controller.probe = self.probe
        self.open(GuideScreen(controller, self.terminal, self.settings, left=self._left_guide))

    def _left_guide(self) -> None:
        """Return home, but end a run that began at a review, or whose session continues in another journal."""
        apart = self._controller is not None and self._controller.kept_in
        if isinstance(self._screen, HomeScreen) and not apart:
            self.go_home()
        else:
            self.leave()

    def now(self) -> datetime:
        """The local time of day."""
        return self.clock.now().wall.astimezone(LocalZone())

    def today(self) -> date:
        """The local day."""
        return self.clock.now().day
