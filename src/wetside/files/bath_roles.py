"""What a bath is, and what follows from it alone: which residues spoil which bath, and why.

The pairs and their reasons are common practice of the trade (no source) but for the gases: acid in a bath with
sulfite or thiosulfate gives off sulfur dioxide (ICSC 0074; ICSC 1200), acid in a ferricyanide bleach hydrogen
cyanide (ICSC 1132), both seen second-hand.
"""

from __future__ import annotations

from typing import Final

from wetside.domain.profile.model import Role

_DEVELOPER: Final = "A drop of {0} spoils the developer."
_FOAMS: Final = "{0} foams in the {1} and weakens it."

RESIDUES: Final[dict[tuple[Role, Role], str]] = {
    ("prebath", "developer"): "{0} changes the developer and carries black into it.",
    ("stop", "developer"): "Acid stops the developer for good.",
    ("bleach", "developer"): _DEVELOPER,
    ("fixer", "developer"): "A drop of {0} ends the developer.",
    ("bleach-fix", "developer"): "A drop of {0} ends the developer.",
    ("stabiliser", "developer"): "{0} spoils the developer and foams.",
    ("stop", "bleach"): "Acid in the bleach can give off very poisonous gas.",
    ("stop", "fixer"): "Acid in the fixer gives off sulfur dioxide.",
    ("stop", "bleach-fix"): "Acid in the bleach-fix gives off sulfur dioxide.",
    ("bleach", "stop"): "Bleach and acid can give off very poisonous gas.",
    ("fixer", "stop"): "Fixer and acid give off sulfur dioxide.",
    ("bleach-fix", "stop"): "Bleach-fix and acid give off sulfur dioxide.",
    ("bleach", "fixer"): "Bleach uses the fixer up: the wash between them keeps it alive.",
    ("fixer", "bleach"): "Fixer weakens the bleach.",
    ("stabiliser", "bleach"): _FOAMS,
    ("stabiliser", "fixer"): _FOAMS,
    ("stabiliser", "bleach-fix"): _FOAMS,
}
"""The reason why a residue of one bath must not reach the other: {0} is the one's title, {1} the other's."""


def residue_words(pair: tuple[str, str], residue: str, solution: str) -> str:
    """The reason of a pair of roles in RESIDUES, with the titles of the two baths; at most 150 characters."""
    words = next(each for known, each in RESIDUES.items() if known == pair)
    said = words.format(residue.lower(), solution.lower())
    return (said[:1].upper() + said[1:])[:150]
