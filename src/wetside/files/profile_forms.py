"""The keys of a profile's TOML tables, and what each may hold.

The tables have the fields of `domain/profile/model.py` (see `toml_values.form`). The length of texts is limited so
that they fit a screen of 80 by 24.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints

from wetside.domain.profile import model
from wetside.domain.profile.model import CONDITIONS, MOST_CAUTIONS, MOST_TO_REMEMBER, FilmKind
from wetside.errors import Refused
from wetside.files.toml_file import nearest
from wetside.files.toml_values import (
    BathCelsius,
    BellEvery,
    Difference,
    Factor,
    Id,
    Label,
    LeadIn,
    PerRoll,
    RollsPerLitre,
    Seconds,
    Sentence,
    Stops,
    TickText,
    Words,
    form,
    ids,
    in_order,
    listed,
    table,
    tables,
    text,
)
from wetside.files.units import difference_c, quoted, temperature_c
from wetside.present.wording import minutes_seconds, temperature


def _conditions(value: object) -> object:
    """`when = "backed"` or a list of conditions, all of which must hold; "not " negates one."""
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


def _push_rows(rows: list[tuple[float, float]]) -> list[tuple[float, float]]:
    if any(stops == 0 and factor != 1 for stops, factor in rows):
        raise ValueError("0 stops have the factor 1: take that row out")
    beside = [row for row in rows if row[0] != 0]
    for (less, before), (more, after) in pairwise(_rising_factors([*beside, (0.0, 1.0)], "stops")):
        if after == before:
            raise ValueError(f"the factor {after:g} at {more:g} stops is that at {less:g}: it must rise")
    return in_order(rows, "stops")


def _use_rule(use: model.Use) -> model.Use:
    if (use.kind == "steps") != bool(use.rows):
        raise ValueError('rows of rolls and factors belong to the kind "steps", which needs them')
    if use.per_roll and use.kind in ("none", "steps"):
        raise ValueError(f'a share for each roll does not go with the kind "{use.kind}": leave it out')
    if any(factor < 1 for _, factor in use.rows):
        raise ValueError("a used bath takes no less time: factors are 1 or more")
    return use


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
    """A range of temperatures as people write it: "24 to 41 °C", "38 ± 0.3 °C"."""
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


def _rising(value: list[float]) -> tuple[float, float]:
    """Checks that of two temperatures the lower comes first."""
    low, high = value
    if low >= high:
        raise ValueError("the first temperature must be lower than the second")
    return low, high


When = listed(str, 6, 0, BeforeValidator(_conditions))
Range = listed(BathCelsius, 2, 2, BeforeValidator(_range), AfterValidator(_rising))
_TABLE_ROW: Final = r"(?P<first>[\d.,]+ ?°? ?[a-z]*) ?[:=,]? (?P<second>[\d:.]+ ?[a-z]*)"
_PUSH_ROW: Final = r"(?P<first>[+-]? ?[\d.,]+ ?(?:stops?)?) ?[:=,]? ?(?P<second>[x×+-].*)"
TableRow = Annotated[tuple[BathCelsius, Seconds], _row(_TABLE_ROW, "38 °C 3:15")]
UseRow = Annotated[
    tuple[RollsPerLitre, Factor], _row("(?P<first>.+),(?P<second>.+)", '["8 rolls per litre", 1.1]')
]
PushRow = Annotated[tuple[Stops, Factor], _row(_PUSH_ROW, "1 stop x 1.25")]
Table = listed(TableRow, 40, 1, AfterValidator(_falling_times))
UseRows = listed(UseRow, 40, 1, AfterValidator(lambda rows: _rising_factors(rows, "rolls per litre")))
PushRows = listed(PushRow, 16, 1, AfterValidator(_push_rows))

Use: Any = Annotated[
    table(model.Use, per_roll=PerRoll, rows=UseRows), BeforeValidator(_use), AfterValidator(_use_rule)
]
Hazard = table(
    model.Hazard,
    code=Annotated[str, StringConstraints(pattern=r"^[HP]\d{3}[A-Za-z]{0,2}(\+[HP]\d{3})*$")],
    text=Sentence,
)
_Figure = Literal[
    "target", "table", "drift", "range", "use", "push",
    "capacity", "life", "hazards", "looks", "disposal", "mixing",
]  # fmt: skip
"""The figures of a solution that may name a source of their own."""

Solutions = tables(
    model.Solution,
    20,
    1,
    sources=(Annotated[dict[_Figure, Id], AfterValidator(lambda named: tuple(sorted(named.items())))], ()),
    range_c=Range,
    table=Table,
    table_tolerance_c=Difference,
    drift_table=listed(TableRow, 40, 2, AfterValidator(_falling_times)),
    use=Use,
    push=PushRows,
    looks_healthy=text(150, 0),
    looks_spent=text(150, 0),
    hazards=listed(Hazard, 12),
    disposal=text(400, 0),
    mixing=listed(Words, 20),
)
Reading = table(model.ReadingAsk, range_c=Range, when=When)
Tick = table(model.Tick, id=(Id, ""), text=TickText, when=When)
Agitation: Any = Annotated[table(model.Agitation, words=Sentence), BeforeValidator(_agitation)]
Step: Any = form(
    model.Step,
    kind=Annotated[model.Kind, Field(strict=False)],
    when=When,
    cautions=ids(MOST_CAUTIONS),
    ticks=listed(Tick, 12),
    list_gear=(listed(str, 40, 0, BeforeValidator(_gear_pages)), ()),
    readings=listed(Reading, 6),
    agitation=Agitation,
    lead_in_s=LeadIn,
    bell_every_s=BellEvery,
    remember=listed(TickText, MOST_TO_REMEMBER),
)
ProfileForm = form(
    model.Profile,
    {"residue_rules": "residue"},
    title=Label,
    accepts=listed(FilmKind, 3, 1),
    notes=(listed(Words, 40), ()),
    sources=tables(model.Source, 40, 1, title=text(160), sure=Annotated[model.Sure, Field(strict=False)]),
    stages=listed(table(model.Stage, title=text(16)), 16, 1),
    solutions=Solutions,
    vessels=tables(model.Vessel, 20, 1),
    residue_rules=(listed(table(model.ResidueRule), 40), ()),
    gear=(listed(table(model.Gear, id=(Id, ""), text=TickText, when=When), 40), ()),
    cautions=(tables(model.Caution, 40), ()),
    steps=listed(Step, 200, 1),
    first_aid=listed(Sentence, 12),
    stabiliser_room=Annotated[int, Field(ge=1, le=20)],
    text=None,
    sha256=None,
    remarks=None,
)
"""The whole file, but for its `format`."""
