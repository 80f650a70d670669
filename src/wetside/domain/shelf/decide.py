"""Decides the commands of the shelf: the events of a command, or a refusal (`present/message_words.py` words it).

It changes nothing and reads no clock; `evolve` in `state.py` applies the events.
"""

from __future__ import annotations

from datetime import date
from math import isfinite
from typing import Final, assert_never

from msgspec.structs import replace

from wetside.domain.messages import refused, typed_text
from wetside.domain.nearest import nearest_of
from wetside.domain.planning.setup import Test
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import commands as c
from wetside.domain.shelf import events as e
from wetside.domain.shelf.events import LONGEST_LABEL
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.sanitize import printable

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

_TRIED: Final[dict[type, tuple[str, tuple[Test, ...]]]] = {
    c.TryLeader: ("leader", ("leader",)),
    c.TimeClearing: ("clearing", ("clearing", "bleach-fix")),
    c.TryBleach: ("bleach", ("bleach", "bleach-fix")),
}
"""For each command about a test: what is tried, and the solutions that are tested so."""


def decide(state: ShelfState, command: c.Command) -> tuple[e.Event, ...]:
    """The events of `command`. Raises Refusal with what is wrong."""
    match command:
        case c.MixKit():
            return (_mix(state, command),)
        case c.FillFromKit():
            return (_fill(state, command),)
        case c.TakeBackKit():
            return (_take_back(state, command),)
        case c.UseBottle():
            # recorded of a discarded bottle too, as is a suspicion
            bottle = _recorded(state, command.bottle, command.on)
            if any(use.session == command.session for use in bottle.uses):
                raise refused("session taken", session=command.session, label=bottle.label)
        case c.Suspect():
            bottle = _recorded(state, command.bottle, command.on)
            if any(each.mark == command.mark for each in bottle.suspicions):
                raise refused("marked already", label=bottle.label)
        case c.NoteBottle():
            _recorded(state, command.bottle, command.on)
            return (replace(command, text=typed_text(command.text, "empty note")),)
        case c.TryLeader() | c.TimeClearing() | c.TryBleach():
            return (_tested(state, command),)
        case c.Trust():
            return (_trust(state, command),)
        case c.TopUp():
            bottle = _standing(state, command.bottle, command.on)
            in_a_bottle(bottle.volume_ml + in_a_bottle(command.volume_ml))
        case c.NoteLevel():
            _check_level(_standing(state, command.bottle, command.on), command.volume_ml)
            return (replace(command, full=command.full and command.volume_ml > 0),)
        case c.Squeeze():
            bottle = _standing(state, command.bottle, command.on)
            if bottle.material != "soft":
                raise refused("not soft", label=bottle.label)
        case c.Discard():
            return (_discard(state, command),)
        case _:
            assert_never(command)
    return (command,)


def find(state: ShelfState, id_: str) -> ShelfBottle:
    """The bottle with this id. Raises Refusal, with the nearest id, when there is none."""
    bottle = state.bottles.get(id_)
    if bottle is not None:
        return bottle
    known, shown = tuple(state.bottles), _shown(id_)
    if near := nearest_of(id_, known, _NEAR_ID):
        raise refused("no bottle but one near", id=shown, near=near)
    raise refused("no bottle", id=shown, known=known[-6:]) if known else refused("no bottle at all", id=shown)


def check_bottled(profile: Profile, id_: str) -> None:
    """Raise Refusal for a solution that this process has in no bottle, with the nearest that it has."""
    kept = bottled(profile)
    if id_ not in kept:
        near = nearest_of(id_.lower(), kept) or ""
        raise refused("not bottled", process=profile.title, id=_shown(id_), kept=kept, near=near)


def bottled(profile: Profile) -> tuple[str, ...]:
    """The ids of the solutions that come in bottles: all but those from the tap."""
    return tuple(solution.id for solution in profile.solutions if solution.storage != "tap")


def in_a_bottle(ml: float) -> float:
    """The volume itself. Raises Refusal when no bottle holds it."""
    if not (isfinite(ml) and 0 < ml <= LARGEST_ML):
        raise refused("no bottle holds it")
    return ml


def mixed_into_a_bottle(ml: float) -> float:
    """As `in_a_bottle`, but refused too when it is less than a kit fills into a bottle."""
    if in_a_bottle(ml) < SMALLEST_ML:
        raise refused("kit bottle too small", ml=ml)
    return ml


def _recorded(state: ShelfState, id_: str, on: str) -> ShelfBottle:
    """The bottle, discarded or not. Raises Refusal for an unknown bottle or no day."""
    bottle = find(state, id_)
    _day(on)
    return bottle


def _standing(state: ShelfState, id_: str, on: str) -> ShelfBottle:
    """The bottle. Raises Refusal when it was discarded, or not yet mixed on that day."""
    bottle = find(state, id_)
    if bottle.discarded is not None:
        raise refused("discarded", label=bottle.label, id=bottle.id, on=bottle.discarded.on)
    if _day(on) < _day(bottle.mixed_on):
        raise refused("before its mixing", label=bottle.label, mixed_on=bottle.mixed_on, on=on)
    return bottle


def _mix(state: ShelfState, command: c.MixKit) -> e.KitMixed:
    if _day(command.on) > _day(command.today):
        raise refused("kit from the future", on=command.on)
    if not command.bottles:
        raise refused("no bottle filled")
    if len(command.bottles) > MOST_BOTTLES:
        raise refused("too many bottles", count=len(command.bottles), most=MOST_BOTTLES)
    price = kit_price(command.price)
    if not (isfinite(command.used_rolls) and 0 <= command.used_rolls <= MOST_ROLLS):
        raise refused("rolls of a kit")
    name = kit_name(command.name)
    for new in command.bottles:
        check_bottled(command.profile, new.solution)
    bottles = []
    for new in command.bottles:
        figures = e.figures_of(command.profile, new.solution)
        done = command.used_rolls if figures.storage == "bottle" else 0.0
        volume_ml = mixed_into_a_bottle(new.volume_ml)
        bottles.append(e.MixedBottle("", "", volume_ml, new.material, new.full, figures, done))
    if command.used_rolls > 0 and not any(bottle.figures.storage == "bottle" for bottle in bottles):
        raise refused("nothing poured back")
    of = command.profile
    return _named(state, e.KitMixed(command.on, 0, name, of.id, of.title, price, tuple(bottles)))


def kit_name(name: str) -> str:
    """A kit's name, trimmed. Raises Refusal for an empty or too long one."""
    name = typed_text(name, "no kit name")
    if len(name) > LONGEST_LABEL:
        raise refused("label too long", start=_shown(name[:20]), length=len(name), most=LONGEST_LABEL)
    return name


def kit_price(price: float | None) -> float | None:
    """The price itself. Raises Refusal for an impossible one."""
    if price is not None and not (isfinite(price) and 0 <= price <= 1e6):
        raise refused("price of a kit")
    return price


def _own_name(state: ShelfState, name: str) -> str:
    """The name, with a count where an earlier kit has it: "Spring kit (2)"."""
    names = {kit.name for kit in state.kits}
    own, count = name, 1
    while own in names:
        count += 1
        own = f"{name[: LONGEST_LABEL - 5].rstrip()} ({count})"
    return own


def _named(state: ShelfState, kit: e.KitMixed) -> e.KitMixed:
    """The kit with its number, a name of its own, and the ids and labels of its bottles.

    The first bottle of a solution has an id such as "1-developer", the second "1-developer-2".
    """
    number, name = state.numbered + 1, _own_name(state, kit.name)
    bottles: dict[str, e.MixedBottle] = {}
    for bottle in kit.bottles:
        id_ = first = f"{number}-{bottle.figures.solution}"[:LONGEST_LABEL]
        count = 1
        while id_ in bottles:
            count += 1
            id_ = f"{first[: LONGEST_LABEL - 3]}-{count}"
        title = bottle.figures.title
        label = e.made_label(f"{title} {count}" if count > 1 else title, name)
        bottles[id_] = replace(bottle, id=id_, label=label)
    return replace(kit, number=number, name=name, bottles=tuple(bottles.values()))


def _fill(state: ShelfState, command: c.FillFromKit) -> e.KitMixed:
    """The kit as the evening filled it; nothing is refused at its end."""
    bottles = tuple(
        e.MixedBottle("", "", each.volume_ml, each.material, full=True, figures=each.figures)
        for each in command.kit.bottles
    )
    kit = command.kit
    mixed = e.KitMixed(command.on, 0, kit.name, command.profile_id, command.profile_title, kit.price, bottles)
    return _named(state, mixed)


def _take_back(state: ShelfState, command: c.TakeBackKit) -> e.KitTakenBack:
    kit = state.kit_of(_recorded(state, command.bottle, command.on))
    used = next((each for each in (state.bottles[id_] for id_ in kit.bottles) if each.uses), None)
    if used is not None:
        raise refused("kit in use", label=used.label, session=used.uses[0].session)
    reason = typed_text(command.reason, "no reason to take back")
    return e.KitTakenBack(command.on, kit.number, reason)


def _check_level(bottle: ShelfBottle, level_ml: float) -> None:
    if level_ml != 0:
        in_a_bottle(level_ml)
    if level_ml > bottle.put_in_ml + _READ_ML:
        raise refused("holds less", label=bottle.label, level_ml=level_ml, put_in_ml=bottle.put_in_ml)


def refuse_while_in_use(closed: ShelfState, now: ShelfState, id_: str) -> None:
    """Raise Refusal for a level where `now` has uses by open sessions that `closed` lacks.

    Their close takes them off whatever level stands then, and from one that is read now they are missing already.
    """
    bottle = now.bottles[id_]
    if bottle.uses != closed.bottles[id_].uses:
        raise refused("level in use", label=bottle.label, session=bottle.uses[-1].session)


def _tested(
    state: ShelfState, command: c.TryLeader | c.TimeClearing | c.TryBleach
) -> e.LeaderTested | e.ClearingTested | e.BleachTested:
    bottle = _standing(state, command.bottle, command.on)
    tried, tested_so = _TRIED[type(command)]
    if bottle.figures.test not in tested_so:
        solution = bottle.figures.title.lower()
        raise refused("other test", tried=tried, solution=solution, test=bottle.figures.test)
    if not isinstance(command, c.TimeClearing):
        return command
    given_s = command.fresh_seconds
    fresh_s = given_s if given_s is not None else _fresh_s(bottle, command.seconds)
    if not all(isfinite(value) and 0 < value <= 86_400 for value in (command.seconds, fresh_s)):
        raise refused("clearing time")
    return e.ClearingTested(command.on, bottle.id, command.seconds, fresh_s)


def _fresh_s(bottle: ShelfBottle, seconds: float) -> float:
    """The clearing time (s) of the fresh solution: as given before, or `seconds` if the bottle is not used yet."""
    if bottle.clearings:
        return bottle.clearings[-1].fresh_seconds
    if not bottle.fresh:
        raise refused("no fresh time", label=bottle.label)
    return seconds


def _trust(state: ShelfState, command: c.Trust) -> e.SuspicionLifted:
    bottle = _standing(state, command.bottle, command.on)
    if not bottle.suspected:
        raise refused("not suspect", label=bottle.label)
    reason = typed_text(command.reason, "no proof")
    return e.SuspicionLifted(command.on, bottle.id, tuple(each.mark for each in bottle.suspected), reason)


def _discard(state: ShelfState, command: c.Discard) -> e.BottleDiscarded:
    bottle = _standing(state, command.bottle, command.on)
    reason = typed_text(command.reason, "no reason to discard")
    if not command.cautioned:
        raise refused("disposal unread", where=bottle.figures.disposal)
    return e.BottleDiscarded(command.on, bottle.id, reason)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise refused("no day", text=_shown(text))
    return day


def _shown(text: str) -> str:
    """Typed text for a refusal: shortened, without control characters."""
    return printable(text[:LONGEST_LABEL])
