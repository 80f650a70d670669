"""Which readings count, and which have to be confirmed first."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile
from typing import Final

from wetside.domain.calc.water import COLDEST_C, HOTTEST_C
from wetside.domain.messages import Message, message
from wetside.domain.planning.bottles import bottle_of
from wetside.domain.planning.plan import BATH_READING, Plan
from wetside.domain.session.events import ReadingTaken
from wetside.domain.session.state import State

OLDEST_S: Final = 1200.0
"""A reading older than this does not count as the developer's temperature at its start (our own number)."""

RETYPED_S: Final = 90.0
RETYPED_C: Final = 1.5
"""A second reading of the same thing within this time and at least this far off (K) shows that the first was a
typing error (our own numbers: half a litre in a bath 20 °C warmer moves about 1 °C in a minute)."""

_BESIDE_C: Final = 1.0
"""How far (K) a tap may be from the temperature read of it (our own number)."""


def not_kept(plan: Plan, of: str, text: str) -> Message:
    """The note about a reading that the person took back when asked about it. text: as it was typed."""
    return message("not kept", title=plan.title_of(of), read=text)


def valid_readings(readings: tuple[ReadingTaken, ...]) -> tuple[ReadingTaken, ...]:
    """The readings without those that a later one corrects; the journal keeps all of them.

    A reading outside 0 to 100 °C, which only a journal written by hand has, does not count either: it must not end
    the guide. A reading corrects another of the same bottle in the same step, made at most `RETYPED_S` before it
    and at least `RETYPED_C` off. Readings of the bath all count, as a jug of hot water changes it at once.
    """
    liquid = tuple(reading for reading in readings if COLDEST_C <= reading.temperature_c <= HOTTEST_C)
    return tuple(
        reading for number, reading in enumerate(liquid) if not any(_correcting(reading, liquid[number + 1 :]))
    )


def _correcting(reading: ReadingTaken, later: tuple[ReadingTaken, ...]) -> Iterator[bool]:
    """For each of the readings that follow soon enough: whether it corrects this one."""
    for other in takewhile(lambda each: each.at <= reading.at + RETYPED_S, later):
        same = (other.of, other.step) == (reading.of, reading.step) and other.of != BATH_READING
        yield same and abs(other.temperature_c - reading.temperature_c) > RETYPED_C


def taken_back(readings: tuple[ReadingTaken, ...]) -> tuple[ReadingTaken, ...]:
    """The readings that a later one corrects: those that `valid_readings` leaves out."""
    kept = {id(reading) for reading in valid_readings(readings)}
    return tuple(reading for reading in readings if id(reading) not in kept)


def warmer_than_its_bath(state: State, of: str, temperature_c: float) -> Message | None:
    """Why a bottle in the warm bath is unlikely to be so warm; None when it may be.

    It is warmed by the bath, so it gets no warmer than the bath was last read, unless it was so before.
    """
    bath, tempering = state.last_reading(BATH_READING), state.plan.tempering
    if bath is None or tempering is None or of not in tempering.bottles:
        return None
    before_c = [reading.temperature_c for reading in valid_readings(state.readings) if reading.of == of]
    bottle = bottle_of(state.plan.setup, of)
    if bottle is not None and bottle.start_c is not None:
        before_c.append(bottle.start_c)
    if temperature_c <= max(bath.temperature_c, *before_c) + _BESIDE_C:
        return None
    return message("warmer than its bath", read_c=temperature_c, bath_c=bath.temperature_c)


def implausible(state: State, of: str, temperature_c: float) -> Message | None:
    """Why a temperature of a bottle or the bath is implausible tonight; None when it may be right.

    The bath may have been read hotter than the tap, as boiling water may have been added to it.
    """
    water = state.plan.setup.water
    if of == "room":
        return None
    bath_c = (reading.temperature_c for reading in state.readings if reading.of == BATH_READING)
    if temperature_c > max(water.hot_c, water.bath_c or water.hot_c, *bath_c) + _BESIDE_C:
        return message("hotter than the tap", read_c=temperature_c, tap_c=water.hot_c)
    coldest_c = min(water.cold_c, water.room_c)
    if temperature_c < coldest_c - _BESIDE_C and of == BATH_READING:
        return message("colder than the tap", read_c=temperature_c, coldest_c=coldest_c)
    return None
