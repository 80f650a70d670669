"""The pictures in screenshots/ are what the program draws today: eleven key screens, kept and compared."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[2]
DRAWN = "import json; from screenshots import draw; print(json.dumps(draw.draw()))"


def test_the_screenshots_are_what_the_program_draws() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", DRAWN],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "TZ": "UTC"},
    )
    drawn: dict[str, str] = json.loads(ran.stdout.splitlines()[-1])
    kept = {path.stem: path.read_text("utf-8") for path in (TOP / "screenshots").glob("*.svg")}
    assert set(kept) == set(drawn)
    changed = [name for name, picture in drawn.items() if picture != kept[name]]
    assert changed == [], "look at what changed, then: .venv/bin/python -m screenshots.draw"
