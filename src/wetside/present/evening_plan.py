"""Makes the plan of an evening: the planner with the functions that word what a plan keeps as text."""

from __future__ import annotations

from datetime import date

from msgspec.structs import replace

from wetside.domain.calc.developer_time import DeveloperTime
from wetside.domain.calc.water import drying_s
from wetside.domain.messages import Refusal
from wetside.domain.planning import planner
from wetside.domain.planning.alerts import PlanWords
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units, Water
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.present.alert_text import alert_text
from wetside.present.refusal_text import refusal_text, worded
from wetside.present.wording import is_one, minutes_seconds, percent, temperature


def factors_in_words(
    time: DeveloperTime, at_c: float, rolls_per_litre: float, push_stops: float, units: Units
) -> str:
    """The time on the sheet, the time tonight, and the reasons for the difference.

    For example "3:30 on the sheet → 3:52: developer at 38.4 °C +5 %, 2 rolls per litre before +4 %".
    """
    reasons: list[str] = []
    if not is_one(time.temperature_factor):
        reasons.append(f"developer at {temperature(at_c, units.temperature)} {percent(time.temperature_factor)}")
    if not is_one(time.use_factor):
        count = f"{round(rolls_per_litre, 1):g}"
        rolls = "roll" if count == "1" else "rolls"
        reasons.append(f"{count} {rolls} per litre before {percent(time.use_factor)}")
    if not is_one(time.push_factor):
        way, count = "pull" if time.push_factor < 1.0 else "push", f"{abs(push_stops):g}"
        stops = "stop" if count == "1" else "stops"
        reasons.append(f"{way} of {count} {stops} {percent(time.push_factor)}")
    if not reasons:
        return f"{minutes_seconds(time.seconds)}, as on the sheet"
    return f"{minutes_seconds(time.sheet_s)} on the sheet → {minutes_seconds(time.seconds)}: {', '.join(reasons)}"


def drying_words(water: Water, least_s: float | None, units: Units) -> str:
    """The drying time estimated from the room's air, and the process's minimum (s; None where it has none).

    Where no time can be estimated, the sentence says why.
    """
    try:
        guess_s = 300.0 * round(drying_s(water.room_c, water.humidity) / 300.0)
    except Refusal as refusal:
        return refusal_text(refusal.why, units)
    air = f"in air of {temperature(water.room_c, units.temperature)} and {water.humidity * 100.0:.0f} %"
    touch = "Leave it alone, then touch the edge of the film before you trust it."
    if least_s is None:
        return f"Dry in about {_hours(guess_s)} {air}: a guess from the room's air. {touch}"
    if guess_s > least_s:
        return f"{_hours(least_s)} is the least; {air} it likely takes about {_hours(guess_s)}, a guess. {touch}"
    return f"{_hours(least_s)} is the least, and {air} likely enough: the guess is {_hours(guess_s)}. {touch}"


def _hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{minutes} min" if not hours else f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


WORDS = PlanWords(
    factors_in_words,
    drying_words,
    rotation="Turn the reels by the stick, or the capped tank on rollers, both ways.",
)


def make_plan(profile: Profile, setup: Setup, habits: Habits | None = None, today: date | None = None) -> Plan:
    """As `planner.make_plan`, with all texts in words. Raises CheckFailed or Refused with sentences.

    Of alerts that are said in the same words, the first is kept.
    """
    habits = habits or Habits()
    with worded(habits.units):
        plan = planner.make_plan(profile, setup, habits, today, words=WORDS)
    said = {alert_text(each, plan.units): each for each in reversed(plan.warnings)}
    return replace(plan, warnings=tuple(reversed(said.values())))
