"""From what a person names (a setup, a profile) to files, and on to tonight's plan.

One job: find, read, and hand to the planner with the person's own habits and shelf. It shows nothing and begins
no session.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Final

from wetside.app.clock import Clock, SystemClock
from wetside.commands.run_session import has_journal, own_profiles, own_setups
from wetside.domain.calc.learning import lead_s
from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.nearest import nearest_of
from wetside.domain.planning.baths import longest_drain_lead_s
from wetside.domain.planning.bottles import COVER_FIRST, REASON_FIRST, STOPPING, WANTS_REASON
from wetside.domain.planning.plan import Plan, WarningText
from wetside.domain.planning.planner import make_plan
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.errors import FileUnusable, Refused
from wetside.files.profile_file import read_profile
from wetside.files.profile_places import all_profiles, find_profile, shipped_dir, shipped_setups
from wetside.files.settings import Places, Settings
from wetside.files.setup_file import read_setup
from wetside.files.units import quoted
from wetside.frozen import dataclass
from wetside.present.profile_sheet import profile_notes

STILL_INVENTED: Final = WarningText(
    "still-invented",
    "The setup says invented = true, as the example it was copied from does, and its record will say so too: take "
    "that line out for film of your own.",
)


@dataclass(frozen=True, slots=True)
class Evening:
    """A setup, its profile, and the plan they come to."""

    setup: Setup
    profile: Profile
    plan: Plan


def all_setups(places: Places) -> dict[str, Path]:
    """Every setup by name; one of the person's own stands in place of a shipped one of the same name."""
    found = {path.stem: path for path in shipped_setups()}
    try:
        found |= {path.stem: path for path in sorted(own_setups(places).glob("*.toml"))}
    except OSError as problem:
        why = (problem.strerror or "unknown reason").lower()
        raise FileUnusable((f"{own_setups(places)} cannot be read: {why}.",)) from None
    return found


def is_path(name: str) -> bool:
    """Whether a file is named rather than one of the setups or profiles there are."""
    return name.endswith(".toml") or os.sep in name


def find_setup(name: str, places: Places) -> Path:
    """The file of a setup. Raises FileUnusable for a name that is not known."""
    if is_path(name):
        return Path(name).expanduser()
    known = all_setups(places)
    if name in known:
        return known[name]
    near = nearest_of(name, known)
    hint = f'the nearest is "{near}"' if near else f"there are {', '.join(sorted(known)) or 'none'}"
    raise FileUnusable((f'There is no setup "{quoted(name)}"; {hint}. A file is named with its .toml.',))


def profile_of(setup: Setup, setup_file: Path, places: Places) -> Profile:
    """The profile a setup names: by name, or as a file as seen from the setup's own folder."""
    found = find_profile(setup.profile, own_profiles(places))
    return read_profile(setup_file.parent / found if is_path(setup.profile) else found, own_profiles(places))


def process(name: str, places: Places) -> Profile:
    """The profile of this name or in this file."""
    return read_profile(find_profile(name, own_profiles(places)), own_profiles(places))


def profiles_by_name(places: Places) -> dict[str, Path]:
    """Every profile by name."""
    return {path.stem: path for path in all_profiles(own_profiles(places))}


def plan_evening(name: str, places: Places, settings: Settings, clock: Clock | None = None) -> Evening:
    """Tonight with this setup. Raises what reading and planning raise, all findings at once."""
    file = find_setup(name, places)
    setup = read_setup(file, settings.thermometer_error_c)
    evening = planned(profile_of(setup, file, places), setup, places, settings, clock)
    if not setup.invented or shipped_dir() in file.resolve().parents:
        return evening
    return replace(evening, plan=replace(evening.plan, warnings=(*evening.plan.warnings, STILL_INVENTED)))


def planned(
    profile: Profile, setup: Setup, places: Places, settings: Settings, clock: Clock | None = None
) -> Evening:
    """The evening of this profile and setup, with what the shelf knows and the person's own lead times."""
    today = (clock or SystemClock()).now().wall.astimezone().date()
    setup = with_the_shelf(setup, places)
    own = habits(places, settings)
    plan = make_plan(profile, setup, own, today)
    most_s = longest_drain_lead_s(plan.steps)
    cut: tuple[WarningText, ...] = ()
    if own.drain_lead_s > most_s and own.drain_lead_s != settings.drain_lead_s:
        # What was set by hand stays, with the plan's own worry; what was only learned gives way.
        plan = make_plan(profile, setup, replace(own, drain_lead_s=most_s), today)
        cut = (_lead_cut(own.drain_lead_s, most_s),)
    notes = tuple(WarningText("note-on-profile", note) for note in profile_notes(profile))
    more = (*cut, *notes, *_of_another_process(profile, setup, places), *_looked_before(profile, setup, places))
    plan = replace(plan, warnings=(*plan.warnings, *more))
    return Evening(setup, profile, plan)


def _lead_cut(learned_s: float, most_s: float) -> WarningText:
    text = (
        f"Pouring out took you {minutes_seconds(learned_s)} the last times, too long for tonight's shortest bath:"
        f" the call comes {minutes_seconds(most_s)} before the end, a quarter of that bath."
    )
    return WarningText("drain-lead", text)


def after_tonight(plan: Plan, places: Places) -> tuple[str, ...]:
    """How many rolls each shelf kit of this plan has left after it, in words; () without a shelf kit."""
    if all(bottle.shelf_id is None for bottle in plan.setup.bottles):
        return ()
    from wetside.domain.shelf.setup_bottles import left_after
    from wetside.present.shelf_text import kit_left_text
    from wetside.storage.shelf import load_shelf
    from wetside.storage.store import open_store

    with open_store(places, read_only=True) as store:
        left = left_after(plan, load_shelf(store), SystemClock().now().wall.astimezone().date())
    return tuple(map(kit_left_text, left))


def refuse_unfit(plan: Plan) -> None:
    """Refuse an evening whose bottles do not cover the film, or one with an old or spent bottle and no reason."""
    short = [worry.text for worry in plan.warnings if worry.code in STOPPING]
    if short:
        raise Refused(f"{short[0]} {COVER_FIRST}")
    worries = [worry.text for worry in plan.warnings if worry.code in WANTS_REASON]
    if worries:
        raise Refused(f"{worries[0]} {REASON_FIRST}")


def habits(places: Places, settings: Settings) -> Habits:
    """The person's leads and units: from the settings, and the drain time their own sessions have shown."""
    return Habits(
        lead_in_s=settings.lead_in_s,
        drain_lead_s=lead_s(_past_drains_s(places), settings.drain_lead_s),
        unit=settings.temperature_unit,
        volume_unit=settings.volume_unit,
        dark_bell_every_s=settings.dark_bell_every_s if settings.calls and settings.bell else 0.0,
    )


def _past_drains_s(places: Places) -> tuple[float, ...]:
    if not has_journal(places):
        return ()
    from wetside.export.past_sessions import past_drains_s
    from wetside.storage.store import open_store

    with open_store(places, read_only=True) as store:
        return past_drains_s(store)


def _looked_before(profile: Profile, setup: Setup, places: Places) -> tuple[WarningText, ...]:
    """What was seen on negatives the last times with this process or these bottles; good news worries nobody.

    After it, what the densities of these bottles' rolls say of the developer's time.
    """
    if not has_journal(places):
        return ()
    from wetside.export.density_drift import times_suggested
    from wetside.export.past_sessions import looks_before
    from wetside.storage.store import open_store

    bottles = {each.shelf_id: each.used_rolls for each in setup.bottles if each.shelf_id is not None}
    with open_store(places, read_only=True) as store:
        looks = looks_before(store, profile.id, bottles)
        times = times_suggested(store, bottles) if bottles else ()
    return (
        *(WarningText("looked-before", text) for text in looks),
        *(WarningText("time-suggested", text) for text in times),
    )


def _of_another_process(profile: Profile, setup: Setup, places: Places) -> tuple[WarningText, ...]:
    """What was taken from a kit that was mixed for another process."""
    if all(bottle.shelf_id is None for bottle in setup.bottles):
        return ()
    from wetside.domain.shelf.setup_bottles import of_another_process
    from wetside.present.shelf_text import other_process_text
    from wetside.storage.shelf import load_shelf
    from wetside.storage.store import open_store

    with open_store(places, read_only=True) as store:
        found = of_another_process(profile, setup, load_shelf(store))
    return tuple(WarningText("other-process", other_process_text(*each, profile.title)) for each in found)


def with_the_shelf(setup: Setup, places: Places) -> Setup:
    """The setup with what the shelf knows of its bottles; CheckFailed when one of them cannot be used."""
    if all(bottle.shelf_id is None for bottle in setup.bottles):
        return setup
    from wetside.domain.shelf.setup_bottles import with_shelf
    from wetside.domain.shelf.state import ShelfState
    from wetside.storage.shelf import load_shelf
    from wetside.storage.store import open_store

    if not has_journal(places):
        return with_shelf(setup, ShelfState())
    with open_store(places, read_only=True) as store:
        return with_shelf(setup, load_shelf(store))
