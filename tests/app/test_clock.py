"""The clock: what an instant holds, how long ago a moment was, and what counts as a jump."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.manual_clock import ManualClock

from wetside.app.clock import (
    BOOT_ID_FILE,
    FastClock,
    Instant,
    Jump,
    SystemClock,
    jumps,
    session_seconds,
)
from wetside.errors import Refused

SPANS = st.floats(0, 1e6)


def near(s: float) -> Any:
    """Equal to `s` but for what a datetime, which keeps microseconds, loses."""
    return pytest.approx(s, abs=1e-5)


def test_the_system_clock_reads_the_kernel_and_never_goes_back() -> None:
    clock = SystemClock()
    instants = [clock.now() for _ in range(200)]
    assert instants == sorted(instants, key=lambda instant: instant.boot_s)
    assert all(instant.wall.utcoffset() == timedelta(0) for instant in instants)
    assert {instant.boot_id for instant in instants} == {instants[0].boot_id}
    assert jumps(instants[0], instants[-1]) == ()


@pytest.mark.skipif(not BOOT_ID_FILE.exists(), reason="the kernel of this system keeps no boot id")
def test_the_boot_id_is_the_kernels_and_the_same_in_another_process() -> None:
    program = "from wetside.app.clock import SystemClock; print(SystemClock().now().boot_id)"
    other = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True)
    assert SystemClock().now().boot_id == other.stdout.strip() == BOOT_ID_FILE.read_text().strip()


@pytest.mark.skipif(sys.platform != "linux", reason="the uptime file is Linux's own")
def test_the_boot_clock_counts_from_the_start_of_the_machine() -> None:
    uptime_s = float(Path("/proc/uptime").read_text().split()[0])
    assert SystemClock().now().boot_s == pytest.approx(uptime_s, abs=5.0)


@pytest.mark.parametrize("kept", [None, b"", b"\xff\xfe"])
def test_without_a_kernel_id_the_boot_is_named_by_its_minute(tmp_path: Path, kept: bytes | None) -> None:
    file = tmp_path / "boot_id"
    if kept is not None:
        file.write_bytes(kept)
    instant = SystemClock(file).now()
    assert instant.boot_id.startswith("started ")
    named = datetime.fromisoformat(instant.boot_id.removeprefix("started "))
    since = instant.wall - timedelta(seconds=instant.boot_s) - named
    assert timedelta(seconds=-2) <= since < timedelta(seconds=62)


def test_manual_clock_moves_all_readings_as_a_real_machine_would() -> None:
    clock = ManualClock(datetime(2024, 1, 1, tzinfo=UTC), boot_s=100.0)
    start = clock.now()
    assert clock.now() == start
    assert clock.advance(5) == Instant(105.0, 105.0, start.wall + timedelta(seconds=5), start.boot_id)
    assert clock.suspend(40) == Instant(145.0, 105.0, start.wall + timedelta(seconds=45), start.boot_id)
    assert clock.step_wall(-3_600).boot_s == 145.0
    off = clock.reboot(60)
    assert (off.boot_s, off.awake_s) == (0.0, 0.0)
    assert off.boot_id != start.boot_id
    assert off.wall == start.wall + timedelta(seconds=45 - 3_600 + 60)
    assert clock.reboot(0).boot_id not in (off.boot_id, start.boot_id)


@given(at_s=SPANS, passed=SPANS, slept=SPANS, stepped=st.floats(-1e6, 1e6))
def test_in_one_boot_neither_a_suspend_nor_a_step_of_the_wall_clock_changes_elapsed(
    at_s: float, passed: float, slept: float, stepped: float
) -> None:
    clock = ManualClock()
    start = clock.now()
    clock.advance(passed)
    clock.step_wall(stepped)
    clock.suspend(slept)
    seconds, how = session_seconds(at_s, start, clock.now())
    assert seconds == near(at_s + passed + slept)
    assert how == "same boot"


@given(at_s=SPANS, before=SPANS, off=SPANS, after=SPANS)
def test_after_a_restart_the_wall_clock_tells_the_time(
    at_s: float, before: float, off: float, after: float
) -> None:
    clock = ManualClock()
    start = clock.now()
    clock.advance(before)
    clock.reboot(off)
    clock.advance(after)
    seconds, how = session_seconds(at_s, start, clock.now())
    assert seconds == near(at_s + before + off + after)
    assert how == "wall clock"


def test_a_wall_clock_put_back_over_a_restart_leaves_the_time_not_known() -> None:
    clock = ManualClock()
    start = clock.now()
    clock.reboot(30)
    clock.step_wall(-3_600)
    assert session_seconds(210.0, start, clock.now()) == (210.0, "not known")


def test_boot_clock_that_went_backward_is_not_used() -> None:
    clock = ManualClock(boot_s=500.0)
    start = clock.now()
    later = clock.advance(60)
    assert session_seconds(10.0, start, replace(later, boot_s=3.0)) == (70.0, "wall clock")


@pytest.mark.parametrize("s", [0.0, 1.0, 3_600.0])
def test_time_that_passes_normally_is_not_reported_as_a_jump(s: float) -> None:
    clock = ManualClock()
    before = clock.now()
    assert jumps(before, clock.advance(s)) == ()


@pytest.mark.parametrize(
    ("by_s", "noted"), [(2.0, False), (2.1, True), (-2.0, False), (-2.1, True), (86_400.0, True)]
)
def test_a_step_of_the_wall_clock_beyond_two_seconds_is_a_jump(by_s: float, noted: bool) -> None:
    clock = ManualClock()
    before = clock.now()
    clock.advance(1)
    assert jumps(before, clock.step_wall(by_s)) == ((Jump("wall step", near(by_s)),) if noted else ())


@pytest.mark.parametrize(("by_s", "noted"), [(2.0, False), (2.5, True), (40.0, True), (7_200.0, True)])
def test_a_suspend_beyond_two_seconds_is_a_jump(by_s: float, noted: bool) -> None:
    clock = ManualClock()
    before = clock.now()
    assert jumps(before, clock.suspend(by_s)) == ((Jump("suspend", near(by_s)),) if noted else ())


def test_suspend_and_wall_step_together_give_two_jumps() -> None:
    clock = ManualClock()
    before = clock.now()
    clock.suspend(40)
    assert jumps(before, clock.step_wall(-3_600)) == (Jump("suspend", 40.0), Jump("wall step", near(-3_600)))


@given(speed=st.floats(0.1, 1_000), passed=st.floats(0, 1e4))
def test_a_fast_clock_runs_all_readings_fast_together(speed: float, passed: float) -> None:
    inner = ManualClock()
    fast = FastClock(inner, speed)
    start = fast.now()
    inner.advance(passed)
    now = fast.now()
    assert now.boot_s - start.boot_s == near(passed * speed)
    assert (now.wall - start.wall).total_seconds() == near(passed * speed)
    assert jumps(start, now) == ()


def test_a_fast_clock_begins_at_the_moment_it_is_made() -> None:
    inner = ManualClock()
    now = FastClock(inner, 60).now()
    assert replace(now, boot_id=inner.now().boot_id) == inner.now()


def test_a_fast_clock_reports_jumps_unscaled() -> None:
    inner = ManualClock()
    fast = FastClock(inner, 60)
    start = fast.now()
    inner.step_wall(0.05)
    assert jumps(start, fast.now()) == (), "the moment between two readings must not grow into a jump"
    inner.suspend(40)
    inner.step_wall(3_600)
    assert jumps(start, fast.now()) == (Jump("suspend", near(40)), Jump("wall step", near(3_600.05)))


def test_practice_has_its_own_boot_id() -> None:
    inner = ManualClock()
    first = FastClock(inner, 60)
    held = first.now()
    inner.advance(1)
    second = FastClock(inner, 60)
    assert len({inner.now().boot_id, first.now().boot_id, second.now().boot_id}) == 3
    assert session_seconds(0.0, held, second.now())[1] == "wall clock"


def test_resumed_practice_continues_its_clock() -> None:
    inner = ManualClock()
    first = FastClock(inner, 60)
    inner.advance(7)
    held = first.now()
    inner.advance(3)
    again = FastClock(inner, 60, first.now().boot_id)
    assert again.now() == first.now()
    assert session_seconds(420.0, held, again.now()) == (near(600.0), "same boot")


@pytest.mark.parametrize(
    "kept", ["boot-1", "boot-1/practice/", "boot-1/practice/1e9", "boot-0/practice/1000.000000"]
)
def test_practice_resumed_after_a_reboot_begins_a_new_clock(kept: str) -> None:
    inner = ManualClock()
    inner.advance(5)
    assert FastClock(inner, 60, kept).now() == FastClock(inner, 60).now()


@pytest.mark.parametrize("speed", [0.0, -1.0, 1_000.5, float("nan"), float("inf")])
def test_impossible_speed_is_refused_with_the_range(speed: float) -> None:
    with pytest.raises(Refused, match=r"from 0\.1 to 1000"):
        FastClock(ManualClock(), speed)
