"""What a person at the screen feels: first paint, keys, bytes over the line, processor, calls."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from msgspec.structs import replace
from tests.faults.evening import evening
from tests.robot.program import environment
from tests.speed.journals import keep_many, standing_now, up_to
from tests.speed.pseudo_terminal import Program, busy
from tests.speed.table import Measured

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Agitation
from wetside.domain.session.events import SessionBegan

EMPTY: Final = ("-m", "tests.speed.empty_app")
HOME: Final = ("-m", "wetside")
RESUME: Final = ("-m", "wetside", "resume")
BOTTOM_LINE: Final = rb"BACKSPACE"
"""The last key of the bottom lines: painted last, and the last thing a person waits for."""
BATH, OPEN_STEP = "b1.bleach-fix", "gear-measure"
CUES_EVERY_S: Final = 0.5
CUES_AT_ONCE: Final = 50
"""A session's calls are reckoned anew at each poll: with hundreds of them no bath would be measured."""


def first_paint(times: int) -> Iterator[Measured]:
    """From the start of the process to the first whole screen, alternating with an empty app."""
    running = up_to("clock_started", BATH)
    kinds = {"home": (HOME, False), "home beside a running bath": (HOME, True), "resume": (RESUME, True)}
    samples: dict[str, list[float]] = {name: [] for name in (*kinds, "empty")}
    for _ in range(times + 1):  # the first round warms the disk and is left out
        for name, (arguments, stands) in kinds.items():
            samples["empty"].append(_paint_s(EMPTY, b"READY"))
            with TemporaryDirectory() as folder:
                data = Path(folder) / "data"
                if stands:
                    standing_now(data, running, 20.0)
                samples[name].append(_paint_s(arguments, BOTTOM_LINE, data))
    against = _ms(samples["empty"][len(kinds) :])
    for name in kinds:
        yield Measured(
            f"first paint, {name}", "ms", _ms(samples[name][1:]), "an empty Textual app", against, "≤ 1.25 ×"
        )


def home_with_many(times: int, sessions: int, events: int) -> Measured:
    """Home over an old journal against home over none."""
    with TemporaryDirectory() as folder:
        full, empty = Path(folder) / "full", Path(folder) / "empty"
        keep_many(full, sessions, events)
        pairs = [(_paint_s(HOME, BOTTOM_LINE, full), _paint_s(HOME, BOTTOM_LINE, empty)) for _ in range(times + 1)]
    many, none = zip(*pairs[1:], strict=True)
    what = f"first paint of home, {sessions:,} sessions of {events}"
    return Measured(what, "ms", _ms(list(many)), "no session", _ms(list(none)), "≤ 1.5 ×")


def key_to_paint(times: int, loaded: bool) -> Measured:
    """From a key to the first byte of its answer: the mark moves in a menu."""
    samples, against = [], []
    with TemporaryDirectory() as folder, busy(2) if loaded else nullcontext():
        data = Path(folder) / "data"
        standing_now(data, up_to("step_ended", OPEN_STEP, before=True), 5.0)
        with Program(RESUME, environment(data)) as guide, Program(EMPTY, environment(data)) as empty:
            guide.until(BOTTOM_LINE)
            empty.until(b"READY")
            guide.quiet()
            empty.quiet()
            guide.send(b"\x7f")  # the menu
            guide.quiet()
            for _ in range(times):
                samples.append(guide.key_to_paint_s(b" "))
                guide.quiet(0.2)
                against.append(empty.key_to_paint_s(b" "))
                empty.quiet(0.2)
    what = f"key to paint{', both cores loaded' if loaded else ''}"
    return Measured(what, "ms", _ms(samples), "an empty Textual app", _ms(against), "≤ 1.5 ×")


def running_bath(seconds: float) -> Iterator[Measured]:
    """A bath runs in the full screen: bytes over the line, and processor."""
    with TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        standing_now(data, up_to("clock_started", BATH), 20.0)
        with Program(RESUME, environment(data)) as guide:
            guide.until(BOTTOM_LINE)
            guide.watch(3.0)
            before, each = guide.cpu_s(), []
            for _ in range(round(seconds)):
                each.append(float(guide.watch(1.0)))
            cpu = (guide.cpu_s() - before) / seconds * 100
    yield Measured(f"bytes in each second of a running bath, {seconds:.0f} s", "B", tuple(each), aim="≤ 500 B/s")
    yield Measured(f"processor of a running bath, {seconds:.0f} s", "% of a core", (cpu,), aim="≤ 1 %")


def nothing_changes(seconds: float) -> Measured:
    """A step without a clock: the wall clock's minute may turn, nothing else."""
    with TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        standing_now(data, up_to("step_ended", OPEN_STEP, before=True), 5.0)
        with Program(RESUME, environment(data)) as guide:
            guide.until(BOTTOM_LINE)
            guide.quiet(1.5)
            each = tuple(float(guide.watch(1.0)) for _ in range(round(seconds)))
    return Measured(f"bytes in each second while nothing changes, {seconds:.0f} s", "B", each, aim="0")


def step_change() -> Measured:
    """SPACE, then ENTER, at the end of steps of several kinds: bytes of the next step's first picture."""
    samples = []
    for step in ("gear-measure", "gear-film", "protect", "b1.lid", "b1.r1.hang-up"):
        with TemporaryDirectory() as folder:
            data = Path(folder) / "data"
            standing_now(data, up_to("step_ended", step, before=True), 5.0)
            with Program(RESUME, environment(data)) as guide:
                guide.until(BOTTOM_LINE)
                guide.quiet()
                guide.send(b" ")
                guide.quiet()
                guide.send(b"\r")
                samples.append(float(guide.quiet()))
    return Measured("bytes of a step change", "B", tuple(samples), aim="≤ 14,000 B")


def cue_errors(cues: int, loaded: bool) -> Measured:
    """How late calls sound, from their planned moments, in the real screen on a real pseudo-terminal."""
    errors_s: list[float] = []
    with busy(2) if loaded else nullcontext():
        while len(errors_s) < cues:
            errors_s += _lateness_s(min(CUES_AT_ONCE, cues - len(errors_s)))
    what = f"lateness of {cues} calls, {'both cores loaded' if loaded else 'idle'}"
    worst = max(abs(error) for error in errors_s) * 1000
    p99 = sorted(abs(error) for error in errors_s)[round(0.99 * len(errors_s)) - 1] * 1000
    return Measured(what, "ms", _ms(errors_s), aim=f"p99 ≤ 20 ms; p99 was {p99:.1f}, the worst {worst:.1f}")


def _lateness_s(cues: int) -> list[float]:
    """How late each call of one session was; those that fell due before the screen stood are left out."""
    events = up_to("clock_started", BATH)
    began = events[0]
    assert isinstance(began, SessionBegan)
    with TemporaryDirectory() as folder:
        data, found = Path(folder) / "data", Path(folder) / "lateness.json"
        standing_now(data, events, 1.0, _with_many_calls(began.plan, cues))
        with Program(("-m", "tests.speed.called", str(data), str(found), str(cues)), environment(data)) as guide:
            while guide.process.poll() is None:
                guide.read(0.5)
        late_s: list[float] = json.loads(found.read_text())
    return late_s


def _with_many_calls(plan: Plan, cues: int) -> Plan:
    every = Agitation(first_s=0.0, every_s=CUES_EVERY_S, for_s=0.1, words="Turn it over.")
    length_s = cues * CUES_EVERY_S + 60.0
    steps = (replace(s, agitation=every, planned_s=length_s) if s.id == BATH else s for s in plan.steps)
    return replace(plan, steps=tuple(steps))


def _paint_s(arguments: tuple[str, ...], mark: bytes, data: Path | None = None) -> float:
    with TemporaryDirectory() as folder, Program(arguments, environment(data or Path(folder) / "data")) as program:
        return program.until(mark)


def _ms(seconds: list[float]) -> tuple[float, ...]:
    return tuple(each * 1000 for each in seconds)


def warm_up() -> None:
    """What is made once and kept: the evening whose events are used."""
    evening()
