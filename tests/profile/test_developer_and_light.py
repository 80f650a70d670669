"""The proofs of the developer and of the light: every way to ruin film that a profile can write is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_profile
from tests.profile.test_check import (
    MOTION,
    SLIDES,
    THREE,
    TWO,
    edit_solution,
    edit_step,
    edit_tick,
)
from tests.shipped import shipped_profile

from wetside.domain.profile.model import (
    LEAST_BELL_S,
    Agitation,
    Kind,
    Profile,
    ReadingAsk,
    Scope,
    Step,
    Tick,
    is_developer,
)
from wetside.domain.proof.developer import MOST_BY_ITS_END, MOST_LEAD_IN_S
from wetside.errors import FileUnusable
from wetside.files.profile_file import read_profile

Change = Callable[[Profile], Profile]


def put_before(profile: Profile, before: str, step: Step) -> Profile:
    at = next(number for number, each in enumerate(profile.steps) if each.id == before)
    return replace(profile, steps=(*profile.steps[:at], step, *profile.steps[at:]))


def look_round(scope: Scope, ticks: int = 7) -> Step:
    killers = tuple(Tick(f"t{n}", f"Thing number {n} is so", killer=True) for n in range(ticks))
    step = Step("between", "A look round", "baths", Kind.CHECK, "batch", "Look.", "Go on.", ticks=killers)
    return replace(step, scope=scope)


def wait_for(solution: str) -> Step:
    ask = ReadingAsk(solution, "Bleach-fix", (35.0, 40.0))
    step = Step("between", "Read the next bath", "baths", Kind.WAIT, "batch", "Wait.", "Go on.")
    return replace(step, readings=(ask,))


def never_read(profile: Profile, solution: str, *in_steps: str) -> Profile:
    """Nothing asks for this solution in these steps (in none at all, where none is named)."""
    steps = tuple(
        replace(step, readings=tuple(ask for ask in step.readings if ask.of != solution))
        if not in_steps or step.id in in_steps
        else step
        for step in profile.steps
    )
    return replace(profile, steps=steps)


def only_noted(profile: Profile, solution: str, change: Callable[[ReadingAsk], ReadingAsk]) -> Profile:
    """It is read as before, and no reading keeps anybody from pouring."""
    steps = tuple(
        replace(step, readings=tuple(change(ask) if ask.of == solution else ask for ask in step.readings))
        for step in profile.steps
    )
    return replace(profile, steps=steps)


def beside_the_tank(profile: Profile, *but: str) -> Profile:
    """Every bath and wash goes into the jar, but for these."""
    steps = tuple(
        replace(step, into="rinse-jar") if step.into == "tank" and step.id not in but else step
        for step in profile.steps
    )
    return replace(profile, steps=steps)


def unmarked(profile: Profile, step_id: str) -> Profile:
    """No item of this step is critical any more."""
    ticks = tuple(replace(tick, killer=False) for tick in profile.step(step_id).ticks)
    return edit_step(profile, step_id, ticks=ticks)


# What ruins the film, in which profile, how, and what a finding must say: first the step it names.
RUINED: tuple[tuple[str, str, Change, tuple[str, ...]], ...] = (
    (
        "the whole session looks round between developer and bleach-fix",
        TWO,
        lambda p: put_before(p, "bleach-fix", look_round("session", 1)),
        ('Step "between"', "once for the whole session", "still minds light", 'scope = "batch"'),
    ),
    (
        "a second film is begun between developer and bleach-fix",
        TWO,
        lambda p: put_before(p, "bleach-fix", look_round("session", 1)),
        ('Step "developer"', "tank fill 2 is begun between it and Bleach-fix", 'scope "session"'),
    ),
    (
        "the whole session looks round between loading and developer",
        THREE,
        lambda p: put_before(p, "warm-tank", look_round("session", 1)),
        ('Step "between"', "once for the whole session", "tank fill 2"),
    ),
    (
        "the whole session looks round while the film still minds light",
        THREE,
        lambda p: put_before(p, "fixer", look_round("session", 1)),
        ('Step "between"', "between Load in the dark room and Fixer"),
    ),
    (
        "ticks in a step of their own after the developer",
        TWO,
        lambda p: put_before(p, "bleach-fix", look_round("batch")),
        ('Step "bleach-fix"', "stands between Developer and it", 'with due = "end"'),
    ),
    (
        "any step of its own after the developer",
        TWO,
        lambda p: put_before(p, "bleach-fix", look_round("batch", 1)),
        ('Step "between"', "stands between Developer and Bleach-fix", "move it"),
    ),
    (
        "a wait after the developer",
        TWO,
        lambda p: put_before(p, "bleach-fix", wait_for("bleach-fix")),
        ('Step "between"', "stands between Developer and Bleach-fix", "move it"),
    ),
    (
        "ticks that keep the developer itself from ending",
        THREE,
        lambda p: edit_step(p, "developer", ticks=tuple(Tick(f"t{n}", f"Thing {n} is so") for n in range(3))),
        ('Step "developer"', "3 ticks are due by its end", "at most 2"),
    ),
    (
        "one tick between the developer and what follows",
        TWO,
        lambda p: edit_step(p, "bleach-fix", ticks=(Tick("one", "One thing is so", due="start"),)),
        ('Step "bleach-fix"', '"One thing is so" stands between Developer and it', 'with due = "end"'),
    ),
    (
        "a tick of the lid that waits for what follows the developer",
        TWO,
        lambda p: edit_tick(p, "lid", "cap", due="bleach-fix"),
        ('Step "bleach-fix"', "stands between Developer and it"),
    ),
    (
        "what follows waits for a bath in the background",
        TWO,
        lambda p: edit_step(edit_step(p, "prewet", background=True), "bleach-fix", joins="prewet"),
        ('Step "bleach-fix"', "waits for a bath in the background"),
    ),
    (
        "nothing stops the developer",
        THREE,
        lambda p: beside_the_tank(p, "developer"),
        ('Step "developer"', "no bath or wash in the tank ends the work of the developer"),
    ),
    (
        "developer in the background",
        TWO,
        lambda p: edit_step(edit_step(p, "developer", background=True), "bleach-fix", joins="developer"),
        ('Step "developer"', "leave background out"),
    ),
    (
        "developer that can be paused",
        TWO,
        lambda p: edit_step(p, "developer", pausable=True),
        ('Step "developer"', "leave pausable out"),
    ),
    (
        "developer as a wash",
        TWO,
        lambda p: edit_step(p, "developer", kind=Kind.WASH),
        ('Step "developer"', 'make it kind = "bath"'),
    ),
    (
        "developer that may run on",
        TWO,
        lambda p: edit_step(p, "developer", ends="not before"),
        ('Step "developer"', "leave its ends out"),
    ),
    (
        "developer once for the whole session",
        TWO,
        lambda p: edit_step(p, "developer", scope="session"),
        ('Step "developer"', 'make it scope = "batch"'),
    ),
    (
        "developer into an open basin",
        TWO,
        lambda p: edit_step(p, "developer", into="basin"),
        ('Step "developer"', "closed tank", "vessel of the kind tank"),
    ),
    (
        "a later bath beside the tank, before the film is safe",
        THREE,
        lambda p: edit_step(p, "bleach", into="rinse-jar"),
        ('Step "bleach"', "keeps no light out", "until Fixer has ended", "pour it into the tank"),
    ),
    (
        "developer never read",
        TWO,
        lambda p: never_read(p, "developer"),
        ('Step "developer"', "nothing asks for the temperature of the developer", "with a range"),
    ),
    (
        "developer read before the loading alone",
        THREE,
        lambda p: never_read(p, "developer", "read-again", "warm-again"),
        ('Step "developer"', "between the loading and this pour", "with a range"),
    ),
    (
        "developer read after the warming alone, not after a loading beside it",
        TWO,
        lambda p: never_read(p, "developer", "warm-again"),
        ('Step "developer"', "nothing asks for the temperature", "while warming", "tank fill 1"),
    ),
    (
        "developer read when anybody likes",
        MOTION,
        lambda p: only_noted(p, "developer", lambda ask: replace(ask, required=False)),
        ('Step "developer"', "nothing asks for the temperature"),
    ),
    (
        "developer read at whatever temperature",
        MOTION,
        lambda p: only_noted(p, "developer", lambda ask: replace(ask, range_c=None)),
        ('Step "developer"', "nothing asks for the temperature"),
    ),
    (
        "second developer never read after the loading",
        SLIDES,
        lambda p: never_read(p, "colour-developer", "read-again"),
        ('Step "colour-developer"', "temperature of the colour developer"),
    ),
    (
        "a minute of lead-in after the developer",
        TWO,
        lambda p: edit_step(p, "bleach-fix", lead_in_s=60.0),
        ('Step "bleach-fix"', "its lead-in is 60 s", 'lead_in = "0 s"'),
    ),
    (
        "the settings' lead-in after the developer",
        TWO,
        lambda p: edit_step(p, "bleach-fix", lead_in_s=None),
        ('Step "bleach-fix"', "left to the settings", 'lead_in = "0 s"'),
    ),
    (
        "nothing asked before the dark",
        TWO,
        lambda p: edit_step(p, "load-room", ticks=()),
        ('Step "load-room"', "film is bare here", "killer = true"),
    ),
    (
        "nothing that must be confirmed before the changing bag",
        TWO,
        lambda p: unmarked(p, "load-bag"),
        ('Step "load-bag"', "film is bare here", "changing bag"),
    ),
    (
        "hands in water of 60 °C",
        TWO,
        lambda p: edit_solution(p, "water", target_c=55.0, range_c=(50.0, 60.0)),
        ('Step "backing"', "60 °C is asked for", "no hand goes in above 43 °C"),
    ),
    (
        "hands in water whose accepted reading is too hot",
        TWO,
        lambda p: edit_step(p, "backing", readings=(ReadingAsk("bath", "Basin", (40.0, 45.0)),)),
        ('Step "backing"', "45 °C is asked for"),
    ),
    (
        "call to agitate every millisecond",
        TWO,
        lambda p: edit_step(p, "developer", agitation=Agitation(30.0, 0.001, 0.001, "Turn it.")),
        ('Step "developer"', "agitation is called every 0.001 s", "at least 5 s"),
    ),
)


@pytest.mark.parametrize(("what", "name", "change", "said"), RUINED, ids=[ruin[0] for ruin in RUINED])
def test_every_fault_that_ruins_film_is_found_and_named(
    what: str, name: str, change: Change, said: tuple[str, ...]
) -> None:
    profile = shipped_profile(name)
    if name == TWO:
        profile = replace(profile, accepts=("backed",))  # a quarter of the paths, and every step is on them
    found = check_profile(change(profile))
    told = [finding for finding in found if all(words in finding for words in said)]
    assert told, "\n".join(found) or "nothing found"
    assert told[0].startswith(said[0])


def test_profiles_at_the_limits_pass() -> None:
    profile = edit_step(shipped_profile(TWO), "bleach-fix", lead_in_s=MOST_LEAD_IN_S)
    profile = edit_step(profile, "load-room", bell_every_s=LEAST_BELL_S)
    profile = edit_step(profile, "load-bag", bell_every_s=0.0)
    most = tuple(Tick(f"t{n}", f"Thing {n} is so") for n in range(MOST_BY_ITS_END))
    profile = edit_step(profile, "developer", ticks=most)
    assert check_profile(profile) == ()


def test_the_shipped_developers_are_recognised() -> None:
    known = {
        name: {step.solution for step in shipped_profile(name).steps if is_developer(shipped_profile(name), step)}
        for name in (TWO, THREE, MOTION, SLIDES)
    }
    assert known == {
        TWO: {"developer"},
        THREE: {"developer"},
        MOTION: {"developer"},
        SLIDES: {"first-developer", "colour-developer"},
    }


@pytest.mark.parametrize(("written", "bell_s"), [("0 s", 0.0), ("10 s", 10.0), ("5 min", 300.0)])
def test_a_bell_in_the_dark_is_off_or_at_long_intervals(tmp_path: Path, written: str, bell_s: float) -> None:
    assert with_bell(tmp_path, written).step("load-room").bell_every_s == bell_s


@pytest.mark.parametrize("written", ["0.001 s", "9.9 s"])
def test_a_file_with_a_bell_too_often_is_refused(tmp_path: Path, written: str) -> None:
    with pytest.raises(FileUnusable) as refusal:
        with_bell(tmp_path, written)
    (sentence,) = refusal.value.sentences
    assert f'bell_every: "{written}" makes no sense here' in sentence
    assert "every 10 s at the most often; 0 s is none" in sentence


def with_bell(folder: Path, written: str) -> Profile:
    text = shipped_profile(TWO).text
    changed = text.replace('id = "load-room"\n', f'id = "load-room"\nbell_every = "{written}"\n')
    assert changed != text
    path = folder / "bell.toml"
    path.write_text(changed, "utf-8")
    return read_profile(path)
