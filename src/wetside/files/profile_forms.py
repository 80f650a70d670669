"""A profile as a person writes it: the pydantic form of the TOML file, table by table.

One job: which keys there are, what each may hold, and how long a text may be to fit a screen of 80 by 24. The
values that come out are in base units; `files/profile_file.py` makes the frozen model of them.
"""

# ruff: noqa: RUF012 -- pydantic copies a default list for each table

from __future__ import annotations

import re
from itertools import pairwise
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints

from wetside.domain.calc.wording import minutes_seconds, temperature
from wetside.domain.profile.model import (
    CONDITIONS,
    Backing,
    ClockStarts,
    Ends,
    FilmKind,
    Lid,
    Role,
    Scope,
    SignalWord,
    Yield,
)
from wetside.errors import Refused
from wetside.files.toml_file import nearest
from wetside.files.toml_values import (
    BathCelsius,
    BellEvery,
    Days,
    Difference,
    Factor,
    Form,
    Id,
    Ids,
    Label,
    LeadIn,
    PerRoll,
    RollsPerLitre,
    Seconds,
    Sentence,
    Stops,
    TickText,
    Title,
    Words,
    in_order,
    span,
)
from wetside.files.units import difference_c, quoted, temperature_c

MOST_CAUTION_CHARACTERS = 150


def _conditions(value: object) -> object:
    """`when = "backed"` or a list of conditions, all of which must hold; "not " before one turns it round."""
    names = [value] if isinstance(value, str) else value
    for name in names if isinstance(names, list) else ():
        if isinstance(name, str) and name.removeprefix("not ") not in CONDITIONS:
            raise ValueError(f'"{name[:40]}" is no condition{nearest(name.removeprefix("not "), CONDITIONS)}')
    return names


def _falling_times(rows: list[tuple[float, float]]) -> list[tuple[float, float]]:
    rows = in_order(rows, "°C")
    for (cooler, longer), (warmer, shorter) in pairwise(rows):
        if shorter >= longer:
            times = f"{minutes_seconds(longer)}, {temperature(warmer)} {minutes_seconds(shorter)}"
            raise ValueError(f"{temperature(cooler)} takes {times}: a warmer bath must take less time")
    return rows


def _rising_factors(rows: list[tuple[float, float]], what: str) -> list[tuple[float, float]]:
    rows = in_order(rows, what)
    for (less, before), (more, after) in pairwise(rows):
        if after < before:
            raise ValueError(f"the factor {after:g} at {more:g} is less than {before:g} at {less:g} {what}")
    return rows


def _row(pattern: str, example: str) -> BeforeValidator:
    """A row of two entries in square brackets, or the same in one text that `pattern` splits."""

    def read(value: object) -> object:
        if isinstance(value, str):
            found = re.fullmatch(pattern, " ".join(value.split()), re.IGNORECASE)
            if found is None:
                raise ValueError(f'"{quoted(value)}" is not understood: write it like {example}')
            return found["first"].strip(), found["second"].strip()
        if isinstance(value, list) and len(value) == 2:
            return tuple(value)
        raise ValueError("a row has two entries, in square brackets")

    return BeforeValidator(read)


def _use(value: object) -> object:
    """How use lengthens a bath, as people write it: "2 % per roll", "+10 % after 8 rolls per litre"."""
    listed = [value] if isinstance(value, str) else value
    if not (isinstance(listed, list) and listed and all(isinstance(each, str) for each in listed)):
        return value
    if len(listed) == 1:
        share, _, rule = (part.strip() for part in listed[0].partition(","))
        if re.search(r"(?:per|for each|each|a) (?:roll|film)(?: of .+)?$", share) and rule in ("", "compound"):
            return {"kind": rule or "linear", "per_roll": share}
    return {"kind": "steps", "rows": [_use_row(each) for each in listed]}


def _use_row(text: str) -> list[str]:
    found = re.fullmatch(r"(?P<factor>.+?) (?:after|from) (?P<rolls>.+)", " ".join(text.split()))
    if found is None:
        raise ValueError(f'"{quoted(text)}" is not understood: write it like +10 % after 8 rolls per litre')
    return [found["rolls"], found["factor"]]


def _range(value: object) -> object:
    """Two temperatures as people write them: "24 to 41 °C", "38 ± 0.3 °C"."""
    if not isinstance(value, str):
        return value
    plain = " ".join(value.split())
    unit = plain.lstrip("0123456789., °±+/-to–")
    if not unit and plain:
        raise ValueError(f'"{quoted(value)}" has no unit: write it like "24 to 41 °C" or "38 ± 0.3 °C"')
    if found := re.fullmatch(
        r"(?P<low>[\d.,]+) ?(?P<unit>°? ?[CFcf]|°)? ?(?:to|–|-) ?(?P<high>[\d.,]+ ?.*)", plain
    ):
        return [f"{found['low']} {found['unit'] or unit}", found["high"]]
    if found := re.fullmatch(r"(?P<middle>[\d.,]+) ?(?P<unit>°? ?[CFcf]|°)? ?(?:±|\+/-|\+-) ?(?P<by>.+)", plain):
        try:
            middle, by = temperature_c(f"{found['middle']} {found['unit'] or unit}"), difference_c(found["by"])
        except Refused as refused:
            raise ValueError(str(refused)) from None
        return [f"{middle - by:.4f} °C", f"{middle + by:.4f} °C"]
    raise ValueError(f'"{quoted(value)}" is no range: write it like "24 to 41 °C" or "38 ± 0.3 °C"')


def _agitation(value: object) -> object:
    """Agitation as people write it: "30 s, then 10 s every 30 s", "10 s every 30 s"."""
    if not isinstance(value, str):
        return value
    pattern = r"(?:(?:first )?(?P<first>[\w.: ]+?),? (?:and )?then )?(?P<for>[\w.: ]+?) every (?P<every>[\w.: ]+)"
    found = re.fullmatch(pattern, " ".join(value.split()))
    if found is None:
        raise ValueError(f'"{quoted(value)}" is not understood: write it like 30 s, then 10 s every 30 s')
    return {"first": found["first"] or found["for"], "every": found["every"], "for": found["for"]}


def _gear_pages(value: object) -> object:
    """`list_gear = true` for all of it, or the ids of the items this step asks for."""
    if isinstance(value, bool):
        return ["*"] if value else []
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return value
    raise ValueError("write true, or a list of gear ids in square brackets")


When = Annotated[list[str], BeforeValidator(_conditions), Field(max_length=6)]
Range = Annotated[
    list[BathCelsius], BeforeValidator(_range), Field(min_length=2, max_length=2), AfterValidator(span)
]
_TABLE_ROW: Final = r"(?P<first>[\d.,]+ ?°? ?[a-z]*) ?[:=,]? (?P<second>[\d:.]+ ?[a-z]*)"
_PUSH_ROW: Final = r"(?P<first>[+-]? ?[\d.,]+ ?(?:stops?)?) ?[:=,]? ?(?P<second>[x×+-].*)"
TableRow = Annotated[tuple[BathCelsius, Seconds], _row(_TABLE_ROW, "38 °C 3:15")]
UseRow = Annotated[
    tuple[RollsPerLitre, Factor], _row("(?P<first>.+),(?P<second>.+)", '["8 rolls per litre", 1.1]')
]
PushRow = Annotated[tuple[Stops, Factor], _row(_PUSH_ROW, "1 stop x 1.25")]
Table = Annotated[list[TableRow], Field(min_length=1, max_length=40), AfterValidator(_falling_times)]
UseRows = Annotated[
    list[UseRow],
    Field(min_length=1, max_length=40),
    AfterValidator(lambda rows: _rising_factors(rows, "rolls per litre")),
]
PushRows = Annotated[
    list[PushRow], Field(min_length=1, max_length=16), AfterValidator(lambda rows: _rising_factors(rows, "stops"))
]
Code = Annotated[str, StringConstraints(pattern=r"^[HP]\d{3}[A-Za-z]{0,2}(\+[HP]\d{3})*$")]


class SourceForm(Form):
    """Where figures come from."""

    title: Annotated[str, StringConstraints(min_length=1, max_length=160)]
    sure: Literal[
        "read in print", "seen second-hand", "from memory", "common practice", "kit sheet", "own measurement"
    ]


class CautionForm(Form):
    """One hazard statement."""

    signal: SignalWord
    hazard: Sentence
    consequence: Sentence
    avoid: Sentence
    source: Id | None = None


class HazardForm(Form):
    """One hazard code and what it means."""

    code: Code
    text: Sentence


class UseForm(Form):
    """How use lengthens a bath."""

    kind: Literal["none", "linear", "compound", "steps"] = "none"
    per_roll: PerRoll = 0.0
    rows: UseRows = []


class SolutionForm(Form):
    """A bath's chemistry, or water."""

    title: Title
    storage: Literal["bottle", "one-shot", "tap"]
    ends: Ends
    source: Id
    sources: dict[
        Literal[
            "target",
            "table",
            "drift",
            "range",
            "use",
            "push",
            "capacity",
            "life",
            "hazards",
            "looks",
            "disposal",
            "mixing",
        ],
        Id,
    ] = {}
    target: BathCelsius | None = None
    range: Range | None = None
    table: Table = []
    table_tolerance: Difference = 0.15
    drift_table: (
        Annotated[list[TableRow], Field(min_length=2, max_length=40), AfterValidator(_falling_times)] | None
    ) = None
    tempered: bool = False
    use: Annotated[UseForm, BeforeValidator(_use)] = UseForm()
    push: PushRows = []
    shortest: Seconds = 180.0
    capacity: RollsPerLitre | None = None
    stretch: RollsPerLitre | None = None
    life_full: Days | None = None
    life_part: Days | None = None
    looks_healthy: Annotated[str, StringConstraints(max_length=150)] = ""
    looks_spent: Annotated[str, StringConstraints(max_length=150)] = ""
    hazards: Annotated[list[HazardForm], Field(max_length=12)] = []
    needs_caution: Ids = []
    gloves: bool = True
    makes_light_safe: bool = False
    bleaches: bool = False
    disposal: Annotated[str, StringConstraints(max_length=400)] = ""
    mixing: Annotated[list[Words], Field(max_length=20)] = []
    role: Role | None = None


class VesselForm(Form):
    """Something a solution touches."""

    title: Title
    kind: Literal["tank", "funnel", "graduate", "basin"]
    dedicated_to: Id | None = None


class ResidueForm(Form):
    """What must not reach what."""

    residue: Id
    solution: Id
    why: Sentence
    harmless: bool = False


class GearForm(Form):
    """What must lie ready."""

    text: TickText
    id: Id | None = None
    killer: bool = False
    when: When = []


class TickForm(Form):
    """A statement the person confirms."""

    text: TickText
    id: Id | None = None
    due: Id = "end"
    killer: bool = False
    asks: Literal["yes", "bells", "look"] = "yes"
    when: When = []
    clears: Ids = []
    closes: Id | None = None
    lid: Lid | None = None
    gloves: bool = False


class ReadingForm(Form):
    """A temperature to be read."""

    of: Id
    title: Title
    range: Range | None = None
    required: bool = True
    when: When = []


class AgitationForm(Form):
    """How a bath is kept moving."""

    first: Seconds
    every: Seconds
    for_: Annotated[Seconds, Field(alias="for")]
    words: Sentence = "Turn the tank over gently, then tap it once on the sink."
    fixed: bool = False


class StepForm(Form):
    """One screen of the guide."""

    id: Id
    title: Title
    stage: Id
    kind: Literal["check", "measure", "wait", "dark", "bath", "wash", "hang"]
    scope: Scope
    instruction: Sentence
    safe_way_out: Sentence
    source: Id = "practice"
    when: When = []
    cautions: Annotated[Ids, Field(max_length=2)] = []
    ticks: Annotated[list[TickForm], Field(max_length=12)] = []
    list_gear: Annotated[list[str], BeforeValidator(_gear_pages), Field(max_length=40)] = []
    readings: Annotated[list[ReadingForm], Field(max_length=6)] = []
    solution: Id | None = None
    through: Id | None = None
    into: Id | None = None
    back_through: Id | None = None
    touches: Ids = []
    rinses: Ids = []
    time: Seconds | None = None
    ends: Ends | None = None
    agitation: Annotated[AgitationForm, BeforeValidator(_agitation)] | None = None
    clock_starts: ClockStarts = "pour begins"
    draining_counts: bool = True
    lead_in: LeadIn | None = None
    background: bool = False
    joins: Id | None = None
    pausable: bool = False
    hand_in_water: bool = False
    backing: Backing | None = None
    lid: Lid | None = None
    water_every: Seconds | None = None
    bell_every: BellEvery | None = None
    remember: Annotated[list[TickText], Field(max_length=3)] = []


class StageForm(Form):
    """A chapter of the session."""

    id: Id
    title: Annotated[str, StringConstraints(min_length=1, max_length=16)]


class ProfileForm(Form):
    """The whole file, but for its `format`."""

    id: Id
    title: Label
    accepts: Annotated[list[FilmKind], Field(min_length=1, max_length=3)]
    notes: Annotated[list[Words], Field(max_length=40)] = []
    first_aid: Annotated[list[Sentence], Field(max_length=12)] = []
    stabiliser_room: Annotated[int, Field(ge=1, le=20)] = 1
    backed_instead: Id | None = None
    yields: Yield = "negative"
    sources: Annotated[dict[Id, SourceForm], Field(min_length=1, max_length=40)]
    stages: Annotated[list[StageForm], Field(min_length=1, max_length=16)]
    solutions: Annotated[dict[Id, SolutionForm], Field(min_length=1, max_length=20)]
    vessels: Annotated[dict[Id, VesselForm], Field(min_length=1, max_length=20)]
    residue: Annotated[list[ResidueForm], Field(max_length=40)] = []
    gear: Annotated[list[GearForm], Field(max_length=40)] = []
    cautions: Annotated[dict[Id, CautionForm], Field(max_length=40)] = {}
    steps: Annotated[list[StepForm], Field(min_length=1, max_length=200)]
