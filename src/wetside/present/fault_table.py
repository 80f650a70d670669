"""How negatives came out: what is seen, its likely causes, and what to change next time. A table to find in.

The edge markings are asked about first: they are exposed in the factory, so they tell what processing did from
what the camera did. Each row says where its causes come from and how sure they are; what to change is common
practice, no source. Nothing is diagnosed: causes are likely ones.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.profile.model import Sure
from wetside.frozen import dataclass

Edge = Literal["normal", "weak", "dense", "missing", "fogged"]

EDGES: tuple[tuple[Edge, str], ...] = (
    ("normal", "Clear and sharp, as usual"),
    ("weak", "Weak, hard to read"),
    ("dense", "Heavy and dark, or filled in"),
    ("missing", "None at all"),
    ("fogged", "Grey or coloured fog over them"),
)
"""What edge numbers and edge print can look like; asked first."""

WELL = "well"
CAME_OUT_WELL = "Came out well"
OWN_WORDS = "own words"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that can be seen. edges: how the edge markings look with it."""

    id: str
    words: str
    edges: tuple[Edge, ...]
    causes: tuple[str, ...]
    change: tuple[str, ...]
    sure: Sure
    source: str


_NAVY = "NAVEDTRA 14209 table 10-1"
_LAB = "laboratory manual CIS-254"
_ARMY = "US Army subcourse SS0509-8"
_ATLAS = "a film archive's online atlas"
_BLEACH = "theory guide TG2044-1 (reversal film, the same bleach)"
_NONE = "no print seen"
_ANY: tuple[Edge, ...] = ("normal", "weak", "dense")

FAULTS: tuple[Fault, ...] = (
    Fault(
        "thin-processing",
        "Thin all over",
        ("weak",),
        ("Developer too short, too cold, used up, too dilute, or the tank hardly moved",),
        (
            "Read the developer in the tank, not the bath.",
            "Test the developer with a scrap leader.",
            "Agitate on every call.",
        ),
        Sure.PRINT,
        f"{_NAVY}; {_LAB}",
    ),
    Fault(
        "thin-exposure",
        "Thin, little in the shadows",
        ("normal",),
        ("Under-exposure: the processing was right, the edge numbers say so",),
        ("Give more exposure, or check the camera's film-speed setting.", "Change nothing in the developer."),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "dense",
        "Dense, with hard contrast",
        ("dense",),
        ("Developer too long, too hot or too strong, or bleach-fix got into it",),
        ("Pour out on the call.", "Read the temperature in the tank.", "Keep a funnel for the developer alone."),
        Sure.PRINT,
        _LAB,
    ),
    Fault(
        "dense-exposure",
        "Dense, yet the edge numbers are as usual",
        ("normal",),
        ("Over-exposure: the processing was right",),
        ("Give less exposure; colour negative forgives a stop or two.",),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "flat",
        "Flat: little contrast",
        ("normal", "weak"),
        ("Too little agitation, a diluted developer, or one that air has got at",),
        ("Agitate on every call.", "Squeeze the air out of the developer bottle after each use."),
        Sure.PRINT,
        _LAB,
    ),
    Fault(
        "crossover",
        "Shadows and highlights have opposite casts",
        _ANY,
        ("Developer temperature or time off, so that the layers did not develop alike",),
        ("Hold the developer nearer to its temperature; no printing or scanning mends this wholly.",),
        Sure.PRINT,
        _ATLAS,
    ),
    Fault(
        "retained-silver",
        "Muddy: all densities up, weak colours, grain",
        _ANY,
        ("Silver left in the film: bleach or bleach-fix weak, cold, too short, without air, or diluted",),
        (
            "Bleach and fix these rolls again in good solution: that may mend them.",
            "Time a clearing test; mix fresh if it is spent.",
        ),
        Sure.PRINT,
        _BLEACH,
    ),
    Fault(
        "milky",
        "Milky or yellowish where it should be clear",
        _ANY,
        ("Silver halide left in the film: fixer or bleach-fix weak or diluted",),
        ("Fix again in good solution: that may mend it.", "Time a clearing test; mix fresh if it is spent."),
        Sure.PRINT,
        _BLEACH,
    ),
    Fault(
        "low-red",
        "Cyan is missing: prints and scans turn red",
        _ANY,
        ("Part of the cyan dye stayed colourless: bleach-fix or bleach used up or without air",),
        ("Bleach again in a good bleach: from memory, that may bring it back.", "Mix fresh bleach-fix."),
        Sure.PRINT,
        "US Army subcourse SS0514 (colour paper)",
    ),
    Fault(
        "fog-all",
        "Fog over pictures and edges",
        ("fogged",),
        ("Light got in while loading or at the lid, developer was contaminated, or the film is old",),
        ("Load in a darker place; check the lid and its ring.", "Look at the developer: mix fresh if in doubt."),
        Sure.SECOND_HAND,
        "a photographic handbook",
    ),
    Fault(
        "fog-frames",
        "Fog inside the frames only, edges clear",
        ("normal",),
        ("Light leak in the camera",),
        ("Look at the camera's back and bellows; change nothing in the processing.",),
        Sure.PRINT,
        _NAVY,
    ),
    Fault(
        "surge",
        "Streaks from the perforations",
        _ANY,
        ("Agitation too hard or too regular, or the tank filled slowly",),
        ("Turn the tank gently and each time a little differently.", "Pour in without a stop."),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "patches",
        "Streaks and patches elsewhere",
        _ANY,
        ("Too little agitation, splashes before the bath, or a dirty tank",),
        ("Agitate on every call.", "Wash tank and reels; let them dry."),
        Sure.PRINT,
        _NAVY,
    ),
    Fault(
        "air-bells",
        "Clear round spots",
        _ANY,
        ("Air bells clung to the film in the developer",),
        ("Rap the tank after pouring in and after each agitation.",),
        Sure.PRINT,
        f"NAVEDTRA 14209; {_ARMY}",
    ),
    Fault(
        "crescents",
        "Dark crescents",
        _ANY,
        ("The film was kinked when it was wound on the reel",),
        ("Do not force the film; practise with an old roll.",),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "touching",
        "Undeveloped, milky patches where turns touched",
        _ANY,
        ("Two turns of film lay against each other on the reel",),
        ("Count the turns by touch; load again if it feels thick. Fixing again does not bring the picture back.",),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "reticulation",
        "A fine web of wrinkles in the emulsion",
        _ANY,
        ("A step of more than 2.8 °C (5 °F) from one bath or wash to the next",),
        ("Read the wash water too; keep all baths together in temperature.",),
        Sure.PRINT,
        _ARMY,
    ),
    Fault(
        "soft",
        "Soft emulsion, frilled at the edges",
        _ANY,
        ("Baths or wash too warm, or the wash too long",),
        ("Cooler wash water; keep to the time.",),
        Sure.PRINT,
        _ARMY,
    ),
    Fault(
        "drying-marks",
        "Tear drops, scum or white patches",
        _ANY,
        ("Drops dried on the film: hard water, no stabiliser, or wiping with something dirty",),
        ("Mix the stabiliser with distilled water.", "Wipe once, or not at all."),
        Sure.PRINT,
        _NAVY,
    ),
    Fault(
        "backing",
        "Black specks or sticky smears",
        _ANY,
        ("Backing left on the film or carried to the emulsion side",),
        (
            "On the base side: wet it again and wipe. On the emulsion side it usually stays.",
            "Rub in more changes of water.",
        ),
        Sure.PRINT,
        _ATLAS,
    ),
    Fault(
        "blank",
        "Blank film",
        ("missing",),
        ("Developer dead or left out, or bleach-fix went in first",),
        (
            "Test the developer with a scrap leader before film goes in.",
            "Mark the bottles so that a wet hand can tell them.",
        ),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "unexposed",
        "No pictures, but edge numbers",
        ("normal",),
        ("The film was never exposed: it did not run through the camera",),
        ("Watch the rewind knob turn when the film is advanced.",),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "black",
        "Black all over",
        ("dense", "missing", "fogged"),
        ("Struck by light before it was fixed",),
        ("Lid on and locked before the light goes on; look for what opened it.",),
        Sure.MEMORY,
        _NONE,
    ),
    Fault(
        "uneven-backed",
        "Uneven cyan or red patches on backed film",
        _ANY,
        ("Fixing or the backing's removal went wrong: told by one practitioner, the cause could not be read",),
        ("Fix again in good solution; take the backing off before the next bath if your process allows it.",),
        Sure.SECOND_HAND,
        "one practitioner's account",
    ),
    Fault(
        "drift",
        "Colours drift within weeks",
        _ANY,
        ("Stabiliser or final rinse left out (older film types)",),
        ("Give the stabiliser its time, last of all baths.",),
        Sure.MEMORY,
        _NONE,
    ),
)


def fault(id_: str) -> Fault:
    """The row with this id; KeyError when there is none."""
    for each in FAULTS:
        if each.id == id_:
            return each
    raise KeyError(id_)


def faults_with(edge: str) -> tuple[Fault, ...]:
    """What can be seen when the edge markings look like this, what only they tell apart first."""
    return tuple(sorted((each for each in FAULTS if edge in each.edges), key=lambda each: len(each.edges)))


def look_choices(edge: str) -> tuple[tuple[str, str], ...]:
    """The options of the list of what can be seen: (id, words); that all is well, and own words, among them."""
    seen = tuple((each.id, each.words) for each in faults_with(edge))
    well = ((WELL, "They came out well"),) if edge == "normal" else ()
    return (*well, *seen, (OWN_WORDS, "Something else, in my own words"))


def look_note(edge: str, id_: str) -> str:
    """What is kept with the session: what was seen, and how the edge markings looked."""
    words = CAME_OUT_WELL if id_ == WELL else fault(id_).words
    return f"{words}; edge numbers {edge}"


def look_lines(id_: str) -> tuple[str, ...]:
    """The page about what was seen: likely causes, what to change, and how sure that is."""
    if id_ == WELL:
        return ("Kept. Nothing to change.",)
    found = fault(id_)
    return (
        "Likely causes:",
        *(f"- {cause}." for cause in found.causes),
        "What to change next time:",
        *(f"- {each}" for each in found.change),
        f"How sure the causes are: {found.sure.value}; {found.source}. What to change is common practice.",
        "Kept with this session; shown when the same process or bottles are planned again.",
    )
