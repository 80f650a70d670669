"""Goes on with a session and writes down by how much each call was late: DATA FILE HOW-MANY. For the measures."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

from tests.faults.evening import SESSION

from wetside.app.session_factory import resume_session
from wetside.app.terminal import examine
from wetside.files.settings import Places, Settings
from wetside.present.announcements import Announcement
from wetside.storage.sessions import stream_of
from wetside.storage.store import open_store
from wetside.tui.app import run_screens
from wetside.tui.guide_screen import GuideScreen


def main(data: str, file: str, most: int) -> int:
    """Run the real guide until so many calls have been made."""
    places, settings = Places(Path(data), Path(data) / "settings.toml"), Settings()
    terminal = examine(os.environ, sys.stdin, sys.stdout)
    errors_s: list[float] = []
    with open_store(places) as store:
        controller = resume_session(store, places, stream_of(SESSION, False), settings, terminal="speed")
        guide = GuideScreen(controller, terminal, settings)
        sound, made_at = guide._alerts.sound, controller.now() + 1.0

        def timed(cue: Announcement) -> None:
            sound(cue)
            if cue.at > made_at:
                errors_s.append(controller.now() - cue.at)
            if len(errors_s) >= most:
                Path(file).write_text(json.dumps(errors_s))
                guide.app.exit(0)

        guide._alerts.sound = timed  # type: ignore[method-assign]  # the one way to see a call as it is made
        return run_screens(terminal, settings, lambda: guide)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
