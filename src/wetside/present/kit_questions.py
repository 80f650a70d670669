"""The questions that lead from a kit's printed sheet to a short profile: one table, in the order of the sheet.

One job: which questions a process asks, in which words, and which keys of the file each one fills. It reads and
writes no file; `files/short_profile.py` makes values of the answers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from wetside.domain.profile.model import Kind, Profile, Step
from wetside.domain.profile.roles import is_developer
from wetside.frozen import dataclass
from wetside.present.profile_sheet import figures_of

Key = tuple[str, ...]
"""Where a value stands in the file: ("makes",), ("solutions", id, key) or ("steps", id, key)."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `words`, `id` and `keys` of those about a bath or step have "{}" for its title or id.

    keys: what it fills; an answer to two keys has the two values with a comma between them. many: the one key
    holds a list, and the answer its entries with commas between them. without: what holds if it is left out and
    the process it is based on says nothing; "" where it must be answered. refusable: "none" is an answer, which
    takes away what the process it is based on says.
    """

    id: str
    words: str
    unit: str
    example: str
    without: str
    keys: tuple[Key, ...]
    many: bool = False
    refusable: bool = False


HEAD: Final = (
    Question(
        "title",
        "What is the kit called?",
        "at most 40 letters",
        "Three baths from the blue box",
        "",
        (("title",),),
    ),
    Question(
        "based-on",
        "Which process is it most like? All that your sheet does not say is taken over from it.",
        "the name of a process",
        "three-bath",
        "",
        (("based_on",),),
    ),
    Question(
        "parts",
        "Which ready parts does it have besides?",
        "names of parts",
        "prebath",
        "no part is added",
        (("with",),),
        many=True,
    ),
    Question(
        "film",
        "Which film may go in? Backed film has a black layer that must come off.",
        "standard, backed or slide",
        "standard, backed",
        "as the process it is based on",
        (("accepts",),),
        many=True,
    ),
    Question(
        "makes",
        "For what volume does the sheet count its rolls?",
        "ml, l or US fl oz",
        "1 l",
        "say the volume with each number of rolls, as in 8 rolls per litre",
        (("makes",),),
    ),
)
"""Asked of every kit. The first two must be answered."""

_SOLUTION: Final = "solutions"

TEMPERATURE: Final = Question(
    "{}.temperature",
    "{}: at what temperature, and within which limits?",
    "°C or °F",
    "38 °C, 35 to 41 °C",
    "no temperature",
    ((_SOLUTION, "{}", "target"), (_SOLUTION, "{}", "range")),
)
DEVELOPER_TEMPERATURE: Final = replace(TEMPERATURE, example="38 ± 0.3 °C")
DEVELOPER_TIMES: Final = Question(
    "{}.times",
    "{}: for how long, at each temperature of the sheet?",
    "temperature and minutes:seconds",
    "39 °C 3:00, 38 °C 3:15, 36 °C 4:00",
    "no time",
    ((_SOLUTION, "{}", "table"),),
    many=True,
)
BATH_TIME: Final = Question(
    "{}.time", "{}: for how long?", "minutes:seconds", "6:30", "no time", ((_SOLUTION, "{}", "time"),)
)
STEP_TIME: Final = Question(
    "{}.time", "{}: for how long?", "minutes:seconds", "3:15", "no time", (("steps", "{}", "time"),)
)
PUSH: Final = Question(
    "{}.push",
    "{}: how much longer for pushed film?",
    "stops and factor",
    "1 stop x 1.25, 2 stops x 1.5",
    "no push is offered",
    ((_SOLUTION, "{}", "push"),),
    many=True,
    refusable=True,
)
USE: Final = Question(
    "{}.use",
    "{}: how much longer as rolls go through?",
    "per cent, and rolls",
    "+10 % after 8 rolls per litre (or: 2 % per roll)",
    "use lengthens no time",
    ((_SOLUTION, "{}", "use"),),
    many=True,
    refusable=True,
)
ROLLS: Final = Question(
    "{}.rolls",
    "{}: for how many rolls, and for how many at the very most?",
    "rolls, in a volume",
    "12 rolls per litre, 16 rolls per litre",
    "no limit is counted",
    ((_SOLUTION, "{}", "capacity"), (_SOLUTION, "{}", "stretch")),
    refusable=True,
)
LIFE: Final = Question(
    "{}.life",
    "{}: how long does it keep in a full bottle, and in one half full?",
    "days, weeks or months",
    "8 weeks, 4 weeks",
    "no age is counted",
    ((_SOLUTION, "{}", "life_full"), (_SOLUTION, "{}", "life_part")),
    refusable=True,
)
AGITATION: Final = Question(
    "{}.agitation",
    "{}: how is the tank moved?",
    "seconds",
    "30 s, then 10 s every 30 s",
    "as the setup of the evening says",
    (("steps", "{}", "agitation"),),
)


def kit_questions(base: Profile | None) -> tuple[Question, ...]:
    """The questions for a process, in the order of its baths; those of HEAD alone where it is not known yet.

    base: what the kit is based on, with its ready parts, as it is without any answer.
    """
    return (*HEAD, *(_asked(base) if base is not None else ()))


def _asked(base: Profile) -> Iterator[Question]:
    known: set[str] = set()
    for step in base.steps:
        if step.solution is None:
            continue
        solution = base.solution(step.solution)
        if solution.storage == "tap":
            # A wash for some films alone belongs to what the part or process does with a backing.
            if step.time_s is not None and not step.when:
                yield _about(STEP_TIME, step.id, step.title)
            continue
        first = solution.id not in known
        known.add(solution.id)
        developer = is_developer(base, step)
        if first:
            warm = DEVELOPER_TEMPERATURE if developer else TEMPERATURE
            yield _about(warm, solution.id, solution.title)
        if not developer and (first or step.time_s is not None):
            time = BATH_TIME if step.time_s is None else STEP_TIME
            yield _about(time, solution.id if step.time_s is None else step.id, step.title)
        if first and developer:
            yield from (_about(each, solution.id, solution.title) for each in (DEVELOPER_TIMES, PUSH, USE))
        if first and solution.storage == "bottle":
            yield from (_about(each, solution.id, solution.title) for each in (ROLLS, LIFE))
        if developer and not _fixed(step):
            yield _about(AGITATION, step.id, step.title)


def _fixed(step: Step) -> bool:
    return step.kind is not Kind.BATH or (step.agitation is not None and step.agitation.fixed)


def _about(question: Question, id_: str, title: str) -> Question:
    keys = tuple((table, id_, key) for table, _, key in question.keys)
    return replace(question, id=question.id.format(id_), words=question.words.format(title), keys=keys)


def left_out(question: Question, base: Profile | None, based_on: str) -> str:
    """What holds if it is left out, in a sentence."""
    if not question.without:
        return "It must be answered."
    said = ""
    if base is not None and question.id == "film":
        said = ", ".join(base.accepts)
    elif base is not None and len(question.keys[0]) == 3:
        said = ", ".join(each.text for each in figures_of(base, question.keys[0][1], keys_of(question)))
    none = ' "none" takes that away.' if said and question.refusable else ""
    return f"If left out: {f'{said}, as {based_on} has it' if said else question.without}.{none}"


def how_to_answer(question: Question) -> str:
    """Its unit and an example."""
    return f"Answer: {question.unit}, like {question.example}"


def keys_of(question: Question) -> tuple[str, ...]:
    """The last part of each key it fills."""
    return tuple(key[-1] for key in question.keys)


def asked_at(questions: tuple[Question, ...], place: tuple[str | int, ...]) -> int:
    """The number of the question that a finding at `place` ("solutions", id ...) concerns; else of that for film.

    The number counts from 0.
    """
    table, id_ = place[:2] if len(place) > 1 else ("", "")
    near = (n for n, each in enumerate(questions) if any(key[:2] == (table, id_) for key in each.keys))
    return next(near, next(n for n, each in enumerate(HEAD) if each.id == "film"))
