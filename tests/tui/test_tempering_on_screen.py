"""The tempering step always has its curve at 80 by 24, from before the first reading to the last."""

from __future__ import annotations

import pytest
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan
from tests.tui.seen import plain_rows

from wetside.domain.planning.setup import TemperatureUnit
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Kind
from wetside.present.tempering_forecast import tempering_forecast
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import TextLayout

QUIET = Notices("", "", "", False, "")


def drawn(guide: Guide, layout: TextLayout, columns: int = 80, rows: int = 24) -> str:
    controller = guide.controller
    forecast = tempering_forecast(controller.state, controller.now())
    picture = guide_picture(
        controller.view(), controller.key_state, controller.keys(), QUIET, layout, columns, rows, forecast
    )
    return "\n".join(plain_rows(picture))


@pytest.mark.parametrize("utf8", [True, False], ids=["UTF-8", "ASCII"])
@pytest.mark.parametrize("setup", ["three-rolls", "five-rolls-two-batches"])
def test_the_curve_is_shown_at_every_moment_of_tempering(setup: str, utf8: bool) -> None:
    guide = guide_for(shipped_plan(setup))
    walker = Walker(guide)
    pictures: list[str] = []
    while len(pictures) < 40:
        step = guide.view
        if step.kind is Kind.WAIT and guide.panel is None:
            pictures.append(drawn(guide, TextLayout(utf8)))
        elif pictures and step.kind is not Kind.WAIT:
            break
        walker.step()
    assert pictures
    for picture in pictures:
        assert "now" in picture.split("D Developer")[0].splitlines()[-2], picture
        assert "ready" in picture, picture


@pytest.mark.parametrize(("unit", "typed"), [("°C", "36.2"), ("°F", "102.4")])
def test_the_range_that_is_wanted_is_whole_beside_the_field(unit: TemperatureUnit, typed: str) -> None:
    guide = guide_for(shipped_plan("three-rolls", Habits(unit=unit))).at_step("b1.warm-again")
    guide.press("t", "enter", *typed, "enter", "t", "up", "enter")
    words = drawn(guide, TextLayout(), 40, 12)
    wanted = guide.view.readings[0].wanted
    assert f"Read {typed} {unit}; wanted {wanted}." in words
