"""A thermometer on standard input of the full screen: its lines become readings, and the keys still answer."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from tests.robot.program import EVENING, ROOT, environment, fields, journal
from tests.robot.robot import Robot, lead

PIPED = 'exec "$0" -m wetside practise "$1" --speed 400 --readings - < "$2"'


def test_readings_on_standard_input_are_taken_while_the_keys_work(tmp_path: Path) -> None:
    data, fifo = tmp_path / "data", tmp_path / "probe"
    os.mkfifo(fifo)
    probe = os.open(fifo, os.O_RDWR)  # also for reading, so that neither end waits for the other
    shell = ["/bin/sh", "-c", PIPED, sys.executable, EVENING, str(fifo)]
    with Robot(shell, environment=environment(data), cwd=ROOT) as robot:
        lead(robot, lambda r: "°C" in r.offers().get("SPACE", ""))  # a temperature, not the bells heard
        assert not _by_probe(data)
        os.write(probe, b"developer,20.4\ndeveloper,20.4\n")
        robot.until(lambda _: bool(_by_probe(data)))
        robot.until(lambda r: "20.4 °C" in r.text)
        assert [(read["of"], read["temperature_c"]) for read in _by_probe(data)] == [("developer", 20.4)]
        robot.press("BACKSPACE")  # out of the field
        robot.press("k")
        robot.until_shown("First aid")
        robot.press("BACKSPACE")
        os.close(probe)
        robot.until_shown("The probe is lost (its line has ended): type what you read, key t.")


def _by_probe(data: Path) -> list[dict[str, object]]:
    readings = (fields(row) for row in journal(data) if row[2] == "reading_taken")
    return [read for read in readings if read["by"] == "probe"]
