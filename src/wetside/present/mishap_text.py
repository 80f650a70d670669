"""Words mishaps in the light: the questions, the page of advice, and the note in the record.

The page shows a finding of `domain/session/mishaps.py`, beginning with what to do now. The texts of each case are
in `mishap_answers.toml`, beside this module, which is read on first use.
"""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Sure
from wetside.domain.session.events import MishapHappened, MishapId
from wetside.domain.session.mishaps import Finding, choices_about, named, told
from wetside.domain.session.state import State
from wetside.present.message_words import in_words
from wetside.present.sentences import word_table
from wetside.present.wording import minutes_seconds, the, volume

PRACTICE = "common practice, no source"
MEMORY = "from memory, no print seen"


class Answer(Struct, frozen=True):
    """do: what to do now, in order. film: what has become of it. sure, source: how well that is known."""

    do: tuple[str, ...]
    film: str
    sure: Sure = Sure.PRACTICE
    source: str = PRACTICE


@cache
def answers() -> dict[tuple[str, str], Answer]:
    """The texts for each (mishap, case)."""
    table = word_table("mishap_answers")
    known = {
        "": (Sure.PRACTICE, PRACTICE),
        Sure.MEMORY.value: (Sure.MEMORY, MEMORY),
        **{key: (Sure.PRINT, source) for key, source in table["sources"].items()},
    }
    return {
        (what, case): Answer(tuple(row["do"]), row["film"], *known[row.get("sure", "")])
        for what, cases in table.items()
        if what not in ("sources", "titles", "asked")
        for case, row in cases.items()
    }


def title_of(what: MishapId) -> str:
    """What a mishap is called."""
    return str(word_table("mishap_answers")["titles"][what])


def asked_next(what: MishapId) -> str:
    """What is asked next about a mishap, where the answer hangs on it."""
    return str(word_table("mishap_answers")["asked"][what])


def options_about(state: State, what: MishapId) -> tuple[tuple[str, str], ...]:
    """The options for what the mishap is about: (id, words)."""
    return tuple((id_, in_words(named(state.plan, what, id_))) for id_ in choices_about(state, what))


def mishap_words(plan: Plan, event: MishapHappened) -> str:
    """The mishap and its step, for the record."""
    return in_words(told(plan, event)).removesuffix(".")


def mishap_lines(plan: Plan, step: PlannedStep, found: Finding) -> tuple[str, ...]:
    """The lines of the page: what to do now, the effect on the film and on the bottles, and how sure that is."""
    answer = answers()[found.what, found.case]
    batch = next((batch for batch in plan.batches if set(batch.rolls) == set(found.rolls)), None)
    words = {
        "due": the(step.solution_title) if step.solution_title else step.title.lower(),
        "about": plan.title_of(found.about).lower(),
        "ml": volume(batch.volume_ml, plan.volume_unit) if batch is not None else "what the tank's base says",
    }
    film = f"{answer.film} {_over(found, plan)}".rstrip()
    # For an unprinted answer, its source says how sure it is.
    sure = f"{answer.sure.value}, {answer.source}" if answer.sure is Sure.PRINT else answer.source
    rolls = "; ".join(plan.setup.rolls[roll].label for roll in found.rolls)
    return (
        *(f"{number}. {line.format(**words)}" for number, line in enumerate(answer.do, 1)),
        f"Film ({rolls}): {film}",
        _bottles(plan, found),
        f"How sure: {sure}. Your kit's own sheet decides.",
        "Kept in the record of this session.",
    )


def _over(found: Finding, plan: Plan) -> str:
    """The developer's overrun in seconds, and in stops by the profile's own push rows; "" where there is none.

    Beside a later bath it is a sentence of its own, and told only where it comes to a tenth of a stop.
    """
    over = found.over
    if over is None or over.over_s <= 0:
        return ""
    time = f"by {minutes_seconds(over.over_s)} beyond {minutes_seconds(over.end_s)}"
    if found.case in ("minimum", "wash"):
        if over.stops is not None and over.stops < 0.1 and not over.beyond:
            return ""
        time = f"But the developer before it went over its time {time}"
    effect = "lighter" if plan.yields == "positive" else "denser, with more contrast"
    if over.stops is None:
        return f"{time}: {effect}. This process has no push table that would say how many stops that is."
    least = "more than " if over.beyond else "about "
    push = f"a push of {least}{over.stops:.1f} stops by this process's push table, and as sure as that"
    return f"{time}: {effect}, as {push}."


def _bottles(plan: Plan, found: Finding) -> str:
    if not found.suspects:
        return "Bottles: nothing against any of them."
    names = ", ".join(plan.title_of(solution) for solution in found.suspects)
    return f"Bottles: {names} is SUSPECT. Nothing back into that bottle; mark its label. Shelf and plan say so."
