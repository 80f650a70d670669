"""What a fault of developed film is: the shape of a row of the fault tables, and the rows that both tables share.

`faults_negative.py` has the rows of film that comes out as a negative, `faults_positive.py` those of reversal
film.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.profile.model import Sure
from wetside.frozen import dataclass

Edge = Literal["normal", "weak", "dense", "missing", "fogged"]
"""How the edge markings look. On a positive "weak" is numbers too dark, "dense" a black edge that is thin,
"missing" black without numbers, "fogged" an edge that is clear."""

Group = Literal["density", "colour", "light", "lines", "marks", "surface"]

GROUPS: tuple[tuple[Group, str], ...] = (
    ("density", "Too thin, too dense, too flat, or blank"),
    ("colour", "Wrong colours, muddy or milky"),
    ("light", "Fog, streaks of light, lightning, bands"),
    ("lines", "Scratches, streaks, a band along one edge"),
    ("marks", "Spots, patches, crescents, fingerprints"),
    ("surface", "Soft, wrinkled, dirty or sticky"),
)
"""What is asked between the edge markings and the fault, so that no list is long."""

ANY: tuple[Edge, ...] = ("normal", "weak", "dense")
NAVY = "NAVEDTRA 14209 table 10-1"
LAB = "laboratory manual CIS-254"
ARMY = "US Army subcourse SS0509-8"
ATLAS = "a film archive's online atlas"
BLEACH = "theory guide TG2044-1 (reversal film, the same bleach)"
HANDBOOK = "a photographic handbook"
NONE = "no print seen"


@dataclass(frozen=True, slots=True)
class FilmFault:
    """One thing that can be seen. edges: how the edge markings look with it.

    causes: likely ones, the likeliest first. change: what to do about it next time, or to this film. tell: by what
    it is told from what looks like it; "" where nothing does. sure, source: of the causes.
    """

    id: str
    group: Group
    words: str
    edges: tuple[Edge, ...]
    causes: tuple[str, ...]
    change: tuple[str, ...]
    sure: Sure = Sure.MEMORY
    source: str = NONE
    tell: str = ""


CAMERA_OR_TANK = (
    "By place and rhythm: a leak in the camera lies at the same place of the picture, comes again from frame to"
    " frame, and is worst where the camera waited in the light; one in tank or loading takes no heed of the"
    " frames, is worst on the outer turns of the reel, and lies on every roll of that fill"
)

ON_ANY_FILM: tuple[FilmFault, ...] = (
    FilmFault(
        "scratch-loading",
        "lines",
        "Short or crooked scratches and dents, few and irregular",
        ANY,
        ("The film was dragged over a reel, an edge or a finger nail while it was loaded, or it was forced",),
        ("Hold it by the edges; dry reel, dry hands; stop when it jams.",),
        tell="They lie across or askew and come once; a camera or a squeegee draws along the film",
    ),
    FilmFault(
        "scratch-wiping",
        "lines",
        "Scratches along the film, not quite straight, on what was wiped",
        ANY,
        ("Grit under a squeegee, fingers or cloth: wet emulsion is soft",),
        ("Use two clean wet gloved fingers, or let it drip; rinse the squeegee first.", "Never wipe it dry."),
        tell="They waver, begin and end with a stroke of the hand, on one roll or on all that were wiped",
    ),
    FilmFault(
        "reticulation",
        "surface",
        "A fine web of wrinkles in the emulsion",
        ANY,
        ("A step of more than 2.8 °C (5 °F) from one bath or wash to the next",),
        ("Read the wash water too; keep all baths together in temperature.",),
        Sure.PRINT,
        ARMY,
    ),
    FilmFault(
        "soft",
        "surface",
        "Soft emulsion, frilled at the edges",
        ANY,
        ("Baths or wash too warm, or the wash too long",),
        ("Cooler wash water; keep to the time.",),
        Sure.PRINT,
        ARMY,
    ),
    FilmFault(
        "drying-marks",
        "surface",
        "Tear drops, scum or white patches",
        ANY,
        ("Drops dried on the film: hard water, no stabiliser, or wiping with something dirty",),
        (
            "Mix the stabiliser with distilled water.",
            "Wet the film again, rinse it in fresh stabiliser, hang it again.",
        ),
        Sure.PRINT,
        NAVY,
    ),
    FilmFault(
        "fingerprints-after",
        "surface",
        "Greasy fingerprints on the surface",
        ANY,
        ("Bare fingers touched the dry film",),
        (
            "Hold it by the edges, or in cotton gloves.",
            "Wash it once more and give it fresh stabiliser: most come off.",
        ),
        tell="They shine when the film is tilted against a lamp; a print that lies in the picture does not",
    ),
    FilmFault(
        "stain",
        "colour",
        "Yellow or brown stain, even or in patches",
        ANY,
        (
            "Developer carried into the bleach or bleach-fix, an old brown developer, or a wash too short;"
            " in patches, film that stood uncovered",
        ),
        (
            "Keep the washes the process has.",
            "Mix fresh developer.",
            "Bleach, fix and wash once more: try it on an end.",
        ),
    ),
)
"""Rows that read alike for a negative and a positive."""
