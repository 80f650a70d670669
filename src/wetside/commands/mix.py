"""`wetside mix`: guides the mixing of a kit like an evening with film; at its end the kit is on the shelf."""

from __future__ import annotations

import argparse
from datetime import date
from typing import TYPE_CHECKING

from msgspec.structs import replace

from wetside.commands.common import journal_to_read, usable_terminal
from wetside.files.settings import Places, Settings, read_settings

if TYPE_CHECKING:
    from wetside.commands.tonight import Evening


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    terminal = usable_terminal(args.plain)
    from wetside.app.clock import SystemClock
    from wetside.commands.session_commands import review_then_guide

    settings = read_settings(places.settings)
    today = SystemClock().now().day
    evening = _evening(args, places, settings, today)
    return review_then_guide(evening, places, settings, terminal, args.plain)


def _evening(args: argparse.Namespace, places: Places, settings: Settings, today: date) -> Evening:
    from wetside.commands.tonight import kept_in_bottles, kit_request, mixing_evening, profile_named
    from wetside.files.units import number, temperature_c, volume_ml

    profile = profile_named(args.profile, places)
    each_ml = volume_ml(args.volume, settings.volume_unit)
    ids = dict.fromkeys(args.only or kept_in_bottles(profile))
    price = number(args.price) if args.price is not None else None
    with journal_to_read(places) as store:
        request = kit_request(store, settings, today, args.name or "", tuple((id_, each_ml) for id_ in ids), price)
    unit, taps = settings.temperature_unit, request.taps
    if args.hot is not None:
        taps = replace(taps, hot_c=temperature_c(args.hot, unit))
    if args.cold is not None:
        taps = replace(taps, cold_c=temperature_c(args.cold, unit))
    guessed = request.taps_guessed and None in (args.hot, args.cold)
    return mixing_evening(profile, replace(request, material=args.material, taps=taps, taps_guessed=guessed))
