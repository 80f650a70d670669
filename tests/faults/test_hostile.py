"""Harmful or meaningless bytes: no step is passed, nothing is entered, nothing breaks."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from tests.faults.evening import keep, opened, running
from tests.robot.program import ROOT, journal, kinds, run, started
from tests.robot.robot import Robot, leave_dark, pressed_until
from tests.shipped import shipped_plan

from wetside.domain.profile.model import Kind
from wetside.domain.session.events import ClockStarted, Event, StepOpened
from wetside.domain.session.state import replay

BYTES = 500
BIG_KEYS = b" \r\n\x08\x7f"
"""The three big keys in every spelling: what they do is meant. All other bytes must do nothing."""

BY_ITSELF = {"session_resumed", "cue_given", "cue_missed", "clock_jumped"}
SEQUENCES = (
    b"\x1b[A", b"\x1b[B", b"\x1bOP", b"\x1b[15~", b"\x1b[3~", b"\x1b[I", b"\x1b[O", b"\x1b[Z", b"\x1b[1;5C",
    b"\x1b[200~ \r \r SPACE\rENTER\r\x1b[201~", b"\x1b[200~\x1b[31m\r \r\x1b[201~",
    b"\x1b[M!!!", b"\x1b[<0;10;10M", b"\x1b[<64;1;1m", b"\x1b[24;80R", b"\x1b[?1;2c", b"\x1b[?2026;2$y",
    b"\x1b]0;title\x07", b"\x1b]52;c;cm0=\x07", b"\x1bP1$r0m\x1b\\", b"\x1b[99999999999999m", b"\x1b[;;;;;;;;h",
    b"\xc3\x28", b"\xff\xfe", b"\xe2\x82", b"\xf0\x9f\x92\x80", b"\xe2\x80\xae", b"\x00", b"\x9b31m",
)  # fmt: skip


def random_bytes(choose: random.Random) -> bytes:
    """500 bytes or sequences, the big keys left out."""
    others = bytes(byte for byte in range(256) if byte not in BIG_KEYS)
    parts = (
        choose.choice(SEQUENCES) if choose.random() < 0.3 else bytes([choose.choice(others)]) for _ in range(BYTES)
    )
    return b"".join(parts)


def _steps() -> list[object]:
    """Every step as it opens and, where it has a clock, as it runs; a few of them are the short form."""
    short = {
        ("gear-measure", "opened"),
        ("temper", "opened"),
        ("b1.load-room", "running"),
        ("b1.developer", "running"),
    }
    found: list[object] = []
    for step in shipped_plan("three-rolls").steps:
        for stage in ("opened", "running") if step.timed and not step.background else ("opened",):
            marks = () if (step.id, stage) in short else (pytest.mark.long,)
            found.append(pytest.param(step.id, stage, id=f"{step.id} {stage}", marks=marks))
    return found


def _dark(events: tuple[Event, ...]) -> bool:
    plan = replay(events).plan
    assert plan is not None
    opened_last = [event.step for event in events if isinstance(event, StepOpened)][-1]
    return plan.step(opened_last).kind is Kind.DARK and isinstance(events[-1], ClockStarted)


@pytest.mark.parametrize(("step", "stage"), _steps())
def test_random_bytes_pass_no_step_and_enter_nothing(tmp_path: Path, step: str, stage: str) -> None:
    data = tmp_path / "data"
    events = opened(step) if stage == "opened" else running(step)
    keep(data, events, passed_s=6.0)
    before = journal(data)
    with started(data, "resume") as robot:
        if _dark(events):
            robot.until_shown("This session is in its dark step.")
        else:
            robot.until_lit()
        sent = random_bytes(random.Random(f"{step} {stage}"))
        for start in range(0, len(sent), 64):
            robot.child.send(sent[start : start + 64])
            robot.read(0.01)
        robot.quiet(0.4)
        assert robot.alive()
        assert set(kinds(journal(data)[len(before) :])) <= BY_ITSELF
        robot.child.send(b"\x1b\\x")  # ends what a half sent sequence has begun
        if _dark(events):
            leave_dark(robot)
            robot.until_shown("Look at the closed tank")
        else:
            answers(robot)
            assert set(kinds(journal(data)[len(before) :])) <= BY_ITSELF
    assert b"Traceback" not in robot.written


def answers(robot: Robot) -> None:
    """It still hears the big keys: whatever stands open is left with BACKSPACE, and the menu opens."""
    while robot.offers().get("BACKSPACE") == "rubs out":
        robot.press(*["BACKSPACE"] * 20)
        robot.read(0.2)
    pressed_until(robot, "BACKSPACE", lambda r: r.offers().get("BACKSPACE") == "menu", every_s=0.2)
    pressed_until(robot, "BACKSPACE", lambda r: r.offers().get("BACKSPACE") == "leaves the menu")


def test_pasted_text_presses_no_key(tmp_path: Path) -> None:
    """The leave pair, ticks and a whole evening's keys in a paste: nothing comes of it."""
    data = tmp_path / "data"
    keep(data, running("b1.load-room"), passed_s=6.0)
    with started(data, "resume") as robot:
        robot.until_shown("This session is in its dark step.")
        before = journal(data)
        robot.child.send(b"\x1b[200~" + b" \r" * 400 + b"\x1b[201~")
        robot.quiet(0.4)
        assert journal(data) == before
    keep(tmp_path / "lit", opened("gear-film"), passed_s=6.0)
    with started(tmp_path / "lit", "resume") as robot:
        robot.until_lit()
        before = journal(tmp_path / "lit")
        robot.child.send(b"\x1b[200~" + b" \r" * 400 + b"\x1b[201~")
        robot.quiet(0.4)
        assert journal(tmp_path / "lit") == before
        answers(robot)


LABELS = ("[red]Roll[/red] [@click=app.quit]x[/]", "=1+1;@SUM(A1)", "a‮dc‬b ‏x", "{0} %s \\x1b[31m $(id)")


def _setup_with(labels: tuple[str, ...], to: Path) -> Path:
    text = (ROOT / "profiles" / "setups" / "three-rolls.toml").read_text("utf-8")
    for was, label in zip(("Harbour, morning", "Harbour, evening", "Garden in May"), labels, strict=False):
        text = text.replace(f'"{was}"', f"'{label}'")
    to.write_text(text, "utf-8")
    return to


@pytest.mark.parametrize("number", range(len(LABELS)))
def test_a_hostile_label_is_text_or_refused(tmp_path: Path, number: int) -> None:
    data, setup = tmp_path / "data", _setup_with((LABELS[number],), tmp_path / "hostile.toml")
    checked = run(data, "plan", str(setup))
    if checked.returncode != 0:
        assert checked.returncode == 3
        assert len(checked.stderr.splitlines()) == 1
        return
    assert "‮" not in checked.stdout
    keep_labels = LABELS[number].split()[0]
    with started(data, "start", str(setup)) as robot:
        robot.until_lit()
        pages = robot.words
        while "begins" not in robot.offers().get("ENTER", ""):
            shown = robot.text
            pressed_until(robot, "SPACE", lambda r, shown=shown: r.text != shown)  # type: ignore[misc]
            pages += robot.words
        robot.press("ENTER")
        robot.until_shown("Look at the chemistry")
    assert "‮" not in bytes(robot.written).decode("utf-8", "replace")
    assert keep_labels in run(data, "export", "last", "--format", "toml").stdout
    assert robot.alive() is False
