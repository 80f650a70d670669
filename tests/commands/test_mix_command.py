"""`wetside mix`: a session that mixes a kit, with the usual guide and record, not counted as one with film."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.manual_clock import ManualClock
from tests.robot.program import run
from tests.session.walker import Guide, MemoryEventSink, Walker, guide_for
from tests.shipped import PROFILES, shipped_profile
from tests.tui.seen import text_of

from wetside.app.journal_writer import SHELF_UNFILLED
from wetside.app.session_factory import begin_session, resume_session
from wetside.app.terminal import Terminal
from wetside.cli import main
from wetside.commands import screens
from wetside.commands.common import journal_to_read
from wetside.commands.export import exported
from wetside.commands.navigation import Navigator
from wetside.commands.tonight import Evening, kept_in_bottles, kit_request, mixing_evening
from wetside.domain.profile.model import Kind, Profile
from wetside.domain.session.commands import Abandon
from wetside.domain.session.gates import blockers_now
from wetside.domain.shelf.state import ShelfBottle
from wetside.export.past_sessions import past_drains_s, past_evenings
from wetside.files.settings import Places, Settings
from wetside.present.action_effects import available
from wetside.present.message_words import in_words
from wetside.storage.sessions import is_experienced, load_state, stream_of, summaries, unfinished
from wetside.storage.shelf import SHELF, load_shelf
from wetside.storage.store import Entry, Store, open_store
from wetside.tui.plan_ports import EMPTY_SAID

TWO_BATH = shipped_profile("two-bath")
BEGAN = datetime(2031, 3, 1, 18, 0, tzinfo=UTC)
SHIPPED = sorted(path.stem for path in PROFILES.glob("*.toml"))


@pytest.fixture
def store(places: Places) -> Iterator[Store]:
    with open_store(places) as opened:
        yield opened


def evening(places: Places, profile: Profile = TWO_BATH, ml: float = 500.0, price: float | None = 12.5) -> Evening:
    volumes = tuple((id_, ml) for id_ in kept_in_bottles(profile))
    with journal_to_read(places) as store:
        kit = kit_request(store, Settings(), date(2031, 3, 1), "Spring kit", volumes, price)
    return mixing_evening(profile, kit)


def begun(store: Store, places: Places, profile: Profile = TWO_BATH, *, practice: bool = False) -> Guide:
    made = evening(places, profile)
    clock = ManualClock(BEGAN)
    controller = begin_session(
        store, places, made.plan, profile.text, Settings(), terminal="pts/1", clock=clock, practice=practice
    )
    return Guide(controller, clock, MemoryEventSink())


def led_to(guide: Guide, step: str) -> Walker:
    walker = Walker(guide)
    while guide.view.step != step:
        assert walker.step()
    return walker


def standing(store: Store) -> dict[str, ShelfBottle]:
    return dict(load_shelf(store).bottles)


def test_a_mixing_evening_leads_from_the_gloves_to_the_bottles_on_the_shelf(store: Store, places: Places) -> None:
    guide = begun(store, places)
    walker = Walker(guide)
    walker.lead()
    assert guide.state.outcome == "complete"
    shelf = load_shelf(store)
    assert [*shelf.bottles] == ["1-developer", "1-bleach-fix", "1-stabiliser"]
    assert {(each.volume_ml, each.mixed_on, each.full) for each in shelf.bottles.values()} == {
        (500.0, "2031-03-01", True)
    }
    assert (shelf.kits[0].name, shelf.kits[0].price, shelf.kits[0].profile_id) == ("Spring kit", 12.5, "two-bath")
    assert shelf.bottles["1-developer"].figures.signal == "WARNING"
    said = " ".join(guide.view.facts)
    assert "On the shelf now: Developer, Bleach-fix, Stabiliser." in said


def test_bottles_come_on_the_shelf_together_with_the_close_or_not_at_all(store: Store, places: Places) -> None:
    guide = begun(store, places)
    walker = led_to(guide, "away")
    assert standing(store) == {}
    before = store.last_seq(SHELF)
    walker.lead()
    assert store.last_seq(SHELF) == before + 1
    assert guide.state.outcome is not None


def test_stopping_puts_what_was_bottled_on_the_shelf(store: Store, places: Places) -> None:
    guide = begun(store, places)
    led_to(guide, "bleach-fix.bottle")
    guide.dispatch(Abandon(guide.now, "called away"))
    assert guide.state.outcome == "abandoned"
    assert [*standing(store)] == ["1-developer"]


def test_mixing_resumes_after_a_kill(store: Store, places: Places) -> None:
    guide = begun(store, places)
    led_to(guide, "stabiliser.begin")
    stream = stream_of(guide.state.session, practice=False)
    guide.controller.release()
    assert [row.stream for row in unfinished(store)] == [stream]
    assert load_state(store, stream).current == "stabiliser.begin"
    clock = ManualClock(BEGAN.replace(hour=20))
    controller = resume_session(store, places, stream, Settings(), terminal="pts/2", clock=clock)
    Walker(Guide(controller, clock, MemoryEventSink())).lead()
    assert controller.state.outcome == "complete"
    assert len(standing(store)) == 3


def test_a_mixing_evening_does_not_count_as_a_session_with_film(store: Store, places: Places) -> None:
    for _ in range(3):
        Walker(begun(store, places)).lead()
    rows = summaries(store)
    assert [row.developed for row in rows] == [False] * 3
    assert not is_experienced(store)
    assert past_evenings(store, rows)[0] == ()
    assert past_drains_s(store) == ()
    assert all(bottle.uses == () for bottle in standing(store).values())


def test_after_mixing_a_kit_an_evening_can_be_planned(store: Store, places: Places) -> None:
    Walker(begun(store, places)).lead()
    navigator = Navigator(Terminal(80, 24, True, "16", True, "xterm"), places, Settings())
    navigator._store = store
    screen = screens.plan_screen(navigator)
    assert EMPTY_SAID in " ".join(" ".join(text_of(screen, 80, 24)).split()), (
        "mixing leaves no bench of an evening"
    )


def test_practice_mixing_fills_no_bottle(store: Store, places: Places) -> None:
    guide = begun(store, places, practice=True)
    Walker(guide).lead()
    assert guide.state.outcome == "complete"
    assert standing(store) == {}


def test_an_unreadable_shelf_does_not_keep_a_mixing_evening_from_closing(store: Store, places: Places) -> None:
    guide = begun(store, places)
    walker = led_to(guide, "away")
    store.append({SHELF: (0, (Entry("bottle_sung_to", 1, "{}"),))}, "2031-03-01T18:00:00Z")
    walker.lead()
    assert guide.state.outcome == "complete"
    assert load_state(store, stream_of(guide.state.session, practice=False)).notes[-1].text == SHELF_UNFILLED


def test_the_record_of_a_mixing_evening_lists_what_was_filled(
    store: Store, places: Places, capsys: pytest.CaptureFixture[str]
) -> None:
    guide = begun(store, places)
    Walker(guide).lead()
    store.close()
    page = exported(places, "last", "markdown")
    assert "This is a kit that was mixed: no film was developed." in page
    assert re.search(r"\| Developer \| 500 ml \| 1\d:\d\d:\d\d \|", page)
    assert "Tank" not in page
    for form in ("toml", "csv"):
        assert "a kit that was mixed: no film was developed" in exported(places, "last", form)
    assert '"kit":{"name":"Spring kit"' in exported(places, "last", "jsonl").replace(": ", ":")
    assert main(["--data", str(places.data), "sessions"]) == 0
    assert "complete: Mixing Spring kit\n" in capsys.readouterr().out


def test_too_cold_water_blocks_the_next_step(places: Places) -> None:
    guide = guide_for(evening(places).plan)
    led_to(guide, "developer.1")
    step = guide.state.plan.step("developer.1") if guide.state.plan else None
    assert step is not None
    assert step.kind is Kind.MEASURE
    guide.press("space", "3", "0", "enter")
    (open_,) = blockers_now(guide.state, step, guide.now)
    assert in_words(open_.why) == "Water for the developer: 30.0 °C read, 41.0 to 45.0 °C wanted."
    assert guide.keys.enter == ""


def test_pressing_one_key_again_and_again_does_not_pass_the_first_gate(places: Places) -> None:
    for key in ("space", "enter", "backspace"):
        guide = guide_for(evening(places).plan)
        for _ in range(60):
            guide.press(key)
            guide.wait(0.2)
        assert guide.state.current == "ready", key


def test_film_actions_are_not_offered_while_mixing(places: Places) -> None:
    guide = guide_for(evening(places).plan)
    offered = {each.id for each in available(guide.state, 0.0)}
    assert {"first aid", "safe way out", "note", "against"} <= offered
    assert not offered & {"mishap", "look", "dark trouble"}
    Walker(guide).lead()
    assert "look" not in {each.id for each in available(guide.state, 0.0)}


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("eager", [True, False], ids=["early", "late"])
def test_every_shipped_kit_can_be_mixed_to_the_end(places: Places, name: str, eager: bool) -> None:
    profile = shipped_profile(name)
    guide = guide_for(evening(places, profile).plan)
    walker = Walker(guide, eager=eager)
    walker.lead()
    assert guide.state.outcome == "complete"
    assert any("up: " in line and "gloves" in line for line in walker.log)


def test_in_plain_mode_only_an_empty_line_begins_the_mixing(tmp_path: Path) -> None:
    told = ("mix", "two-bath", "--plain", "--price", "12,50")
    for typed, says in (("no\n", "An empty line begins"), ("\n", "Make ready")):
        done = run(tmp_path / "data", *told, typed=typed)
        assert done.returncode == 0, done.stderr
        assert says in done.stdout
        assert "Stir part A in until it is clear." in done.stdout
    assert "Go on with: wetside resume" in done.stdout


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("two-bth",), "two-bath"),
        (("two-bath", "--only", "wine"), 'keeps no "wine" in a bottle'),
        (("two-bath", "--volume", "26 l"), "at most 25 l"),
        (("two-bath", "--price", "dear"), "is no number"),
        (("two-bath", "--price", "-1"), "from 0 to 1,000,000"),
        (("two-bath", "--name", " "), "The kit needs a name"),
        (("two-bath", "--hot", "warm"), "warm"),
    ],
)
def test_a_wrong_request_gives_one_sentence_and_begins_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    assert main(["--data", str(tmp_path / "data"), "mix", *words, "--plain"]) in (1, 2, 3)
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert says in err
    assert not (tmp_path / "data").exists()
