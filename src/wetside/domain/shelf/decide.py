"""Decides the commands of the shelf: the events of a command, or a refusal in one sentence.

It changes nothing and reads no clock; `evolve` in `state.py` applies the events.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from math import isfinite
from typing import assert_never

from wetside.domain.nearest import nearest_of
from wetside.domain.planning.bottles import CHECKS
from wetside.domain.planning.setup import SolutionFigures
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import commands as c
from wetside.domain.shelf import events as e
from wetside.domain.shelf.events import LONGEST_LABEL
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.errors import Refused
from wetside.sanitize import checked_text, printable

LARGEST_ML = 25_000.0
"""The largest bottle, 25 l (our own number), against typing errors such as 100 l for 1.00 l."""
SMALLEST_ML = 20.0
"""The smallest bottle of a kit (our own number), against typing errors such as 1 for 1 l."""
MOST_BOTTLES = 20
MOST_ROLLS = 1000.0
"""The most rolls already developed in a kit that is recorded late (our own number), against typing errors."""
_NEAR_ID = 0.4
"""The similarity from which an id counts as near: ids have two words, so an error in one leaves less in common."""
_READ_ML = 50.0
"""The accuracy of a level read against a bottle's marks (our own number)."""


def decide(state: ShelfState, command: c.Command) -> tuple[e.Event, ...]:
    """The events of `command`. Raises Refused with what is wrong."""
    match command:
        case c.MixKit():
            return (_mix(state, command),)
        case c.FillFromKit():
            return (_fill(state, command),)
        case c.TakeBackKit():
            return (_take_back(state, command),)
        case c.UseBottle():
            return (_use(state, command),)
        case c.TryLeader() | c.TimeClearing() | c.TryBleach():
            return (_tested(state, command),)
        case c.Suspect():
            return (_suspect(state, command),)
        case c.Trust():
            return (_trust(state, command),)
        case c.TopUp():
            bottle = _standing(state, command.bottle, command.on)
            added_ml = in_a_bottle(command.volume_ml)
            in_a_bottle(bottle.volume_ml + added_ml)
            return (e.ToppedUp(command.on, bottle.id, added_ml, command.full),)
        case c.NoteLevel():
            return (_level(state, command),)
        case c.Squeeze():
            bottle = _standing(state, command.bottle, command.on)
            if bottle.material != "soft":
                raise Refused(f"{bottle.label} is no soft bottle: only a soft one can be squeezed; top it up.")
            return (e.BottleSqueezed(command.on, bottle.id),)
        case c.NoteBottle():
            bottle = _recorded(state, command.bottle, command.on)
            return (e.BottleNoted(command.on, bottle.id, checked_text(command.text, "The note is empty.")),)
        case c.Discard():
            return (_discard(state, command),)
        case _:
            assert_never(command)


def find(state: ShelfState, id_: str) -> ShelfBottle:
    """The bottle with this id. Raises Refused, with the nearest id, when there is none."""
    bottle = state.bottles.get(id_)
    if bottle is None:
        raise Refused(f'There is no bottle "{_shown(id_)}" on the shelf{_nearest(id_, state.bottles)}.')
    return bottle


def _nearest(id_: str, known: Iterable[str]) -> str:
    ids = tuple(known)
    if near := nearest_of(id_, ids, _NEAR_ID):
        return f": the nearest is {near}"
    return f": there are {', '.join(ids[-6:])}" if ids else ": it is empty; mix a kit first"


def unknown_solution(profile: Profile, id_: str) -> Refused:
    """The refusal of a solution that this process has in no bottle, with the nearest that it has."""
    kept = bottled(profile)
    near = nearest_of(id_.lower(), kept)
    hint = f"; the nearest is {near}" if near else ""
    return Refused(f'{profile.title} keeps no "{_shown(id_)}" in a bottle: it has {", ".join(kept)}{hint}.')


def bottled(profile: Profile) -> tuple[str, ...]:
    """The ids of the solutions that come in bottles: all but those from the tap."""
    return tuple(solution.id for solution in profile.solutions if solution.storage != "tap")


def in_a_bottle(ml: float) -> float:
    """The volume itself. Raises Refused when no bottle holds it."""
    if not (isfinite(ml) and 0 < ml <= LARGEST_ML):
        raise Refused("A bottle holds more than 0 ml and at most 25 l (6.6 US gal): check the volume.")
    return ml


def mixed_into_a_bottle(ml: float) -> float:
    """As `in_a_bottle`, but refused too when it is less than a kit fills into a bottle."""
    if in_a_bottle(ml) < SMALLEST_ML:
        raise Refused(f"No kit fills a bottle with {ml:g} ml: give the volume with its unit, as 1 l or 500 ml.")
    return ml


def _recorded(state: ShelfState, id_: str, on: str) -> ShelfBottle:
    """The bottle, discarded or not. Raises Refused for an unknown bottle or no day."""
    bottle = find(state, id_)
    _day(on)
    return bottle


def _standing(state: ShelfState, id_: str, on: str) -> ShelfBottle:
    """The bottle. Raises Refused when it was discarded, or not yet mixed on that day."""
    bottle = find(state, id_)
    if bottle.discarded is not None:
        raise Refused(f"{bottle.label} ({bottle.id}) was discarded on {bottle.discarded.on}.")
    if _day(on) < _day(bottle.mixed_on):
        raise Refused(f"{bottle.label} was mixed on {bottle.mixed_on}: {on} is before that; check the date.")
    return bottle


def _mix(state: ShelfState, command: c.MixKit) -> e.KitMixed:
    if _day(command.on) > _day(command.today):
        raise Refused(f"{command.on} lies in the future: give the day the kit was mixed.")
    if not command.bottles:
        raise Refused("A kit fills at least one bottle: name a solution and its volume.")
    if len(command.bottles) > MOST_BOTTLES:
        raise Refused(f"A kit of {len(command.bottles)} bottles is not meant: mix {MOST_BOTTLES} at most at once.")
    price = kit_price(command.price)
    if not (isfinite(command.used_rolls) and 0 <= command.used_rolls <= MOST_ROLLS):
        raise Refused("The rolls already developed in a kit are a number from 0 to 1000.")
    name = _own_name(state, kit_name(command.name))
    number = state.numbered + 1
    for new in command.bottles:
        if new.solution not in bottled(command.profile):
            raise unknown_solution(command.profile, new.solution)
    figures = tuple(e.figures_of(command.profile, new.solution) for new in command.bottles)
    bottles = tuple(
        e.MixedBottle(
            id=id_,
            label=_label(new.label.strip() or label, "A bottle needs a label."),
            volume_ml=mixed_into_a_bottle(new.volume_ml),
            material=new.material,
            full=new.full,
            figures=each,
            used_rolls=command.used_rolls if each.storage == "bottle" else 0.0,
        )
        for new, each, (id_, label) in zip(
            command.bottles, figures, _ids_and_labels(number, name, figures), strict=True
        )
    )
    if command.used_rolls > 0 and not any(bottle.figures.storage == "bottle" for bottle in bottles):
        raise Refused("Nothing of this kit is poured back into its bottles: leave its rolls out.")
    return e.KitMixed(command.on, number, name, command.profile.id, command.profile.title, price, bottles)


def kit_name(name: str) -> str:
    """A kit's name, trimmed. Raises Refused for an empty or too long one."""
    return _label(name, "The kit needs a name: your own words will do.")


def kit_price(price: float | None) -> float | None:
    """The price itself. Raises Refused for an impossible one."""
    if price is not None and not (isfinite(price) and 0 <= price <= 1e6):
        raise Refused("The price of the set is a number from 0 to 1,000,000.")
    return price


def _own_name(state: ShelfState, name: str) -> str:
    """The name, with a count where an earlier kit has it: "Spring kit (2)"."""
    names = {kit.name for kit in state.kits}
    own, count = name, 1
    while own in names:
        count += 1
        own = f"{name[: LONGEST_LABEL - 5].rstrip()} ({count})"
    return own


def _ids_and_labels(number: int, kit: str, figures: tuple[SolutionFigures, ...]) -> tuple[tuple[str, str], ...]:
    """Ids and labels of a kit's bottles: "1-developer", the second bottle of the same "1-developer-2"."""
    found: dict[str, str] = {}
    for each in figures:
        id_ = first = f"{number}-{each.solution}"[:LONGEST_LABEL]
        count = 1
        while id_ in found:
            count += 1
            id_ = f"{first[: LONGEST_LABEL - 3]}-{count}"
        found[id_] = e.made_label(f"{each.title} {count}" if count > 1 else each.title, kit)
    return tuple(found.items())


def _fill(state: ShelfState, command: c.FillFromKit) -> e.KitMixed:
    """The kit as the evening filled it; nothing is refused at its end."""
    number, kit = state.numbered + 1, command.kit
    name = _own_name(state, kit.name)
    named = _ids_and_labels(number, name, tuple(each.figures for each in kit.bottles))
    bottles = tuple(
        e.MixedBottle(id_, label, each.volume_ml, each.material, full=True, figures=each.figures)
        for (id_, label), each in zip(named, kit.bottles, strict=True)
    )
    return e.KitMixed(command.on, number, name, command.profile_id, command.profile_title, kit.price, bottles)


def _take_back(state: ShelfState, command: c.TakeBackKit) -> e.KitTakenBack:
    kit = state.kit_of(_recorded(state, command.bottle, command.on))
    used = next((each for each in (state.bottles[id_] for id_ in kit.bottles) if each.uses), None)
    if used is not None:
        raise Refused(
            f"{used.label} was used in session {used.uses[0].session}: a kit that film went through stands."
            " Discard its bottles instead."
        )
    reason = checked_text(command.reason, "Say why it is taken back: a slip, the wrong process, the wrong volume.")
    return e.KitTakenBack(command.on, kit.number, reason)


def _use(state: ShelfState, command: c.UseBottle) -> e.BottleUsed:
    """The use by a session, recorded of a discarded bottle too."""
    bottle = _recorded(state, command.bottle, command.on)
    if any(use.session == command.session for use in bottle.uses):
        raise Refused(f"Session {command.session} has been taken from {bottle.label} already.")
    if not all(isfinite(taken) and taken >= 0 for taken in (command.rolls, command.lost_ml, command.backed_rolls)):
        raise Refused("Rolls and millilitres taken from a bottle cannot be negative.")
    return e.BottleUsed(
        command.on, bottle.id, command.session, command.rolls, command.lost_ml, command.backed_rolls
    )


def _level(state: ShelfState, command: c.NoteLevel) -> e.LevelNoted:
    bottle = _standing(state, command.bottle, command.on)
    level_ml = 0.0 if command.volume_ml == 0 else in_a_bottle(command.volume_ml)
    if level_ml > bottle.put_in_ml + _READ_ML:
        raise Refused(
            f"{bottle.label} cannot hold {level_ml:g} ml of it: {bottle.put_in_ml:g} ml in all were put in."
            " Fresh solution that was added is a top-up."
        )
    return e.LevelNoted(command.on, bottle.id, level_ml, command.full and level_ml > 0)


def _tested(
    state: ShelfState, command: c.TryLeader | c.TimeClearing | c.TryBleach
) -> e.LeaderTested | e.ClearingTested | e.BleachTested:
    bottle = _standing(state, command.bottle, command.on)
    test = bottle.figures.test
    match command:
        case c.TryLeader():
            if test != "leader":
                raise _other_test(bottle, "A leader does not go dark in")
            return e.LeaderTested(command.on, bottle.id, command.went_dark)
        case c.TimeClearing():
            if test not in ("clearing", "bleach-fix"):
                raise _other_test(bottle, "An undeveloped leader does not clear in")
            given_s = command.fresh_seconds
            fresh_s = given_s if given_s is not None else _fresh_s(bottle, command.seconds)
            if not all(isfinite(value) and 0 < value <= 86_400 for value in (command.seconds, fresh_s)):
                raise Refused("Clearing times are more than 0 seconds and less than a day.")
            return e.ClearingTested(command.on, bottle.id, command.seconds, fresh_s)
        case c.TryBleach():
            if test not in ("bleach", "bleach-fix"):
                raise _other_test(bottle, "A blackened leader does not clear in")
            return e.BleachTested(command.on, bottle.id, command.cleared)
        case _:
            assert_never(command)


def _other_test(bottle: ShelfBottle, wrong: str) -> Refused:
    """The refusal of a test that does not apply to this bottle, with the one that does."""
    return Refused(f"{wrong} {bottle.figures.title.lower()}: {CHECKS[bottle.figures.test]}.")


def _fresh_s(bottle: ShelfBottle, seconds: float) -> float:
    """The clearing time (s) of the fresh solution: as given before, or `seconds` if the bottle is not used yet."""
    if bottle.clearings:
        return bottle.clearings[-1].fresh_seconds
    if not bottle.fresh:
        raise Refused(
            f"{bottle.label} has been used and has no fresh clearing time: give the seconds fresh solution takes."
        )
    return seconds


def _suspect(state: ShelfState, command: c.Suspect) -> e.BottleSuspected:
    """The suspicion, recorded of a discarded bottle too."""
    bottle = _recorded(state, command.bottle, command.on)
    if any(each.mark == command.mark for each in bottle.suspicions):
        raise Refused(f"{bottle.label} is marked for this already.")
    return e.BottleSuspected(
        command.on, bottle.id, command.mark, checked_text(command.why, "Say what happened to it.")
    )


def _trust(state: ShelfState, command: c.Trust) -> e.SuspicionLifted:
    bottle = _standing(state, command.bottle, command.on)
    if not bottle.suspected:
        raise Refused(f"{bottle.label} is not suspect: there is nothing to set aside.")
    reason = checked_text(command.reason, "Say why it is good after all: what was looked at or tested.")
    return e.SuspicionLifted(command.on, bottle.id, tuple(each.mark for each in bottle.suspected), reason)


def _discard(state: ShelfState, command: c.Discard) -> e.BottleDiscarded:
    bottle = _standing(state, command.bottle, command.on)
    reason = checked_text(command.reason, "Say why the bottle is discarded: spent, past its date, spoilt.")
    if not command.cautioned:
        where = bottle.figures.disposal or "Follow the kit's own data sheet and local rules."
        raise Refused(f"Read first where it goes: {where}")
    return e.BottleDiscarded(command.on, bottle.id, reason)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise Refused(f'"{_shown(text)}" is no day: write it like 2026-05-01.')
    return day


def _shown(text: str) -> str:
    """Typed text for a refusal: shortened, without control characters."""
    return printable(text[:LONGEST_LABEL])


def _label(text: str, empty: str) -> str:
    text = checked_text(text, empty)
    if len(text) > LONGEST_LABEL:
        raise Refused(f'"{_shown(text[:20])}…" has {len(text)} characters; keep a label to {LONGEST_LABEL}.')
    return text
