"""Prints the screens of a step: `python -m tests.session.show SETUP STEP [WIDTH HEIGHT]`, 80 by 24 without a size.

SETUP: a shipped example or a file. STEP: an id of its plan. Each screen with a new act, clock or keys is printed.
"""

from __future__ import annotations

import sys
from pathlib import Path

from msgspec.structs import replace
from tests.session.walker import Walker, guide_for
from tests.shipped import PROFILES, plan_for
from tests.tui.seen import plain_rows

from wetside.files.setup_file import read_setup
from wetside.present.tempering_forecast import tempering_forecast
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import TextLayout


def show(name: str, wanted: str, columns: int = 80, rows: int = 24) -> None:
    file = Path(name) if name.endswith(".toml") else PROFILES / "setups" / f"{name}.toml"
    setup = read_setup(file)
    if setup.profile.endswith(".toml"):
        setup = replace(setup, profile=str(file.parent / setup.profile))
    plan = plan_for(setup)
    if wanted not in [step.id for step in plan.steps]:
        sys.exit(f"no step {wanted} tonight; there are: {', '.join(step.id for step in plan.steps)}")
    controller, printed = (walker := Walker(guide_for(plan))).guide.controller, None
    while printed is None or controller.view().step == wanted:
        view, key_state, keys = controller.view(), controller.key_state, controller.keys()
        new = (view.act, view.clock and view.clock.words, keys, key_state.panel is None)
        if view.step == wanted and new != printed:
            printed, forecast = new, tempering_forecast(controller.state, controller.now())
            shown = guide_picture(view, key_state, keys, Notices(), TextLayout(), columns, rows, forecast)
            print("dark: nothing is drawn" if view.dark else "\n".join(plain_rows(shown)), "-" * columns, sep="\n")
        walker.step()


if __name__ == "__main__":
    show(sys.argv[1], sys.argv[2], *map(int, sys.argv[3:]))
