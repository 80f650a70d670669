"""The plan of an evening that mixes a kit, from the mixing lines of its profile. Pure.

Each line of a solution's `mixing` becomes a step; `domain/profile/mixing_lines.py` parses a line. The words of the
steps around them are in `mixing_words.toml`, beside this module, which is read on first use.
"""

from __future__ import annotations

from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.water import SCALDS_ABOVE_C
from wetside.domain.messages import as_written
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import METRIC, BottleToFill, KitToMix, Material, Setup, Tank, Units, Water
from wetside.domain.planning.warm_bath import boiled_for
from wetside.domain.profile.mixing_lines import Amount, MixingLine, ToTheVolume, mixing_line
from wetside.domain.profile.model import Caution, Kind, Profile, SignalWord, Solution
from wetside.domain.shelf.decide import check_bottled, mixed_into_a_bottle
from wetside.domain.shelf.events import figures_of
from wetside.present.labels import fresh_until, label_words
from wetside.present.refusal_text import worded
from wetside.present.sentences import word_table
from wetside.present.step_texts import said
from wetside.present.water_text import boiled_words, drawn_water, scald_sentence
from wetside.present.wording import temperature, trimmed, volume, volume_parts

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


@worded()
def mixing_plan(profile: Profile, request: KitRequest) -> Plan:
    """The plan. Raises Refused for a solution that is not bottled, or a volume that fits no bottle."""
    volumes = dict(request.bottles)
    for id_, ml in volumes.items():
        check_bottled(profile, id_)
        mixed_into_a_bottle(ml)
    solutions = tuple(solution for solution in profile.solutions if solution.id in volumes)
    baths = tuple(
        _Bath(profile, each, tuple(map(mixing_line, each.mixing)), volumes[each.id], request, number)
        for number, each in enumerate(solutions)
    )
    part = any(ml < FULL_ML for ml in volumes.values())
    steps = (
        _ready("part" if part else "whole", baths[0].gloves),
        *(step for bath in baths for step in bath.mixed()),
        *(step for bath in baths for step in bath.bottled()),
        _step("away", "away", "away"),
    )
    kit = KitToMix(request.name, request.price, tuple(bath.to_fill for bath in baths))
    stages = (("ready", "Make ready"), *((each.id, each.title) for each in solutions))
    return Plan(
        profile_id=profile.id,
        profile_title=profile.title,
        profile_sha256=profile.sha256,
        setup=Setup(f"Mixing {request.name}", profile.id, (), Tank(0, ()), (), request.taps),
        stages=(*stages, ("bottles", "Cool and bottle"), ("away", "Put away")),
        batches=(),
        steps=steps,
        rules=(),
        titles=tuple((each.id, each.title) for each in solutions),
        first_aid=profile.first_aid,
        water=None,
        tempering=None,
        timeline=(),
        total_s=0.0,
        dark_s=0.0,
        warnings=(),
        sources=tuple((source.id, source.title, source.sure.value) for source in profile.sources),
        unit=request.units.temperature,
        volume_unit=request.units.volume,
        kit=kit,
    )


def guide_lines(plan: Plan) -> tuple[str, ...]:
    """The plan as lines of text: each step with its cautions and the statements to confirm."""
    lines: list[str] = [word_table("mixing_words")["sheet"]]
    for number, step in enumerate(plan.steps, 1):
        lines += ["", f"{number}. {step.title}: {step.instruction}"]
        lines += [f"   {each.signal}: {each.sentence}" for each in step.cautions]
        lines += [f"   {said(step.about, plan.units)}"] if step.about is not None else []
        lines += [f"   [ ] {tick.text}" for tick in step.ticks]
    return tuple(lines)


def scaled(line: MixingLine, ml: float, units: Units = METRIC) -> str:
    """The line scaled to `ml` of solution: "800 ml for one litre" becomes "400 ml for 500 ml"."""
    made = volume(ml, units.volume)
    words = []
    for part in line.parts:
        match part:
            case Amount(text=text) if ml == FULL_ML and units.volume == "ml":
                words.append(text)
            case Amount(least=least, most=most, unit=unit):
                number, name = _shown_amount(most, unit, ml, units)
                from_least = "" if least is None else f"{_shown_amount(least, unit, ml, units)[0]} to "
                words.append(f"{from_least}{number} {name} for {made}")
            case ToTheVolume():
                words.append(f"to {made}")
            case text:
                words.append(text)
    return "".join(words)


def _shown_amount(for_a_litre: float, unit: str, ml: float, units: Units) -> tuple[str, str]:
    """The number and the unit of an amount for `ml` of solution."""
    amount = for_a_litre * ml / FULL_ML
    if unit == "l" or (unit == "ml" and units.volume != "ml"):
        return volume_parts(amount * (1000.0 if unit == "l" else 1.0), units.volume)
    return trimmed(amount, 1), unit


def _drawn_ml(line: MixingLine, ml: float) -> float | None:
    """The water to draw for a line, ml, rounded as it is shown; None where the line names no amount of water."""
    amount = next((each for each in line.amounts if each.unit != "g"), None)
    if amount is None:
        return None
    drawn = amount.most * ml / FULL_ML
    if amount.unit == "ml":
        return round(drawn, 1)
    return round(drawn, 2) * 1000.0 if round(drawn * 1000.0) >= 1000 else float(round(drawn * 1000.0))


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

    def mixed(self) -> tuple[PlannedStep, ...]:
        hazards = [f"{each.code} {each.text}" for each in self.solution.hazards if each.code.startswith("H")]
        begin = self._step(
            "begin",
            volume=volume(self.ml, self.request.units.volume),
            gloves=self.gloves,
            # before the first bath the gloves have just been confirmed
            leave_out=() if self.number else ("gloves", "covered", "tools"),
        )
        begin = replace(
            begin,
            cautions=tuple(self.profile.caution(id_) for id_ in self.solution.needs_caution),
            about=as_written(" ".join(["Hazards of what is in it:", *hazards])) if hazards else None,
        )
        return (begin, *(self._act(number, line) for number, line in enumerate(self._acts, 1)))

    @property
    def gloves(self) -> str:
        """The protection to wear before a part is opened: the first of several mixing lines."""
        return self.lines[0].text.rstrip(".") if len(self.lines) > 1 else str(word_table("mixing_words")["gloves"])

    @property
    def _acts(self) -> tuple[MixingLine, ...]:
        """The lines after the one about gloves."""
        return self.lines[1:] or self.lines or (mixing_line(word_table("mixing_words")["silent"]),)

    def _act(self, number: int, line: MixingLine) -> PlannedStep:
        shown = scaled(line, self.ml, self.request.units)
        if line.draws_water:
            return self._water(self._step("water", str(number), line=shown), line)
        done = word_table("mixing_words")["stirred" if line.stirs else "done"]
        return self._step("act", str(number), line=shown, number=number, acts=len(self._acts), done=done)

    def _water(self, step: PlannedStep, line: MixingLine) -> PlannedStep:
        """The step that draws the water: its temperature must be read before a part is added."""
        hot_c, range_c, words = self.request.taps.hot_c, None, str(word_table("mixing_words")["to_be_read"])
        if line.degrees_c:
            target_c, drawn_ml = line.degrees_c[0], _drawn_ml(line, self.ml)
            range_c = (target_c - WATER_WITHIN_C, target_c + WATER_WITHIN_C)
            words = words if drawn_ml is None else _from_the_taps(self.request, target_c, drawn_ml)
        scald = _caution(
            "hot-water",
            "WARNING" if hot_c > SCALDS_ABOVE_C else "CAUTION",
            scald=scald_sentence(hot_c, self.request.units),
        )
        reading = PlannedReading(self.solution.id, f"Water for the {self._name}", range_c)
        return replace(step, kind=Kind.MEASURE, readings=(reading,), cautions=(scald,), about=as_written(words))

    def bottled(self) -> tuple[PlannedStep, ...]:
        title, figures, request = self.solution.title, self.to_fill.figures, self.request
        label = label_words(figures, request.name, request.on, fresh_until(figures, request.on), 0.0)
        # The part of the label that fits a small window; `about` has all of it.
        short = ", ".join((title, *label[1:4], *((figures.signal,) if figures.signal else ())))
        form = "one-shot" if self.solution.storage == "one-shot" else "bottle"
        bottle = replace(
            self._step(form, "bottle", stage="bottles", label=short),
            about=as_written(f"Write on the label: {'. '.join(each.rstrip('.') for each in label)}."),
        )
        if not any(line.warm_as_sheet or max(line.degrees_c, default=0.0) > COOLED_C[1] for line in self.lines):
            return (bottle,)
        reading = PlannedReading(self.solution.id, title, COOLED_C)
        cool = replace(self._step("cool", stage="bottles"), kind=Kind.MEASURE, readings=(reading,))
        return (cool, bottle)

    def _step(self, form: str, name: str = "", *, stage: str = "", **words: Any) -> PlannedStep:
        """A step in the words of `form`. name: the end of its id, where that is not the form's."""
        id_ = f"{self.solution.id}.{name or form}"
        return _step(form, id_, stage or self.solution.id, title=self.solution.title, name=self._name, **words)


def _ready(split: str, gloves: str) -> PlannedStep:
    words = word_table("mixing_words")
    step = _step("ready", "ready", "ready", split=words[split], gloves=gloves, sheet=words["sheet"])
    return replace(step, cautions=(_caution("dust", "WARNING"),))


def _step(form: str, id_: str, stage: str, *, leave_out: tuple[str, ...] = (), **words: Any) -> PlannedStep:
    """The step whose words `mixing_words.toml` has under `form`. leave_out: ids of ticks."""
    row = word_table("mixing_words")["steps"][form]
    ticks = tuple(
        PlannedTick(f"{id_}/{tick['id']}", tick["text"].format(**words), id_, "end", tick.get("critical", False))
        for tick in row.get("ticks", ())
        if tick["id"] not in leave_out
    )
    return PlannedStep(
        id=id_,
        of=id_,
        title=row["title"].format(**words),
        stage=stage,
        kind=Kind.CHECK,
        instruction=row["instruction"].format(**words),
        safe_way_out=row["way_out"].format(**words),
        source="practice",
        ticks=ticks,
    )


def _caution(id_: str, signal: SignalWord, **words: str) -> Caution:
    row = word_table("mixing_words")["cautions"][id_]
    return Caution(id_, signal, row["hazard"].format(**words), row["consequence"], row["avoid"], "practice")


def _from_the_taps(request: KitRequest, target_c: float, ml: float) -> str:
    """How to draw `ml` of water at `target_c` (°C) from the taps; what to boil where they cannot make it."""
    units, taps = request.units, replace(request.taps, bath_ml=ml)
    hot, cold = temperature(taps.hot_c, units.temperature), temperature(taps.cold_c, units.temperature)
    guess = word_table("mixing_words")["guessed"] if request.taps_guessed else ""
    drawn = drawn_water(taps, target_c, units.volume)
    if drawn is None:
        boiled = boiled_for(taps, target_c)
        if boiled is not None:
            return f"The hot tap gives {hot}: {boiled_words(boiled, units.volume)}"
        aim = temperature(target_c, units.temperature)
        if target_c > taps.hot_c:
            return f"Hotter water than {hot} is needed to reach {aim}: heat some of it and measure it again."
        return f"Colder water than {cold} is needed to reach {aim}: cool some of it with ice and measure it again."
    parts = [f"{drawn.cold} cold ({cold})"] if drawn.cold else []
    parts += [f"{drawn.hot} hot ({hot})"] if drawn.hot else []
    return f"From the taps: {' and '.join(parts)} make {drawn.whole}.{guess}"
