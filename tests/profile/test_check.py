"""The check: shipped profiles pass, every fault put into one is found and named, and sound ones raise no alarm."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any

import pytest
import tomli_w
from msgspec.structs import replace
from tests.checking import check_profile, check_setup
from tests.profile.mutants import at
from tests.shipped import profile_from_text, read_shipped, shipped_profile, shipped_setup, shipped_setups

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Agitation, Kind, Profile, ReadingAsk, ResidueRule, Tick
from wetside.domain.proof.check import planned_paths
from wetside.errors import FileUnusable
from wetside.files.profile_places import profiles_by_name, shipped_dir
from wetside.files.setup_file import read_setup

SHIPPED = tuple(profiles_by_name())
THREE, MOTION, SLIDES, TWO = "three-bath", "motion-picture", "one-shot-reversal", "two-bath"
PREBATH = "two-bath-prebath"


def edit_step(profile: Profile, id_: str, **changes: Any) -> Profile:
    assert any(step.id == id_ for step in profile.steps)
    steps = tuple(replace(step, **changes) if step.id == id_ else step for step in profile.steps)
    return replace(profile, steps=steps)


def edit_tick(profile: Profile, step_id: str, tick_id: str, **changes: Any) -> Profile:
    """A tick changed; with `gone=True` left out, with `to="step"` moved to another step."""
    host = profile.step(step_id)
    tick = next(tick for tick in host.ticks if tick.id == tick_id)
    rest = tuple(each for each in host.ticks if each.id != tick_id)
    if changes.pop("gone", False):
        return edit_step(profile, step_id, ticks=rest)
    to = changes.pop("to", step_id)
    changed = replace(tick, **changes)
    if to == step_id:
        ticks = tuple(changed if each.id == tick_id else each for each in host.ticks)
        return edit_step(profile, step_id, ticks=ticks)
    moved = edit_step(profile, step_id, ticks=rest)
    return edit_step(moved, to, ticks=(*moved.step(to).ticks, replace(changed, id=f"{tick_id}-moved")))


def edit_reading(profile: Profile, step_id: str, of: str, **changes: Any) -> Profile:
    readings = profile.step(step_id).readings
    assert of in {ask.of for ask in readings}
    return edit_step(
        profile, step_id, readings=tuple(replace(ask, **changes) if ask.of == of else ask for ask in readings)
    )


def edit_solution(profile: Profile, id_: str, **changes: Any) -> Profile:
    profile.solution(id_)
    solutions = tuple(replace(each, **changes) if each.id == id_ else each for each in profile.solutions)
    return replace(profile, solutions=solutions)


def shared_funnels(profile: Profile) -> Profile:
    return replace(profile, vessels=tuple(replace(vessel, dedicated_to=None) for vessel in profile.vessels))


def without_clearing(profile: Profile, *things: str) -> Profile:
    """No tick and no step rinses these things any more."""
    steps = tuple(
        replace(
            step,
            rinses=tuple(thing for thing in step.rinses if thing not in things),
            ticks=tuple(
                replace(tick, clears=tuple(thing for thing in tick.clears if thing not in things))
                for tick in step.ticks
            ),
        )
        for step in profile.steps
    )
    return replace(profile, steps=steps)


def two_kinds(profile: Profile) -> Profile:
    """For standard and backed film alone: a quarter of the paths of three kinds."""
    return replace(profile, accepts=("standard", "backed"))


def with_last(profile: Profile, *moved: str, before: str) -> Profile:
    """Steps put where they come too late: just before another."""
    kept = [step for step in profile.steps if step.id not in moved]
    at = next(number for number, step in enumerate(kept) if step.id == before)
    return replace(profile, steps=(*kept[:at], *(profile.step(id_) for id_ in moved), *kept[at:]))


def test_every_shipped_profile_has_an_example_and_passes() -> None:
    assert {TWO, PREBATH, THREE, MOTION, SLIDES} <= set(SHIPPED)
    assert {read_setup(path).profile for path in shipped_setups()} >= set(SHIPPED)


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_profiles_pass(name: str) -> None:
    assert check_profile(shipped_profile(name)) == ()


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_shipped_setups_pass(path: Any) -> None:
    setup = read_setup(path)
    assert setup.invented
    assert check_setup(shipped_profile(setup.profile), setup) == ()


Change = Callable[[Profile], Profile]

# What is broken, in which profile, how, and what a finding must say: first the step (or solution) it names.
FAULTS: tuple[tuple[str, str, Change, tuple[str, ...]], ...] = (
    # --- residues
    (
        "wash between bleach and fixer clears nothing",
        THREE,
        lambda p: edit_step(p, "bleach-wash", rinses=()),
        ('Step "fixer"', "still carries bleach", "Path: ", "<- here"),
    ),
    (
        "tank never rinsed, so the second fill starts with the first one's fixer",
        THREE,
        lambda p: without_clearing(p, "tank"),
        ('Step "developer"', "still carries fixer", "tank fill 2"),
    ),
    (
        "prebath stays in the tank",
        MOTION,
        lambda p: edit_step(p, "flush", rinses=()),
        ('Step "developer', "still carries prebath", "backed film"),
    ),
    (
        "acid reaches the bleach",
        MOTION,
        lambda p: edit_step(p, "stop-wash", rinses=()),
        ('Step "bleach"', "still carries stop"),
    ),
    (
        "shared funnel not rinsed",
        SLIDES,
        lambda p: edit_tick(p, "first-developer", "a-rinsed", clears=()),
        ('Step "reversal"', "Funnel A still carries first developer"),
    ),
    (
        "shared funnel rinsed too late",
        SLIDES,
        lambda p: edit_tick(p, "first-developer", "a-rinsed", due="colour-developer"),
        ('Step "reversal"', "Funnel A still carries first developer"),
    ),
    (
        "shared funnel carries over to the second fill",
        SLIDES,
        lambda p: edit_tick(p, "colour-developer", "a-rinsed", gone=True),
        ('Step "first-developer"', "Funnel A still carries colour developer", "tank fill 2"),
    ),
    (
        "funnel may be rinsed before it is dirtied again",
        SLIDES,
        lambda p: edit_tick(p, "colour-developer", "a-rinsed", to="reversal"),
        ('Step "first-developer"', "Funnel A still carries colour developer"),
    ),
    (
        "fixer poured through another bath's funnel",
        THREE,
        lambda p: edit_step(p, "fixer", through="bleach-funnel"),
        ('Step "fixer"', "kept for bleach alone"),
    ),
    (
        "developer and bleach share a funnel nobody rinses",
        THREE,
        lambda p: without_clearing(
            edit_step(shared_funnels(p), "developer", through="bleach-funnel"), "bleach-funnel"
        ),
        ('Step "developer"', "Bleach funnel still carries bleach", "reaches it"),
    ),
    (
        "developer comes back through a dirty funnel",
        THREE,
        lambda p: without_clearing(
            edit_step(shared_funnels(p), "developer", back_through="fixer-funnel"), "fixer-funnel"
        ),
        ('Step "developer"', "Fixer funnel still carries fixer", "comes back"),
    ),
    (
        "a new rule nothing keeps",
        THREE,
        lambda p: replace(p, residue_rules=(*p.residue_rules, ResidueRule("developer", "bleach", "Made up."))),
        ('Step "bleach"', "still carries developer"),
    ),
    # --- ticks
    (
        "tick due before it can be made",
        THREE,
        lambda p: edit_tick(p, "wash", "fixer-capped", due="fixer"),
        ('Step "wash"', 'falls due before "fixer"', "before it can be made"),
    ),
    (
        "tick due before its own step",
        THREE,
        lambda p: edit_tick(p, "wash", "fixer-capped", due="wash"),
        ('Step "wash"', 'falls due before "wash"'),
    ),
    (
        "tick due in the dark",
        THREE,
        lambda p: edit_tick(p, "load-room", "no-light", due="end"),
        ('Step "load-room"', "falls due in the dark", "dark room"),
    ),
    (
        "tick of an earlier step due at nobody's sight",
        THREE,
        lambda p: edit_tick(p, "practice", "wound", when=("pushed", "not pushed")),
        ('Step "practice"', "no path shows"),
    ),
    (
        "a tick while the developer works",
        THREE,
        lambda p: edit_tick(p, "bleach", "funnel-rinsed", due="start"),
        ('Step "bleach"', '"Developer funnel rinsed and laid apart" stands between Developer and it'),
    ),
    (
        "eight ticks at once",
        THREE,
        lambda p: edit_step(p, "sound", ticks=tuple(Tick(f"t{n}", f"Thing {n} done") for n in range(8))),
        ('Step "sound"', "8 ticks"),
    ),
    # --- bottles
    (
        "bottle left open",
        THREE,
        lambda p: edit_tick(p, "bleach-wash", "bleach-capped", closes=None),
        ('Step "bleach"', "no tick closes it"),
    ),
    (
        "bottle closed for one kind of film alone",
        MOTION,
        lambda p: edit_tick(p, "stop-wash", "developer-capped", when=("backed",)),
        ('Step "developer"', "no tick closes it", "standard film"),
    ),
    (
        "bottle closed before it is opened",
        THREE,
        lambda p: edit_tick(p, "bleach", "developer-capped", to="lid", due="end"),
        ('Step "developer"', "no tick closes it"),
    ),
    (
        "last bottle never closed",
        MOTION,
        lambda p: edit_tick(p, "bottles", "rinse-capped", gone=True),
        ('Step "final-rinse"', "no tick closes it"),
    ),
    # --- light
    (
        "lid may come off while the fixer works",
        THREE,
        lambda p: edit_tick(p, "wash", "opened", to="fixer", due="wash"),
        ('Step "fixer"', "the lid comes off here", "until Fixer has ended"),
    ),
    (
        "lid off after the bleach",
        THREE,
        lambda p: edit_tick(p, "bleach-wash", "runs-clear", lid="off"),
        ('Step "bleach-wash"', "the lid comes off here"),
    ),
    (
        "nothing makes the film safe",
        THREE,
        lambda p: edit_solution(p, "fixer", makes_light_safe=False),
        ('Step "wash"', "the lid comes off here", "to the very end"),
    ),
    (
        "lid never put on in one of the places",
        THREE,
        lambda p: edit_step(p, "load-bag", lid=None),
        ('Step "developer"', "before the lid is on", "changing bag"),
    ),
    (
        "lid never taken off",
        THREE,
        lambda p: edit_tick(p, "wash", "opened", lid=None),
        ('Step "off-reel"', "no step or tick takes it off"),
    ),
    (
        "lid taken off after the rolls are handled",
        THREE,
        lambda p: edit_tick(p, "wash", "opened", due="drying"),
        ('Step "off-reel"', "the lid comes off only later"),
    ),
    (
        "poured before the film is loaded",
        THREE,
        lambda p: with_last(p, "load-room", "load-bag", before="bleach"),
        ('Step "developer"', "before the lid is on"),
    ),
    # --- hazards
    (
        "caution left out",
        MOTION,
        lambda p: edit_step(edit_step(p, "room", cautions=("children",)), "stop", cautions=("acid",)),
        ('Step "stop"', 'before its caution "stop-gas"'),
    ),
    (
        "caution shown only after the pour",
        THREE,
        lambda p: edit_step(
            edit_step(p, "chemistry", cautions=()), "bleach-wash", cautions=("bleach-gas", "fixer-gas")
        ),
        ('Step "warm-bath"', "Bleach is opened before its caution"),
    ),
    (
        "hazardous bath without any caution",
        THREE,
        lambda p: edit_step(edit_solution(p, "bleach", needs_caution=()), "bleach", cautions=()),
        ('Step "bleach"', "without any caution"),
    ),
    (
        "no gloves at all",
        THREE,
        lambda p: edit_tick(p, "protect", "gloves-on", gloves=False),
        ('Step "warm-bath"', "gloves are on"),
    ),
    (
        "no gloves after the loading",
        THREE,
        lambda p: edit_tick(p, "lid", "gloves-again", gloves=False),
        ('Step "', "gloves are on again after the loading"),
    ),
    (
        "hazard that asks for no gloves",
        THREE,
        lambda p: edit_solution(p, "bleach", gloves=False),
        ('Solution "bleach"', "no gloves"),
    ),
    ("no first aid", THREE, lambda p: replace(p, first_aid=()), ("its first aid has 0 lines",)),
    # --- background
    (
        "background bath never joined",
        THREE,
        lambda p: edit_step(p, "hang-up", joins=None),
        ('Step "final-rinse"', "no later step joins it"),
    ),
    (
        "drying never joined",
        SLIDES,
        lambda p: edit_step(p, "take-down", joins=None),
        ('Step "drying"', "no later step joins it"),
    ),
    (
        "joins a step that does not run on",
        THREE,
        lambda p: edit_step(p, "hang-up", joins="wash"),
        ('Step "hang-up"', "does not run in the background"),
    ),
    (
        "joins a later step",
        THREE,
        lambda p: edit_step(p, "sound", joins="drying"),
        ('Step "sound"', "which comes later"),
    ),
    # --- figures
    (
        "on time without a table",
        THREE,
        lambda p: edit_solution(p, "developer", table=()),
        ('Solution "developer"', "no table of times"),
    ),
    (
        "range beyond the table",
        THREE,
        lambda p: edit_solution(p, "developer", range_c=(30.0, 39.0)),
        ('Solution "developer"', "outside its table"),
    ),
    (
        "reading accepted outside the range",
        THREE,
        lambda p: edit_step(p, "read-again", readings=(ReadingAsk("developer", "Developer", (30.0, 45.0)),)),
        ('Step "read-again"', "outside its own range"),
    ),
    (
        "keeps longer part-full",
        THREE,
        lambda p: edit_solution(p, "fixer", life_full_days=10.0, life_part_days=20.0),
        ('Solution "fixer"', "part-full"),
    ),
    (
        "stretch below capacity",
        THREE,
        lambda p: edit_solution(p, "fixer", capacity_per_l=8.0, stretch_per_l=4.0),
        ('Solution "fixer"', "stretch"),
    ),
    (
        "agitation longer than its interval",
        THREE,
        lambda p: edit_step(p, "bleach", agitation=Agitation(30.0, 10.0, 30.0, "Turn it over.")),
        ('Step "bleach"', "agitation"),
    ),
    # --- order, texts, ids
    (
        "step nobody reaches",
        THREE,
        lambda p: edit_step(p, "practice", when=("backed",)),
        ('Step "practice"', "no path reaches it"),
    ),
    (
        "conditions that exclude each other",
        TWO,
        lambda p: edit_step(p, "practice", when=("first batch", "later batch")),
        ('Step "practice"', "no path reaches it"),
    ),
    (
        "check that pours",
        THREE,
        lambda p: edit_step(p, "lid", solution="bleach"),
        ('Step "lid"', "pours nothing"),
    ),
    (
        "measures nothing",
        THREE,
        lambda p: edit_step(p, "read-again", readings=()),
        ('Step "read-again"', "measures nothing"),
    ),
    # --- readings
    (
        "bottle read before its caution",
        PREBATH,
        lambda p: edit_step(two_kinds(p), "set-out-prebath", cautions=()),
        ('Step "warm-bath"', 'Prebath is opened before its caution "alkali"', "backed film"),
    ),
    (
        "read although nothing pours it tonight",
        PREBATH,
        lambda p: edit_reading(two_kinds(p), "temper", "prebath", when=()),
        ('Step "temper"', "Prebath must be read here, and nothing pours it afterwards", "standard film"),
    ),
    (
        "read once more after its last pour",
        THREE,
        lambda p: edit_step(p, "drying", kind=Kind.MEASURE, readings=(ReadingAsk("fixer", "Fixer"),)),
        ('Step "drying"', "Fixer must be read here, and nothing pours it afterwards"),
    ),
    (
        "every reading of a step has a condition",
        THREE,
        lambda p: edit_reading(p, "read-again", "developer", when=("first batch",)),
        ('Step "read-again"', "nothing is left to read here", "tank fill 2"),
    ),
    (
        "reading nobody reaches",
        PREBATH,
        lambda p: edit_reading(two_kinds(p), "read-again", "prebath", when=("later batch",)),
        ('Step "read-again"', 'no path reads "Prebath"'),
    ),
    (
        "one thing read twice",
        PREBATH,
        lambda p: edit_step(
            two_kinds(p), "temper", readings=(*p.step("temper").readings, ReadingAsk("prebath", "Again"))
        ),
        ('Step "temper"', "Prebath is asked for 2 times", "backed film"),
    ),
    (
        "gear nobody lists",
        THREE,
        lambda p: edit_tick(p, "gear-film", "clips", gone=True),
        ('Gear "clips"', "no step lists it"),
    ),
    (
        "caution nobody shows",
        THREE,
        lambda p: edit_step(p, "load-room", cautions=("dark",)),
        ('Caution "fog"', "no step shows it"),
    ),
)


@pytest.mark.parametrize(("what", "name", "change", "said"), FAULTS, ids=[fault[0] for fault in FAULTS])
def test_a_fault_is_found_and_named(what: str, name: str, change: Change, said: tuple[str, ...]) -> None:
    found = check_profile(change(shipped_profile(name)))
    told = [finding for finding in found if all(words in finding for words in said)]
    assert told, "\n".join(found) or "nothing found"
    assert said[0] in told[0].split("\n")[0]


REFUSED: tuple[tuple[str, Callable[[dict[str, Any]], object], str], ...] = (
    ("bath of 75 °C", lambda d: d["solutions"]["bleach"].update(target="75 °C"), "between 0 and 60 °C"),
    ("range upside down", lambda d: d["solutions"]["fixer"].update(range=["41 °C", "24 °C"]), "must be lower"),
    ("no time at all", lambda d: at(d, "wash").update(time="0:00"), "a time is more than 0"),
    ("lead-in of 90 s", lambda d: at(d, "fixer").update(lead_in="90 s"), "at most 60 s"),
    ("bell each second", lambda d: at(d, "load-room").update(bell_every="1 s"), "every 10 s at the most often"),
    ("title too long", lambda d: at(d, "wash").update(title="x" * 33), "it has 33 characters"),
    ("tick too long", lambda d: at(d, "wash")["ticks"][0].update(text="x" * 61), "it has 61 characters"),
    ("instruction too long", lambda d: at(d, "wash").update(instruction="y" * 151), "it has 151 characters"),
    ("three cautions at once", lambda d: at(d, "bleach").update(cautions=["eyes"] * 3), "it has 3 entries"),
    ("unknown condition", lambda d: at(d, "wash").update(when=["not baked"]), '"not baked" is no condition'),
    ("caution that is not there", lambda d: at(d, "bleach").update(cautions=["smoke"]), 'no caution "smoke"'),
)


@pytest.mark.parametrize(("what", "change", "said"), REFUSED, ids=[fault[0] for fault in REFUSED])
def test_the_reader_refuses_what_no_check_has_to_find(
    what: str, change: Callable[[dict[str, Any]], object], said: str
) -> None:
    data = tomllib.loads(shipped_profile(THREE).text)
    change(data)
    with pytest.raises(FileUnusable, match=re.escape(said)):
        profile_from_text(tomli_w.dumps(data), "mine.toml")


def test_there_are_at_least_forty_faults() -> None:
    assert len(FAULTS) >= 40
    assert len({what for what, *_ in FAULTS}) == len(FAULTS)


def test_a_broken_rinse_is_told_step_by_step() -> None:
    (finding,) = check_profile(edit_step(shipped_profile(THREE), "bleach-wash", rinses=()))
    assert finding.split("\n") == [
        'Step "fixer" (Fixer): Tank with lid, column, reels still carries bleach when fixer reaches it.'
        " Bleach uses the fixer up: the wash between them keeps it alive.",
        "  Path: standard or slide film; dark room, after warming (and on 11 more)",
        "     16. Bleach (tank fill 1): bleach reaches bleach funnel and tank with lid, column, reels; goes back"
        ' through bleach funnel; "Developer bottle squeezed and capped" by the start of Wash in the closed tank;'
        ' "Developer funnel rinsed and laid apart" by the start of Wash in the closed tank',
        "     17. Wash in the closed tank (tank fill 1): warm water reaches tank with lid, column, reels;"
        ' "Bleach bottle capped" by the end of Wash in the closed tank; "Bleach funnel rinsed and laid apart"'
        " by the end of Wash in the closed tank",
        "     18. Fixer (tank fill 1): fixer reaches fixer funnel and tank with lid, column, reels; goes back"
        " through fixer funnel   <- here",
    ]


KINDS = ("standard", "slide", "pushed")
NEVER = Tick("never", "Never shown", when=(*KINDS, *(f"not {kind}" for kind in KINDS)))


def told_apart(profile: Profile) -> Profile:
    """With a tick that no evening shows, whose conditions give each kind, and pushed film, paths of its own."""
    first = profile.steps[0]
    return edit_step(profile, first.id, ticks=(*first.ticks, NEVER))


@pytest.mark.parametrize(
    "name", [THREE, SLIDES, *(pytest.param(n, marks=pytest.mark.long) for n in (TWO, MOTION))]
)
@pytest.mark.parametrize("broken", [False, True])
def test_proving_one_film_kind_of_each_path_finds_what_proving_all_finds(name: str, broken: bool) -> None:
    """Walking every kind, place, push apart finds what the shorter walk finds."""
    tick = f'no path shows "{NEVER.text}"'
    profile = without_clearing(shipped_profile(name), "tank") if broken else shipped_profile(name)
    short = {finding.split("\n")[0] for finding in check_profile(profile)}
    long = {finding.split("\n")[0] for finding in check_profile(told_apart(profile))}
    assert bool(short) == broken
    assert {finding for finding in long if tick not in finding} == short
    assert len(long) == len(short) + 1


def plans_of(profile: Profile) -> tuple[list[Plan], set[frozenset[str]]]:
    """The plans of all ways through it, and the mixes of film that share a fill."""
    plans = [way.plan for way in planned_paths(profile) if way.plan is not None]
    return plans, {frozenset(roll.kind for roll in plan.setup.rolls) for plan in plans if len(plan.batches) == 1}


def test_paths_take_each_kind_place_and_number_of_fills() -> None:
    plans, mixes = plans_of(shipped_profile(TWO))
    # a backing that stays on shares no fill; slide film goes as standard film does
    assert mixes == {frozenset(("standard",)), frozenset(("backed",))}
    assert {plan.setup.place for plan in plans} == {"dark room", "changing bag"}
    assert {len(plan.batches) for plan in plans} >= {1, 2, 3}
    plans, mixes = plans_of(told_apart(replace(shipped_profile(TWO), accepts=("standard", "slide"))))
    assert mixes == {frozenset(kinds) for kinds in (("standard",), ("slide",), ("standard", "slide"))}
    assert {batch.push for plan in plans for batch in plan.batches} == {0.0, 1.0}


# ---------------------------------------------------------------- setups


def test_a_setup_is_checked_against_its_profile() -> None:
    setup = shipped_setup("three-rolls")
    profile = shipped_profile(TWO)
    first = replace(setup, rolls=(setup.rolls[0], replace(setup.rolls[1], label=setup.rolls[0].label)))
    assert "Two rolls are called" in check_setup(profile, first)[0]
    assert any("no bottle of stabiliser" in text for text in check_setup(profile, replace(setup, bottles=())))
    small = tuple(replace(bottle, volume_ml=100.0) for bottle in setup.bottles)
    assert any("short" in text for text in check_setup(profile, replace(setup, bottles=small)))
    cold = replace(setup, water=replace(setup.water, hot_c=10.0, cold_c=20.0))
    assert any("hot tap" in text for text in check_setup(profile, cold))
    worn = tuple(replace(bottle, used_rolls=40.0) for bottle in setup.bottles)
    assert any("beyond its capacity" in text for text in check_setup(profile, replace(setup, bottles=worn)))
    full = tuple(replace(bottle, volume_ml=1000.0, used_rolls=5.3) for bottle in setup.bottles)
    assert check_setup(profile, replace(setup, bottles=full)) == ()
    backed = replace(setup, rolls=(replace(setup.rolls[0], kind="backed"), *setup.rolls[1:]))
    wrong = check_setup(shipped_profile(THREE), backed)
    assert any("does not take backed film" in text for text in wrong)
    assert any('has no "bleach-fix"' in text for text in wrong)


def test_a_setup_is_refused_only_for_a_fault_on_its_own_path() -> None:
    broken = edit_step(shipped_profile(MOTION), "flush", rinses=())
    setup = shipped_setup("motion-picture-short-ends")
    (finding,) = check_setup(broken, setup)
    assert "still carries prebath" in finding
    assert "Path: this setup" in finding
    unbacked = replace(setup, rolls=tuple(roll for roll in setup.rolls if roll.kind == "standard"))
    assert check_setup(broken, unbacked) == ()


def test_each_shipped_process_states_its_bleach_its_fixer_and_what_it_yields() -> None:
    """The shelf's tests, the fault tables and the advice on mishaps go by these."""
    for file in sorted(shipped_dir().glob("*.toml")):
        profile = read_shipped(file)
        assert any(solution.bleaches for solution in profile.solutions), file.name
        assert any(solution.makes_light_safe for solution in profile.solutions), file.name
        assert (profile.yields == "positive") == any("Reversal" in s.title for s in profile.solutions), file.name


def test_a_sheet_of_one_time_is_told_what_would_make_its_range_sound() -> None:
    """The remedies that the finding names are remedies: a range no wider than the time's, or a table_tolerance."""
    one = edit_solution(shipped_profile("two-bath"), "developer", table=((38.0, 195.0),), target_c=38.0)
    wide = edit_solution(one, "developer", range_c=(37.7, 38.3))
    told = [each for each in check_profile(wide) if "table_tolerance" in each]
    assert len(told) == 1
    assert "narrow the range" in told[0]
    for mended in (
        edit_solution(wide, "developer", table_tolerance_c=0.3),
        edit_solution(wide, "developer", range_c=(37.9, 38.1)),
    ):
        assert not [each for each in check_profile(mended) if "table_tolerance" in each]
