"""Makes each screen that plans, reviews, looks back, looks after the bottles or changes settings, with its ports.

`navigation.py` opens and leaves them; what it offers them is `house.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime

from wetside.app.session_factory import revisit_session, terminal_name
from wetside.app.session_start import rfc3339
from wetside.app.setup_fields import Units
from wetside.app.setup_form import empty_bench, own_bench
from wetside.commands.export import exported
from wetside.commands.house import House
from wetside.commands.kit import mixing_evening, wanted
from wetside.commands.practise import SETUP
from wetside.commands.run_session import other_evening, own_profiles, own_setups
from wetside.commands.tonight import (
    Evening,
    all_setups,
    find_setup,
    planned,
    process,
    profiles_by_name,
    with_the_shelf,
)
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.commands import MixKit
from wetside.domain.shelf.debit import bench_after
from wetside.domain.shelf.setup_bottles import kit_offers, left_after, offers
from wetside.errors import CheckFailed, FileUnusable, Refused, WetsideError
from wetside.export.past_evenings import past_evenings, trends, trends_in_words, went_in_words
from wetside.files.atomic_write import write_whole
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import read_profile
from wetside.files.settings import Settings
from wetside.files.settings_form import WRONG_FILE, save_setting
from wetside.files.setup_file import read_setup, write_setup
from wetside.files.units import volume_ml
from wetside.storage.copies import FOLDER, KEPT
from wetside.storage.sessions import load_state, stream_of, summaries
from wetside.storage.shelf import change_shelf, load_shelf
from wetside.tui.kit_sheet_screen import KitSheetScreen
from wetside.tui.plan_ports import EMPTY_BENCH, EMPTY_SAID, GUESSED, LAST_BENCH, PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.sessions_screen import NOT_FINISHED, PastScreen, PastSession
from wetside.tui.settings_screen import SettingsScreen
from wetside.tui.shelf_screen import ShelfPorts, ShelfScreen


def plan_screen(house: House) -> PlanScreen:
    """The plan of a new evening."""

    def review(plan: Plan, profile: Profile, setup: Setup) -> None:
        house.open(review_screen(house, Evening(setup, profile, plan), house.close))

    doors = PlanPorts(
        benches=_benches(house),
        processes=_processes(house),
        bench=lambda name: _bench(house, name),
        process=lambda name: process(name, house.places),
        make=lambda profile, setup: planned(profile, setup, house.places, house.settings, house.clock).plan,
        save=lambda setup, name: _save(house, setup, name),
        review=review,
        left=house.close,
        starts_at=house.now,
        kept=lambda: offers(load_shelf(house.journal), _today(house)),
        kits=lambda: kit_offers(load_shelf(house.journal), _today(house)),
        after=lambda plan: _after(house, plan),
    )
    units = Units(house.settings.temperature_unit, house.settings.volume_unit)
    last = _last_bench(house)
    setup, said = last or (_bench(house, EMPTY_BENCH[0]), EMPTY_SAID)
    return PlanScreen(house.terminal, setup, doors, units, said=said, guessed=() if last else GUESSED)


def review_screen(house: House, evening: Evening, left: Callable[[], None]) -> ReviewScreen:
    """What can hurt, and what has to be there; ENTER at its end begins the session."""

    def begin() -> None:
        try:
            house.begin(evening)
        except WetsideError as problem:
            house.say(problem)

    return ReviewScreen(
        house.terminal,
        evening.plan,
        begin,
        left,
        profile=evening.profile,
        starts_at=house.now(),
        said=other_evening(house.journal),
        after=_after(house, evening.plan),
    )


def _after(house: House, plan: Plan) -> tuple[str, ...]:
    """What is left in the kits after this plan; an evening without a bottle of the shelf asks it nothing."""
    if all(bottle.shelf_id is None for bottle in plan.setup.bottles):
        return ()
    return left_after(plan, load_shelf(house.journal), _today(house))


def past_screen(house: House) -> PastScreen:
    """Every session, and the record of one."""
    rows = []
    listed = summaries(house.journal)
    told = past_evenings(house.journal, listed)
    by_session = {each.session: each for each in told}
    for row in listed:
        went = None if row.practice else by_session.get(row.session)
        outcome: str = row.outcome or NOT_FINISHED
        if row.outcome == "complete with deviations":
            outcome = f"{outcome} ({row.deviations})"
        began = datetime.fromisoformat(row.began_wall).astimezone()
        rows.append(
            PastSession(
                session=row.session,
                title=row.title,
                began=f"{began:%Y-%m-%d %H:%M}",
                outcome=outcome,
                practice=row.practice,
                trouble=row.trouble,
                went=went_in_words(went) if went is not None else (),
            )
        )

    def page(session: str) -> str:
        return exported(house.places, session, "markdown")

    def revisit(session: str) -> None:
        stream = stream_of(session, practice=False)
        terminal = terminal_name()
        house.guide(revisit_session(house.journal, house.places, stream, house.settings, terminal=terminal))

    drawn = trends_in_words(trends(told), house.settings.temperature_unit, not house.terminal.utf8)
    return PastScreen(house.terminal, tuple(rows), page, house.close, revisit=revisit, trends=drawn)


def shelf_screen(house: House) -> ShelfScreen:
    """The bottles."""

    def mixable() -> tuple[Profile, ...]:
        return tuple(
            read_profile(path, own_profiles(house.places)) for path in profiles_by_name(house.places).values()
        )

    def mix(command: MixKit, back: Callable[[], None]) -> None:
        def left() -> None:
            house.close()
            back()

        volumes = tuple((bottle.solution, bottle.volume_ml) for bottle in command.bottles)
        kit = wanted(
            house.places, house.settings, _today(house), command.name, volumes, command.price, house.journal
        )
        house.open(review_screen(house, mixing_evening(command.profile, kit), left))

    doors = ShelfPorts(
        shelf=lambda: load_shelf(house.journal),
        change=lambda command: change_shelf(house.journal, command, rfc3339(house.clock.now().wall)),
        profiles=mixable,
        today=lambda: _today(house),
        volume_ml=lambda text: volume_ml(text, house.settings.volume_unit),
        left=house.close,
        mix=mix,
        volume_unit=house.settings.volume_unit,
    )
    return ShelfScreen(house.terminal, doors)


def kit_sheet_screen(house: House) -> KitSheetScreen:
    """The questions about one's own kit; what came of them is said at home."""
    return KitSheetScreen(house.terminal, own_profiles(house.places), house.go_home)


def settings_screen(house: House) -> SettingsScreen:
    """The settings, changed in their file and from then on in this run; and where files live."""

    def change(name: str, answer: str) -> Settings:
        try:
            house.settings = save_setting(house.places.settings, name, answer)
        except FileUnusable:
            if house.wrong:
                raise Refused(WRONG_FILE) from None
            raise
        house.take_settings()
        return house.settings

    files = (
        "Where files live",
        f"  Journal: {house.places.data}",
        f"  Its last {KEPT} copies, one at each close: {house.places.data / FOLDER}",
        f"  Your setups: {own_setups(house.places)}",
        f"  Your processes: {own_profiles(house.places)}",
        f"  Settings: {house.places.settings}",
        "",
        *([house.wrong, ""] if house.wrong else []),
        "The settings file explains each setting, and takes the same answers as this screen.",
        "--data DIR or WETSIDE_DATA moves the data folder.",
    )
    return SettingsScreen(house.terminal, house.settings, change, files, house.close)


def _bench(house: House, name: str) -> Setup:
    error_c = house.settings.thermometer_error_c
    if name == EMPTY_BENCH[0]:
        first = read_setup(find_setup(SETUP, house.places)).profile
        return empty_bench(process(first, house.places), first, error_c)
    if name == LAST_BENCH[0] and (last := _last_bench(house)):
        return last[0]
    return read_setup(find_setup(name, house.places), error_c)


def _last_bench(house: House) -> tuple[Setup, str] | None:
    """The person's own last bench, and a sentence on where it comes from; None where there is none.

    That of the evening begun last, as it stood after it, or a setup file of the person's own that is newer.
    Examples are nobody's bench, nor is what cannot be read.
    """
    found: list[tuple[float, Setup, str]] = []
    for row in summaries(house.journal):
        if row.practice or row.trouble:
            continue
        setup = bench_after(load_state(house.journal, row.stream))
        if setup is not None and not setup.invented:
            last = datetime.fromisoformat(row.last_at)
            began = datetime.fromisoformat(row.began_wall).astimezone()
            words = f"Your bench of {began:%Y-%m-%d}, as that evening left it, with one new roll."
            found.append((last.timestamp(), _own(house, own_bench(setup)), words))
            break
    for name, path in all_setups(house.places).items():
        with suppress(FileUnusable, OSError):
            if path.parent == own_setups(house.places) and not (setup := read_setup(path)).invented:
                found.append((path.stat().st_mtime, _own(house, setup), f"Your own bench, from {name}.toml."))
    return max(found, key=lambda each: each[0])[1:] if found else None


def _own(house: House, setup: Setup) -> Setup:
    """With what the shelf knows of its bottles; as it is where one cannot be used: the plan says which and why."""
    try:
        return with_the_shelf(setup, house.places)
    except CheckFailed:
        return setup


def _benches(house: House) -> tuple[tuple[str, str], ...]:
    """An empty bench, the last one, the person's own files, then the examples."""
    own: list[tuple[str, str]] = []
    examples: list[tuple[str, str]] = []
    for name, path in sorted(all_setups(house.places).items()):
        try:
            setup = read_setup(path)
            option = (name, f"(invented) {setup.title}" if setup.invented else setup.title)
        except FileUnusable:
            option = (name, f"{name} (cannot be read)")
        (own if path.parent == own_setups(house.places) else examples).append(option)
    return (EMPTY_BENCH, *([LAST_BENCH] if _last_bench(house) else []), *own, *examples)


def _processes(house: House) -> tuple[tuple[str, str], ...]:
    """The person's own files, then those that ship."""
    found = []
    own = own_profiles(house.places)
    for name, path in sorted(profiles_by_name(house.places).items(), key=lambda each: each[1].parent != own):
        try:
            found.append((name, read_profile(path, own).title))
        except FileUnusable:
            found.append((name, f"{name} (cannot be read)"))
    return tuple(found)


def _save(house: House, setup: Setup, name: str) -> str:
    """Keep a setup as a file of the person's own; gives back where."""
    folder = own_setups(house.places)
    folder.mkdir(mode=0o700, exist_ok=True)
    path = folder / f"{slug(name)}.toml"
    write_whole(path, write_setup(setup))
    return str(path)


def _today(house: House) -> date:
    return house.now().date()
