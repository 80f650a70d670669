"""Sentences on a developer's temperature: why its end moved, and how far the tank cools it at the pour."""

from __future__ import annotations

from wetside.domain.calc.running_dose import SAME_END_S
from wetside.domain.planning.plan import Plan
from wetside.domain.session.developer import Pour, follows_readings, rinses_before
from wetside.domain.session.events import EndMoved
from wetside.present.message_words import in_words
from wetside.present.plan_words import drift_advice
from wetside.present.wording import difference, minutes_seconds, temperature, temperatures

WORTH_SAYING_C = 0.05
"""A smaller drop at the pour, K, is not mentioned (our own number)."""

SEEN_ON_A_THERMOMETER_C = 0.1
"""A smaller drop, K, is below the last digit of a thermometer."""


def end_words(plan: Plan, move: EndMoved) -> str:
    """Why the end of a developer moved or stays."""
    by, step = move.by, plan.step(move.step)
    if by is None:
        return in_words(move.why)
    if by.stays is not None:
        return f"The end stays. {in_words(by.stays, plan.units)}"
    if by.one_row:
        return f"The end stays: the sheet has one temperature. {drift_advice(step, by.read_c, plan.unit)}"
    read = temperature(by.read_c, plan.unit)
    if by.at_s is not None:
        text = f"Read {read} at {minutes_seconds(by.at_s)}: "
    elif abs(by.drop_c) < WORTH_SAYING_C:
        text = f"Read {read} in the bottle: "
    else:
        way = "takes" if by.drop_c > 0.0 else "adds"
        drop = difference(abs(by.drop_c), plan.unit)
        text = f"Read {read} in the bottle, and the tank {way} about {drop}: "
    old, new = minutes_seconds(move.old_s), minutes_seconds(move.new_s)
    if abs(move.new_s - move.old_s) < SAME_END_S:
        text += f"as the clock had assumed, so the end stays at {new}."
    else:
        slower = move.new_s > move.old_s
        length = minutes_seconds(abs(move.new_s - move.old_s))
        text += (
            f"the developer runs {'cooler' if slower else 'warmer'} than the clock had assumed, so the end moves"
            f" from {old} to {new}, {length} {'later' if slower else 'earlier'}."
        )
    if by.passed:
        text += " That moment has passed: drain now."
    if by.left_table_at_s is not None:
        served_c = (step.table[0][0], step.table[-1][0])
        text += (
            f" From {minutes_seconds(by.left_table_at_s)} on the forecast lies outside the table"
            f" ({temperatures(served_c, plan.unit)}); its nearest time is used there: take another reading."
        )
    return text


def pour_words(plan: Plan, pour: Pour) -> str:
    """How far the tank cools the developer at the pour, and the bottle temperature for that; "" for no change."""
    if abs(pour.drop_c) < SEEN_ON_A_THERMOMETER_C:
        return ""
    step, unit = plan.step(pour.step), plan.unit
    way = "drops" if pour.drop_c > 0.0 else "rises"
    drop = difference(abs(pour.drop_c), unit)
    if rinses_before(plan, step):
        dry = difference(abs(pour.dry_drop_c), unit)
        text = f"At the pour it {way} about {drop} in the rinsed tank (in a dry one {dry})"
    else:
        text = f"At the pour it {way} about {drop} in a tank as warm as the room: warm the closed tank first"
    if pour.bottle_c is None and step.range_c is not None:
        # A bottle is warmed to its range only, so no temperature beyond it is advised.
        then = "the guide reckons its time with the drop" if follows_readings(step) else "warm the tank well"
        within = temperatures(step.range_c, unit)
        return f"{text}. The bottle cannot make up for it: keep it at {within}, and {then}."
    return f"{text}. {temperature(pour.bottle_c or pour.wanted_c, unit)} in the bottle is right in the tank."
