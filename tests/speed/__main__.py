"""Measures how fast the program is and prints a table: `.venv/bin/python -m tests.speed [--short]`.

The long form takes about ten minutes; the README shows it. Nothing here passes or fails: what is measured on a
machine that does other work says little, so every line that can has a yardstick beside it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator

from tests.speed import core_measures as core
from tests.speed import screen_measures as screen
from tests.speed.table import HEAD, Measured, heading, row


def long_form() -> Iterator[Measured]:
    """Everything, as often as the aims ask."""
    yield from screen.first_paint(10)
    yield screen.home_with_many(10, 1_000, 200)
    yield screen.key_to_paint(60, loaded=False)
    yield screen.key_to_paint(60, loaded=True)
    yield from screen.running_bath(60.0)
    yield screen.nothing_changes(20.0)
    yield screen.step_change()
    yield screen.cue_errors(300, loaded=False)
    yield screen.cue_errors(300, loaded=True)
    yield core.commit(300)
    yield from core.replayed(5, (1_000, 10_000, 100_000))
    yield core.worked_out(20)
    yield core.plan_command(10)
    yield core.export_command(5, 10_000)
    yield core.sessions_command(10, 1_000, 200)


def short_form() -> Iterator[Measured]:
    """Everything once or twice."""
    yield from screen.first_paint(2)
    yield screen.home_with_many(2, 100, 50)
    yield screen.key_to_paint(8, loaded=False)
    yield screen.key_to_paint(8, loaded=True)
    yield from screen.running_bath(6.0)
    yield screen.nothing_changes(3.0)
    yield screen.step_change()
    yield screen.cue_errors(8, loaded=False)
    yield screen.cue_errors(8, loaded=True)
    yield core.commit(50)
    yield from core.replayed(2, (1_000, 10_000))
    yield core.worked_out(3)
    yield core.plan_command(2)
    yield core.export_command(1, 2_000)
    yield core.sessions_command(2, 100, 50)


def main(arguments: list[str]) -> int:
    """Print the table, each line as soon as it is measured."""
    parser = argparse.ArgumentParser(prog="python -m tests.speed", description="Measure, and print a table.")
    parser.add_argument("--short", action="store_true", help="a quick look, under a minute")
    short = parser.parse_args(arguments).short
    screen.warm_up()
    print(f"{heading()}{' (short form)' if short else ''}\n\n{HEAD[0]}\n{HEAD[1]}")
    for measured in short_form() if short else long_form():
        print(row(measured), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
