"""A kit as it is mixed: what fills which bottle, and the figures that a bottle takes along from its profile.

Plain frozen values. A plan of a mixing evening holds them, and the shelf keeps them with every bottle.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.calc.stock import Test
from wetside.domain.planning.setup import Material
from wetside.domain.profile.model import SignalWord
from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class SolutionFigures:
    """What the profile said about a solution on the day it was mixed.

    Capacities are rolls of 135-36 per litre, lives days; None where the profile gives none. signal: the gravest
    signal word of its cautions, None without one; hazards: the words of its hazard codes, without the codes.
    """

    solution: str
    title: str
    storage: Literal["bottle", "one-shot", "tap"]
    test: Test
    capacity_per_l: float | None
    stretch_per_l: float | None
    life_full_days: float | None
    life_part_days: float | None
    looks_healthy: str
    looks_spent: str
    disposal: str
    signal: SignalWord | None = None
    hazards: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BottleToFill:
    """One bottle that the evening fills, in its step `step`."""

    step: str
    volume_ml: float
    figures: SolutionFigures
    material: Material = "soft"


@dataclass(frozen=True, slots=True)
class KitToMix:
    """What a mixing evening makes. price: of the whole set, in the person's own currency; None where not known."""

    name: str
    price: float | None
    bottles: tuple[BottleToFill, ...]
