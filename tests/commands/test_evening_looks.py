"""Planning says how the negatives came out the last time; a used-up bottle keeps an evening from beginning."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.factories import session_began
from tests.manual_clock import ManualClock

from wetside.cli import main
from wetside.commands.tonight import find_setup, planned, profile_named, refuse_unfit
from wetside.domain.messages import as_written
from wetside.domain.planning.setup import Setup
from wetside.domain.session import events as e
from wetside.domain.shelf import commands as c
from wetside.errors import Refused
from wetside.files.settings import Places, Settings
from wetside.files.setup_file import read_setup, write_setup
from wetside.present.message_words import in_words
from wetside.present.plan_text import serious, worth_knowing
from wetside.storage.sessions import append_events
from wetside.storage.shelf import change_shelf
from wetside.storage.store import open_store

AT = "2031-02-01T20:00:00Z"


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(datetime(2031, 2, 8, 12, 0, tzinfo=UTC))


def on_shelf(places: Places, *more: c.Command) -> Setup:
    """The shipped evening with its developer from a shelf where a kit and `more` were written down."""
    kit = c.MixKit(
        "2031-01-10", "2031-02-01", "Kit", profile_named("two-bath", places), (c.NewBottle("developer", 1000.0),)
    )
    with open_store(places) as store:
        for command in (kit, *more):
            change_shelf(store, command, AT)
    setup = read_setup(find_setup("three-rolls", places))
    return replace(setup, bottles=(replace(setup.bottles[0], shelf_id="1-developer"), *setup.bottles[1:]))


def test_the_plan_mentions_how_film_came_out_the_last_time(places: Places, clock: ManualClock) -> None:
    setup = on_shelf(places)
    evening = planned(profile_named("two-bath", places), setup, places, Settings(), clock)
    assert all(worry.code != "looked-before" for worry in evening.plan.warnings)
    began = session_began(evening.plan, wall=AT)
    look = e.NoteAdded(60.0, "", "look", 1, e.Look("thin-processing", "weak", "negative"))
    with open_store(places) as store:
        append_events(store, "session/k3v9", 0, (began, e.SessionClosed(50.0, "complete", 0), look), AT)
    again = planned(profile_named("two-bath", places), setup, places, Settings(), clock).plan
    (said,) = (worry for worry in worth_knowing(again) if worry.code == "looked-before")
    assert in_words(said) == (
        "2031-02-01, Harbour, evening (same Developer, Kit): Thin all over; edge numbers weak."
    )


def test_a_spent_bottle_needs_a_reason_to_begin(places: Places, clock: ManualClock) -> None:
    setup = on_shelf(places, c.TryLeader("2031-02-02", "1-developer", went_dark=False))
    profile = profile_named("two-bath", places)
    plan = planned(profile, setup, places, Settings(), clock).plan
    assert any(worry.code == "spent" for worry in serious(plan))
    with pytest.raises(Refused, match="stayed pale"):
        refuse_unfit(plan)
    reasoned = replace(setup, bottles=(replace(setup.bottles[0], reason="a test"), *setup.bottles[1:]))
    refuse_unfit(planned(profile, reasoned, places, Settings(), clock).plan)


def test_start_is_refused_when_a_shelf_bottle_has_become_low(places: Places, clock: ManualClock) -> None:
    setup = on_shelf(places, c.NoteLevel("2031-02-02", "1-developer", 300.0, full=False))
    reasoned = replace(setup, bottles=(replace(setup.bottles[0], reason="a test"), *setup.bottles[1:]))
    plan = planned(profile_named("two-bath", places), reasoned, places, Settings(), clock).plan
    with pytest.raises(Refused, match=r"50 ml short\. Top it up or mix more, or plan fewer rolls\.$"):
        refuse_unfit(plan)


@pytest.fixture
def kit_setup(places: Places, tmp_path: Path) -> Path:
    """A setup file whose developer is that of a kit on the shelf that has done 2.7 rolls."""
    kit = c.MixKit(
        "2026-01-10",
        "2026-01-10",
        "Kit *A*",
        profile_named("two-bath", places),
        (c.NewBottle("developer", 1000.0),),
        used_rolls=2.7,
    )
    with open_store(places) as store:
        change_shelf(store, kit, AT)
    setup = read_setup(find_setup("three-rolls", places))
    bottles = (replace(setup.bottles[0], shelf_id="1-developer", reason="a test"), *setup.bottles[1:])
    file = tmp_path / "mine.toml"
    file.write_text(write_setup(replace(setup, bottles=bottles)), "utf-8")
    return file


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan",), "  - Kit *A*: 2.6 rolls."),
        (("review",), "  - Kit *A*: 2.6 rolls."),
        (("review", "--format", "markdown"), "- Kit \\*A\\*: 2.6 rolls."),
    ],
)
def test_plan_and_review_say_what_is_left_after_tonight(
    places: Places, kit_setup: Path, words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight rolls a litre, 2.7 done, and tonight two of 572 cm² and one of 413 cm², by 572 cm² a roll: 2.7."""
    assert main(["--data", str(places.data), words[0], str(kit_setup), *words[1:]]) == 0
    said = capsys.readouterr().out
    assert "Left in the kit after tonight" in said
    assert says in said
    assert all(len(line) <= 80 for line in said.splitlines()) or "markdown" in words


def test_without_a_kit_of_the_shelf_the_plan_says_nothing_of_one(
    places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("plan", "review"):
        assert main(["--data", str(places.data), command, "three-rolls"]) == 0
        assert "Left in the kit" not in capsys.readouterr().out


def test_a_bottle_that_a_mishap_made_suspect_needs_a_reason_to_begin(places: Places, clock: ManualClock) -> None:
    setup = on_shelf(
        places, c.Suspect("2031-02-02", "1-developer", "k3v9/0", as_written("Bleach-fix got into it."))
    )
    profile = profile_named("two-bath", places)
    plan = planned(profile, setup, places, Settings(), clock).plan
    assert any(worry.code == "suspect" for worry in serious(plan))
    with pytest.raises(Refused, match=r"is suspect\. 2031-02-02: Bleach-fix got into it"):
        refuse_unfit(plan)
    reasoned = replace(setup, bottles=(replace(setup.bottles[0], reason="a test"), *setup.bottles[1:]))
    refuse_unfit(planned(profile, reasoned, places, Settings(), clock).plan)
