"""While a bath runs its name and its digits keep their rows, whatever is called or answered."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import pytest
from msgspec.structs import replace
from tests.tui.seen import plain_rows

from wetside.domain.planning.plan import Plan
from wetside.domain.session.state import State
from wetside.present.key_state import KeyState
from wetside.present.presenter import build_view
from wetside.present.prompts import Keys
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import TextLayout

Standing = Callable[..., State]
PEN = TextLayout(True)
AT = 1000.0
CALL = "Turn the tank over gently, then tap it once on the sink."
ANSWER = "Its time has come: SPACE when you start pouring the bleach-fix out."
SAID = (
    Notices(),
    Notices(cue=CALL),
    Notices(message=ANSWER),
    Notices(message=ANSWER, cue=CALL),
    Notices(trouble="NOT KEPT: The disk is full.", message=ANSWER, cue=CALL),
)
KEYS = (
    Keys("", "", "menu"),
    Keys("answers the call", "", "menu"),
    Keys("confirms the marked line", "the tank is empty", "menu"),
)


def rows_of_digits(drawn: tuple[str, ...]) -> tuple[int, int]:
    """The first and the last row of the large digits."""
    rows = [n for n, row in enumerate(drawn) if set(row) & set("█▀▄")]
    assert rows, "\n".join(drawn)
    return rows[0], rows[-1]


@pytest.mark.parametrize("far", [False, True], ids=("near", "far"))
@pytest.mark.parametrize("size", [(80, 24), (40, 12), (120, 40)], ids=str)
@pytest.mark.parametrize("step", ["b1.developer", "b1.bleach-fix"])
def test_the_name_of_a_bath_and_its_digits_keep_their_rows(
    plan: Plan, standing: Standing, size: tuple[int, int], far: bool, step: str
) -> None:
    found = set()
    for running_s in (-3.0, 20.0, 75.0, 180.0, 500.0):
        view = build_view(standing(plan, step, running_s=running_s, at=AT), AT)
        for notices, keys, held in product(SAID, KEYS, (False, True)):
            shown = replace(view, held=held)
            drawn = plain_rows(guide_picture(shown, KeyState(far=far), keys, notices, PEN, *size))
            top, bottom = rows_of_digits(drawn)
            assert drawn[1].strip().endswith(view.title)
            found.add((top, bottom))
    assert len(found) == 1, found


@pytest.mark.parametrize("far", [False, True], ids=("near", "far"))
@pytest.mark.parametrize("size", [(80, 24), (40, 12)], ids=str)
def test_without_bells_a_call_fills_the_width_of_the_screen(
    plan: Plan, standing: Standing, size: tuple[int, int], far: bool
) -> None:
    state = replace(standing(plan, "b1.developer", running_s=75.0, at=AT), by_eye_tick="sound/bells")
    picture = guide_picture(build_view(state, AT), KeyState(far=far), KEYS[1], Notices(cue=CALL), PEN, *size)
    block = [row for row in picture if len(row) == 1 and row[0].role == "signal" and len(row[0].text) == size[0]]
    assert len(block) >= 3
    assert "CALL: Turn the tank over" in "".join(row[0].text for row in block)


def test_the_seconds_to_pouring_out_are_shown_only_in_the_digits(plan: Plan, standing: Standing) -> None:
    """Seconds to pouring out stand in the digits alone, from the call to get ready on."""
    state = standing(plan, "b1.developer", running_s=0.0, at=AT)
    end_s = state.clocks["b1.developer"].end_s
    assert end_s is not None
    for left_s in (38.5, 30.5, 21.5, 12.5, 10.5):
        view = build_view(state, AT + end_s - left_s)
        assert view.clock is not None
        assert view.clock.seconds == int(left_s - 10.0) + 1
        if view.act.startswith("Get ready"):
            assert not any(character.isdigit() for character in view.act)
