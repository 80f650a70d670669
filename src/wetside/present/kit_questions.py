"""The questions that lead from a kit's printed sheet to a short profile, in the order of the sheet.

Their words are in `kit_questions.toml`, beside this module. `files/short_profile.py` makes values of the answers.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import Struct, convert

from wetside.domain.profile.model import Kind, Profile, is_developer
from wetside.present.profile_sheet import figures_of
from wetside.present.sentences import word_table

Key = tuple[str, ...]
"""Where a value stands in the file: ("makes",), ("solutions", id, key) or ("steps", id, key)."""


class Question(Struct, frozen=True):
    """One question; the head of `kit_questions.toml` explains each field. keys: the values its answer sets."""

    id: str
    words: str
    unit: str
    example: str
    keys: tuple[Key, ...]
    without: str = ""
    many: bool = False
    refusable: bool = False


_TABLE: Final = word_table("kit_questions")


def _question(name: str, about: str = "", title: str = "") -> Question:
    """A question of the table. about: the id of the bath or step it is about, "" for the kit as a whole."""
    row = {"id": name, **_TABLE[name]}
    row["id"] = f"{about}.{row['id']}" if about else row["id"]
    row["words"] = row["words"].format(title)
    row["keys"] = [(row["of"], about, key) if about else (key,) for key in row["fills"]]
    return convert(row, Question)


HEAD: Final = tuple(map(_question, ("title", "based-on", "parts", "film", "makes")))
"""Asked of every kit. The first two must be answered."""


def kit_questions(base: Profile | None) -> tuple[Question, ...]:
    """The questions for a process, in the order of its baths.

    base: the process on which the kit is based; None where it is not known yet: then only the questions of HEAD.
    """
    return (*HEAD, *(_asked(base) if base is not None else ()))


def _asked(base: Profile) -> Iterator[Question]:
    known: set[str] = set()
    for step in base.steps:
        if step.solution is None:
            continue
        solution = base.solution(step.solution)
        if solution.storage == "tap":
            # A wash for some kinds of film only is part of how the process removes a backing.
            if step.time_s is not None and not step.when:
                yield _question("step-time", step.id, step.title)
            continue
        first, developer = solution.id not in known, is_developer(base, step)
        known.add(solution.id)
        names = []
        if first:
            names.append("developer-temperature" if developer else "temperature")
        if first and not developer and step.time_s is None:
            names.append("bath-time")
        yield from (_question(name, solution.id, solution.title) for name in names)
        if not developer and step.time_s is not None:
            yield _question("step-time", step.id, step.title)
        names = ["times", "push", "use"] if first and developer else []
        names += ["rolls", "life"] if first and solution.storage == "bottle" else []
        yield from (_question(name, solution.id, solution.title) for name in names)
        moved = step.kind is Kind.BATH and not (step.agitation is not None and step.agitation.fixed)
        if developer and moved:
            yield _question("agitation", step.id, step.title)


def left_out(question: Question, base: Profile | None, based_on: str) -> str:
    """The sentence on the value that is used if the question is left out."""
    if not question.without:
        return "It must be answered."
    inherited = ""
    if base is not None and question.id == "film":
        inherited = ", ".join(base.accepts)
    elif base is not None and len(question.keys[0]) == 3:
        inherited = ", ".join(each.text for each in figures_of(base, question.keys[0][1], keys_of(question)))
    none = ' "none" takes that away.' if inherited and question.refusable else ""
    return f"If left out: {f'{inherited}, as {based_on} has it' if inherited else question.without}.{none}"


def how_to_answer(question: Question) -> str:
    """The sentence with the unit of the answer and an example."""
    return f"Answer: {question.unit}, like {question.example}"


def keys_of(question: Question) -> tuple[str, ...]:
    """The last part of each key that the answer sets."""
    return tuple(key[-1] for key in question.keys)


def asked_at(questions: tuple[Question, ...], place: tuple[str | int, ...]) -> int:
    """The index of the question for a finding at `place` ("solutions", id, ...); that of film where none fits."""
    table, id_ = place[:2] if len(place) > 1 else ("", "")
    near = (n for n, each in enumerate(questions) if any(key[:2] == (table, id_) for key in each.keys))
    return next(near, next(n for n, each in enumerate(HEAD) if each.id == "film"))
