"""Given a session so far, a command, and the sentence it is refused with."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace
from tests.session.decided import decided
from tests.session.small_evening import Evening, begin, changed, small_plan

from wetside.domain.session import commands as c
from wetside.domain.session.clocks import AskFirst
from wetside.domain.session.events import CueGiven, SessionResumed
from wetside.domain.session.state import State
from wetside.errors import Refused


def running(id_: str, for_s: float) -> Evening:
    """The step's clock started `for_s` ago."""
    evening = Evening().goto(id_)
    here = evening.plan.step(id_)
    evening.tick(*(t.id for t in here.ticks if (t.due_step, t.due_at) == (id_, "start")))
    evening.start()
    evening.at += for_s
    return evening


def held() -> Evening:
    evening = Evening()
    evening.do(c.Hold(1.0))
    return evening


def closed() -> Evening:
    evening = Evening()
    evening.do(c.Abandon(1.0, "tired"))
    return evening


CASES: dict[str, tuple[Callable[[], Evening], Callable[[Evening], c.Command], str]] = {
    "begun twice": (Evening, lambda e: begin(e.plan), "This session has begun already."),
    "closed: tick": (closed, lambda e: c.MakeTick(2, "gear/thermometer"), "This session is closed (abandoned)."),
    "closed: resume": (
        closed,
        lambda e: SessionResumed(2, "", 0, "", 0, "", 0, "same boot"),
        "This session is closed",
    ),
    "closed: abandon": (closed, lambda e: c.Abandon(2, ""), "This session is closed (abandoned)."),
    "closed: reading": (closed, lambda e: c.TakeReading(2, "bath", 30, "30"), "This session is closed"),
    "held: tick": (held, lambda e: c.MakeTick(2, "gear/thermometer"), "on hold: ENTER lets it go on."),
    "held: end": (held, lambda e: c.EndStep(2, "gear"), "on hold"),
    "held twice": (held, lambda e: c.Hold(2), "on hold"),
    "release what is not held": (Evening, lambda e: c.Release(1), "The guide is not on hold."),
    "unknown tick": (Evening, lambda e: c.MakeTick(1, "x/y"), "There is no such statement in tonight's plan."),
    "tick of a later step": (Evening, lambda e: c.MakeTick(1, "temper/capped"), "later step, Temper."),
    "tick during a bath not started": (
        lambda: Evening().goto("b1.fix"),
        lambda e: c.MakeTick(e.at, "b1.fix/developer-capped"),
        "Not yet: Bleach-fix has not started.",
    ),
    "wrong count of bells": (
        lambda: Evening().goto("sound"),
        lambda e: c.MakeTick(e.at, "sound/bells", typed="2", expected="3"),
        "You counted 2, another number was rung",
    ),
    "a reading of the other unit": (
        lambda: Evening().goto("temper"),
        lambda e: c.TakeReading(e.at, "bath", 104.0, "104 °C"),
        "104 °C is not a temperature of water: type it in °C (104 °F is 40.0 °C).",
    ),
    "a reading of neither unit": (
        lambda: Evening().goto("temper"),
        lambda e: c.TakeReading(e.at, "bath", 385.0, "385 °C"),
        "385 °C is not a temperature of water: type it again.",
    ),
    "no count of bells": (
        lambda: Evening().goto("sound"),
        lambda e: c.MakeTick(e.at, "sound/bells"),
        "You counted nothing",
    ),
    "end with a tick open": (Evening, lambda e: c.EndStep(1, "gear"), "Not yet: Thermometer (and 1 more)"),
    "end of another step": (Evening, lambda e: c.EndStep(1, "temper"), "That step is not the one on screen."),
    "start of another step": (Evening, lambda e: c.StartStep(1, "temper", 0), "not the one on screen."),
    "start without a clock": (Evening, lambda e: c.StartStep(1, "gear", 0), "Lay the gear out has no clock"),
    "end before start": (
        lambda: Evening().goto("b1.dev"),
        lambda e: c.EndStep(e.at, "b1.dev"),
        "Developer has not started.",
    ),
    "start twice": (lambda: running("b1.dev", 9), lambda e: c.StartStep(e.at, "b1.dev", 0), "is running already."),
    "lead-in too long": (
        lambda: Evening().goto("b1.dev"),
        lambda e: c.StartStep(e.at, "b1.dev", 61),
        "A lead-in is 0 to 60 s long.",
    ),
    "lead-in no number": (
        lambda: Evening().goto("b1.dev"),
        lambda e: c.StartStep(e.at, "b1.dev", float("nan")),
        "A lead-in is 0 to 60 s long.",
    ),
    "end with the bath in the tank": (
        lambda: running("b1.dev", 300),
        lambda e: c.EndStep(e.at, "b1.dev"),
        "Developer is still in the tank: SPACE when you start pouring it out.",
    ),
    "on time, too early": (
        lambda: running("b1.dev", 60),
        lambda e: c.BeginDrain(e.at, "b1.dev"),
        "Developer still works. To end it early: key e, or the menu.",
    ),
    "not before, too early": (
        lambda: running("b1.fix", 60),
        lambda e: c.BeginDrain(e.at, "b1.fix"),
        "Not yet: Bleach-fix has not had its time, which is a minimum.",
    ),
    "drain told before the start": (
        lambda: running("b1.dev", 300),
        lambda e: c.BeginDrain(e.at, "b1.dev", True, e.at - 301),
        "That moment is not between the bath's start and now.",
    ),
    "drain of no bath": (Evening, lambda e: c.BeginDrain(1, "gear"), "No clock runs there."),
    "drain of a background bath": (
        lambda: running("b1.r1.stab", 5),
        lambda e: c.BeginDrain(e.at, "b1.r1.stab"),
        "Stabiliser is not poured out here.",
    ),
    "wash too short": (
        lambda: _ticked(running("b1.wash", 100)),
        lambda e: c.EndStep(e.at, "b1.wash"),
        "Not yet: Wash has not had its time, which is a minimum.",
    ),
    "correction by nothing": (
        lambda: running("b1.dev", 9),
        lambda e: c.CorrectClock(e.at, "b1.dev", 0),
        "Say by how",
    ),
    "correction into the future": (
        lambda: running("b1.dev", 9),
        lambda e: c.CorrectClock(e.at, "b1.dev", -10),
        "That would put the start in the future.",
    ),
    "correction beyond reason": (
        lambda: running("b1.dev", 9),
        lambda e: c.CorrectClock(e.at, "b1.dev", 1801),
        "A clock is corrected by at most 30:00.",
    ),
    "correction of nothing": (Evening, lambda e: c.CorrectClock(1, "gear", 5), "No clock runs there."),
    "pause where none is": (
        lambda: running("b1.dev", 9),
        lambda e: c.Pause(e.at, "b1.dev"),
        "Developer cannot pause: the chemistry goes on. Hold stops the guide only.",
    ),
    "unpause": (lambda: running("b1.wash", 9), lambda e: c.Unpause(e.at, "b1.wash"), "Wash is not paused."),
    "reading of nothing": (Evening, lambda e: c.TakeReading(1, "tea", 30, "30"), "Nothing called tea is measured"),
    "reading too hot": (Evening, lambda e: c.TakeReading(1, "bath", 100.1, "100.1 °C"), "100.1 °C is not a temp"),
    "reading no number": (
        Evening,
        lambda e: c.TakeReading(1, "bath", float("inf"), ""),
        "not a temperature of water",
    ),
    "not read yet": (
        lambda: Evening().goto("look"),
        lambda e: c.EndStep(e.at, "look"),
        "Not yet: Developer now: not read yet. (and 1 more)",
    ),
    "out of range": (
        lambda: _read(Evening().goto("temper"), 36.0),
        lambda e: c.EndStep(e.at, "temper"),
        "Not yet: Developer: 36.0 °C read, 37.8 to 39.0 °C wanted.",
    ),
    "read too long ago": (
        lambda: _later(_read(Evening().goto("temper"), 38.0), 601),
        lambda e: c.EndStep(e.at, "temper"),
        "Not yet: Developer: read 10:01 ago; read it again.",
    ),
    "tick due before a check-like step starts": (
        lambda: _without(Evening().goto("temper"), "gear/gloves"),
        lambda e: c.MakeTick(e.at, "temper/capped"),
        "First: Gloves",
    ),
    "undo of nothing": (Evening, lambda e: c.UndoTick(1, "gear/thermometer"), "There is nothing to take back."),
    "undo behind its gate": (
        lambda: Evening().goto("sound"),
        lambda e: c.UndoTick(e.at, "gear/thermometer"),
        "That gate is behind us: add a note about it instead.",
    ),
    "override without a reason": (
        Evening,
        lambda e: c.Override(1, "gear", "tick:gear/thermometer", " "),
        "A reason",
    ),
    "override of nothing": (Evening, lambda e: c.Override(1, "gear", "tick:x", "why"), "Nothing of that name"),
    "override elsewhere": (Evening, lambda e: c.Override(1, "temper", "tick:x", "why"), "not the one on screen."),
    "empty note": (Evening, lambda e: c.AddNote(1, "  "), "The note is empty."),
    "long note": (Evening, lambda e: c.AddNote(1, "a" * 501), "That is 501 characters; keep it to 500."),
    "note with an escape": (Evening, lambda e: c.AddNote(1, "\x1b[2J"), "control characters"),
    "note on no roll": (Evening, lambda e: c.AddNote(1, "torn", "look", 2), "There is no such roll tonight."),
    "joined too soon": (
        lambda: Evening().goto("b1.r1.hang"),
        lambda e: c.MakeTick(e.at, "b1.r1.hang/hung"),
        "First: Stabiliser has not had its time, which is a minimum.",
    ),
    "call of no step": (Evening, lambda e: CueGiven(1, "x", "drain", 1), "That call belongs to no step"),
}


def _ticked(evening: Evening) -> Evening:
    evening.tick("b1.wash/funnel-rinsed", "b1.wash/runs-clear")
    return evening


def _read(evening: Evening, value_c: float) -> Evening:
    evening.read("developer", value_c)
    evening.tick("temper/capped")
    return evening


def _later(evening: Evening, seconds: float) -> Evening:
    evening.at += seconds
    return evening


def _without(evening: Evening, tick: str) -> Evening:
    """As if the tick had never been made."""
    evening.state = replace(evening.state, ticks={t: at for t, at in evening.state.ticks.items() if t != tick})
    return evening


@pytest.mark.parametrize("name", CASES)
def test_refused_with_this_sentence_and_nothing_changed(name: str) -> None:
    given, command, sentence = CASES[name]
    evening = given()
    before = evening.state
    with pytest.raises(Refused) as refusal:
        decided(evening.state, command(evening))
    assert sentence in str(refusal.value)
    assert evening.state == before


@pytest.mark.parametrize(
    "command",
    [
        c.Hold(0),
        c.EndStep(0, "gear"),
        c.AddNote(0, "a"),
        c.Abandon(0, ""),
        CueGiven(0, "gear", "drain", 0),
    ],
    ids=lambda command: type(command).__name__,
)
def test_before_a_session_begins_everything_else_is_refused(command: c.Command) -> None:
    with pytest.raises(Refused, match="No session has begun"):
        decided(State(), command)


def test_a_plan_without_a_step_is_refused() -> None:
    with pytest.raises(Refused, match="The plan has no step"):
        decided(State(), begin(replace(small_plan(), steps=())))


def test_a_clock_that_is_being_poured_out_is_not_corrected() -> None:
    evening = running("b1.dev", 60)
    evening.do(c.BeginDrain(evening.at, "b1.dev", early=True))
    with pytest.raises(Refused, match="being poured out already: add a note instead"):
        decided(evening.state, c.CorrectClock(evening.at, "b1.dev", 5))
    with pytest.raises(Refused, match="being poured out already"):
        decided(evening.state, c.BeginDrain(evening.at, "b1.dev", early=True))


def test_a_reading_that_moves_the_end_by_more_than_a_third_needs_confirmation() -> None:
    evening = running("b1.dev", 10)
    with pytest.raises(AskFirst, match=r"by more than a third\. Is the thermometer right"):
        evening.read("developer", 30.0)
    evening.read("developer", 30.0, confirmed=True)
    assert evening.state.moves[-1].new_s > evening.state.moves[-1].old_s * 4 / 3


@pytest.mark.parametrize(
    ("of", "value_c", "asked"),
    [
        ("developer", 81.0, "81.0 °C is hotter than the hot tap, which gives 55.0 °C. Is the thermometer right?"),
        ("bath", 56.1, "56.1 °C is hotter than the hot tap, which gives 55.0 °C. Is the thermometer right?"),
        ("bath", 4.3, "4.3 °C is colder than the cold tap and the room, 15.0 °C. Is the thermometer right?"),
    ],
)
def test_a_temperature_that_nothing_has_tonight_needs_confirmation(of: str, value_c: float, asked: str) -> None:
    evening = Evening(small_plan()).goto("temper")
    with pytest.raises(AskFirst) as found:
        evening.read(of, value_c)
    assert str(found.value) == asked
    evening.read(of, value_c, confirmed=True)
    last = evening.state.last_reading(of)
    assert last is not None
    assert last.temperature_c == value_c


def test_a_temperature_that_boiling_water_or_a_refrigerator_explains_needs_no_confirmation() -> None:
    evening = Evening(small_plan()).goto("temper")
    evening.read("bath", 70.0, confirmed=True)
    evening.read("developer", 65.0)
    evening.read("developer", 4.0)
    evening.read("room", 99.0)


def test_the_developer_is_refused_while_the_funnel_carries_bleach_fix() -> None:
    plan = changed(small_plan(), "b2.lid", ticks=())
    plan = changed(plan, "b1.wash", ticks=tuple(t for t in plan.step("b1.wash").ticks if "rinsed" not in t.id))
    evening = Evening(plan).goto("b2.dev")
    with pytest.raises(Refused, match=r"Not yet: Funnel still carries bleach-fix: A drop ends the developer\."):
        evening.start()
    evening.do(c.Override(evening.at, "b2.dev", "residue:funnel:bleach-fix:b2.dev", "it was washed twice"))
    evening.start()
    assert evening.state.deviations == 1
