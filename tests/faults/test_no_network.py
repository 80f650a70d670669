"""No network and no shell, anywhere: a whole evening with every socket refused, and no such call in the source."""

from __future__ import annotations

import ast
import os
import socket
import subprocess
from datetime import datetime
from pathlib import Path

import pytest
from tests.faults.evening import evening, places
from tests.manual_clock import ManualClock
from tests.robot.program import ROOT, environment, run
from tests.session.walker import Guide as MemoryGuide
from tests.session.walker import MemoryEventSink, Walker
from tests.shipped import shipped_plan

from wetside.app.controller import EventSink, SessionController
from wetside.app.session_factory import begin_session
from wetside.domain.session.events import Event
from wetside.export.data_formats import export_csv, export_jsonl, export_toml
from wetside.export.pages import export_markdown
from wetside.export.session_log import session_log
from wetside.files.settings import Settings
from wetside.storage.sessions import load, resolve
from wetside.storage.store import open_store

SOURCE = sorted((ROOT / "src" / "wetside").rglob("*.py"))
NETWORK = {
    "socket",
    "socketserver",
    "ssl",
    "http",
    "urllib",
    "ftplib",
    "smtplib",
    "xmlrpc",
    "requests",
    "telnetlib",
}
ALLOWED = {"urllib.parse"}
"""Takes texts apart; it opens nothing."""

SHELLS = {"system", "popen", "getoutput", "getstatusoutput", "create_subprocess_shell", "eval", "exec", "spawnlp"}


def refuse(*_: object, **__: object) -> None:
    """In the place of a socket."""
    raise AssertionError("a socket was asked for")


def test_whole_session_opens_no_socket_and_starts_no_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("socket", "create_connection", "getaddrinfo", "socketpair", "fromfd"):
        monkeypatch.setattr(socket, name, refuse)
    monkeypatch.setattr(subprocess, "Popen", refuse)
    monkeypatch.setattr(os, "system", refuse)
    clock, where = ManualClock(), places(tmp_path / "data")
    with open_store(where) as store:
        controller = begin_session(
            store, where, shipped_plan("three-rolls"), "text", Settings(), terminal="t", clock=clock
        )
        Walker(_guide(controller, clock)).lead(15_000)
        assert controller.state.outcome == "complete"
        events = load(store, resolve(store, "last"))
    log = session_log(events)
    assert all((export_toml(log), export_csv(log), export_markdown(log), export_jsonl(events)))
    assert len(events) == len(evening())


class Counted(MemoryEventSink):
    """Keeps in the journal, and counts for the walker."""

    def __init__(self, journal: EventSink) -> None:
        super().__init__()
        self._journal = journal

    def keep(self, events: tuple[Event, ...], wall: datetime) -> None:
        self._journal.keep(events, wall)
        super().keep(events, wall)


def _guide(controller: SessionController, clock: ManualClock) -> MemoryGuide:
    event_sink = Counted(controller._event_sink)
    controller._event_sink = event_sink
    return MemoryGuide(controller, clock, event_sink)


@pytest.mark.parametrize("command", [("plan", "three-rolls", "--json"), ("check", "two-bath"), ("sessions",)])
def test_commands_open_no_socket(tmp_path: Path, command: tuple[str, ...]) -> None:
    (tmp_path / "sitecustomize.py").write_text(
        "import socket\n\n"
        "def refuse(*_, **__):\n    raise SystemExit('a socket was asked for')\n\n"
        "socket.socket.__init__ = refuse\nsocket.create_connection = socket.getaddrinfo = refuse\n"
    )
    done = run(tmp_path / "data", *command, PYTHONPATH=str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert "socket" not in done.stderr
    probe = subprocess.run(
        ["python3", "-c", "import socket; socket.socket()"],
        env=environment(tmp_path / "data", PYTHONPATH=str(tmp_path)),
        capture_output=True,
        text=True,
    )
    assert "a socket was asked for" in probe.stderr


@pytest.mark.parametrize("path", SOURCE, ids=lambda path: str(path.relative_to(ROOT / "src")))
def test_the_source_asks_for_no_shell_and_no_network(path: Path) -> None:
    assert faults_in(path.read_text("utf-8")) == []


def faults_in(text: str) -> list[str]:
    """Calls of a shell and imports of the network in this source."""
    found = []
    for node in ast.walk(ast.parse(text)):
        match node:
            case ast.Import(names=names):
                found += [name.name for name in names if _network(name.name)]
            case ast.ImportFrom(module=str(module)):
                found += [module] if _network(module) else []
            case ast.Call(func=func, keywords=keywords):
                called = func.attr if isinstance(func, ast.Attribute) else getattr(func, "id", "")
                found += [called] if called in SHELLS else []
                found += [f"{called}(shell=…)" for keyword in keywords if keyword.arg == "shell"]
    return found


def _network(module: str) -> bool:
    return module.partition(".")[0] in NETWORK and module not in ALLOWED


@pytest.mark.parametrize(
    "text",
    [
        "import socket",
        "from urllib.request import urlopen",
        "import subprocess; subprocess.run('ls', shell=True)",
        "import os; os.system('ls')",
        "from asyncio import create_subprocess_shell as go\nimport asyncio\nasyncio.create_subprocess_shell('ls')",
        "eval('1')",
    ],
)
def test_the_source_check_finds_what_it_looks_for(text: str) -> None:
    assert len(faults_in(text)) == 1
