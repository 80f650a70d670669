"""Starts programs without their imports: a process that has loaded Wetside forks once for each start.

Run as `python -m tests.robot.fork_server FD`, with the server's end of a socket. Each request is one JSON object
(arguments, environment, directory) that comes with four descriptors: standard input, output, error, and a pipe.
The answer is the process id; the wait status goes into the pipe when the process has ended. A child runs what
`python -m MODULE ARGUMENT…` or `python SCRIPT ARGUMENT…` would run, as the leader of a session of its own, with
signals as Python sets them. Only what an interpreter reads as it starts (PYTHON*, the locale) is the server's own.
"""

from __future__ import annotations

import atexit
import fcntl
import gc
import importlib
import io
import json
import os
import pkgutil
import runpy
import select
import signal
import socket
import sys
import termios
import threading
import time
import traceback
from contextlib import suppress
from typing import Any

import wetside.commands
import wetside.tui

LONGEST_REQUEST = 1 << 20
_NEVER_CAUGHT = (signal.SIGKILL, signal.SIGSTOP)


def load_everything() -> None:
    """Import what a program may import; nothing is run."""
    for package in (wetside.commands, wetside.tui):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            importlib.import_module(module.name)
    gc.freeze()


def serve(control: socket.socket) -> dict[str, Any] | None:
    """Fork for each request until the other end is closed. Returns a child's request; None in the server."""
    wakes, waking = os.pipe()
    os.set_blocking(waking, False)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    signal.set_wakeup_fd(waking)
    pipes: dict[int, int] = {}
    while True:
        ready, _, _ = select.select([control.fileno(), wakes], [], [])
        if wakes in ready:
            os.read(wakes, 4096)
            _report_ended(pipes)
        if control.fileno() in ready:
            sent, descriptors, _, _ = socket.recv_fds(control, LONGEST_REQUEST, 4)
            if not sent:
                return None
            process = os.fork()
            if process == 0:
                signal.set_wakeup_fd(-1)
                for each in (wakes, waking, control.detach(), descriptors[3], *pipes.values()):
                    os.close(each)
                _take_place(descriptors[:3])
                request: dict[str, Any] = json.loads(sent)
                return request
            for each in descriptors[:3]:
                os.close(each)
            pipes[process] = descriptors[3]
            control.sendall(f"{process}\n".encode())


def _report_ended(pipes: dict[int, int]) -> None:
    """Write the status of every child that has ended into its pipe."""
    while pipes:
        process, status = os.waitpid(-1, os.WNOHANG)
        if process == 0:
            return
        pipe = pipes.pop(process)
        with suppress(BrokenPipeError):
            os.write(pipe, f"{status}\n".encode())
        os.close(pipe)


def _take_place(standard: list[int]) -> None:
    """Become the leader of a session with these standard streams and the signals of a new interpreter."""
    os.setsid()
    for number, descriptor in enumerate(standard):
        os.dup2(descriptor, number)
    for descriptor in standard:
        if descriptor > 2:
            os.close(descriptor)
    if os.isatty(0):
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    for number in signal.valid_signals() - {*_NEVER_CAUGHT, signal.SIGINT, signal.SIGPIPE, signal.SIGXFSZ}:
        with suppress(OSError):  # those the C library keeps for itself
            signal.signal(number, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.default_int_handler)


def become(request: dict[str, Any]) -> None:
    """Environment, directory, arguments and streams of the program that was asked for."""
    os.environ.clear()
    os.environ.update(request["environment"])
    time.tzset()
    os.chdir(request["directory"])
    sys.argv = request["arguments"]
    gc.unfreeze()
    for name, number, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
        was: io.TextIOWrapper = getattr(sys, f"__{name}__")
        lines = 1 if name == "stderr" else -1
        stream = open(number, mode, lines, encoding=was.encoding, errors=was.errors, closefd=False)  # noqa: SIM115
        setattr(sys, name, stream)
        setattr(sys, f"__{name}__", stream)


def main() -> None:
    """Serve; in a child, run its program up to the end of the interpreter."""
    load_everything()
    request = serve(socket.socket(fileno=int(sys.argv[1])))
    if request is None:
        return
    become(request)
    os._exit(_exit_code(request["arguments"]))


def _exit_code(arguments: list[str]) -> int:
    """Run the program and do what an interpreter does at its end, but for taking every module apart."""
    code: object = 0
    try:
        if arguments[0] == "-m":
            sys.argv = arguments[1:]
            runpy.run_module(arguments[1], run_name="__main__", alter_sys=True)
        else:
            runpy.run_path(arguments[0], run_name="__main__")
    except SystemExit as leaving:
        code = leaving.code
    except BaseException:
        traceback.print_exc()
        code = 1
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and not thread.daemon:
            thread.join()
    atexit._run_exitfuncs()
    if isinstance(code, str):
        print(code, file=sys.stderr)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            stream.flush()
    return code if isinstance(code, int) else int(code is not None)


if __name__ == "__main__":
    main()
