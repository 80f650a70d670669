"""The questions of the shelf: mixing a kit, testing a bottle with a scrap leader, and what else changes a bottle.

Each is a generator that yields questions, is sent their answers, and ends with a change of the shelf.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from datetime import date
from typing import Final, NoReturn

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.planning.setup import Test, VolumeUnit
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import suspicion
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.errors import Refused
from wetside.files import units
from wetside.present.message_words import in_words, where_it_goes
from wetside.present.prompts import Asked, asked, guarded
from wetside.present.shelf_text import ROLLS_ARE
from wetside.present.wording import volume
from wetside.tui.dialog import Flow

FULLNESS: Final = (("full", "Full: no air worth a word"), ("part", "Part-full: there is air in it"))
UNPRICED: Final = "not known"
KEPT: Final = "Kept."
REASONS: Final = ("Spent", "Past its date", "Spoilt by another bath", "Spilt")

Change = Callable[[c.Command], object]
"""Decides and saves a command."""


class ShelfPorts(Struct, frozen=True):
    """The screen's callbacks. Each may raise a WetsideError, whose first line is shown.

    shelf: reads the shelf. change: decides and saves a command, and returns the new shelf. profiles: those with
    instructions for mixing a kit. volume_ml: parses a volume; a bare number is in volume_unit. mix: opens the
    evening that mixes a kit.
    """

    shelf: Callable[[], ShelfState]
    change: Callable[[c.Command], ShelfState]
    profiles: Callable[[], tuple[Profile, ...]]
    today: Callable[[], date]
    volume_ml: Callable[[str], float]
    mix: Callable[[c.MixKit], None]
    volume_unit: VolumeUnit = "ml"

    @property
    def on(self) -> str:
        """Today as an ISO date."""
        return self.today().isoformat()


class Kits(Struct, frozen=True):
    """What the questions about a kit need. guide: goes on with mixing the kit now. keep: records a kit.

    check: raises what the shelf would refuse, while it can still be corrected.
    """

    ports: ShelfPorts
    profiles: tuple[Profile, ...]
    guide: Callable[[c.MixKit], NoReturn]
    keep: Change
    check: Callable[[c.MixKit], object]


def mix_kit(kits: Kits) -> Flow:
    """Ask about one kit, and mix it with the guide or write it down."""
    kit = yield from _what_and_how_much(kits)
    lines: tuple[str, ...] = ("A day, as 2026-05-01. A kit in use already: the day it was mixed.",)
    on = yield asked("When was it mixed?", lines, default=kits.ports.on)
    kit = _checked(kits, replace(kit, on=on, name=_name(on)))
    if kit.on < kit.today:
        kit = yield from _used(kits, kit)
    lines = ("Your own words, as on its label.",)
    kit = _checked(kits, replace(kit, name=(yield asked("What is the kit called?", lines, default=kit.name))))
    price = yield asked("What did the set cost?", default=UNPRICED)
    kit = _checked(kits, replace(kit, price=None if price == UNPRICED else units.number(price)))
    if kit.on == kit.today:
        options = (("now", "Mix it now, step by step"), ("done", "It is mixed: write it down"))
        if (yield asked(f"{kit.name}: how?", options=options)) == "now":
            kits.guide(kit)
    return (yield from _sure(kits, kit))


def _what_and_how_much(kits: Kits) -> Generator[Asked, str, c.MixKit]:
    if not kits.profiles:
        raise Refused("There is no profile to mix a kit by.")
    processes = tuple((str(n), profile.title) for n, profile in enumerate(kits.profiles))
    profile = kits.profiles[int((yield asked("A kit for which process?", options=processes)))]
    kept = tuple(solution for solution in profile.solutions if solution.storage != "tap")
    whole = ",".join(solution.id for solution in kept)
    options = ((whole, "The whole kit"), *((each.id, f"{each.title} alone") for each in kept))
    ids = yield asked("What is mixed?", options=options)
    lines = ("Of each bottle. Part of a kit: only of liquid concentrates, never of powder.",)
    each_ml = kits.ports.volume_ml((yield asked("How much of each?", lines, default="1 l")))
    bottles = tuple(c.NewBottle(id_, each_ml) for id_ in ids.split(","))
    return _checked(kits, c.MixKit(kits.ports.on, kits.ports.on, _name(kits.ports.on), profile, bottles))


def _used(kits: Kits, kit: c.MixKit) -> Generator[Asked, str, c.MixKit]:
    """Ask about the use of a kit since it was mixed."""
    full = (yield asked("Its bottles are", options=FULLNESS)) == "full"
    kit = replace(kit, bottles=tuple(replace(bottle, full=full) for bottle in kit.bottles))
    if _poured_back(kit):
        done = yield asked("How many rolls has it done?", (ROLLS_ARE,), default="0")
        kit = _checked(kits, replace(kit, used_rolls=units.number(done)))
    return kit


def _sure(kits: Kits, kit: c.MixKit) -> Flow:
    """Ask for a confirmation of the data of a kit that is mixed already."""
    each = volume(kit.bottles[0].volume_ml, kits.ports.volume_unit)
    full = "full" if kit.bottles[0].full else "part-full"
    what = ", ".join(kit.profile.solution(bottle.solution).title for bottle in kit.bottles)
    done = f", {kit.used_rolls:g} rolls done" if _poured_back(kit) else ""
    lines = (f"{what}: {each} each, {full}; mixed on {kit.on}{done}.",)
    options = (("yes", "Write it down"), ("no", "Leave it"))
    if (yield guarded(f"Write down {kit.name}?", lines, options)) != "yes":
        return ""
    kits.keep(kit)
    return KEPT


def _checked(kits: Kits, kit: c.MixKit) -> c.MixKit:
    kits.check(kit)
    return kit


def _poured_back(kit: c.MixKit) -> bool:
    """Whether any of its solutions goes back into its bottle, so that rolls are counted."""
    return any(kit.profile.solution(bottle.solution).storage == "bottle" for bottle in kit.bottles)


def _name(on: str) -> str:
    """The default name of a kit."""
    return f"Kit of {on}"


class BottleQuestions(Struct, frozen=True):
    """The questions about one bottle."""

    ports: ShelfPorts
    shelf: ShelfState
    bottle: ShelfBottle
    change: Change

    def tests(self) -> tuple[tuple[str, Callable[[], Flow]], ...]:
        """The tests of its solution; if it is suspect also the statement that it is good after all."""
        fixing = ("Time how a leader clears in it: fixing", self._clearing)
        bleaching = ("See whether a blackened leader clears: bleaching", self._bleaching)
        tests: dict[Test, tuple[tuple[str, Callable[[], Flow]], ...]] = {
            "leader": (("Test it with a scrap leader", self._leader),),
            "clearing": (fixing,),
            "bleach": (bleaching,),
            "bleach-fix": (bleaching, fixing),
            "none": (),
        }
        trust = ("It is suspect: good after all", self._trust)
        return (*tests[self.bottle.figures.test], *((trust,) if self.bottle.suspected else ()))

    def _kept(self, command: c.Command) -> str:
        self.change(command)
        return KEPT

    def _leader(self) -> Flow:
        lines = (
            "Gloves on. A scrap leader goes into the developer, in room light, for its time at its temperature.",
        )
        options = (("dark", "It went dark"), ("pale", "It stayed pale"))
        value = yield guarded(f"{self.bottle.label}: did the leader go dark?", lines, options)
        return self._kept(c.TryLeader(self.ports.on, self.bottle.id, value == "dark"))

    def _bleaching(self) -> Flow:
        alone = self.bottle.figures.test != "bleach-fix"
        into = "into it for its time, then into good fixer" if alone else "into it"
        lines = (
            "Gloves on. A scrap leader is blackened in the developer, in room light, and rinsed well; then it goes"
            f" {into}, and must come out clear.",
        )
        options = (("clear", "It came out clear"), ("dark", "It stayed dark"))
        value = yield guarded(f"{self.bottle.label}: did the blackened leader clear?", lines, options)
        return self._kept(c.TryBleach(self.ports.on, self.bottle.id, value == "clear"))

    def _clearing(self) -> Flow:
        bottle = self.bottle
        of_fixer = bottle.figures.test == "clearing"
        rule = "it is spent" if of_fixer else "it fixes too slowly, by the rule for fixers"
        lines = (
            "Gloves on. Seconds until an undeveloped scrap leader is clear: this tests fixing."
            f" Over twice the fresh time {rule}.",
        )
        seconds = _seconds((yield asked(f"{bottle.label}: seconds to clear", lines)))
        if bottle.clearings or bottle.fresh:
            return self._kept(c.TimeClearing(self.ports.on, bottle.id, seconds))
        fresh = yield asked("How many seconds did it take when it was fresh?", ("The kit's sheet may say so.",))
        return self._kept(c.TimeClearing(self.ports.on, bottle.id, seconds, _seconds(fresh)))

    def _trust(self) -> Flow:
        lines = (in_words(suspicion(self.bottle)),)
        reason = yield asked(f"{self.bottle.label}: what shows that it is good?", lines)
        return self._kept(c.Trust(self.ports.on, self.bottle.id, reason))

    def top_up(self) -> Flow:
        """Fresh solution came into it."""
        lines = ("Its date stays that of the oldest part in it.",)
        added_ml = self.ports.volume_ml((yield asked(f"{self.bottle.label}: how much fresh solution?", lines)))
        full = (yield asked("And now it is", options=FULLNESS)) == "full"
        return self._kept(c.TopUp(self.ports.on, self.bottle.id, added_ml, full))

    def level(self) -> Flow:
        """How much is in it; an empty one is not asked whether it is full."""
        now = volume(self.bottle.volume_ml, self.ports.volume_unit)
        level_ml = self.ports.volume_ml((yield asked(f"{self.bottle.label}: how much is in it?", default=now)))
        full = bool(level_ml) and (yield asked("And now it is", options=FULLNESS)) == "full"
        return self._kept(c.NoteLevel(self.ports.on, self.bottle.id, level_ml, full))

    def note(self) -> Flow:
        """Free words."""
        text = yield asked(f"{self.bottle.label}: a note")
        return self._kept(c.NoteBottle(self.ports.on, self.bottle.id, text))

    def discard(self) -> Flow:
        """Where it goes, before it goes; then why."""
        lines = (
            f"CAUTION: {where_it_goes(self.bottle.figures.disposal)}",
            "Gloves on. This cannot be taken back.",
        )
        options = (("keep", "Keep it"), ("gone", "It is gone, as the caution says"))
        if (yield guarded(f"Discard {self.bottle.label}?", lines, options)) != "gone":
            return ""
        reasons = (*((reason, reason) for reason in REASONS), ("", "In my own words"))
        reason = yield asked("Why is it discarded?", options=reasons)
        reason = reason or (yield asked("Why is it discarded?"))
        return self._kept(c.Discard(self.ports.on, self.bottle.id, reason, cautioned=True))

    def take_back(self) -> Flow:
        """Its whole kit was written down by mistake."""
        kit = self.shelf.kit_of(self.bottle)
        lines = (f"All {len(kit.bottles)} bottles of {kit.name} go from the shelf, as if never written down.",)
        options = (("keep", "Keep it"), ("gone", "It was a mistake"))
        if (yield guarded(f"Take {kit.name} back?", lines, options)) != "gone":
            return ""
        return self._kept(c.TakeBackKit(self.ports.on, self.bottle.id, (yield asked("What was the slip?"))))


def _seconds(text: str) -> float:
    return units.number(text.removesuffix("s").strip())
