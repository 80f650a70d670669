"""What to do about each mishap in the light, what has become of the film, and how sure that is. Data.

What names no print is common practice or from memory, and says so. The kit's own sheet decides.
"""

from __future__ import annotations

from wetside.domain.profile.model import Sure
from wetside.domain.session.events import MishapId
from wetside.domain.session.mishaps import ELSEWHERE, WARM_BATH
from wetside.frozen import dataclass

PRACTICE = "common practice, no source"
MEMORY = "from memory, no print seen"


@dataclass(frozen=True, slots=True)
class Answer:
    """do: what to do now, in order. film: what has become of it. sure, source: how well that is known.

    {due} is the bath that belongs into the tank now, {about} what the mishap is about, {ml} what covers the reels.
    """

    do: tuple[str, ...]
    film: str
    sure: Sure = Sure.PRACTICE
    source: str = PRACTICE


_SILVER = (Sure.PRINT, "theory guide TG2044-1 (reversal film, the same bleach): bleach and fix again")
_MINIMUM = (Sure.PRINT, "process manual Z-131: the times of these baths are minimums")
_REMEMBERED = (Sure.MEMORY, MEMORY)
_CONTAMINATED = (Sure.PRINT, "laboratory manual CIS-254, p. 6: replace all of a contaminated developer")
_MERCURY = "Silver drops are mercury: touch nothing, air the room, no vacuum cleaner; ask the poison centre."
_NO_THERMOMETER = "Another thermometer, or none: the last reading and the forecast are then all there is."
_ON_THE_FLOOR = "Skin or eyes: first aid, key a. Gloves on, floor first: it is slippery."
_RINSE_TOOLS = "Rinse funnel and graduate thoroughly."
_RINSE = "Rinse everything it touched, the developer's funnel first."

ANSWERS: dict[tuple[MishapId, str], Answer] = {
    ("wrong bath", "no film"): Answer(
        (
            "Pour it back if nothing was in the tank before it.",
            "Wash and dry tank, lid and reels; rinse the funnel.",
        ),
        "No film has been in it.",
    ),
    ("wrong bath", "developer at once"): Answer(
        (
            "Leave it in: it is the developer. Note the moment it went in and keep its time by a second clock.",
            "Go on to the developer's step, start its clock, and set it right with 'started late'.",
        ),
        "It develops already, without the bath before it: a cooler start, perhaps uneven.",
    ),
    ("wrong bath", "wrong developer"): Answer(
        ("Pour it out now, and not back into a bottle.", "Wash four times in warm water, lid on; then {due}."),
        "Made for another step: the picture is changed in tone and colour, and nothing takes that back.",
        *_REMEMBERED,
    ),
    ("wrong bath", "fixer first"): Answer(
        (
            "Pour it back through its own funnel; it is not spoilt.",
            "Do not develop this fill: there is nothing left to develop, and it would cost you the developer."
            " Key w ends the evening here.",
            _RINSE,
        ),
        "Fixed before it was developed: the pictures are gone, and nothing brings them back.",
        *_REMEMBERED,
    ),
    ("wrong bath", "bleach first"): Answer(
        (
            "Pour it back at once; lid on, wash in many changes of water, 5 minutes or more.",
            "Then develop if you will: expect little. A trace of bleach ends a developer: use one you can lose.",
            _RINSE,
        ),
        "The picture not yet developed is a trace of silver, and bleach takes it: faint or gone.",
        *_REMEMBERED,
    ),
    ("wrong bath", "undeveloped, other"): Answer(
        (
            "Pour it out, not back into a bottle; lid on, wash four times in warm water.",
            "Then go on with {due}.",
            _RINSE,
        ),
        "Probably unharmed: it neither develops nor fixes. What stays in the film may disturb the developer.",
        *_REMEMBERED,
    ),
    ("wrong bath", "developer again"): Answer(
        ("Pour it out NOW, back into its bottle.", "Then {due} at once, and its clock from that pour."),
        "Developed too long in all",
    ),
    ("wrong bath", "fixer before bleach"): Answer(
        (
            "Give it its time, or pour it back now.",
            "Wash well, lid on: fixer must not get into the bleach.",
            "Then bleach, wash, and fix again for the full time; the last wash as planned.",
        ),
        "The picture is safe; its silver is still there, and bleach and a second fixer take it out.",
        *_SILVER,
    ),
    ("wrong bath", "too soon"): Answer(
        (
            "Leave it in and give it its whole time, with good agitation in the first minute.",
            "What was to come before it is left out now; do not go back to it.",
        ),
        "Developer came with the film into it: perhaps stains and fog, mostly in the first rows.",
        *_REMEMBERED,
    ),
    ("wrong bath", "developed, other"): Answer(
        (
            "Pour it out now, not back into a bottle.",
            "Then {due} at once: the developer in the film works on till then.",
        ),
        "Developed a little longer than meant, and perhaps unevenly.",
    ),
    ("wrong bath", "again"): Answer(
        ("Pour it back, wash with the lid on, then {due}.", "Give {due} its whole time."),
        "No harm: a second time in it changes nothing.",
        *_SILVER,
    ),
    ("wrong bath", "bleached, developer"): Answer(
        (
            "Pour it out now, not back into its bottle.",
            "Lid on; wash, bleach again for the whole time, wash, then fix.",
        ),
        "What was bleached can develop once more: stain, fog and false colours. Bleach and fixer take its silver"
        " out, not its dye.",
        *_REMEMBERED,
    ),
    ("wrong bath", "bleached, other"): Answer(
        ("Pour it out, not back; wash with the lid on, then {due} for its whole time.",),
        "No harm to the picture as long as it is fixed in the end.",
        *_REMEMBERED,
    ),
    ("wrong bath", "fixed, developer"): Answer(
        ("Pour it out, not back into its bottle.", "Wash long, then go on with {due}."),
        "Fixed film has nothing left to develop: no harm, at most a stain.",
    ),
    ("wrong bath", "fixed"): Answer(
        ("Pour it back if it is clean, wash the film again, then {due}.",),
        "No harm: the film is fixed.",
    ),
    ("lid off", "not loaded"): Answer(
        ("Look whether any film lay open. Film in its cassette or can is safe.",),
        "Only film out of its cassette is fogged.",
    ),
    ("lid off", "undeveloped"): Answer(
        (
            "Lid on, now. Light off if it cannot be closed.",
            "Go on only if inner turns may be worth it: a second of room light takes the outer ones.",
        ),
        "Struck by light before the developer: fogged, the outer turns and the edges most.",
    ),
    ("lid off", "developing"): Answer(
        (
            "Lid on, now.",
            "If most of the developer's time is done, pour it out and get the next bath in at once: fog needs time"
            " to develop, the picture has had its own.",
            "Else give it its time: the inner turns may be saved.",
        ),
        "Struck by light in the developer: what light reached goes on to full density.",
        *_REMEMBERED,
    ),
    ("lid off", "developed"): Answer(
        ("Lid on; the next bath in at once: developer is still in the film and works on what light has struck.",),
        "Fogged where light reached it; the sooner the next bath is in, the less.",
        *_REMEMBERED,
    ),
    ("lid off", "reversed"): Answer(
        ("Lid on, go on as planned.",),
        "Little or no harm: after the first developer all that is left is made developable anyway.",
        *_REMEMBERED,
    ),
    ("lid off", "bleached"): Answer(
        (
            "Lid on, go on and give the bath its whole time.",
            "In the first minute of the bath, developer is still in the film: then expect some fog.",
        ),
        "Mostly unharmed: without developer, light makes nothing that the fixer does not take out.",
        *_REMEMBERED,
    ),
    ("lid off", "safe"): Answer(("Go on.",), "No harm: it is fixed and does not mind light."),
    ("overrun", "none"): Answer(
        ("Nothing is over its time yet by the clocks.",), "As planned, by the clocks of this fill."
    ),
    ("overrun", "in time"): Answer(
        ("Nothing: its time is not over yet by the clock. Pour out on the call.",), "As planned, by its clock."
    ),
    ("overrun", "developer"): Answer(
        (
            "If it is still in: pour it out now and get the next bath in at once.",
            "All other baths as planned; shorten none. Tell whoever prints or scans.",
        ),
        "Developed too long",
    ),
    ("overrun", "minimum"): Answer(
        ("Pour it out when you can; go on as planned.",),
        "No harm: this bath runs to its end and stops.",
        *_MINIMUM,
    ),
    ("overrun", "wash"): Answer(
        ("Pour the water off and go on.",),
        "A few minutes do no harm; long or warm washing softens the emulsion: handle it by the edges.",
        Sure.PRINT,
        "US Army subcourse SS0509-8",
    ),
    ("not covered", "none"): Answer(
        ("Before the pour: {ml} cover the reels of this fill. Measure it with water in a spare tank.",),
        "Nothing yet.",
    ),
    ("not covered", "developer"): Answer(
        (
            "Top it up at once with developer of the same temperature, to {ml} in all. Never with water.",
            "None left? Turn the tank over all the time, so that every part is wetted; keep its time.",
        ),
        "What stood out got less: a band along one edge of the upper roll, thin in a negative, dark in a slide."
        " Nothing brings it back.",
    ),
    ("not covered", "other"): Answer(
        (
            "Top it up to {ml} with the same bath, and give it its whole time from now.",
            "None left? Do it in two goes, the tank turned upside down between them; the lid stays on.",
        ),
        "No lasting harm: this bath can be given again until it has done its work.",
        *_SILVER,
    ),
    ("contaminated", "in the tank"): Answer(
        (
            "Leave it in to its time: stopping early only adds a fault.",
            "Do not pour it back: collect it, and mix fresh for the next fill.",
            "Rinse tank, reels and funnel thoroughly.",
        ),
        "Fog, stain or false density, by how much got in; how much matters, no print was found that says.",
        *_CONTAMINATED,
    ),
    ("contaminated", "before"): Answer(
        ("Do not use it: mix fresh. A trace is enough to spoil film.", _RINSE_TOOLS),
        "None has been in it: keep it so.",
        *_CONTAMINATED,
    ),
    ("contaminated", "after"): Answer(
        ("Do not use that developer again: mix fresh.", _RINSE_TOOLS),
        "If it happened after the film was out of it: no harm.",
        *_CONTAMINATED,
    ),
    ("forgotten", "none"): Answer(("Go on: no bath of this fill is due yet.",), "No bath has been in yet."),
    ("forgotten", "developer"): Answer(
        (
            "If bleach or fixer has been in, do not develop any more: see 'Wrong bath in the tank'.",
            "Else: developer now.",
        ),
        "Without developer there is no picture; after bleach or fixer it cannot be had any more.",
        *_REMEMBERED,
    ),
    ("forgotten", "first developer"): Answer(
        ("Go on as planned: it cannot be made up for once the next developer has been in.",),
        "Slides come out black, or as negatives: the first developer makes the picture.",
        *_REMEMBERED,
    ),
    ("forgotten", "last developer"): Answer(
        ("If neither bleach nor fixer has been in: give it now, then go on in order.",),
        "Without it there is no dye: once fixed, the film is clear for good.",
        *_REMEMBERED,
    ),
    ("forgotten", "prebath"): Answer(
        (
            "Leave the developer in to its time; it cannot go back into its bottle.",
            "Take the backing off by hand in the light, when the film is fixed.",
        ),
        "Backing may have come off in the developer: specks and smears, on other rolls of the fill too.",
        *_REMEMBERED,
    ),
    ("forgotten", "prewet"): Answer(
        ("Read the developer in the tank as soon as you can: a cold tank has cooled it.",),
        "No harm in itself.",
    ),
    ("forgotten", "wash"): Answer(
        (
            "Before the film is dry: wash it now, then the baths that come after the wash once more.",
            "Dry already? Soak it for some minutes and do the same.",
        ),
        "What was to be washed out is still in it: stains and fading later, unless it is washed now.",
    ),
    ("forgotten", "bleach"): Answer(
        ("Wash, bleach for the whole time, wash, fix again, wash. It can be done in the light, days later too.",),
        "Its silver is still there: dark, grainy, dull. That can be mended.",
        *_SILVER,
    ),
    ("forgotten", "fixer"): Answer(
        ("Keep it out of strong light; fix for the whole time now, then wash and go on.",),
        "Milky, and it still minds light. That can be mended.",
        *_SILVER,
    ),
    ("forgotten", "bleach-fix"): Answer(
        ("Lid on, film wet, out of the light: bleach-fix for the whole time now, then wash and go on.",),
        "Silver and halide are still in it, and it still minds light. That can be mended.",
        *_SILVER,
    ),
    ("forgotten", "between"): Answer(
        ("If the bath after it has not been in yet: give it now. Else go on; it cannot be made up for.",),
        "By what it was for: after a stop left out, stain; after a reversal bath left out, no colour.",
        *_REMEMBERED,
    ),
    ("forgotten", "rinse"): Answer(
        ("Wet the film again, give it this bath for its time, and hang it again, unwiped.",),
        "Drying marks; older film types fade. That can be mended.",
        *_REMEMBERED,
    ),
    ("spill", "bath in"): Answer(
        (
            _ON_THE_FLOOR,
            "Cap the other bottles before you wipe. Nothing that was spilt goes back into a bottle.",
            "Out of the tank: see 'The film is not covered'. Wipe with water and paper, never household bleach.",
        ),
        "No harm as long as the rest covers it.",
    ),
    ("spill", "bottle"): Answer(
        (
            _ON_THE_FLOOR,
            "Cap the other bottles before you wipe. Nothing that was spilt goes back into a bottle.",
            "Measure what is left: {ml} cover the reels. Say it on the shelf. Never household bleach.",
        ),
        "No harm as long as enough is left to cover it.",
    ),
    ("off reel", "dry"): Answer(
        ("Back into the dark or the bag, light off, and wind it on again. No bath before that.",),
        "No harm yet.",
    ),
    ("off reel", "wet"): Answer(
        (
            "The lid stays on. Turn the tank gently, and give every bath its whole time.",
            "In the light, once it is fixed: wind it on again and fix or bleach-fix once more for the whole time.",
        ),
        "Where turns touched, the developer did not reach: no picture there, and milky until it is fixed again.",
        *_REMEMBERED,
    ),
    ("off reel", "safe"): Answer(
        ("Under water, by the edges: wind it on again; milky patches: fix or bleach-fix once more, then wash.",),
        "Where turns touched there is no picture; the rest is unharmed.",
        *_REMEMBERED,
    ),
    ("thermometer", "bottle"): Answer(
        (
            "Do not use that bottle: glass in it cuts, and what filled the thermometer spoils it.",
            _MERCURY,
            _NO_THERMOMETER,
        ),
        "No harm if it has not been in that bath; if it has, filter nothing: collect the bath.",
        *_REMEMBERED,
    ),
    ("thermometer", WARM_BATH): Answer(
        (
            "No hand into the water: glass. Bottles out with tongs, rinse them, pour the water off slowly.",
            _MERCURY,
            "Warm the bottles in fresh water. Rinse each neck before it is opened.",
        ),
        "No harm: the bottles were capped.",
        *_REMEMBERED,
    ),
    ("thermometer", ELSEWHERE): Answer(
        (
            f"Gloves; sweep up wet with paper. {_MERCURY}",
            _NO_THERMOMETER,
        ),
        "No harm.",
        *_REMEMBERED,
    ),
}
"""For each mishap and each of its cases."""
