"""The tempering step always has its curve at 80 by 24, from before the first reading to the last."""

from __future__ import annotations

import pytest
from tests.session.walker import Guide, Walker, guide_for
from tests.shipped import shipped_plan
from tests.tui.seen import plain_rows

from wetside.domain.profile.model import Kind
from wetside.present.tempering_forecast import tempering_forecast
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import guide_picture
from wetside.tui.rows import TextLayout

QUIET = Notices("", "", "", False, "")


def drawn(guide: Guide, layout: TextLayout) -> str:
    controller = guide.controller
    forecast = tempering_forecast(controller.state, controller.now())
    picture = guide_picture(
        controller.view(), controller.key_state, controller.keys(), QUIET, layout, 80, 24, forecast
    )
    return "\n".join(plain_rows(picture))


@pytest.mark.parametrize("utf8", [True, False], ids=["UTF-8", "ASCII"])
@pytest.mark.parametrize("setup", ["three-rolls", "five-rolls-two-batches"])
def test_the_curve_is_there_at_every_moment_of_tempering(setup: str, utf8: bool) -> None:
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
