"""Draws the pictures of the documents from the real program: `.venv/bin/python -m screenshots.draw [NAME…]`.

The shipped evening is led from home to its record on a screen of 80 by 24, with the keys a person would press and
a clock set by hand, so that every run draws the same pictures, byte for byte. The data lie in a folder that is
thrown away. Only the clock, the letters of a session's name and the number of bells are not left to chance.
"""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final
from unittest import mock

from msgspec.structs import replace
from screenshots.svg import painted, svg
from tests.manual_clock import ManualClock
from textual import events
from textual.app import App
from textual.pilot import Pilot
from textual.screen import Screen

from wetside.app import session_factory
from wetside.app.clock import SystemClock
from wetside.app.terminal import Terminal
from wetside.commands import navigation
from wetside.commands.home import open_chosen
from wetside.files.profile_places import setups_by_name
from wetside.files.settings import Places, Settings, find_places
from wetside.files.setup_file import read_setup, write_setup
from wetside.present.prompts import Choice, Number
from wetside.present.view_model import View
from wetside.tui.app import WetsideApp
from wetside.tui.guide_screen import GuideScreen
from wetside.tui.home_screen import HomeScreen
from wetside.tui.page_screen import PageScreen, WidgetScreen
from wetside.tui.sessions_screen import PastScreen

HERE: Final = Path(__file__).parent
COLUMNS, ROWS = 80, 24
SUNDAY: Final = datetime(2031, 3, 2, 18, 30, tzinfo=UTC)
BELLS: Final = 3
SESSION: Final = "2031-03-02-wtsd"
"""Its name, whose letters are drawn by lot else."""
CHARACTERS: Final = {"space": " ", "full_stop": ".", "enter": "\r"}
IN_RANGE_C: Final = 38.0
LOADING_S: Final = 390.0
MINUTES_S: Final = 600
"""A wait longer than this is looked at once a minute."""
READ_AFTER_MIN: Final = (0, 2, 2)
"""How long after each other the bottles are read once the film is loaded."""

PICTURES: Final = {
    "home": "The first screen, with an evening that was left in the middle of a bath",
    "plan": "The plan: what is on the bench on the left, what it comes to on the right",
    "review": "The review: what must not be missing, what can hurt",
    "tempering": "Tempering: the forecast with the readings drawn on it",
    "dark-briefing": "The briefing before the dark: what to remember, and that the screen goes black",
    "developer": "The developer is running: what to do now, the clock, what to confirm while you wait",
    "far": "The far view of the same bath, to be read across a kitchen",
    "between-baths": "Between developer and bleach-fix: the next bath, and what must be confirmed before it",
    "handwork": "One roll comes off its reel while the clock of another runs on",
    "drying": "The film hangs: how long still, and what is washed up meanwhile",
    "record": "The record of the evening: planned against actual",
}
"""Every picture by name, and what it shows in words."""


class Person:
    """Presses keys, waits, and takes pictures."""

    def __init__(self, pilot: Pilot[Any], clock: ManualClock) -> None:
        self.pilot = pilot
        self.app: App[Any] = pilot.app
        self.clock = clock
        self.taken: dict[str, str] = {}

    @property
    def screen(self) -> Screen[Any]:
        """What is on top."""
        return self.app.screen

    @property
    def guide(self) -> GuideScreen:
        """The guide, which is on top."""
        assert isinstance(self.screen, GuideScreen)
        return self.screen

    @property
    def view(self) -> View:
        """What the guide shows."""
        return self.guide.controller.view()

    async def press(self, *keys: str) -> None:
        """Keys one after another, a person's moment apart."""
        for key in keys:
            await self.wait(1.2)
            self.screen.post_message(events.Key(key, CHARACTERS.get(key, key if len(key) == 1 else None)))
            await self.settled()

    async def settled(self) -> None:
        """Until what was sent has been taken in, and a screen that it opened stands."""
        while True:
            screen, done = self.screen, asyncio.Event()
            screen.call_later(done.set)
            await done.wait()
            if screen is self.screen and screen.is_running and screen.is_mounted:
                break
            await asyncio.sleep(0)
        while isinstance(screen, PageScreen) and not screen.is_whole:
            await asyncio.sleep(0)
        for _ in range(2 if isinstance(screen, WidgetScreen) else 0):
            # Laid out, and once more because the title line tells how many lines there are.
            painted = asyncio.Event()
            screen.call_after_refresh(painted.set)
            await painted.wait()

    async def wait(self, seconds: float) -> None:
        """Time passes, second by second, as a running guide sees it."""
        while seconds > 0:
            self.clock.advance(min(1.0, seconds))
            seconds -= 1.0
            if isinstance(self.screen, GuideScreen):
                self.screen.controller.poll()

    async def take(self, name: str) -> None:
        """A picture of the screen as it is."""
        if isinstance(self.screen, GuideScreen):
            self.screen.redraw()  # time may have passed, which is seen only here
        await self.settled()
        await self.pilot.pause()  # until all of it is drawn
        self.taken[name] = svg(painted(self.screen), COLUMNS, PICTURES[name])

    async def lead(self, until: Callable[[View], bool]) -> None:
        """Lead the session by what the bottom line says, until `until` holds."""
        for _ in range(5_000):
            if until(self.view):
                return
            await self._act()
        raise RuntimeError(f"led nowhere: {self.view.step}, {self.guide.controller.key_state.message}")

    async def _act(self) -> None:
        controller, view = self.guide.controller, self.view
        keys = controller.keys()
        if view.dark:
            await self.wait(LOADING_S)
            await self.press("space", "enter")
        elif isinstance(controller.key_state.panel, Number):
            await self._answer(controller.key_state.panel)
        elif keys.enter and keys.space != "confirms the marked line" and not keys.enter.startswith("POURS"):
            await self.press("enter")
        elif keys.space.startswith("rings"):
            await self.press("space")
            while controller.key_state.panel is None:  # the bells ring in the time of the room
                await self.pilot.pause(0.1)
        elif keys.space and "early" not in keys.space:
            await self.press("space")
        else:
            await self.wait(1.0 if view.clock is not None and view.clock.seconds < MINUTES_S else 60.0)

    async def _answer(self, panel: Number) -> None:
        if panel.what == "bells":
            await self.press(str(BELLS), "enter")
            return
        wanted = next((row.wanted for row in self.view.readings if row.of == panel.about), "")
        low, high = (float(word) for word in wanted.split(" °")[0].split(" to ")) if wanted else (38.6, 38.6)
        await self.press(*typed((low + high) / 2), "enter")

    async def read(self, thing: str, celsius: float) -> None:
        """Type what the thermometer says."""
        await self.press("t")
        panel = self.guide.controller.key_state.panel
        while isinstance(panel, Choice) and (panel.index < 0 or panel.options[panel.index][0] != thing):
            await self.press("space")
            panel = self.guide.controller.key_state.panel
        if isinstance(panel, Choice):
            await self.press("enter")
        await self.press(*typed(celsius), "enter")


def typed(celsius: float) -> tuple[str, ...]:
    """A temperature as keys."""
    return tuple("full_stop" if letter == "." else letter for letter in f"{celsius:.1f}")


async def evening(person: Person) -> None:
    """From home to the record, with every picture on the way."""
    await person.press("enter")
    await person.take("plan")
    while "goes to the review" not in shown(person):
        await person.press("space")
    await person.press("enter")
    await person.take("review")
    while "begins the session" not in shown(person):
        await person.press("space")
    await person.press("enter")
    person.guide._pick_bells = lambda: BELLS
    await tempering(person)
    await baths(person)
    await finish(person)


async def tempering(person: Person) -> None:
    """Read the bottles, load in the dark while they warm, then read on until they are in range."""
    await person.lead(lambda view: view.step == "warm-bath" and not any(tick.up for tick in view.ticks))
    plan = person.guide.controller.state.plan
    assert plan is not None
    assert plan.tempering is not None
    curve = {round(t_s): (bath, bottle) for t_s, bath, bottle in plan.tempering.curve}
    began = person.clock.now().boot_s

    async def read_all() -> None:
        passed_s = person.clock.now().boot_s - began
        bath, bottle = curve[min(curve, key=lambda t_s: abs(t_s - passed_s))]
        await person.read("developer", bottle + 0.1)
        await person.read("bleach-fix", bottle - 0.2)
        await person.read("bath", bath)

    await read_all()
    await person.lead(lambda view: view.step == "b1.load-room")
    await person.take("dark-briefing")
    await person.lead(lambda view: view.step == "b1.warm-again")
    for minutes in READ_AFTER_MIN:
        await person.wait(minutes * 60.0)
        await read_all()
    await person.wait(60.0)
    await person.take("tempering")
    in_range_s = next(t_s for t_s, (_, bottle) in sorted(curve.items()) if bottle > IN_RANGE_C)
    await person.wait(in_range_s + 60.0 - (person.clock.now().boot_s - began))


async def baths(person: Person) -> None:
    """Develop, be interrupted, bleach and fix."""
    await person.lead(lambda view: view.step == "b1.developer" and view.clock is not None and running(view))
    await person.wait(92.0)
    await person.take("developer")
    await person.press("v")
    await person.take("far")
    await person.press("v")
    await person.lead(lambda view: view.step == "b1.bleach-fix")
    await person.wait(2.0)  # in its first second ENTER starts nothing
    await person.take("between-baths")
    await person.lead(lambda view: view.step == "b1.bleach-fix" and running(view))
    await person.wait(140.0)
    await person.press("q", "space")
    panel = person.guide.controller.key_state.panel
    while isinstance(panel, Choice) and panel.options[panel.index][0] != "leave":
        await person.press("space")
        panel = person.guide.controller.key_state.panel
    await person.press("enter")
    await person.wait(20.0)
    await person.take("home")
    await person.press("enter")


async def finish(person: Person) -> None:
    """The handwork, the drying, and the record from the list of past sessions."""
    await person.lead(lambda view: view.step.endswith(".off-reel") and bool(view.background))
    await person.wait(8.0)
    await person.take("handwork")
    await person.lead(lambda view: view.step == "take-down")
    await person.wait(1500.0)
    await person.take("drying")
    await person.lead(lambda view: bool(view.closed))
    await person.press("space", "enter")
    assert isinstance(person.screen, HomeScreen)
    while "opens the list" not in shown(person):
        await person.press("space")
    await person.press("enter")
    assert isinstance(person.screen, PastScreen)
    await person.press("enter", "space")
    await person.take("record")
    await person.press("backspace", "backspace", "backspace")


def running(view: View) -> bool:
    """Whether the step's own clock runs."""
    return view.clock is not None and view.clock.face in ("down", "up")


def shown(person: Person) -> str:
    """The bottom lines."""
    return "".join(row.text for row in painted(person.screen)[-2:])


def keep_bench(places: Places) -> None:
    """The shipped example as a person's own bench: the plan opens on none that is an example."""
    example = read_setup(setups_by_name()["three-rolls"])
    own = places.setups / "sunday.toml"
    own.parent.mkdir(parents=True)
    own.write_text(write_setup(replace(example, title=f"{example.title} (invented)", invented=False)), "utf-8")


def draw() -> dict[str, str]:
    """Lead the evening; every picture by name."""
    clock = ManualClock(SUNDAY)
    people: list[Person] = []

    async def led(pilot: Pilot[Any]) -> None:
        people.append(Person(pilot, clock))
        await evening(people[0])

    def run(terminal: Terminal, settings: Settings, first: Callable[[], Screen[Any]]) -> int:
        app = WetsideApp(terminal, settings, first)
        return app.run(headless=True, size=(COLUMNS, ROWS), mouse=False, auto_pilot=led) or 0

    with (
        TemporaryDirectory() as folder,
        mock.patch.object(SystemClock, "now", side_effect=clock.now),
        mock.patch.object(session_factory, "new_session_id", return_value=SESSION),
        mock.patch.object(navigation, "run_screens", run),
        # `wait` polls; a poll of the room's own time between two keys would change what they find
        mock.patch.object(GuideScreen, "_start_timer"),
    ):
        places = find_places({"HOME": folder, "WETSIDE_DATA": f"{folder}/data"}, None)
        keep_bench(places)
        terminal = Terminal(COLUMNS, ROWS, True, "256", True, "xterm-256color")
        navigation.Navigator(terminal, places, Settings()).run_home(open_chosen)
    return people[0].taken


def main(names: list[str]) -> int:
    """Write the pictures, all of them or the named ones."""
    os.environ["TZ"] = "UTC"
    time.tzset()
    for name, picture in draw().items():
        if not names or name in names:
            (HERE / f"{name}.svg").write_text(picture, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
