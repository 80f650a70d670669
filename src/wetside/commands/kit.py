"""A kit somebody wants to mix, and the evening that mixes it.

One job: from volumes, name and price, with the person's own units and taps, to a plan. It begins no session.
"""

from __future__ import annotations

from datetime import date

from wetside.commands.run_session import has_journal
from wetside.commands.tonight import Evening
from wetside.domain.calc.wording import Units
from wetside.domain.planning.setup import Water
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.decide import bottled, kit_name, kit_price
from wetside.errors import JournalUnusable
from wetside.files.settings import Places, Settings
from wetside.present.mixing_plan import Wanted, mixing_plan
from wetside.storage.sessions import load, summaries
from wetside.storage.store import Store, open_store


def kept_in_bottles(profile: Profile) -> tuple[str, ...]:
    """What a mixing evening mixes unless told otherwise; what is used once is mixed on the day it is used."""
    return tuple(s.id for s in profile.solutions if s.storage == "bottle") or bottled(profile)


def wanted(
    places: Places,
    settings: Settings,
    today: date,
    name: str,
    bottles: tuple[tuple[str, float], ...],
    price: float | None,
    store: Store | None = None,
) -> Wanted:
    """A kit of today by the person's own units and taps. Refused as the shelf refuses its name or price."""
    taps = None
    if store is not None:
        taps = _own_taps(store)
    elif has_journal(places):
        with open_store(places, read_only=True) as opened:
            taps = _own_taps(opened)
    units = Units(settings.temperature_unit, settings.volume_unit)
    return Wanted(
        kit_name(name or f"Kit of {today.isoformat()}"),
        bottles,
        today.isoformat(),
        kit_price(price),
        taps=taps or Water(),
        taps_guessed=taps is None,
        units=units,
    )


def mixing_evening(profile: Profile, wanted: Wanted) -> Evening:
    """The evening that mixes it."""
    plan = mixing_plan(profile, wanted)
    return Evening(plan.setup, profile, plan)


def _own_taps(store: Store) -> Water | None:
    """The taps of the person's own latest evening that can be read; None without one, and never an example's."""
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
