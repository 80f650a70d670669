"""Makes the screens for planning, review, past sessions, shelf, own kit and settings.

Each screen gets its functions for journal, files and clock as a value (its ports).
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.screen import Screen

from wetside.app.kit_sheet import KitSheet
from wetside.app.session_factory import revisit_session
from wetside.app.session_start import rfc3339
from wetside.app.setup_form import empty_bench, own_bench
from wetside.commands.navigation import Navigator
from wetside.commands.run_session import PRACTICE_SETUP, other_evening
from wetside.commands.tonight import (
    Evening,
    find_setup,
    kit_request,
    left_afterwards,
    mixing_evening,
    planned,
    profile_named,
    with_the_shelf,
)
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.commands import Command, MixKit
from wetside.domain.shelf.debit import setup_after
from wetside.domain.shelf.setup_bottles import kit_offers, offers
from wetside.domain.shelf.state import ShelfState
from wetside.errors import CheckFailed, FileUnusable, Refused, WetsideError
from wetside.export.past_sessions import past_evenings, trends, trends_in_words, went_in_words
from wetside.files.atomic_write import write_whole
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import profiles_by_name, setups_by_name
from wetside.files.settings import Settings
from wetside.files.settings_form import WRONG_FILE, save_setting
from wetside.files.setup_file import read_setup, write_setup
from wetside.files.units import volume_ml
from wetside.present.message_words import worded
from wetside.present.shelf_text import kit_left_text
from wetside.storage.copies import FOLDER, KEPT
from wetside.storage.sessions import load_state, stream_of, summaries
from wetside.storage.shelf import change_shelf, load_shelf
from wetside.tui.dialog import DialogScreen
from wetside.tui.home_screen import HomeChoice
from wetside.tui.kit_sheet_screen import KitSheetScreen, which_kit
from wetside.tui.plan_ports import EMPTY_BENCH, EMPTY_SAID, GUESSED, LAST_BENCH, PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.settings_screen import SettingsScreen

if TYPE_CHECKING:
    from wetside.tui.sessions_screen import PastScreen
    from wetside.tui.shelf_screen import ShelfScreen


def plan_screen(navigator: Navigator) -> PlanScreen:
    """The screen that plans a new evening."""

    def review(plan: Plan, profile: Profile, setup: Setup) -> None:
        navigator.open(review_screen(navigator, Evening(setup, profile, plan), navigator.close))

    ports = PlanPorts(
        benches=_benches(navigator),
        processes=_processes(navigator),
        bench=lambda name: _bench(navigator, name),
        process=lambda name: profile_named(name, navigator.places),
        make=lambda profile, setup: (
            planned(profile, setup, navigator.places, navigator.settings, navigator.clock).plan
        ),
        save=lambda setup, name: _save(navigator, setup, name),
        review=review,
        starts_at=navigator.now,
        kept=lambda: offers(load_shelf(navigator.journal), navigator.today()),
        kits=lambda: kit_offers(load_shelf(navigator.journal), navigator.today()),
        after=lambda plan: left_afterwards(plan, navigator.journal, navigator.today()),
    )
    units = Units(navigator.settings.temperature_unit, navigator.settings.volume_unit)
    last = _last_bench(navigator)
    setup, said = last or (_bench(navigator, EMPTY_BENCH[0]), EMPTY_SAID)
    return PlanScreen(navigator.terminal, setup, ports, units, said=said, guessed=() if last else GUESSED)


def review_screen(navigator: Navigator, evening: Evening, left: Callable[[], None]) -> ReviewScreen:
    """The checklist before an evening; ENTER at its end begins the session."""

    def answered(begins: bool) -> None:
        if not begins:
            left()
            return
        try:
            navigator.begin(evening)
        except WetsideError as problem:
            navigator.say(problem)

    return ReviewScreen(
        navigator.terminal,
        evening.plan,
        answered,
        profile=evening.profile,
        starts_at=navigator.now(),
        said=other_evening(navigator.journal),
        after=tuple(map(kit_left_text, left_afterwards(evening.plan, navigator.journal, navigator.today()))),
    )


def past_screen(navigator: Navigator) -> PastScreen:
    """The list of every session, and the record of one."""
    from wetside.commands.export import exported
    from wetside.tui.sessions_screen import PastScreen

    evenings, listed = past_evenings(navigator.journal, summaries(navigator.journal))
    went = {each.session: went_in_words(each) for each in evenings}

    def page(session: str) -> str:
        return exported(navigator.places, session, "listed")

    def revisit(session: str) -> None:
        stream = stream_of(session, practice=False)
        navigator.guide(revisit_session(navigator.journal, navigator.places, stream))

    drawn = trends_in_words(trends(evenings), navigator.settings.temperature_unit, not navigator.terminal.utf8)
    return PastScreen(navigator.terminal, listed, page, revisit, went, drawn)


def shelf_screen(navigator: Navigator) -> ShelfScreen:
    """The screen of the bottles."""
    from wetside.tui.shelf_questions import ShelfPorts
    from wetside.tui.shelf_screen import ShelfScreen

    def mixable() -> tuple[Profile, ...]:
        own = navigator.places.profiles
        return tuple(read_profile(path, own) for path in profiles_by_name(own).values())

    @worded()
    def change(command: Command) -> ShelfState:
        return change_shelf(navigator.journal, command, rfc3339(navigator.clock.now().wall))

    def mix(command: MixKit) -> None:
        volumes = tuple((bottle.solution, bottle.volume_ml) for bottle in command.bottles)
        today = navigator.today()
        kit = kit_request(navigator.journal, navigator.settings, today, command.name, volumes, command.price)
        navigator.open(review_screen(navigator, mixing_evening(command.profile, kit), navigator.close))

    ports = ShelfPorts(
        shelf=lambda: load_shelf(navigator.journal),
        change=change,
        profiles=mixable,
        today=navigator.today,
        volume_ml=lambda text: volume_ml(text, navigator.settings.volume_unit),
        mix=mix,
        volume_unit=navigator.settings.volume_unit,
    )
    return ShelfScreen(navigator.terminal, ports)


def open_chosen(navigator: Navigator, choice: HomeChoice) -> None:
    """Open the screen that was chosen at home."""
    if choice.act == "kit":
        _open_kit(navigator)
        return
    make: dict[str, Callable[[Navigator], Screen[Any]]] = {
        "plan": plan_screen,
        "shelf": shelf_screen,
        "sessions": past_screen,
        "files": settings_screen,
    }
    navigator.open(make[choice.act](navigator))


def _open_kit(navigator: Navigator) -> None:
    """Ask which kit it is, then its sheet; the home screen shows what came of it."""
    own = navigator.places.profiles

    def named(path: str | None) -> None:
        if path is not None:
            sheet = KitSheetScreen(navigator.terminal, KitSheet(Path(path), own))
            navigator.open(sheet, lambda words: navigator.go_home(words or ""))

    navigator.open(DialogScreen(navigator.terminal, "My kit's sheet", lambda: which_kit(own)), named)


def settings_screen(navigator: Navigator) -> SettingsScreen:
    """The settings, and where files are stored. A change is written to the file and used at once."""

    def change(name: str, answer: str) -> Settings:
        try:
            navigator.settings = save_setting(navigator.places.settings, name, answer)
        except FileUnusable:
            if navigator.wrong:
                raise Refused(WRONG_FILE) from None
            raise
        navigator.take_settings()
        return navigator.settings

    files = (
        "Where files live",
        f"  Journal: {navigator.places.data}",
        f"  Its last {KEPT} copies, one at each close: {navigator.places.data / FOLDER}",
        f"  Your setups: {navigator.places.setups}",
        f"  Your processes: {navigator.places.profiles}",
        f"  Settings: {navigator.places.settings}",
        "",
        *([navigator.wrong, ""] if navigator.wrong else []),
        "The settings file explains each setting, and takes the same answers as this screen.",
        "--data DIR or WETSIDE_DATA moves the data folder.",
    )
    return SettingsScreen(navigator.terminal, navigator.settings, change, files)


def _bench(navigator: Navigator, name: str) -> Setup:
    error_c = navigator.settings.thermometer_error_c
    if name == EMPTY_BENCH[0]:
        first = read_setup(find_setup(PRACTICE_SETUP, navigator.places)).profile
        return empty_bench(profile_named(first, navigator.places), first, error_c)
    if name == LAST_BENCH[0] and (last := _last_bench(navigator)):
        return last[0]
    return read_setup(find_setup(name, navigator.places), error_c)


def _last_bench(navigator: Navigator) -> tuple[Setup, str] | None:
    """The person's own last setup and a sentence on its origin; None where there is none.

    It is the setup of the evening begun last, as that evening left it, or a newer setup file of the person's own.
    Examples and files that cannot be read do not count.
    """
    found: list[tuple[float, Setup, str]] = []
    for row in summaries(navigator.journal):
        if row.practice or row.trouble:
            continue
        state = load_state(navigator.journal, row.stream)
        if state.begun and state.plan.kit is None and not state.plan.setup.invented:
            last = datetime.fromisoformat(row.last_at)
            began = datetime.fromisoformat(row.began_wall).astimezone()
            words = f"Your bench of {began:%Y-%m-%d}, as that evening left it, with one new roll."
            bench = own_bench(setup_after(state))
            found.append((last.timestamp(), _with_shelf(navigator, bench), words))
            break
    for name, path in setups_by_name(navigator.places.setups).items():
        with suppress(FileUnusable, OSError):
            if path.parent == navigator.places.setups and not (setup := read_setup(path)).invented:
                words = f"Your own bench, from {name}.toml."
                found.append((path.stat().st_mtime, _with_shelf(navigator, setup), words))
    return max(found, key=lambda each: each[0])[1:] if found else None


def _with_shelf(navigator: Navigator, setup: Setup) -> Setup:
    """The setup with the shelf's figures of its bottles; unchanged where one cannot be used: the plan says why."""
    try:
        return with_the_shelf(setup, navigator.journal)
    except CheckFailed:
        return setup


def _benches(navigator: Navigator) -> tuple[tuple[str, str], ...]:
    """The setups to choose from, as (name, title): an empty one, the last one, one's own files, the examples."""
    own: list[tuple[str, str]] = []
    examples: list[tuple[str, str]] = []
    for name, path in setups_by_name(navigator.places.setups).items():
        try:
            setup = read_setup(path)
            option = (name, f"(invented) {setup.title}" if setup.invented else setup.title)
        except FileUnusable:
            option = (name, f"{name} (cannot be read)")
        (own if path.parent == navigator.places.setups else examples).append(option)
    return (EMPTY_BENCH, *([LAST_BENCH] if _last_bench(navigator) else []), *own, *examples)


def _processes(navigator: Navigator) -> tuple[tuple[str, str], ...]:
    """The profiles to choose from, as (name, title): the person's own, then those that ship."""
    found = []
    own = navigator.places.profiles
    for name, path in sorted(profiles_by_name(own).items(), key=lambda each: each[1].parent != own):
        try:
            found.append((name, read_profile(path, own).title))
        except FileUnusable:
            found.append((name, f"{name} (cannot be read)"))
    return tuple(found)


def _save(navigator: Navigator, setup: Setup, name: str) -> str:
    """Write a setup into the person's folder of setups; returns its path."""
    folder = navigator.places.setups
    folder.mkdir(mode=0o700, exist_ok=True)
    path = folder / f"{slug(name)}.toml"
    write_whole(path, write_setup(setup))
    return str(path)
