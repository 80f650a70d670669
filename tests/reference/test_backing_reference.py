"""Film with its black backing on, beside the film and the baths it would spoil.

Sources: an encyclopaedia's word that loose backing spoils the developer — seen second-hand; that backed film goes
by itself and last where nothing takes the backing off before — common practice, no source.
"""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import PROFILES, plan_for, shipped_profile, shipped_setup

from wetside.domain.planning.baths import keeps_backing
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Roll
from wetside.domain.profile.model import FilmKind
from wetside.domain.shelf.debit import debits
from wetside.files.profile_places import profiles_by_name
from wetside.files.setup_file import read_setup, setup_from_text, write_setup
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines, serious

pytestmark = pytest.mark.common_practice


def planned(kinds: tuple[FilmKind, ...], name: str = "three-rolls", pushes: tuple[float, ...] = ()) -> Plan:
    setup = shipped_setup(name)
    rolls = tuple(
        Roll(f"{number}", kind, push=push)
        for number, (kind, push) in enumerate(zip(kinds, pushes or (0.0,) * len(kinds), strict=True))
    )
    return plan_for(replace(setup, rolls=rolls))


def test_only_the_two_bath_process_keeps_the_backing_in_the_developer() -> None:
    keep = {path.stem for path in profiles_by_name().values() if keeps_backing(shipped_profile(path.stem))}
    assert keep == {"two-bath"}


# each example plans an evening; more rolls than there are sorts of them tell nothing new
@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.sampled_from(("standard", "backed", "slide")), st.sampled_from((0.0, 1.0))),
        min_size=1,
        max_size=6,
    )
)
def test_backed_film_has_its_own_fill_after_all_others(rolls: list[tuple[FilmKind, float]]) -> None:
    plan = planned(tuple(kind for kind, _ in rolls), pushes=tuple(push for _, push in rolls))
    kinds = [{plan.setup.rolls[roll].kind for roll in batch.rolls} for batch in plan.batches]
    assert all(len(each) == 1 for each in kinds if "backed" in each)
    backed = [batch.backing_on for batch in plan.batches]
    assert backed == ["backed" in each for each in kinds]
    assert backed == sorted(backed)


def test_backed_film_is_not_separated_where_a_prebath_removes_the_backing() -> None:
    plan = planned(("backed", "standard"), "prebath-four-rolls")
    assert [batch.backing_on for batch in plan.batches] == [False, False]
    assert "backing-on" not in [worry.code for worry in plan.warnings]


@pytest.mark.parametrize("kinds", [*permutations(("standard", "backed", "slide")), ("backed",)])
def test_the_plan_warns_of_developer_bottle_and_other_rolls_and_offers_the_prebath(
    kinds: tuple[FilmKind, ...],
) -> None:
    plan = planned(kinds)
    (worry,) = (worry for worry in serious(plan) if worry.code == "backing-on")
    assert all(word in in_words(worry) for word in ("developer", "bottles", "rolls developed in it later"))
    offered = shipped_profile(plan.profile_id).backed_instead
    assert offered in in_words(worry)
    assert "backed" in shipped_profile(offered).accepts
    assert not keeps_backing(shipped_profile(offered))
    batches = plan_json(plan)["batches"]
    assert [batch["backing_on"] for batch in batches] == [False] * (len(batches) - 1) + [True]
    assert ("goes by itself, and last" in " ".join(" ".join(plan_lines(plan, 80, False, None)).split())) == (
        len(kinds) > 1
    )


@pytest.mark.parametrize("path", sorted((PROFILES / "setups").glob("*.toml")), ids=lambda path: path.stem)
def test_no_shipped_example_carries_a_backing_into_a_developer(path: Path) -> None:
    setup = read_setup(path)
    assert setup.invented
    assert not [w for w in plan_for(setup).warnings if w.code == "backing-on"]


def led_through() -> Guide:
    """An evening with a standard and a backed roll, completed with bottles of the shelf."""
    setup = shipped_setup("three-rolls")
    rolls = (Roll("plain", "standard"), Roll("black", "backed"))
    bottles = tuple(replace(bottle, shelf_id=f"1-{bottle.solution}") for bottle in setup.bottles)
    led = guide_for(plan_for(replace(setup, rolls=rolls, bottles=bottles)))
    Walker(led).lead()
    return led


def test_shelf_debits_count_backed_rolls_per_bottle() -> None:
    """The backing comes off before the stabiliser: developer and bleach-fix alone have met it."""
    taken = {use.bottle: (use.rolls, use.backed_rolls) for use in debits(led_through().controller.state)}
    whole = taken["1-stabiliser"][0]
    assert taken == {
        "1-developer": (whole, pytest.approx(whole / 2)),
        "1-bleach-fix": (whole, pytest.approx(whole / 2)),
        "1-stabiliser": (whole, 0.0),
    }


def test_plan_warns_about_a_bottle_that_backed_rolls_went_through() -> None:
    setup = shipped_setup("three-rolls")
    met = replace(setup, bottles=(replace(setup.bottles[0], backed_rolls=2.2), *setup.bottles[1:]))
    assert setup_from_text(write_setup(met), "setup") == met
    (worry,) = (w for w in serious(make_plan(shipped_profile("two-bath"), met)) if w.code == "backing-in-bottle")
    assert in_words(worry).startswith("Developer, soft bottle: 2.2 rolls went through it with their backing on.")
