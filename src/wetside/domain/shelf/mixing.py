"""The plan of an evening that mixes a kit, from the mixing lines of its profile.

Each line of a solution's `mixing` becomes a step; `domain/profile/mixing_lines.py` parses a line. The texts of the
steps are messages, worded by `present/mixing_words.py`; only their names stand here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.water import SCALDS_ABOVE_C
from wetside.domain.messages import Message, Text, Value, message
from wetside.domain.planning.plan import NO_PLAN, Plan, PlannedCaution, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import (
    METRIC,
    BottleToFill,
    KitToMix,
    Material,
    SolutionFigures,
    Units,
    Water,
)
from wetside.domain.profile.mixing_lines import MixingLine, mixing_line
from wetside.domain.profile.model import Kind, Profile, SignalWord, Solution
from wetside.domain.shelf.decide import check_bottled, mixed_into_a_bottle
from wetside.domain.shelf.events import figures_of
from wetside.structs import made_of

FULL_ML: Final = 1000.0
"""The volume the profiles' mixing lines are written for."""

WATER_WITHIN_C: Final = 2.0
"""How far the water may be from the line's temperature, K (our own number; the kit's sheet decides)."""

COOLED_C: Final = (5.0, 30.0)
"""The range, °C, in which a solution is bottled (our own numbers): a warmer one shrinks as it cools in the capped
bottle, which then draws in air."""


class KitRequest(Struct, frozen=True):
    """What is to be mixed. bottles: (solution id, ml), one for each solution. on: the ISO date for the labels.

    price: of the whole set, in the person's own currency; None where not known. taps_guessed: the taps were
    neither measured nor stated.
    """

    name: str
    bottles: tuple[tuple[str, float], ...]
    on: str
    price: float | None = None
    material: Material = "soft"
    taps: Water = Water()
    taps_guessed: bool = True
    units: Units = METRIC


def mixing_plan(profile: Profile, request: KitRequest) -> Plan:
    """The plan. Raises Refusal for a solution that is not bottled, or a volume that fits no bottle."""
    volumes = dict(request.bottles)
    for id_, ml in volumes.items():
        check_bottled(profile, id_)
        mixed_into_a_bottle(ml)
    solutions = tuple(solution for solution in profile.solutions if solution.id in volumes)
    baths = tuple(
        _Bath(profile, each, tuple(map(mixing_line, each.mixing)), volumes[each.id], request, number)
        for number, each in enumerate(solutions)
    )
    steps = (
        _ready(baths[0].gloves, split=any(ml < FULL_ML for ml in volumes.values())),
        *(step for bath in baths for step in bath.mixed()),
        *(step for bath in baths for step in bath.bottled()),
        _step("away", "away", "away", "Put away"),
    )
    kit = KitToMix(request.name, request.price, tuple(bath.to_fill for bath in baths))
    stages = (("ready", "Make ready"), *((each.id, each.title) for each in solutions))
    return replace(
        NO_PLAN,
        profile_id=profile.id,
        profile_title=profile.title,
        profile_sha256=profile.sha256,
        setup=replace(NO_PLAN.setup, title=f"Mixing {request.name}", profile=profile.id, water=request.taps),
        stages=(*stages, ("bottles", "Cool and bottle"), ("away", "Put away")),
        steps=steps,
        titles=tuple((each.id, each.title) for each in solutions),
        first_aid=profile.first_aid,
        sources=tuple((source.id, source.title, source.sure.value) for source in profile.sources),
        unit=request.units.temperature,
        volume_unit=request.units.volume,
        kit=kit,
    )


def drawn_ml(line: MixingLine, ml: float) -> float | None:
    """The water to draw for a line, ml, rounded as it is shown; None where the line names no amount of water."""
    amount = next((each for each in line.amounts if each.unit != "g"), None)
    if amount is None:
        return None
    drawn = amount.most * ml / FULL_ML
    if amount.unit == "ml":
        return round(drawn, 1)
    return round(drawn, 2) * 1000.0 if round(drawn * 1000.0) >= 1000 else float(round(drawn * 1000.0))


def fresh_until(figures: SolutionFigures, mixed_on: str) -> str | None:
    """The last good day (ISO date) of a full bottle mixed on `mixed_on`; that day itself for a one-shot solution.

    None where no life is known.
    """
    days = figures.life_full_days
    if days is None:
        return mixed_on if figures.storage == "one-shot" else None
    return (date.fromisoformat(mixed_on) + timedelta(days=int(days))).isoformat()


class _Bath(Struct, frozen=True):
    """The steps of one solution: mixing it and bottling it. number: its index in the kit, from 0."""

    profile: Profile
    solution: Solution
    lines: tuple[MixingLine, ...]
    ml: float
    request: KitRequest
    number: int

    @property
    def to_fill(self) -> BottleToFill:
        figures = figures_of(self.profile, self.solution.id)
        return BottleToFill(f"{self.solution.id}.bottle", self.ml, figures, self.request.material)

    @property
    def _name(self) -> str:
        return self.solution.title.lower()

    @property
    def gloves(self) -> Text:
        """The protection to wear before a part is opened: the first of several mixing lines."""
        return self.lines[0].text.rstrip(".") if len(self.lines) > 1 else message("mixing gloves")

    @property
    def _acts(self) -> tuple[MixingLine, ...]:
        """The lines after the one about gloves."""
        return self.lines[1:] or self.lines

    def mixed(self) -> tuple[PlannedStep, ...]:
        return (self._begin(), *(self._act(number, line) for number, line in enumerate(self._acts or (None,), 1)))

    def _begin(self) -> PlannedStep:
        hazards = tuple(f"{each.code} {each.text}" for each in self.solution.hazards if each.code.startswith("H"))
        return self._step(
            "begin",
            "begin",
            self.solution.title,
            # before the first bath the gloves have just been confirmed
            leave_out=() if self.number else ("gloves", "covered", "tools"),
            own={"gloves": self.gloves},
            instruction=message("mixing begin", name=self._name, volume_ml=self.ml),
            cautions=tuple(
                made_of(self.profile.caution(id_), PlannedCaution) for id_ in self.solution.needs_caution
            ),
            about=message("mixing hazards", hazards=hazards) if hazards else None,
        )

    def _act(self, number: int, line: MixingLine | None) -> PlannedStep:
        if line is not None and line.draws_water:
            return self._water(str(number), line)
        done = message("mixing act", variant="stirred" if line is not None and line.stirs else "done")
        return self._step(
            "act",
            str(number),
            f"{self.solution.title} {number}/{max(1, len(self._acts))}",
            own={"done": done},
            instruction=message("mixing silent") if line is None else self._scaled(line),
        )

    def _scaled(self, line: MixingLine) -> Message:
        return message("mixing line", line=(line.text, self.ml))

    def _water(self, id_: str, line: MixingLine) -> PlannedStep:
        """The step that draws the water: its temperature must be read before a part is added."""
        taps, range_c, about = self.request.taps, None, message("mixing to be read")
        signal: SignalWord = "WARNING" if taps.hot_c > SCALDS_ABOVE_C else "CAUTION"
        if line.degrees_c:
            target_c, ml = line.degrees_c[0], drawn_ml(line, self.ml)
            range_c = (target_c - WATER_WITHIN_C, target_c + WATER_WITHIN_C)
            if ml is not None:
                water = (target_c, ml, taps.hot_c, taps.cold_c)
                about = message("mixing taps", variant="guessed" if self.request.taps_guessed else "", water=water)
        return self._step(
            "water",
            id_,
            f"{self.solution.title}: water",
            instruction=self._scaled(line),
            kind=Kind.MEASURE,
            readings=(PlannedReading(self.solution.id, f"Water for the {self._name}", range_c),),
            cautions=(_caution("scald", signal, hot_c=taps.hot_c),),
            about=about,
        )

    def bottled(self) -> tuple[PlannedStep, ...]:
        bottle = self._bottle()
        if not any(line.warm_as_sheet or max(line.degrees_c, default=0.0) > COOLED_C[1] for line in self.lines):
            return (bottle,)
        reading = PlannedReading(self.solution.id, self.solution.title, COOLED_C)
        name = f"Cool the {self._name}"
        return (self._step("cool", "cool", name, "bottles", kind=Kind.MEASURE, readings=(reading,)), bottle)

    def _bottle(self) -> PlannedStep:
        figures, request = self.to_fill.figures, self.request
        best_before = fresh_until(figures, request.on) or ""
        label = (figures.title, request.name, request.on, best_before, figures.signal or "")
        one_shot = figures.storage == "one-shot"
        return self._step(
            "bottle",
            "bottle",
            f"Bottle the {self._name}",
            "bottles",
            leave_out=("filled",) if one_shot else (),
            # the part of the label that fits a small window; `about` has all of it
            own={"labelled": message("mixing bottle", variant="labelled", label=label)},
            instruction=message("mixing bottle", variant="one-shot" if one_shot else "", name=self._name),
            about=message("mixing label", label=(*label, figures.storage, *figures.hazards)),
        )

    def _step(self, form: str, id_: str, title: str, stage: str = "", **fields: Any) -> PlannedStep:
        return _step(form, f"{self.solution.id}.{id_}", stage or self.solution.id, title, self._name, **fields)


def _ready(gloves: Text, *, split: bool) -> PlannedStep:
    return _step(
        "ready",
        "ready",
        "ready",
        "Make ready",
        own={"gloves": gloves, "split": message("mixing ready", variant="split" if split else "not split")},
        instruction=message("mixing ready", sheet=message("mixing sheet")),
        cautions=(_caution("dust", "WARNING"),),
    )


_STATEMENTS: Final = {
    "ready": ("sheet", "whole", "split", "room", "tools", "bottles", "apron", "gloves"),
    "begin": ("gloves", "covered", "tools", "parts"),
    "act": ("done",),
    "bottle": ("labelled", "filled", "capped"),
    "away": ("spills", "tools", "stored", "hands"),
}
"""The statements of each form of step."""

_CRITICAL: Final = {
    "ready": ("sheet", "whole", "split", "room", "gloves"),
    "begin": ("gloves", "covered", "tools"),
    "bottle": ("labelled",),
    "away": ("stored",),
}


def _step(
    form: str,
    id_: str,
    stage: str,
    title: str,
    name: str = "",
    *,
    own: Mapping[str, Text] = MappingProxyType({}),
    leave_out: tuple[str, ...] = (),
    **fields: Any,
) -> PlannedStep:
    """A step in the texts of `form`. name: of the solution; own: statements in other texts than the form's."""
    of: dict[str, Value] = {"name": name} if name else {}
    ticks = tuple(
        PlannedTick(
            f"{id_}/{tick}",
            own.get(tick) or message(f"mixing {form}", variant=tick),
            id_,
            "end",
            killer=tick in _CRITICAL.get(form, ()),
        )
        for tick in _STATEMENTS.get(form, ())
        if tick not in leave_out
    )
    step = PlannedStep(
        id=id_,
        of=id_,
        title=title,
        stage=stage,
        kind=Kind.CHECK,
        instruction=message(f"mixing {form}", **of),
        safe_way_out=message(f"mixing {form}", variant="way out", **of),
        source="practice",
        ticks=ticks,
    )
    return replace(step, **fields)


def _caution(name: str, signal: SignalWord, **values: Value) -> PlannedCaution:
    consequence, avoid = (message(f"mixing {name}", variant=each) for each in ("consequence", "avoid"))
    id_ = "hot-water" if name == "scald" else name
    return PlannedCaution(id_, signal, message(f"mixing {name}", **values), consequence, avoid, "practice")
