"""The plan of an evening that mixes a kit, from the mixing lines of its profile. Pure.

Each line of a solution's `mixing` becomes a step; `domain/profile/mixing_lines.py` parses a line. The steps and
texts around them are here: review, gloves and dust, separate tools for each bath, cooling, bottles, labels,
putting away. What has no source beside it is common practice; the kit's own sheet decides.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from wetside.domain.calc.water import SCALDS_ABOVE_C
from wetside.domain.calc.wording import METRIC, Units, said, temperature, trimmed, volume, volume_parts
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import BottleToFill, KitToMix, Material, Setup, Tank, Water
from wetside.domain.planning.warm_bath import boiled_for
from wetside.domain.profile.mixing_lines import Amount, MixingLine, ToTheVolume, mixing_line
from wetside.domain.profile.model import Caution, Kind, Profile, Solution
from wetside.domain.shelf.decide import check_bottled, mixed_into_a_bottle
from wetside.domain.shelf.events import figures_of
from wetside.errors import Refused
from wetside.frozen import dataclass
from wetside.present.labels import fresh_until, label_words
from wetside.present.refusal_text import worded
from wetside.present.water_text import boiled_words, drawn_water, scald_sentence

FULL_ML: Final = 1000.0
"""The volume the profiles' mixing lines are written for."""

WATER_WITHIN_C: Final = 2.0
"""How far the water may be from the line's temperature, K (our own number; the kit's sheet decides)."""

COOLED_C: Final = (5.0, 30.0)
"""The range, °C, in which a solution is bottled (our own numbers): a warmer one shrinks as it cools in the capped
bottle, which then draws in air."""

SHEET: Final = "The kit's own sheet decides: where it says otherwise, follow it and not the guide."
SILENT: Final = "This profile says nothing about mixing it: follow the kit's own sheet, part by part."
GLOVES: Final = "Nitrile gloves and goggles on, window open or fan running"
COVERED: Final = "What is mixed already stands covered"
OTHER_TOOLS: Final = "Other jug, rod and thermometer, or washed twice: no dust, no drop of another bath"
WHOLE: Final = "Powders: every packet goes in whole. A part of one may have any strength"
PART: Final = (
    "Liquid concentrates alone are split, each part measured. Powders are mixed for the whole volume only"
)
DUST: Final = Caution(
    "dust",
    "WARNING",
    "Powder dust and splashes reach eyes, skin and lungs.",
    "Developing agents can make the skin allergic, for good.",
    "Open packets low over the jug, pour slowly, keep your face away; wipe spilt powder up wet, never sweep it.",
    "practice",
)

_READY: Final = (
    ("sheet", "The kit's own sheet lies open and was read to its end", True),
    ("whole", "All parts of the kit are here, no packet torn, wet or caked", True),
    ("room", "Children, animals and food are out; window open or fan running", True),
    ("tools", "Jugs, rod, funnels and thermometer are for photography alone, clean and rinsed", False),
    ("bottles", "Bottles clean and empty, one for each bath, caps beside them", False),
    ("apron", "Apron on, and old clothes: developer stains", False),
)
_AWAY: Final = (
    ("spills", "Spills wiped up wet, empty packets bagged", False),
    ("tools", "Jugs, rod, funnels and thermometer washed with much water", False),
    ("stored", "All bottles stand locked up, cool and dark, out of the reach of children", True),
    ("hands", "Gloves off last, hands washed", False),
)


@dataclass(frozen=True, slots=True)
class KitRequest:
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
        _ready(part, baths[0].gloves),
        *(step for bath in baths for step in bath.mixed()),
        *(step for bath in baths for step in bath.bottled()),
        _check("away", "Put away", "away", "Put everything away.", _AWAY, "Cap what is open; wash your hands."),
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
    lines = [SHEET]
    for number, step in enumerate(plan.steps, 1):
        lines += ["", f"{number}. {step.title}: {step.instruction}"]
        lines += [f"   {each.signal}: {each.sentence}" for each in step.cautions]
        lines += [f"   {step.in_words}"] if step.in_words else []
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


@dataclass(frozen=True, slots=True)
class _Bath:
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
        ticks = []
        if self.number:  # before the first bath the gloves have just been confirmed
            ticks = [("gloves", self.gloves, True), ("covered", COVERED, True), ("tools", OTHER_TOOLS, True)]
        hazards = [f"{each.code} {each.text}" for each in self.solution.hazards if each.code.startswith("H")]
        begin = _check(
            f"{self.solution.id}.begin",
            self.solution.title,
            self.solution.id,
            f"Lay out the parts of the {self._name}, for {volume(self.ml, self.request.units.volume)}.",
            (*ticks, ("parts", "Its parts lie in the order of the kit's sheet", False)),
            f"Nothing of the {self._name} is open yet: leave it closed.",
            cautions=tuple(self.profile.caution(id_) for id_ in self.solution.needs_caution),
            in_words=" ".join(["Hazards of what is in it:", *hazards]) if hazards else "",
        )
        return (begin, *(self._act(number, line) for number, line in enumerate(self._acts, 1)))

    @property
    def gloves(self) -> str:
        """The protection to wear before a part is opened: the first of several mixing lines."""
        return self.lines[0].text.rstrip(".") if len(self.lines) > 1 else GLOVES

    @property
    def _acts(self) -> tuple[MixingLine, ...]:
        """The lines after the one about gloves."""
        return self.lines[1:] or self.lines or (mixing_line(SILENT),)

    def _act(self, number: int, line: MixingLine) -> PlannedStep:
        shown = scaled(line, self.ml, self.request.units)
        if line.draws_water:
            return self._water(number, shown, line)
        return _check(
            f"{self.solution.id}.{number}",
            f"{self.solution.title} {number}/{len(self._acts)}",
            self.solution.id,
            shown,
            (("done", "It is all in, and clear" if line.stirs else "Read, and done as it says", False),),
            f"Cover the jug and mark it {self._name} with the hour. Close what is open. Begun, it is mixed to its"
            " end, or goes where the kit's sheet says.",
        )

    def _water(self, number: int, shown: str, line: MixingLine) -> PlannedStep:
        """The step that draws the water: its temperature must be read before a part is added."""
        hot, units = self.request.taps.hot_c, self.request.units
        step = _check(
            f"{self.solution.id}.{number}",
            f"{self.solution.title}: water",
            self.solution.id,
            shown,
            (),
            "Pour the water away; nothing is in it yet.",
        )
        scald = Caution(
            "hot-water",
            "WARNING" if hot > SCALDS_ABOVE_C else "CAUTION",
            scald_sentence(hot, units),
            "Gloves do not keep heat out.",
            "Draw the cold water first.",
            "practice",
        )
        range_c, words, drawn_ml = None, "Read the temperature and type it.", _drawn_ml(line, self.ml)
        if line.degrees_c:
            target_c = line.degrees_c[0]
            range_c = (target_c - WATER_WITHIN_C, target_c + WATER_WITHIN_C)
            words = words if drawn_ml is None else _from_the_taps(self.request, target_c, drawn_ml)
        reading = PlannedReading(self.solution.id, f"Water for the {self._name}", range_c)
        return replace(step, kind=Kind.MEASURE, readings=(reading,), cautions=(scald,), in_words=words)

    def bottled(self) -> tuple[PlannedStep, ...]:
        id_, title = self.solution.id, self.solution.title
        figures = self.to_fill.figures
        label = label_words(
            figures, self.request.name, self.request.on, fresh_until(figures, self.request.on), 0.0
        )
        kept = self.solution.storage != "one-shot"
        where = ("the bottle", ", to the neck") if kept else ("a jug or bottle", "")
        # The part of the label that fits a small window; `in_words` has all of it.
        short = ", ".join((title, *label[1:4], *((figures.signal,) if figures.signal else ())))
        labelled = ("labelled", f"The label is on: {short}", True)
        filled = ("filled", "Filled to the neck: a soft bottle squeezed until it is", False)
        capped = ("capped", "Capped, the outside rinsed and dry", False)
        bottle = _check(
            f"{id_}.bottle",
            f"Bottle the {self._name}",
            "bottles",
            f"Label {where[0]} while dry. Pour the {self._name} in through its own funnel{where[1]}. Cap it.",
            (labelled, filled, capped) if kept else (labelled, capped),
            f"Cap what is filled and write {self._name} and the day on it; cover and mark what is still in a jug.",
            in_words=f"Write on the label: {'. '.join(each.rstrip('.') for each in label)}.",
        )
        if not any(line.warm_as_sheet or max(line.degrees_c, default=0.0) > COOLED_C[1] for line in self.lines):
            return (bottle,)
        cool = _check(
            f"{id_}.cool",
            f"Cool the {self._name}",
            "bottles",
            f"Let the {self._name} cool, covered; a bath of cold water around the jug is quicker.",
            (),
            f"Cover the jug, mark it {self._name}, and keep it out of reach until it is bottled.",
        )
        reading = PlannedReading(id_, title, COOLED_C)
        return (replace(cool, kind=Kind.MEASURE, readings=(reading,)), bottle)


def _ready(part: bool, gloves: str) -> PlannedStep:
    ticks = [*_READY, ("gloves", gloves, True)]
    ticks.insert(2, ("split", PART if part else WHOLE, True))
    return _check(
        "ready",
        "Make ready",
        "ready",
        f"Make the table ready. {SHEET}",
        tuple(ticks),
        "Nothing is open yet: leave the kit closed.",
        cautions=(DUST,),
    )


def _check(
    id_: str,
    title: str,
    stage: str,
    instruction: str,
    ticks: tuple[tuple[str, str, bool], ...],
    way_out: str,
    *,
    cautions: tuple[Caution, ...] = (),
    in_words: str = "",
) -> PlannedStep:
    return PlannedStep(
        id=id_,
        of=id_,
        title=title,
        stage=stage,
        kind=Kind.CHECK,
        instruction=instruction,
        safe_way_out=way_out,
        source="practice",
        cautions=cautions,
        in_words=in_words,
        ticks=tuple(PlannedTick(f"{id_}/{name}", text, id_, "end", killer) for name, text, killer in ticks),
    )


def _from_the_taps(request: KitRequest, target_c: float, ml: float) -> str:
    """How to draw `ml` of water at `target_c` (°C) from the taps; what to boil where they cannot make it."""
    units, taps = request.units, replace(request.taps, bath_ml=ml)
    hot, cold = temperature(taps.hot_c, units.temperature), temperature(taps.cold_c, units.temperature)
    guess = " These are guesses of your taps: go by the thermometer." if request.taps_guessed else ""
    try:
        drawn = drawn_water(taps, target_c, units.volume)
    except Refused as refusal:
        boiled = boiled_for(taps, target_c)
        if boiled is None:
            return said(refusal, units)
        return f"The hot tap gives {hot}: {boiled_words(boiled, units.volume)}"
    parts = [f"{drawn.cold} cold ({cold})"] if drawn.cold else []
    parts += [f"{drawn.hot} hot ({hot})"] if drawn.hot else []
    return f"From the taps: {' and '.join(parts)} make {drawn.whole}.{guess}"
