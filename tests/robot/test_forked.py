"""A program that is forked from the server ends, speaks and sees its surroundings as one that is started anew."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.robot.forked import ForkedOnTerminal, run_forked, starts_like
from tests.robot.program import environment

PROGRAMS = {
    "falls": "import atexit; atexit.register(print, 'at its end'); print('said'); raise ValueError('why')",
    "words": "import sys; sys.exit('words')",
    "code": "import sys; print('said'); sys.exit(3)",
    "signal": "import os, signal; os.kill(os.getpid(), signal.SIGTERM)",
    "child": "import os; os._exit(4)",
    "thread": "import threading, time; threading.Timer(0.1, print, ['late']).start()",
    "arguments": "import os, sys; print(sys.argv, sorted(os.environ.items()))",
    "place": "import os, sys, time; print(os.getcwd(), time.tzname, sys.stdin.read())",
    "streams": "import sys; print(*((s.encoding, s.errors) for s in (sys.stdin, sys.stdout, sys.stderr)))",
    "signals": "import signal\nfor n in sorted(signal.valid_signals()): print(n, repr(signal.getsignal(n))[:20])",
    "module": "",
}


@pytest.mark.parametrize("name", PROGRAMS)
def test_a_forked_program_ends_as_one_started_anew(tmp_path: Path, name: str) -> None:
    script = tmp_path / "script.py"
    script.write_text(PROGRAMS[name], "utf-8")
    arguments = ["-m", "wetside", "--version"] if name == "module" else [str(script), "one", "two"]
    place = environment(tmp_path / "data", TZ="Asia/Kathmandu")
    assert starts_like(place)
    anew = subprocess.run(
        [sys.executable, *arguments],
        env=place,
        cwd=tmp_path,
        input="typed\n",
        capture_output=True,
        text=True,
        timeout=240,
    )
    forked = run_forked(arguments, place, tmp_path, "typed\n")
    assert (forked.returncode, forked.stdout) == (anew.returncode, anew.stdout)
    assert forked.stderr.splitlines()[-1:] == anew.stderr.splitlines()[-1:]


def test_a_forked_program_has_a_terminal_of_its_own(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(
        "import os\nprint(os.getsid(0) == os.getpid() == os.tcgetpgrp(0), os.get_terminal_size(), os.ttyname(2))"
    )
    place = environment(tmp_path / "data")
    child = ForkedOnTerminal([str(script)], environment=place, directory=tmp_path, dimensions=(12, 40))
    child.wait()
    with open(child.child_fd, "rb", buffering=0, closefd=False) as terminal:
        said = terminal.read(200).decode()
    assert said.startswith("True os.terminal_size(columns=40, lines=12) /dev/pts/")
    assert child.exitstatus == 0
    child.close()


@pytest.mark.parametrize("changed", [{"LANG": "C"}, {"PYTHONUTF8": "0"}, {"LC_ALL": "C"}, {"PYTHONPATH": "/tmp"}])
def test_a_program_with_settings_that_python_reads_at_its_start_is_not_forked(
    tmp_path: Path, changed: dict[str, str]
) -> None:
    assert not starts_like(environment(tmp_path / "data", **changed))
