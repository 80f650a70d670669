"""What should worry about an evening besides its bottles' age and volume: film, backing, the warm bath. Pure."""

from __future__ import annotations

from wetside.domain.calc.water import hand_word
from wetside.domain.calc.wording import Units, temperature, temperatures
from wetside.domain.planning.bath_water import tap_worry
from wetside.domain.planning.expansion import LATEST_S, Handwork, keeps_backing
from wetside.domain.planning.plan import Batch, TemperatureUnit, Tempering, WaterPlan, Worry
from wetside.domain.planning.setup import Setup, bottle_of
from wetside.domain.profile.model import Profile


def process_worries(
    profile: Profile, setup: Setup, tempering: Tempering | None, unit: TemperatureUnit
) -> list[Worry]:
    """What should worry about tonight's film in this process, the second bottles and the warm bath."""
    found = []
    negative = set(profile.accepts) - {"slide"}
    if negative and any(roll.kind == "slide" for roll in setup.rolls):
        text = "Slide film comes out as a negative with colours nobody can promise: take pictures you can lose."
        found.append(Worry("slide", text))
    found += _backing_worries(profile, setup)
    sure = {source.id: source.sure.value for source in profile.sources}
    remembered = [s.title for s in profile.solutions if s.table and sure.get(s.source) == "from memory"]
    if remembered:
        text = f"{', '.join(remembered)}: the times are from memory. Compare them with your kit's own sheet first."
        found.append(Worry("from-memory", text))
    for bottle in setup.bottles:
        if bottle_of(setup, bottle.solution) is not bottle:
            text = f"{bottle.label}: only the first bottle of {bottle.solution} is used."
            found.append(Worry("second-bottle", text))
    if tempering is not None and tempering.ready_s is None:
        never = f"The bottles are not all in range together within two hours.{_way(profile, setup, unit)}"
        found.append(Worry("never-ready", never))
    bath_c = tempering.starting_bath_c if tempering is not None else None
    if bath_c is not None and hand_word(bath_c) == "no hand":
        hot = f"The warm bath starts at {temperature(bath_c, unit)}, which scalds."
        found.append(Worry("hot-bath", f"{hot} With more water in it, it starts cooler."))
    return found


def _backing_worries(profile: Profile, setup: Setup) -> list[Worry]:
    """What a backing does to the baths it goes through, tonight and on later evenings."""
    found = []
    if keeps_backing(profile) and any(roll.kind == "backed" for roll in setup.rolls):
        text = (
            "Backed film goes through the baths with its backing on, by itself and last: some of it stays in the"
            " bottles, can spoil the developer for good and settles on rolls developed in it later."
        )
        other = f" The process {profile.backed_instead} takes it off before." if profile.backed_instead else ""
        found.append(Worry("backing-on", text + other))
    for bottle in setup.bottles:
        if bottle.backed_rolls > 0 and bottle_of(setup, bottle.solution) is bottle:
            text = (
                f"{bottle.label}: {bottle.backed_rolls:.1f} rolls went through it with their backing on. Grey or"
                " with sludge it is spent; else let it settle, and try a leader in it first."
            )
            found.append(Worry("backing-in-bottle", text))
    return found


def _way(profile: Profile, setup: Setup, unit: TemperatureUnit) -> str:
    """What may be done where two solutions want temperatures that do not meet; empty where they do."""
    held = {bottle.solution for bottle in setup.bottles}
    ranges = [(s.title, s.range_c) for s in profile.solutions if s.tempered and s.id in held and s.range_c]
    if not ranges:
        return ""
    coolest, warmest = min(ranges, key=lambda each: each[1][1]), max(ranges, key=lambda each: each[1][0])
    if warmest[1][0] <= coolest[1][1]:
        return ""
    cool, warm = (f"{title} ({temperatures(range_c, unit)})" for title, range_c in (coolest, warmest))
    return (
        f" {cool} and {warm} never meet: give each a bath of its own, or choose a developer temperature within the"
        " other's range."
    )


def water_worries(setup: Setup, tempering: Tempering | None, water: WaterPlan | None, units: Units) -> list[Worry]:
    """A warm bath that cannot be made as it stands: of this size, or from these taps."""
    if water is None:
        return []
    if tempering is None:
        return [Worry("bath-too-small", water.words[0])]
    found = tap_worry(setup.water, water.target_c, units.temperature, units.volume)
    return [found] if found is not None else []


def late_worries(setup: Setup, batches: tuple[Batch, ...], handwork: tuple[Handwork, ...]) -> list[Worry]:
    """Rolls that no order of the handwork brings into their last bath in time."""
    found = []
    for work in handwork:
        rolls = next(batch.rolls for batch in batches if batch.number == work.batch)
        labels = ", ".join(setup.rolls[rolls[index]].label for index in sorted(work.order.late))
        if labels:
            text = (
                f"{labels}: in the last bath only more than {LATEST_S / 3600.0:g} h after the handwork begins, and"
                " wet film softens. Plan fewer rolls in a tank fill."
            )
            found.append(Worry("handwork-late", text))
    return found
