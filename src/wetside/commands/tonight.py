"""Finds and reads the setup or profile that a person names, and plans an evening with it.

The plan uses the person's own lead times, units and shelf.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.app.clock import Clock, SystemClock
from wetside.commands.common import journal_to_read
from wetside.domain.calc.learning import lead_s
from wetside.domain.messages import Message, alert
from wetside.domain.planning.baths import longest_drain_lead_s
from wetside.domain.planning.bottles import STOPPING, WANTS_REASON
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units, Water
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.domain.proof.print_comparison import profile_notes
from wetside.errors import FileFinding, FileUnusable, JournalUnusable, Refused
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import (
    find_profile,
    is_path,
    profiles_by_name,
    setups_by_name,
    shipped_dir,
    unknown,
)
from wetside.files.settings import Places, Settings
from wetside.files.setup_file import read_setup
from wetside.files.toml_file import Kind, kind_of, parse, read_text
from wetside.files.units import quoted
from wetside.present.evening_plan import COVER_FIRST, REASON_FIRST, make_plan
from wetside.present.message_words import in_words, worded

if TYPE_CHECKING:
    from wetside.domain.shelf.mixing import KitRequest
    from wetside.domain.shelf.setup_bottles import KitLeft
    from wetside.domain.shelf.state import ShelfState
    from wetside.storage.store import Store


class Evening(Struct, frozen=True):
    """A setup, its profile, and the plan made from both."""

    setup: Setup
    profile: Profile
    plan: Plan


_BY_PATH: Final = " A file is named with its .toml."


def find_setup(name: str, places: Places) -> Path:
    """The file of a setup, named or given as a path. Raises FileUnusable for an unknown name."""
    if is_path(name):
        return Path(name).expanduser()
    known = setups_by_name(places.setups)
    if name in known:
        return known[name]
    if name in profiles_by_name(places.profiles):
        words = f"is a process: name a setup that uses it; there are {', '.join(sorted(known))}."
        raise FileUnusable(FileFinding(words, name, joint=" "))
    raise unknown("setup", name, known, _BY_PATH)


def named_file(name: str, places: Places) -> tuple[Path, Kind]:
    """The file that a name or path stands for, and its kind. Raises FileUnusable for an unknown name or kind."""
    if is_path(name):
        path = Path(name).expanduser()
        return path, _kind_of(path)
    profiles, setups = profiles_by_name(places.profiles), setups_by_name(places.setups)
    if name in profiles:
        return profiles[name], "profile"
    if name in setups:
        return setups[name], "setup"
    raise unknown("profile or setup", name, (*profiles, *setups), _BY_PATH)


def _kind_of(path: Path) -> Kind:
    """The kind of a file by its keys. Raises FileUnusable where they are of neither."""
    kind = kind_of(parse(read_text(path), path.name))
    if kind is not None:
        return kind
    words = "neither based_on nor [[steps]] nor [[rolls]]: no profile and no setup."
    raise FileUnusable(FileFinding(words, quoted(path.name)))


def profile_path(setup: Setup, setup_file: Path, places: Places) -> Path:
    """The file of the profile that a setup names; a path is relative to the folder of the setup's file."""
    found = find_profile(setup.profile, places.profiles)
    return setup_file.parent / found if is_path(setup.profile) else found


def profile_named(name: str, places: Places) -> Profile:
    """The profile with this name, or read from this path. Raises FileUnusable for an unknown name."""
    own = places.profiles
    if not is_path(name) and name not in profiles_by_name(own) and name in setups_by_name(places.setups):
        raise is_a_setup(name)
    return read_profile(find_profile(name, own), own)


def is_a_setup(name: str) -> FileUnusable:
    """The error for a setup that is named where a profile is wanted."""
    return FileUnusable(FileFinding("is a setup: name a profile.", quoted(name), joint=" "))


def plan_evening(name: str, places: Places, settings: Settings, clock: Clock | None = None) -> Evening:
    """The evening of a setup given by name or path. Raises FileUnusable, CheckFailed or Refused."""
    file = find_setup(name, places)
    setup = read_setup(file, settings.thermometer_error_c)
    profile = read_profile(profile_path(setup, file, places), places.profiles)
    evening = planned(profile, setup, places, settings, clock)
    if not setup.invented or shipped_dir() in file.resolve().parents:
        return evening
    return replace(evening, plan=replace(evening.plan, warnings=(*evening.plan.warnings, alert("still-invented"))))


def planned(
    profile: Profile, setup: Setup, places: Places, settings: Settings, clock: Clock | None = None
) -> Evening:
    """The evening of this profile and setup, with the shelf's figures and the person's own lead times."""
    today = (clock or SystemClock()).now().day
    with journal_to_read(places) as store:
        setup = with_the_shelf(setup, store)
        own = habits(settings, _past_drains_s(store))
        told = tuple(_told_by_the_journal(profile, setup, store))
    plan = make_plan(profile, setup, own, today)
    most_s = longest_drain_lead_s(plan.steps)
    shortened: tuple[Message, ...] = ()
    if own.drain_lead_s > most_s and own.drain_lead_s != settings.drain_lead_s:
        # A lead set in the settings is kept, and the plan warns of it; one learned from sessions is shortened.
        plan = make_plan(profile, setup, replace(own, drain_lead_s=most_s), today)
        shortened = (alert("drain-lead", "learned", lead_s=own.drain_lead_s, most_s=most_s),)
    warnings = (*plan.warnings, *shortened, *profile_notes(profile), *told)
    return Evening(setup, profile, replace(plan, warnings=warnings))


def with_the_shelf(setup: Setup, store: Store | None) -> Setup:
    """The setup with the shelf's figures of its bottles. Raises CheckFailed where one of them cannot be used."""
    if not from_the_shelf(setup):
        return setup
    from wetside.present.shelf_text import with_shelf

    return with_shelf(setup, _shelf(store))


def left_afterwards(plan: Plan, store: Store | None, today: date) -> tuple[KitLeft, ...]:
    """What this plan leaves in each kit of the shelf that it uses; () where it uses none."""
    if not from_the_shelf(plan.setup):
        return ()
    from wetside.domain.shelf.setup_bottles import left_after

    return left_after(plan, _shelf(store), today)


def left_in_words(plan: Plan, places: Places) -> tuple[str, ...]:
    """A sentence for each kit of the shelf that this plan uses, read from the journal."""
    from wetside.present.shelf_text import kit_left_text

    with journal_to_read(places) as store:
        left = left_afterwards(plan, store, SystemClock().now().day)
    return tuple(map(kit_left_text, left))


def from_the_shelf(setup: Setup) -> bool:
    """Whether any bottle of the setup is one of the shelf; only then is the shelf read."""
    return any(bottle.shelf_id is not None for bottle in setup.bottles)


def _shelf(store: Store | None) -> ShelfState:
    from wetside.domain.shelf.state import ShelfState
    from wetside.storage.shelf import load_shelf

    return ShelfState() if store is None else load_shelf(store)


def refuse_unfit(plan: Plan) -> None:
    """Raise Refused where the bottles do not cover the film, or an old or spent one is used without a reason."""
    for codes, remedy in ((STOPPING, COVER_FIRST), (WANTS_REASON, REASON_FIRST)):
        for warning in plan.warnings:
            if warning.code in codes:
                raise Refused(f"{in_words(warning, plan.units)} {remedy}")


def habits(settings: Settings, past_drains_s: tuple[float, ...]) -> Habits:
    """The person's lead times and units, from the settings and the drain times measured in past sessions (s)."""
    return Habits(
        lead_in_s=settings.lead_in_s,
        drain_lead_s=lead_s(past_drains_s, settings.drain_lead_s),
        unit=settings.temperature_unit,
        volume_unit=settings.volume_unit,
        dark_bell_every_s=settings.dark_bell_every_s if settings.calls and settings.bell else 0.0,
    )


def _past_drains_s(store: Store | None) -> tuple[float, ...]:
    if store is None:
        return ()
    from wetside.export.past_sessions import past_drains_s

    return past_drains_s(store)


def _told_by_the_journal(profile: Profile, setup: Setup, store: Store | None) -> Iterator[Message]:
    """Bottles whose kit was mixed for another process, faults seen on recent negatives, suggested times.

    The faults are those of this process or these bottles; the times follow from the densities of rolls that went
    through these bottles.
    """
    if store is None:
        return
    from wetside.domain.shelf.setup_bottles import of_another_process
    from wetside.export.density_drift import times_suggested
    from wetside.export.past_sessions import looks_before

    bottles = {each.shelf_id: each.used_rolls for each in setup.bottles if each.shelf_id is not None}
    if bottles:
        for label, process in of_another_process(profile, setup, _shelf(store)):
            yield alert("other-process", bottle=label, mixed_for=process, process=profile.title)
    yield from looks_before(store, profile.id, bottles)
    if bottles:
        yield from times_suggested(store, bottles)


def kept_in_bottles(profile: Profile) -> tuple[str, ...]:
    """The solutions that `wetside mix` mixes by default: those kept in bottles, or all where none is."""
    from wetside.domain.shelf.decide import bottled

    return tuple(s.id for s in profile.solutions if s.storage == "bottle") or bottled(profile)


def kit_request(
    store: Store | None,
    settings: Settings,
    today: date,
    name: str,
    bottles: tuple[tuple[str, float], ...],
    price: float | None,
) -> KitRequest:
    """The request for a kit mixed today, in the person's units and with their taps. bottles: (solution id, ml).

    store: the journal, None where there is none. Raises Refused for a name or price that the shelf refuses.
    """
    from wetside.domain.shelf.decide import kit_name, kit_price
    from wetside.domain.shelf.mixing import KitRequest

    taps = _own_taps(store) if store is not None else None
    with worded():
        name, price = kit_name(name or f"Kit of {today.isoformat()}"), kit_price(price)
    return KitRequest(
        name,
        bottles,
        today.isoformat(),
        price,
        taps=taps or Water(),
        taps_guessed=taps is None,
        units=Units(settings.temperature_unit, settings.volume_unit),
    )


def mixing_evening(profile: Profile, request: KitRequest) -> Evening:
    """The evening that mixes a kit. Raises Refused as `mixing_plan` does."""
    from wetside.present.mixing_sheet import mixing_plan

    plan = mixing_plan(profile, request)
    return Evening(plan.setup, profile, plan)


def _own_taps(store: Store) -> Water | None:
    """The tap temperatures of the latest evening that was developed and can be read; None without one.

    Evenings from invented examples do not count.
    """
    from wetside.storage.sessions import load, summaries

    for row in summaries(store):
        if not row.developed:
            continue
        try:
            began = load(store, row.stream)[0]
        except JournalUnusable:
            continue
        if began.kind == "session_began" and not began.plan.setup.invented:
            return began.plan.setup.water
    return None
