"""The questions of the shelf screen: mixing a kit, and testing a bottle with a scrap leader.

They turn answers into commands; the screen shows the questions, and the shelf decides.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from wetside.domain.planning.setup import Test, VolumeUnit
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import suspect_words
from wetside.domain.shelf.state import ShelfBottle
from wetside.errors import Refused
from wetside.files import units
from wetside.frozen import dataclass
from wetside.present.prompts import Asked, asked, guarded
from wetside.present.shelf_text import ROLLS_ARE
from wetside.present.wording import volume

FULLNESS: Final = (("full", "Full: no air worth a word"), ("part", "Part-full: there is air in it"))
UNPRICED: Final = "not known"

Then = Callable[[str], None]
"""Called with the answer; if it raises, the question stays open."""


@dataclass(frozen=True, slots=True)
class KitQuestions:
    """Asks about one kit, question by question.

    ask: opens a question. guide: continues with mixing the kit now. keep: records a kit. check: raises what the
    shelf would refuse, while it can still be corrected.
    """

    ask: Callable[[Asked, Then], None]
    guide: Callable[[c.MixKit], None]
    keep: Callable[[c.MixKit], None]
    check: Callable[[c.MixKit], object]
    volume_unit: VolumeUnit

    def begin(self, profiles: tuple[Profile, ...], today: str, volume_ml: Callable[[str], float]) -> None:
        """Ask for a kit of one of these processes, on the day `today`; volume_ml reads a typed volume."""
        if not profiles:
            raise Refused("There is no profile to mix a kit by.")
        options = tuple((str(n), profile.title) for n, profile in enumerate(profiles))
        question = asked("A kit for which process?", options=options)
        self.ask(question, lambda n: self._what(profiles[int(n)], today, volume_ml))

    def _what(self, profile: Profile, today: str, volume_ml: Callable[[str], float]) -> None:
        kept = tuple(solution for solution in profile.solutions if solution.storage != "tap")
        whole = ",".join(solution.id for solution in kept)
        options = ((whole, "The whole kit"), *((each.id, f"{each.title} alone") for each in kept))

        def chosen(ids: str) -> None:
            bottles = tuple(c.NewBottle(id_, 0.0) for id_ in ids.split(","))
            self._volume(c.MixKit(today, today, _name(today), profile, bottles), volume_ml)

        self.ask(asked("What is mixed?", options=options), chosen)

    def _volume(self, command: c.MixKit, volume_ml: Callable[[str], float]) -> None:
        def measured(value: str) -> None:
            each_ml = volume_ml(value)
            filled = tuple(replace(bottle, volume_ml=each_ml) for bottle in command.bottles)
            self._day(self._fit(replace(command, bottles=filled)))

        lines = ("Of each bottle. Part of a kit: only of liquid concentrates, never of powder.",)
        self.ask(asked("How much of each?", lines, default="1 l"), measured)

    def _day(self, command: c.MixKit) -> None:
        def dated(on: str) -> None:
            found = self._fit(replace(command, on=on, name=_name(on)))
            if found.on < found.today:
                self._used(found)
            else:
                self._named(found)

        lines = ("A day, as 2026-05-01. A kit in use already: the day it was mixed.",)
        self.ask(asked("When was it mixed?", lines, default=command.today), dated)

    def _used(self, command: c.MixKit) -> None:
        """Ask about the use of a kit since it was mixed."""

        def full(value: str) -> None:
            bottles = tuple(replace(bottle, full=value == "full") for bottle in command.bottles)
            found = replace(command, bottles=bottles)
            (self._done if _poured_back(found) else self._named)(found)

        self.ask(asked("Its bottles are", options=FULLNESS), full)

    def _done(self, command: c.MixKit) -> None:
        def done(value: str) -> None:
            self._named(self._fit(replace(command, used_rolls=units.number(value))))

        self.ask(asked("How many rolls has it done?", (ROLLS_ARE,), default="0"), done)

    def _named(self, command: c.MixKit) -> None:
        def named(name: str) -> None:
            self._price(self._fit(replace(command, name=name)))

        lines = ("Your own words, as on its label.",)
        self.ask(asked("What is the kit called?", lines, default=command.name), named)

    def _price(self, command: c.MixKit) -> None:
        def priced(value: str) -> None:
            price = None if value == UNPRICED else units.number(value)
            last = self._fit(replace(command, price=price))
            if last.on < last.today:
                self._sure(last)
            else:
                self._how(last)

        self.ask(asked("What did the set cost?", default=UNPRICED), priced)

    def _how(self, command: c.MixKit) -> None:
        """Ask whether a kit dated today is to be mixed now with the guide, or was mixed without it."""
        options = (("now", "Mix it now, step by step"), ("done", "It is mixed: write it down"))
        then = {"now": self.guide, "done": self._sure}
        self.ask(asked(f"{command.name}: how?", options=options), lambda value: then[value](command))

    def _sure(self, command: c.MixKit) -> None:
        """Ask for a confirmation of the data of a kit that is mixed already."""

        def answered(value: str) -> None:
            if value == "yes":
                self.keep(command)

        each = volume(command.bottles[0].volume_ml, self.volume_unit)
        full = "full" if command.bottles[0].full else "part-full"
        what = ", ".join(command.profile.solution(bottle.solution).title for bottle in command.bottles)
        done = f", {command.used_rolls:g} rolls done" if _poured_back(command) else ""
        lines = (f"{what}: {each} each, {full}; mixed on {command.on}{done}.",)
        options = (("yes", "Write it down"), ("no", "Leave it"))
        self.ask(guarded(f"Write down {command.name}?", lines, options), answered)

    def _fit(self, command: c.MixKit) -> c.MixKit:
        self.check(command)
        return command


def _poured_back(command: c.MixKit) -> bool:
    """Whether any of its solutions goes back into its bottle, so that rolls are counted."""
    return any(command.profile.solution(bottle.solution).storage == "bottle" for bottle in command.bottles)


def _name(on: str) -> str:
    """The default name of a kit."""
    return f"Kit of {on}"


Ask = Callable[[Asked, Callable[[str], None]], None]
Change = Callable[[c.Command], None]
Offer = tuple[str, Callable[[], None]]
"""(words, function that opens the question)."""


def bottle_tests(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> tuple[Offer, ...]:
    """The tests of this bottle's solution; for a suspect one also the statement that it is good after all.

    on: today, an ISO date. ask: opens a question. change: decides and saves a command.
    """
    leader = ("Test it with a scrap leader", lambda: _leader(bottle, on, ask, change))
    fixing = ("Time how a leader clears in it: fixing", lambda: _clearing(bottle, on, ask, change))
    bleaching = ("See whether a blackened leader clears: bleaching", lambda: _bleaching(bottle, on, ask, change))
    tests: dict[Test, tuple[Offer, ...]] = {
        "leader": (leader,),
        "clearing": (fixing,),
        "bleach": (bleaching,),
        "bleach-fix": (bleaching, fixing),
        "none": (),
    }
    trust = ("It is suspect: good after all", lambda: _trust(bottle, on, ask, change))
    return (*tests[bottle.figures.test], *((trust,) if bottle.suspected else ()))


def _leader(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> None:
    lines = ("Gloves on. A scrap leader goes into the developer, in room light, for its time at its temperature.",)
    options = (("dark", "It went dark"), ("pale", "It stayed pale"))
    question = guarded(f"{bottle.label}: did the leader go dark?", lines, options)
    ask(question, lambda value: change(c.TryLeader(on, bottle.id, value == "dark")))


def _bleaching(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> None:
    into = "into it" if bottle.figures.test == "bleach-fix" else "into it for its time, then into good fixer"
    lines = (
        "Gloves on. A scrap leader is blackened in the developer, in room light, and rinsed well; then it goes"
        f" {into}, and must come out clear.",
    )
    options = (("clear", "It came out clear"), ("dark", "It stayed dark"))
    question = guarded(f"{bottle.label}: did the blackened leader clear?", lines, options)
    ask(question, lambda value: change(c.TryBleach(on, bottle.id, value == "clear")))


def _clearing(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> None:
    of_fixer = bottle.figures.test == "clearing"
    rule = "it is spent" if of_fixer else "it fixes too slowly, by the rule for fixers"
    lines = (
        "Gloves on. Seconds until an undeveloped scrap leader is clear: this tests fixing."
        f" Over twice the fresh time {rule}.",
    )

    def keep(value: str) -> None:
        seconds = _seconds(value)
        if bottle.clearings or bottle.fresh:
            change(c.TimeClearing(on, bottle.id, seconds))
            return
        fresh_time = asked("How many seconds did it take when it was fresh?", ("The kit's sheet may say so.",))
        ask(fresh_time, lambda fresh: change(c.TimeClearing(on, bottle.id, seconds, _seconds(fresh))))

    ask(asked(f"{bottle.label}: seconds to clear", lines), keep)


def _trust(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> None:
    question = asked(f"{bottle.label}: what shows that it is good?", (suspect_words(bottle),))
    ask(question, lambda reason: change(c.Trust(on, bottle.id, reason)))


def _seconds(text: str) -> float:
    return units.number(text.removesuffix("s").strip())
