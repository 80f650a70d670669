"""The rooms of the full screen that plan, review, look back, or look after the bottles.

One job: make each screen with the doors it asks for. They are opened and left by way of `house.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

from wetside.app.session_factory import revisit_session, terminal_name
from wetside.app.session_start import rfc3339
from wetside.app.setup_form import Units, suited_to
from wetside.commands.export import exported
from wetside.commands.navigation import Navigator
from wetside.commands.practise import SETUP
from wetside.commands.run_session import other_evening, own_profiles, own_setups
from wetside.commands.tonight import Evening, all_setups, find_setup, planned, process, profiles_by_name
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Roll, Setup, Tank
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import kit_offers, left_after, offers
from wetside.errors import FileUnusable, WetsideError
from wetside.export.past_evenings import past_evenings, trends, trends_in_words, went_in_words
from wetside.files.atomic_write import write_whole
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import read_profile
from wetside.files.setup_file import read_setup, write_setup
from wetside.files.units import volume_ml
from wetside.storage.sessions import stream_of, summaries
from wetside.storage.shelf import change_shelf, load_shelf
from wetside.tui.plan_ports import EMPTY_BENCH, PlanPorts
from wetside.tui.plan_screen import PlanScreen
from wetside.tui.review_screen import ReviewScreen
from wetside.tui.sessions_screen import NOT_FINISHED, PastScreen, PastSession
from wetside.tui.shelf_screen import ShelfPorts, ShelfScreen


def plan_screen(house: Navigator) -> PlanScreen:
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
    return PlanScreen(house.terminal, _bench(house, SETUP), doors, units)


def review_screen(house: Navigator, evening: Evening, left: Callable[[], None]) -> ReviewScreen:
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


def _after(house: Navigator, plan: Plan) -> tuple[str, ...]:
    """What is left in the kits after this plan; an evening without a bottle of the shelf asks it nothing."""
    if all(bottle.shelf_id is None for bottle in plan.setup.bottles):
        return ()
    return left_after(plan, load_shelf(house.journal))


def past_screen(house: Navigator) -> PastScreen:
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


def shelf_screen(house: Navigator) -> ShelfScreen:
    """The bottles."""

    def mixable() -> tuple[Profile, ...]:
        return tuple(
            read_profile(path, own_profiles(house.places)) for path in profiles_by_name(house.places).values()
        )

    doors = ShelfPorts(
        shelf=lambda: load_shelf(house.journal),
        change=lambda command: change_shelf(house.journal, command, rfc3339(house.clock.now().wall)),
        profiles=mixable,
        today=lambda: _today(house),
        volume_ml=lambda text: volume_ml(text, house.settings.volume_unit),
        left=house.close,
        volume_unit=house.settings.volume_unit,
    )
    return ShelfScreen(house.terminal, doors)


def _bench(house: Navigator, name: str) -> Setup:
    if name == EMPTY_BENCH[0]:
        return _empty_bench(house)
    return read_setup(find_setup(name, house.places), house.settings.thermometer_error_c)


def _empty_bench(house: Navigator) -> Setup:
    """One roll, a litre of each bath, and a small tank, whose volumes are a guess to be corrected."""
    name = _bench(house, SETUP).profile
    setup = Setup(
        title="My evening",
        profile=name,
        rolls=(Roll("Roll 1", "standard"),),
        tank=Tank(2, (350.0, 600.0)),  # common practice, no source: the tank's own bottom says it
        bottles=(),
        thermometer_error_c=house.settings.thermometer_error_c,
    )
    return suited_to(setup, process(name, house.places), name)


def _benches(house: Navigator) -> tuple[tuple[str, str], ...]:
    found = [EMPTY_BENCH]
    for name, path in sorted(all_setups(house.places).items()):
        try:
            setup = read_setup(path)
            found.append((name, f"(invented) {setup.title}" if setup.invented else setup.title))
        except FileUnusable:
            found.append((name, f"{name} (cannot be read)"))
    return tuple(found)


def _processes(house: Navigator) -> tuple[tuple[str, str], ...]:
    found = []
    for name, path in profiles_by_name(house.places).items():
        try:
            found.append((name, read_profile(path, own_profiles(house.places)).title))
        except FileUnusable:
            found.append((name, f"{name} (cannot be read)"))
    return tuple(found)


def _save(house: Navigator, setup: Setup, name: str) -> str:
    """Keep a setup as a file of the person's own; gives back where."""
    folder = own_setups(house.places)
    folder.mkdir(mode=0o700, exist_ok=True)
    path = folder / f"{slug(name)}.toml"
    write_whole(path, write_setup(setup))
    return str(path)


def _today(house: Navigator) -> date:
    return house.now().date()
