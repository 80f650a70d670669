"""The questions of the shelf screen that try a bottle with a scrap leader, and that set a suspicion aside.

One job: which of them a bottle is offered, and from an answer to the command. It draws nothing and keeps nothing.
"""

from __future__ import annotations

from collections.abc import Callable

from wetside.domain.planning.setup import Test
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import suspect_words
from wetside.domain.shelf.state import ShelfBottle
from wetside.files import units
from wetside.present.prompts import Asked, asked, guarded

Ask = Callable[[Asked, Callable[[str], None]], None]
Change = Callable[[c.Command], None]
Offer = tuple[str, Callable[[], None]]
"""What is offered, in words, and what puts its question."""


def bottle_tests(bottle: ShelfBottle, on: str, ask: Ask, change: Change) -> tuple[Offer, ...]:
    """The tests there are of this bottle's solution; and, of a suspect one, that it is good after all.

    on: today, an ISO date. ask: puts a question. change: decides and keeps a command.
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
