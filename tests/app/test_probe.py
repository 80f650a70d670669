"""A connected thermometer: which of its lines are kept, refused and reported, through a whole evening."""

from __future__ import annotations

import os
import pty
import random
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.session.decided import decided
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan

from wetside.app.probe import SILENT_S, THIN_S, LineFeed, Probe, open_feed, read_line
from wetside.cli import main
from wetside.domain.profile.model import Kind
from wetside.domain.session import commands as c
from wetside.domain.session import events as e
from wetside.domain.session.state import StepClock
from wetside.errors import Refused, Unusable
from wetside.files.settings import Settings
from wetside.plain.guide import PlainGuide
from wetside.present.action_effects import measured_here


@dataclass
class Simulated:
    """Lines as a test puts them in; gone: the line has broken."""

    lines: list[str] = field(default_factory=list)
    gone: bool = False

    def fresh(self) -> tuple[str, ...]:
        if self.gone:
            raise OSError(5, "Input/output error")
        lines, self.lines = tuple(self.lines), []
        return lines


def probed(guide: Guide) -> Simulated:
    """A simulated probe for this session."""
    feed = Simulated()
    guide.controller.probe = Probe(feed.fresh)
    return feed


def by_probe(guide: Guide) -> list[e.ReadingTaken]:
    return [event for event in guide.events if isinstance(event, e.ReadingTaken) and event.by == "probe"]


def up_to(wanted: Callable[[Guide], bool], setup: str = "three-rolls") -> Guide:
    """An evening, without a probe, up to the moment at which a condition holds."""
    guide = guide_for(shipped_plan(setup))
    guide.until(lambda: wanted(guide))
    guide.events.clear()
    return guide


def in_the_developer(guide: Guide) -> bool:
    return "b1.developer" in guide.state.clocks


def tell(guide: Guide, feed: Simulated, line: str, seconds: int = 1) -> None:
    """The same line each second."""
    for _ in range(seconds):
        feed.lines.append(line)
        guide.wait(1.0)


# -- one line


@pytest.mark.parametrize(
    ("line", "name", "value_c"),
    [
        ("38.5", "", 38.5),
        ("38,5", "", 38.5),
        ("developer,38.5", "developer", 38.5),
        ("developer, 38,5 °C", "developer", 38.5),
        ("Bleach-fix;100.4 F", "Bleach-fix", 38.0),
        ("bath\t44.9\r", "bath", 44.9),
        ("-3.5", "", -3.5),
    ],
)
def test_a_line_of_the_probe_is_a_name_and_a_temperature(line: str, name: str, value_c: float) -> None:
    read = read_line(line)
    assert (read.name, round(read.value_c, 9)) == (name, value_c)


@pytest.mark.parametrize("line", ["", "hello", "developer,", "developer,hot", "400", "a,b,c", "nan", "\x1b[2J"])
def test_malformed_line_is_refused(line: str) -> None:
    with pytest.raises(Refused):
        read_line(line)


# -- at the bath


def test_a_steady_reading_is_recorded_as_the_probes_and_moves_the_end() -> None:
    guide = up_to(in_the_developer)
    guide.wait(10.0)
    feed = probed(guide)
    tell(guide, feed, "38.2")
    assert by_probe(guide) == [], "one line may be of a probe on its way"
    tell(guide, feed, "38.2")
    (read,) = by_probe(guide)
    assert (read.of, read.temperature_c, read.text) == ("developer", 38.2, "38.20 °C")
    assert any(isinstance(event, e.EndMoved) for event in guide.events)


def test_unchanged_readings_are_recorded_only_now_and_then() -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    for second in range(180):
        tell(guide, feed, f"developer,{38.6 + 0.05 * (second % 2):.2f}")
    assert 180 / THIN_S <= len(by_probe(guide)) <= 180 / THIN_S + 1
    tell(guide, feed, "developer,38.3", 3)
    assert by_probe(guide)[-1].temperature_c == 38.3, "what has moved is kept sooner"


def test_readings_of_a_probe_out_of_the_bath_are_refused_and_reported_once() -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    tell(guide, feed, "38.6", 3)
    tell(guide, feed, "24.0", 5)
    assert [read.temperature_c for read in by_probe(guide)] == [38.6]
    said = guide.message
    assert "24.0 °C is not taken: is it in the developer?" in said
    assert said.count("not taken") == 1
    tell(guide, feed, "36.5", 3)
    assert "38.6 °C to 36.5 °C" in guide.view.standing[0].words
    assert [read.temperature_c for read in by_probe(guide)] == [38.6]
    assert "not taken" in guide.view.standing[0].words
    tell(guide, feed, "38.6", 3)
    assert guide.view.standing == ()


def test_a_doubtful_reading_of_the_probe_is_dropped_without_a_question() -> None:
    guide = up_to(lambda guide: guide.view.kind is Kind.WAIT)
    feed = probed(guide)
    tell(guide, feed, "85.0", 3)
    assert by_probe(guide) == []
    assert guide.panel is None
    assert "hotter than the hot tap" in guide.view.standing[0].words
    assert guide.message.count("not taken") == 1


def test_readings_from_before_a_suspend_are_too_old() -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    guide.wait(1.0)
    feed.lines += ["38.0"] * 20
    guide.clock.suspend(60.0)
    guide.controller.poll()
    assert by_probe(guide) == []
    tell(guide, feed, "38.6", 2)
    assert [read.temperature_c for read in by_probe(guide)] == [38.6]


@pytest.mark.parametrize("gone", [False, True])
def test_a_lost_probe_is_reported_and_readings_can_still_be_typed(gone: bool) -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    tell(guide, feed, "38.6", 3)
    feed.gone = gone
    guide.wait(SILENT_S + 2.0)
    assert "type what you read" in guide.message
    assert "type what you read" in guide.view.standing[0].words
    guide.press("t", *"38.4", "enter")
    typed = [event for event in guide.events if isinstance(event, e.ReadingTaken)][-1]
    assert (typed.temperature_c, typed.by) == (38.4, "person")
    if not gone:
        tell(guide, feed, "38.4", 1)
        assert "heard again" in guide.message
        assert guide.view.standing == ()


def test_unreadable_line_is_shown_as_text() -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    tell(guide, feed, "\x1b]0;title\x07 rubbish")
    assert "rubbish” is not taken" in guide.message
    assert "\x1b" not in guide.message


def test_the_message_has_the_probes_last_complaint_alone_and_none_that_is_over() -> None:
    guide = up_to(in_the_developer)
    feed = probed(guide)
    guide.controller.say("Hold on.")
    tell(guide, feed, "rubbish")
    tell(guide, feed, "bath,144")
    assert guide.message.startswith("Hold on. The probe's line “bath,144” is not taken")
    assert "rubbish" not in guide.message
    tell(guide, feed, "bath,44.1")
    tell(guide, feed, "38.6")
    assert guide.message == "Hold on."
    assert guide.view.standing == ()


def test_a_garbled_line_is_forgotten_with_the_next_good_one() -> None:
    """Noise on a serial line can have any name, which no later line has again."""
    guide = up_to(in_the_developer)
    feed = probed(guide)
    tell(guide, feed, "dev@loper,3x.5")
    assert "not taken" in guide.view.standing[0].words
    tell(guide, feed, "developer,38.5", 2)
    assert guide.view.standing == ()
    assert "not taken" not in guide.message


def test_one_probes_complaint_stands_while_another_is_fine() -> None:
    guide = up_to(lambda guide: guide.view.kind is Kind.WAIT)
    feed = probed(guide)
    for _ in range(4):
        feed.lines += ["bath,85.0"]
        tell(guide, feed, "developer,20.5")
    assert [read.of for read in by_probe(guide)] == ["developer"]
    assert "85.0" in guide.view.standing[0].words
    assert guide.message.count("not taken") == 1


def test_a_lone_value_is_shown_as_waiting_and_after_a_silence_as_taken() -> None:
    guide = up_to(lambda guide: guide.view.kind is Kind.WAIT)
    feed = probed(guide)
    tell(guide, feed, "developer,20.5", 2)
    guide.wait(SILENT_S + 2.0)
    assert "silent" in guide.message
    tell(guide, feed, "developer,20.5")
    assert guide.message == "The probe is heard again."
    guide.wait(3.0)
    waiting = "Probe: Developer 20.5 °C, not yet taken; once more."
    assert [line.words for line in guide.view.standing] == [waiting]
    tell(guide, feed, "developer,20.5")
    assert guide.message == "The probe is heard again: the developer has 20.50 °C."
    assert guide.view.standing == ()
    assert len(by_probe(guide)) == 2


def test_a_probe_ends_no_step_that_waits_for_a_person() -> None:
    """A typed reading is the first act of its step and ends what ran in the background; a probe's is no act."""
    state = up_to(lambda guide: guide.view.kind is Kind.WAIT).state
    plan, step = state.plan, state.current
    assert plan is not None
    assert step is not None
    before = plan.steps[plan.number(step) - 1].id
    steps = tuple(replace(s, joins=before, readings=(), ticks=()) if s.id == step else s for s in plan.steps)
    ended = {id_: at for id_, at in state.ended.items() if id_ != before}
    clocks = {before: StepClock(state.at - 60.0, state.at - 60.0, 30.0)}
    joined = replace(state, plan=replace(plan, steps=steps), ended=ended, clocks=clocks)
    reading = c.TakeReading(state.at, "developer", 38.0, "38", confirmed=True)
    assert [event.kind for event in decided(joined, reading)] == ["step_ended", "reading_taken"]
    assert [event.kind for event in decided(joined, replace(reading, by="probe"))] == ["reading_taken"]


# -- a whole evening


class WithProbe(Walker):
    """Waits at each new step for the probe, and types only where it is silent."""

    seen = ""

    def step(self) -> bool:
        view = self.guide.view
        if view.step != self.seen:
            self.seen = view.step
            self.guide.wait(4.0)
        return super().step()


@dataclass
class Tub:
    """Simulated probes: every bottle as warm as is wanted, a noisy probe in each, silent now and then."""

    guide: Guide
    chance: random.Random
    lines: int = 0
    spikes: int = 0

    def fresh(self) -> tuple[str, ...]:
        now = self.guide.now
        if (now // 70.0) % 3 == 2:
            return ()  # a dropout of 70 s
        state = self.guide.state
        ranges = {s.solution: s.range_c for s in state.plan.steps} | {"room": (20.0, 22.0)}
        found = []
        step = state.plan.step(state.current or "")
        for of, _ in measured_here(state, step):
            asked = next((row.wanted for row in self.guide.view.readings if row.of == of), "")
            low, high = map(float, asked.split(" °")[0].split(" to ")) if asked else ranges.get(of) or (44.0, 46.0)
            if of != "bath" and not asked and step.kind in (Kind.MEASURE, Kind.DARK):
                low, high = 20.0, 21.0  # bottles that have just come into the bath
            value = (low + high) / 2.0 + self.chance.uniform(-0.05, 0.05)
            if self.chance.random() < 0.02:
                value, self.spikes = 23.0, self.spikes + 1
            found.append(f"{of},{value:.2f}")
        self.lines += len(found)
        return tuple(found)


@pytest.mark.parametrize("setup", ["three-rolls", "five-rolls-two-batches"])
def test_a_practice_evening_completes_although_the_probe_drops_out(setup: str) -> None:
    guide = guide_for(shipped_plan(setup))
    tub = Tub(guide, random.Random(7))
    guide.controller.probe = Probe(tub.fresh)
    WithProbe(guide).lead()
    assert guide.state.outcome in ("complete", "complete with deviations")
    fed = by_probe(guide)
    typed = [r for r in guide.state.readings if r.by == "person"]
    assert fed, "where it spoke"
    assert typed, "where it was silent"
    assert tub.spikes > 0
    assert all(read.temperature_c != 23.0 for read in fed)
    assert len(fed) < tub.lines / 10
    assert not any(isinstance(event, e.GateOverridden) for event in guide.events)


def test_in_the_dark_not_one_byte_is_written() -> None:
    guide = up_to(lambda guide: guide.controller.dark)
    feed = probed(guide)
    sent: list[str] = []
    plain = PlainGuide(guide.controller, Settings(), sent.append)
    plain.begin()
    sent.clear()
    for second in range(120):
        if second < 20 or second > 80:
            feed.lines += ["developer,38.5", "rubbish", "99"]
        feed.gone = second > 100
        guide.clock.advance(1.0)
        plain.poll()
    assert guide.controller.dark
    assert sent == []


# -- where the lines come from


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    ends = os.pipe()
    yield ends
    for fd in ends:
        with suppress(OSError):
            os.close(fd)


def test_a_pipe_gives_whole_lines_and_then_ends(pipe: tuple[int, int]) -> None:
    feed = LineFeed(pipe[0], ends=True)
    assert feed.fresh() == ()
    os.write(pipe[1], b"developer,38.5\r\n38.")
    assert feed.fresh() == ("developer,38.5",)
    os.write(pipe[1], b"6\n")
    assert feed.fresh() == ("38.6",)
    os.close(pipe[1])
    with pytest.raises(OSError, match="ended"):
        feed.fresh()


def test_a_file_is_followed_from_its_end(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text("developer,20.0\n")
    feed = open_feed(str(file))
    assert feed.fresh() == ()
    with file.open("a") as out:
        out.write("developer,38.5\n")
    assert feed.fresh() == ("developer,38.5",)
    assert feed.fresh() == ()


def test_a_named_pipe_need_not_have_a_writer_yet(tmp_path: Path) -> None:
    fifo = tmp_path / "probe"
    os.mkfifo(fifo)
    feed = open_feed(str(fifo))
    assert feed.fresh() == ()
    with fifo.open("w") as out:
        out.write("38.5\n")
    assert feed.fresh() == ("38.5",)
    assert feed.fresh() == ()


def test_a_serial_line_is_read_and_its_loss_is_noticed() -> None:
    ours, theirs = pty.openpty()
    feed = open_feed(os.ttyname(theirs))
    os.write(ours, b"bath,44.9\r\n")
    assert feed.fresh() == ("bath,44.9",)
    os.close(ours)
    with pytest.raises(OSError, match=r"."):
        feed.fresh()


@pytest.mark.parametrize("where", ["missing", "."])
def test_an_unreadable_source_is_reported_in_one_sentence(where: str, tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"^--readings .* cannot be read \(.*\): name a file"):
        open_feed(str(tmp_path / where))


def test_a_missing_file_for_the_probe_option_ends_with_exit_code_3(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["--data", str(tmp_path / "data"), "practise", "--plain", "--readings", str(tmp_path / "none")]
    assert main(asked) == 3
    assert "name a file, a pipe or a serial line" in capsys.readouterr().err
    assert not (tmp_path / "data").exists()
