"""A kit's mixing as an evening of its own: the plan that the guide leads through, from the profile's mixing lines.

Pure. Each line of a solution's `mixing` is one step. One that begins with "Take", speaks of water and names a
temperature is a gate: that water is read before anything is stirred in. What every kit needs stands around the
lines: review, gloves and dust, tools of its own for each bath, cooling, bottles, labels, putting away.
What has no source beside it is common practice; the kit's own sheet decides.
"""

from __future__ import annotations

import re
from dataclasses import replace

from wetside.domain.calc.water import NO_HAND_ABOVE_C, scald_sentence
from wetside.domain.calc.wording import METRIC, Units, said, temperature, volume
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep, PlannedTick
from wetside.domain.planning.setup import BottleToFill, KitToMix, Material, Setup, Tank, Water
from wetside.domain.planning.warm_bath import boiled_for, boiled_words, drawn_water
from wetside.domain.profile.model import Caution, Kind, Profile, Solution
from wetside.domain.shelf.decide import bottled, mixed_into_a_bottle, unknown_solution
from wetside.domain.shelf.events import figures_of
from wetside.errors import Refused
from wetside.frozen import dataclass
from wetside.present.bottle_label import fresh_until, label_words

FULL_ML = 1000.0
"""The volume the profiles' mixing lines are written for."""

WATER_WITHIN_C = 2.0
"""How far the water may be from what the line says (our own number; the kit's sheet decides)."""

COOLED_C = (5.0, 30.0)
"""A solution is bottled this cool (our own numbers): warmer it draws a capped bottle in, and air with it."""

_AMOUNT = re.compile(r"(?:(\d+(?:\.\d+)?) to )?(\d+(?:\.\d+)?) (ml|l|g) for (?:one|1|a) lit(?:re|er)")
_DEGREES = re.compile(r"(\d+(?:\.\d+)?) °C")

SHEET = "The kit's own sheet decides: where it says otherwise, follow it and not the guide."
SILENT = "This profile says nothing about mixing it: follow the kit's own sheet, part by part."
GLOVES = "Nitrile gloves and goggles on, window open or fan running"
COVERED = "What is mixed already stands covered"
OTHER_TOOLS = "Other jug, rod and thermometer, or washed twice: no dust, no drop of another bath"
COVERED = "What is mixed already stands covered"
OTHER_TOOLS = "Other jug, rod and thermometer, or washed twice: no dust, no drop of another bath"
WHOLE = "Powders: every packet goes in whole. A part of one may have any strength"
PART = "Liquid concentrates alone are split, each part measured. Powders are mixed for the whole volume only"
DUST = Caution(
    "dust",
    "WARNING",
    "Powder dust and splashes reach eyes, skin and lungs.",
    "Developing agents can make the skin allergic, for good.",
    "Open packets low over the jug, pour slowly, keep your face away; wipe spilt powder up wet, never sweep it.",
    "practice",
)

_READY = (
    ("sheet", "The kit's own sheet lies open and was read to its end", True),
    ("whole", "All parts of the kit are here, no packet torn, wet or caked", True),
    ("room", "Children, animals and food are out; window open or fan running", True),
    ("tools", "Jugs, rod, funnels and thermometer are for photography alone, clean and rinsed", False),
    ("bottles", "Bottles clean and empty, one for each bath, caps beside them", False),
    ("apron", "Apron on, and old clothes: developer stains", False),
)
_AWAY = (
    ("spills", "Spills wiped up wet, empty packets bagged", False),
    ("tools", "Jugs, rod, funnels and thermometer washed with much water", False),
    ("stored", "All bottles stand locked up, cool and dark, out of the reach of children", True),
    ("hands", "Gloves off last, hands washed", False),
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be mixed. bottles: (solution id, ml), none of a solution twice; taps: of a guess, where guessed.

    on: the day (ISO) for the labels.
    """

    name: str
    bottles: tuple[tuple[str, float], ...]
    on: str
    price: float | None = None
    material: Material = "soft"
    taps: Water = Water()
    taps_guessed: bool = True
    units: Units = METRIC


def mixing_plan(profile: Profile, wanted: Wanted) -> Plan:
    """The evening. Refused for a solution that the profile keeps in no bottle, or a volume that none holds."""
    volumes = dict(wanted.bottles)
    for id_, ml in volumes.items():
        if id_ not in bottled(profile):
            raise unknown_solution(profile, id_)
        mixed_into_a_bottle(ml)
    solutions = tuple(solution for solution in profile.solutions if solution.id in volumes)
    baths = tuple(_Bath(profile, each, volumes[each.id], wanted, number) for number, each in enumerate(solutions))
    part = any(ml < FULL_ML for ml in volumes.values())
    steps = (
        _ready(part, baths[0].gloves),
        *(step for bath in baths for step in bath.mixed()),
        *(step for bath in baths for step in bath.bottled()),
        _check("away", "Put away", "away", "Put everything away.", _AWAY, "Cap what is open; wash your hands."),
    )
    kit = KitToMix(wanted.name, wanted.price, tuple(bath.to_fill for bath in baths))
    stages = (("ready", "Make ready"), *((each.id, each.title) for each in solutions))
    return Plan(
        profile_id=profile.id,
        profile_title=profile.title,
        profile_sha256=profile.sha256,
        setup=Setup(f"Mixing {wanted.name}", profile.id, (), Tank(0, ()), (), wanted.taps),
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
        unit=wanted.units.temperature,
        volume_unit=wanted.units.volume,
        kit=kit,
    )


def guide_lines(plan: Plan) -> tuple[str, ...]:
    """The evening as text to read or print: each step with its cautions, then what is confirmed in it."""
    lines = [SHEET]
    for number, step in enumerate(plan.steps, 1):
        lines += ["", f"{number}. {step.title}: {step.instruction}"]
        lines += [f"   {each.signal}: {each.hazard} {each.consequence} {each.avoid}" for each in step.cautions]
        lines += [f"   {step.in_words}"] if step.in_words else []
        lines += [f"   [ ] {tick.text}" for tick in step.ticks]
    return tuple(lines)


def scaled(words: str, ml: float, units: Units = METRIC) -> str:
    """`words` with each "800 ml for one litre" worked out for `ml`: "400 ml for 500 ml"; so for "10 to 20 g"."""
    made = volume(ml, units.volume)

    def for_volume(found: re.Match[str]) -> str:
        least = f"{_amount(found[1], found[3], ml, units)[0]} to " if found[1] else ""
        number, unit = _amount(found[2], found[3], ml, units)
        return f"{least}{number} {unit} for {made}"

    found = words if ml == FULL_ML and units.volume == "ml" else _AMOUNT.sub(for_volume, words)
    return found.replace("to the volume", f"to {made}")


def _amount(number: str, unit: str, ml: float, units: Units) -> tuple[str, str]:
    amount = float(number) * ml / FULL_ML
    if unit == "l" or (unit == "ml" and units.volume != "ml"):
        shown, _, name = volume(amount * (1000.0 if unit == "l" else 1.0), units.volume).partition(" ")
        return shown, name
    return f"{amount:.1f}".rstrip("0").rstrip("."), unit


@dataclass(frozen=True, slots=True)
class _Bath:
    """One solution of the kit: its steps while it is mixed, and those that bring it into its bottle."""

    profile: Profile
    solution: Solution
    ml: float
    wanted: Wanted
    number: int

    @property
    def to_fill(self) -> BottleToFill:
        figures = figures_of(self.profile, self.solution.id)
        return BottleToFill(f"{self.solution.id}.bottle", self.ml, figures, self.wanted.material)

    @property
    def _name(self) -> str:
        return self.solution.title.lower()

    def mixed(self) -> tuple[PlannedStep, ...]:
        ticks = []
        if self.number:  # of the first bath the gloves were asked for a moment ago
            ticks = [("gloves", self.gloves, True), ("covered", COVERED, True), ("tools", OTHER_TOOLS, True)]
        told = [f"{each.code} {each.text}" for each in self.solution.hazards if each.code.startswith("H")]
        begin = _check(
            f"{self.solution.id}.begin",
            self.solution.title,
            self.solution.id,
            f"Lay out the parts of the {self._name}, for {volume(self.ml, self.wanted.units.volume)}.",
            (*ticks, ("parts", "Its parts lie in the order of the kit's sheet", False)),
            f"Nothing of the {self._name} is open yet: leave it closed.",
            cautions=tuple(self.profile.caution(id_) for id_ in self.solution.needs_caution),
            in_words=" ".join(["Hazards of what is in it:", *told]) if told else "",
        )
        return (begin, *(self._act(number, words) for number, words in enumerate(self._lines, 1)))

    @property
    def gloves(self) -> str:
        """What the profile wants on before a part is opened."""
        return self.solution.mixing[0].rstrip(".") if len(self.solution.mixing) > 1 else GLOVES

    @property
    def _lines(self) -> tuple[str, ...]:
        """The acts after the line about gloves, which stands first in every profile that has more than one."""
        return self.solution.mixing[1:] or self.solution.mixing or (SILENT,)

    @property
    def _count(self) -> int:
        return len(self._lines)

    def _act(self, number: int, words: str) -> PlannedStep:
        shown = scaled(words, self.ml, self.wanted.units)
        water = words.startswith("Take") and "water" in words
        found = _DEGREES.search(words) if water else None
        made = _AMOUNT.search(words)
        if water and (found is not None or "temperature" in words):
            target_c = float(found[1]) if found is not None else None
            amount = _amount(made[2], made[3], self.ml, replace(self.wanted.units, volume="ml")) if made else None
            return self._water(number, shown, target_c, amount)
        clear = "It is all in, and clear" if words.startswith(("Stir", "Pour")) else "Read, and done as it says"
        return _check(
            f"{self.solution.id}.{number}",
            f"{self.solution.title} {number}/{self._count}",
            self.solution.id,
            shown,
            (("done", clear, False),),
            f"Cover the jug and mark it {self._name} with the hour. Close what is open. Begun, it is mixed to its"
            " end, or goes where the kit's sheet says.",
        )

    def _water(
        self, number: int, shown: str, target_c: float | None, amount: tuple[str, str] | None
    ) -> PlannedStep:
        range_c = None if target_c is None else (target_c - WATER_WITHIN_C, target_c + WATER_WITHIN_C)
        reading = PlannedReading(self.solution.id, f"Water for the {self._name}", range_c)
        step = _check(
            f"{self.solution.id}.{number}",
            f"{self.solution.title}: water",
            self.solution.id,
            shown,
            (),
            "Pour the water away; nothing is in it yet.",
        )
        hot, units = self.wanted.taps.hot_c, self.wanted.units
        scald = Caution(
            "hot-water",
            "WARNING" if hot > NO_HAND_ABOVE_C else "CAUTION",
            scald_sentence(hot, units.temperature),
            "Gloves do not keep heat out.",
            "Draw the cold water first.",
            "practice",
        )
        words = "Read the temperature and type it."
        if target_c is not None and amount is not None:
            ml = float(amount[0]) * (1000.0 if amount[1] == "l" else 1.0)
            words = _from_the_taps(self.wanted, target_c, ml)
        return replace(step, kind=Kind.MEASURE, readings=(reading,), cautions=(scald,), in_words=words)

    def bottled(self) -> tuple[PlannedStep, ...]:
        id_, title = self.solution.id, self.solution.title
        figures = self.to_fill.figures
        label = label_words(figures, self.wanted.name, self.wanted.on, fresh_until(figures, self.wanted.on), 0.0)
        kept = self.solution.storage != "one-shot"
        where = ("the bottle", ", to the neck") if kept else ("a jug or bottle", "")
        # What a small window has room for; the whole label stands beside it, and `wetside shelf label` prints it.
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
        words = " ".join(self.solution.mixing)
        warm = any(float(each) > COOLED_C[1] for each in _DEGREES.findall(words)) or "temperature" in words
        if not warm:
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


def _from_the_taps(wanted: Wanted, target_c: float, ml: float) -> str:
    """How hot and cold water make it, in words; what to boil or to cool where the taps cannot."""
    units, taps = wanted.units, replace(wanted.taps, bath_ml=ml)
    hot, cold = temperature(taps.hot_c, units.temperature), temperature(taps.cold_c, units.temperature)
    guess = " These are guesses of your taps: go by the thermometer." if wanted.taps_guessed else ""
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
