"""Every shipped example, worked through to the end by the session's own rules: no gate is shut for good.

The proof says that every tick can be made in time; here the session itself is asked, with each tick made as soon
as it can be and again with each made only when its gate asks for it.
"""

from __future__ import annotations

import random
from functools import reduce
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.checking import check_setup
from tests.session.decided import decided
from tests.shipped import profile_from_text, shipped_profile, shipped_setups

from wetside.domain.calc.tempering import BATH
from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.planning.setup import Place, Setup
from wetside.domain.profile.model import Kind, Profile, Step
from wetside.domain.session import commands as c
from wetside.domain.session.events import SessionBegan
from wetside.domain.session.gates import blockers_now, drain_lead_s
from wetside.domain.session.state import State, evolve
from wetside.errors import Refused
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan
from wetside.present.message_words import in_words

TWO_ROLLS = "three-bath-two-rolls"


class Evening:
    """A person who does what the guide says, in session seconds."""

    def __init__(self, plan: Plan, profile: Profile) -> None:
        self.plan, self.profile, self.at, self.state = plan, profile, 0.0, State()
        wall = "2026-05-01T19:00:00+00:00"
        began = SessionBegan(0.0, "s1", wall, 0, "boot", 0.0, "0", profile.text, plan, False, 1.0, "test")
        self.do(began)

    def do(self, command: c.Command) -> None:
        self.state = reduce(evolve, decided(self.state, command), self.state)

    @property
    def step(self) -> PlannedStep | None:
        return None if self.state.current is None else self.plan.step(self.state.current)

    def tick(self, tick: PlannedTick) -> bool:
        """Make a tick; False where the session refuses it as yet."""
        try:
            self.do(c.MakeTick(self.at, tick.id, typed="2", expected="2"))
        except Refused:
            return False
        return True

    def read(self, step: PlannedStep) -> None:
        """What is asked for in the middle of its range; the warm bath as the plan fills it, the rest at 21 °C."""
        tempering = self.plan.tempering
        for ask in step.readings:
            warm_c = tempering.starting_bath_c if tempering is not None and ask.of == BATH else None
            at_c = warm_c or 21.0 if ask.range_c is None else sum(ask.range_c) / 2
            if step.kind in (Kind.MEASURE, Kind.WAIT):
                self.do(c.TakeReading(self.at, ask.of, at_c, ""))

    def wanted(self, eager: bool) -> list[PlannedTick]:
        """The ticks to make now: all that are open anywhere, or only those that stand in the way here."""
        step = self.step
        if step is None:
            return []
        if not eager:
            return [each.tick for each in blockers_now(self.state, step, self.at) if each.tick is not None]
        return [tick for each in self.plan.steps for tick in each.ticks if tick.id not in self.state.ticks]

    def settle(self, eager: bool) -> None:
        """Make what is wanted, again as long as one of them goes through."""
        while any([self.tick(tick) for tick in self.wanted(eager)]):
            pass

    def wait_for_joined(self, step: PlannedStep) -> None:
        clock = self.state.clocks.get(step.joins or "")
        if clock is not None:
            self.at = max(self.at, self.at + (clock.remaining(self.at) or 0.0))

    def walk(self, step: PlannedStep, eager: bool) -> None:
        self.at += 30.0
        self.wait_for_joined(step)
        self.settle(eager)
        self.read(step)
        self.settle(eager)
        if step.timed:
            self.do(c.StartStep(self.at, step.id, 0.0))
            if step.background:
                return
            lead_s = drain_lead_s(step) if step.kind is Kind.BATH else 0.0
            self.at += (self.state.clocks[step.id].remaining(self.at) or 60.0) - lead_s
            if step.kind is Kind.BATH:
                self.do(c.BeginDrain(self.at, step.id))
            self.settle(eager)
        self.do(c.EndStep(self.at, step.id))

    def run(self, eager: bool) -> None:
        while (step := self.step) is not None:
            self.walk(step, eager)


def evening(path: Path) -> tuple[Profile, Setup]:
    setup = read_setup(path)
    return shipped_profile(setup.profile), setup


@pytest.mark.parametrize("eager", [False, True], ids=["late", "early"])
@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_an_example_can_be_worked_through_to_the_end(path: Path, eager: bool) -> None:
    profile, setup = evening(path)
    night = Evening(make_plan(profile, setup), profile)
    night.run(eager)
    assert night.state.outcome == "complete"
    assert night.state.deviations == 0
    assert len(night.state.ticks) == sum(len(step.ticks) for step in night.plan.steps)


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_a_darkened_window_is_to_be_opened_again_before_the_first_bath(path: Path) -> None:
    """A bag needs no dark room: there the question would be one too many."""
    profile, setup = evening(path)
    places: tuple[Place, ...] = ("dark room", "changing bag")
    for place in places:
        plan = make_plan(profile, replace(setup, place=place))
        for batch in {step.batch for step in plan.steps if step.batch is not None}:
            steps = [step for step in plan.steps if step.batch == batch]
            loading = next(n for n, step in enumerate(steps) if step.kind is Kind.DARK)
            pour = next(n for n, step in enumerate(steps) if step.kind is Kind.BATH)
            between = [tick for step in steps[loading + 1 : pour] for tick in step.ticks]
            asked = [tick for tick in between if tick.killer and in_words(tick.text).startswith("Window open")]
            assert len(asked) == (1 if place == "dark room" else 0)


@pytest.mark.parametrize("path", shipped_setups(), ids=lambda path: path.stem)
def test_items_before_the_changing_bag_can_be_confirmed_with_the_hands_outside(path: Path) -> None:
    profile, setup = evening(path)
    plan = make_plan(profile, replace(setup, place="changing bag"))
    for step in plan.steps:
        if step.kind is Kind.DARK:
            assert not any("elbows" in in_words(tick.text) for tick in step.ticks)
            assert in_words(step.instruction).startswith("Arms in past the elbows")


def test_the_session_bars_the_step_that_the_proof_finds_fault_with() -> None:
    """The same fault, asked of the session: bleach in the tank, and the fixer's gate stays shut."""
    (path,) = (path for path in shipped_setups() if path.stem == TWO_ROLLS)
    profile, setup = evening(path)
    step = profile.text.index('id = "bleach-wash"')
    rinses = profile.text.index("rinses = [", step)
    text = profile.text[:rinses] + profile.text[profile.text.index("]", rinses) + 1 :]
    assert text != profile.text
    broken = profile_from_text(text, "broken.toml")
    night = Evening(make_plan(broken, setup), broken)
    with pytest.raises(Refused, match="still carries bleach"):
        night.run(eager=False)
    assert night.state.current == "b1.fixer"


@pytest.mark.parametrize("seeds", [12, pytest.param(60, marks=pytest.mark.long)])
def test_whatever_bars_a_session_is_found_by_the_check(seeds: int) -> None:
    """Rinses left out at random: whenever a session cannot be worked through, the check has said so before."""
    shut = 0
    for seed in range(seeds):
        chance = random.Random(seed)
        name = chance.choice(("reversal-two-rolls", TWO_ROLLS))
        profile, setup = evening(next(path for path in shipped_setups() if path.stem == name))
        profile = replace(profile, steps=tuple(_with_less_rinsing(step, chance) for step in profile.steps))
        setup = replace(
            setup,
            tank=replace(setup.tank, places=1, cover_ml=(300.0,)),
            bottles=tuple(replace(bottle, volume_ml=2000.0) for bottle in setup.bottles),
        )
        refusal = _refusal(Evening(make_plan(profile, setup), profile), eager=chance.random() < 0.5)
        if refusal:
            shut += 1
            assert "still carries" in refusal, seed
            assert any("still carries" in finding for finding in check_setup(profile, setup)), seed
    assert shut >= seeds // 6


def _refusal(night: Evening, eager: bool) -> str:
    """The refusal at which the session could not go on; empty when it was completed."""
    try:
        night.run(eager)
    except Refused as refusal:
        return str(refusal)
    return ""


def _with_less_rinsing(step: Step, chance: random.Random) -> Step:
    ticks = tuple(replace(tick, clears=()) if chance.random() < 0.3 else tick for tick in step.ticks)
    return replace(step, ticks=ticks, rinses=() if chance.random() < 0.3 else step.rinses)
