"""The mixing guide of a kit as lines of text: order, water temperature and cautions, scaled to the volume wanted.

Pure. The words are the profile's; the kit's own sheet decides.
"""

from __future__ import annotations

import re

from wetside.domain.calc.wording import volume
from wetside.domain.planning.plan import VolumeUnit
from wetside.domain.profile.model import Profile, Solution
from wetside.domain.shelf.decide import bottled, mixed_into_a_bottle, unknown_solution

FULL_ML = 1000.0
"""The volume the profiles' mixing texts are written for."""

_PER_LITRE = re.compile(r"(\d+(?:\.\d+)?) (ml|l|g) for (?:one|1|a) lit(?:re|er)")

PART_CAUTION = (
    "CAUTION: You are mixing part of a kit. Powders are not alike all through the bag: a part of one may have any"
    " strength. Split liquid concentrates only, and measure each part. (Common practice, no source.)"
)
FIRST = "The kit's own sheet decides: where it says otherwise, follow it and not these lines."


def mixing_guide(
    profile: Profile, wanted: tuple[tuple[str, float], ...], unit: VolumeUnit = "ml"
) -> tuple[str, ...]:
    """The guide for (solution id, volume in ml) in the profile's order, cautions before each act.

    A caution comes first where less is mixed than the texts are written for. Refused for a solution that the
    profile keeps in no bottle, and for a volume that no bottle holds.
    """
    volumes = dict(wanted)
    for id_, ml in volumes.items():
        if id_ not in bottled(profile):
            raise unknown_solution(profile, id_)
        mixed_into_a_bottle(ml)
    lines = [FIRST]
    if any(ml < FULL_ML for _, ml in wanted):
        lines.append(PART_CAUTION)
    for number, solution in enumerate((s for s in profile.solutions if s.id in volumes), 1):
        lines += _solution_lines(profile, solution, number, volumes[solution.id], unit)
    return tuple(lines)


def _solution_lines(
    profile: Profile, solution: Solution, number: int, volume_ml: float, unit: VolumeUnit
) -> list[str]:
    lines = ["", f"{number}. {solution.title}, {volume(volume_ml, unit)}"]
    for id_ in solution.needs_caution:
        caution = profile.caution(id_)
        lines.append(f"   {caution.signal}: {caution.hazard} {caution.consequence} {caution.avoid}")
    lines += [f"   {hazard.code} {hazard.text}" for hazard in solution.hazards]
    if not solution.mixing:
        lines.append("   This profile says nothing about mixing it: follow the kit's own sheet.")
    acts = enumerate(solution.mixing, 1)
    lines += [f"   {number}.{act} {scaled(words, volume_ml, unit)}" for act, words in acts]
    return lines


def scaled(words: str, volume_ml: float, unit: VolumeUnit = "ml") -> str:
    """`words` with each "800 ml for one litre" worked out for this volume: "400 ml for 500 ml"."""
    made = volume(volume_ml, unit)

    def for_volume(found: re.Match[str]) -> str:
        amount = float(found[1]) * volume_ml / FULL_ML
        if found[2] == "l" or (found[2] == "ml" and unit != "ml"):
            return f"{volume(amount * (1000.0 if found[2] == 'l' else 1.0), unit)} for {made}"
        shown = f"{amount:.1f}".rstrip("0").rstrip(".")
        return f"{shown} {found[2]} for {made}"

    return words if volume_ml == FULL_ML and unit == "ml" else _PER_LITRE.sub(for_volume, words)
