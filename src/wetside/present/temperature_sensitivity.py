"""What half a degree is worth in a bath that must be stopped on time, in words. Pure.

The guide moves the end by itself when a temperature is read; these words say beforehand how exact it has to be.
"""

from __future__ import annotations

from wetside.domain.calc.developer_time import TimeTable, activation_energy_kj_mol, local_q10, warmer_by_s
from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.planning.baths import ADVICE, drift_seconds
from wetside.domain.planning.plan import PlannedStep, TemperatureUnit

_A_LITTLE: dict[TemperatureUnit, tuple[str, float, str]] = {
    "°C": ("half a degree", 0.5, "Half a °C"),
    "°F": ("one degree", 5 / 9, "One °F"),
}
"""What a person's thermometer is read to: its name, how many K it is, and the name on a label."""


def warmth_words(step: PlannedStep, unit: TemperatureUnit) -> str:
    """What half a °C or one °F is worth, in a sentence; empty where no table of times belongs to the step."""
    table = _table(step)
    if table is None:
        return ""
    if len(table.rows) == 1:
        return f"The sheet gives a time at this temperature alone. {_borrowed_words(step, unit)}".rstrip()
    name, by_k, _ = _A_LITTLE[unit]
    changes = _changes(step, table, by_k)
    said = [
        f"{name} {way}: {_long(abs(by_s))} {'shorter' if by_s < 0 else 'longer'}" for way, by_s in changes.items()
    ]
    beyond = " or ".join(way for way in ("warmer", "cooler") if way not in changes)
    if beyond:
        said.append(
            f"the sheet has no time for {name} {beyond}" if not said else f"the sheet has no time for {beyond}"
        )
    words = "; ".join(said)
    return f"{words[0].upper()}{words[1:]}."


def _borrowed_words(step: PlannedStep, unit: TemperatureUnit) -> str:
    name, by_k, _ = _A_LITTLE[unit]
    by_s = drift_seconds(step, (step.target_c or 0.0) - by_k)
    if by_s is None:
        return ""
    return f"{ADVICE}: {name} cooler, about {_long(by_s)} longer. Your sheet decides."


def warmth_in_short(step: PlannedStep, unit: TemperatureUnit) -> tuple[str, str]:
    """The same as a label and few words: "Half a °C", "warmer −13 s, cooler +15 s"; without what is not known."""
    _, by_k, label = _A_LITTLE[unit]
    table = _table(step)
    changes = _changes(step, table, by_k) if table is not None else {}
    signed = [f"{way} {'−' if by_s < 0 else '+'}{_long(abs(by_s))}" for way, by_s in changes.items()]
    return label, ", ".join(signed)


def slope_words(step: PlannedStep) -> str:
    """The table's slope here in the two usual figures, for who wants them; empty for a table of one row."""
    table, target_c = _table(step), step.target_c
    if table is None or target_c is None:
        return ""
    q10, energy = local_q10(table, target_c), activation_energy_kj_mol(table, target_c)
    if q10 is None or energy is None:
        return ""
    return f"Q10 {q10:.1f}, activation energy {energy:.0f} kJ/mol: the slope of the sheet's times here."


def _changes(step: PlannedStep, table: TimeTable, by_k: float) -> dict[str, float]:
    """Seconds that the planned time gets longer (above zero) or shorter; only what the table serves."""
    target_c, planned_s = step.target_c, step.planned_s
    if target_c is None or planned_s is None:
        return {}
    found = {way: warmer_by_s(table, target_c, planned_s, by) for way, by in (("warmer", by_k), ("cooler", -by_k))}
    return {way: by_s for way, by_s in found.items() if by_s is not None}


def _table(step: PlannedStep) -> TimeTable | None:
    return TimeTable(step.table, step.table_tolerance_c) if step.table else None


def _long(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 59.5 else minutes_seconds(seconds)
