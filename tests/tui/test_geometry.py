"""The bottom line, the clock and the marked tick are inside every picture, at every size, on every step."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace
from tests.tui.seen import plain_rows

from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.session.cues import schedule
from wetside.domain.session.state import State
from wetside.present.action_effects import available, open_action
from wetside.present.actions import ACTIONS
from wetside.present.announcements import announced
from wetside.present.key_handler import current_key_state, keys, press_key
from wetside.present.key_state import KeyState
from wetside.present.presenter import build_view
from wetside.present.prompts import Keys
from wetside.present.view_model import ClockView, StandingLine, View
from wetside.tui.frame import Notices
from wetside.tui.guide_layout import MARKS, guide_picture, rail_rows
from wetside.tui.large_digits import Scale, rows_of
from wetside.tui.rows import Picture, TextLayout, row_width

Standing = Callable[..., State]
SIZES = ((80, 24), (60, 20), (40, 12), (120, 40), (200, 60))
AT = 1000.0
CALL = "Turn the tank over gently, then tap it once on the sink."
LONG_REFUSAL = "Developer still works. To end it early: key e, or the menu."
LAYOUTS = (TextLayout(True), TextLayout(False))


def _pictured(
    state: State, key_state: KeyState, notices: Notices, layout: TextLayout, size: tuple[int, int]
) -> tuple[View, Picture]:
    view = build_view(state, AT)
    key_state = current_key_state(key_state, state, AT)
    return view, guide_picture(view, key_state, keys(state, key_state, AT), notices, layout, *size)


def _moments(plan: Plan, standing: Standing) -> list[State]:
    """Every step before its act, and every timed one 75 s into it."""
    states = [standing(plan, step.id, at=AT) for step in plan.steps]
    return states + [standing(plan, step.id, running_s=75.0, at=AT) for step in plan.steps if _lit(step)]


def _lit(step: PlannedStep) -> bool:
    return step.timed and not step.in_the_dark


def _squeezed(text: str) -> str:
    """Text without spaces: a wrapped sentence is found again whatever its line breaks."""
    return "".join(text.split())


def _shows_clock(clock: ClockView, drawn: tuple[str, ...], layout: TextLayout) -> bool:
    if any(clock.digits in row for row in drawn):
        return True
    text = "\n".join(drawn)
    for scale in (Scale(across, half_rows) for half_rows in range(1, 26) for across in range(1, half_rows + 1)):
        large = [line.rstrip() for line in rows_of(clock.digits, scale, layout)]
        if all(line in text for line in large):
            return True
    return False


@pytest.mark.parametrize("layout", LAYOUTS, ids=("UTF-8", "ASCII"))
@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize(
    "notices", [Notices(), Notices(message=LONG_REFUSAL, cue=CALL)], ids=("quiet", "call and refusal")
)
@pytest.mark.parametrize("far", [False, True], ids=("near", "far"))
def test_bottom_line_clock_and_marked_tick_are_inside_the_picture(
    plan: Plan,
    bag_plan: Plan,
    standing: Standing,
    size: tuple[int, int],
    notices: Notices,
    far: bool,
    layout: TextLayout,
) -> None:
    for state in (*_moments(plan, standing), *_moments(bag_plan, standing)):
        view, picture = _pictured(state, KeyState(far=far), notices, layout, size)
        drawn = plain_rows(picture)
        where = f"{view.step} at {size}"
        assert len(picture) == size[1], where
        assert all(row_width(row) <= size[0] for row in picture), where
        text = _squeezed("".join(drawn))
        for words in (notices.cue, notices.message):
            assert _squeezed(layout.text(words)) in text, where
        up = next((tick for tick in (*view.ticks, *view.meanwhile) if tick.up), None)
        if up is not None and not (notices.cue and view.in_bath):  # while a call stands no line is marked
            start = _squeezed(layout.text(up.text))[:20]
            assert start in text, where
        if view.clock is not None and not (far and view.clock.face == "still"):
            assert _shows_clock(view.clock, drawn, layout), where


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_bottom_line_says_every_key_that_does_something(
    plan: Plan, standing: Standing, size: tuple[int, int]
) -> None:
    for state in _moments(plan, standing):
        key_state = current_key_state(KeyState(), state, AT)
        said = keys(state, key_state, AT)
        _, picture = _pictured(state, key_state, Notices(cue=CALL), LAYOUTS[0], size)
        bottom = " ".join(plain_rows(picture)[-3:])
        for name, words in (("SPACE", said.space), ("ENTER", said.enter), ("BACKSPACE", said.backspace)):
            if words:
                assert f"{name} {words}" in bottom, f"{state.current} at {size}"


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
def test_no_step_is_cut_at_the_design_size(plan: Plan, standing: Standing, size: tuple[int, int]) -> None:
    """At 80 by 24 every caution, every tick and the whole instruction can be read before the act."""
    for state in (standing(plan, step.id, at=AT) for step in plan.steps):
        view, picture = _pictured(state, KeyState(), Notices(), LAYOUTS[0], size)
        rail = 22 if size[0] < 100 else 31
        text = _squeezed("".join(row[rail:] for row in plain_rows(picture)[1:]))
        for words in (view.act, *(tick.text for tick in view.ticks), *view.remember):
            assert _squeezed(words) in text, view.step
        for caution in view.cautions:
            assert _squeezed(caution.sentence) in text, view.step


def test_at_the_smallest_size_nothing_to_remember_in_the_dark_or_at_the_thermometer_is_cut(
    plan: Plan, bag_plan: Plan, standing: Standing
) -> None:
    for each, step_id in ((plan, "b1.load-room"), (bag_plan, "b1.load-bag")):
        view, picture = _pictured(
            standing(each, step_id, ready=True, at=AT), KeyState(), Notices(), LAYOUTS[0], (40, 12)
        )
        drawn = "\n".join(plain_rows(picture))
        assert view.remember
        assert all(words in drawn for words in view.remember)
    _, picture = _pictured(standing(plan, "b1.warm-again", at=AT), KeyState(), Notices(), LAYOUTS[0], (40, 12))
    drawn = "\n".join(plain_rows(picture))
    assert "Developer: wanted 37.8 to 39.0 °C" in drawn
    assert "Bleach-fix: wanted 35.0 to 40.5 °C" in drawn


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_marked_line_of_every_panel_is_inside(plan: Plan, standing: Standing, size: tuple[int, int]) -> None:
    state = standing(plan, "b1.developer", running_s=75.0, at=AT)
    opened = current_key_state(KeyState(), state, AT)
    menu = press_key(state, opened, "backspace", AT).key_state
    for _ in available(state, AT):
        _, picture = _pictured(state, menu, Notices(), LAYOUTS[0], size)
        drawn = plain_rows(picture)
        assert any("→" in row for row in drawn)
        assert any(build_view(state, AT).clock.digits in row for row in drawn)  # type: ignore[union-attr]
        menu = press_key(state, menu, "space", AT).key_state
    for action in ACTIONS:
        panel = open_action(state, action.id, AT).panel
        if panel is not None:
            key_state = replace(opened, panel=panel)
            _, picture = _pictured(state, key_state, Notices(message=LONG_REFUSAL), LAYOUTS[0], size)
            assert len(picture) == size[1]
            assert all(row_width(row) <= size[0] for row in picture)


def test_two_key_words_that_do_not_fit_one_row_take_two() -> None:
    view_keys = Keys("confirms the marked line", "", "menu")
    from wetside.tui.frame import bottom_rows

    assert len(bottom_rows(view_keys, LAYOUTS[0], 80)) == 1
    assert len(bottom_rows(view_keys, LAYOUTS[0], 40)) == 2


@pytest.mark.parametrize("cells", [19, 28])
def test_the_rail_cuts_no_title(plan: Plan, bag_plan: Plan, standing: Standing, cells: int) -> None:
    for each in (plan, bag_plan):
        for step in each.steps:
            rail = build_view(standing(each, step.id, at=AT), AT).rail
            rows = rail_rows(rail, LAYOUTS[0], cells, 200)
            assert all(row_width(row) <= cells for row in rows)
            drawn = plain_rows(tuple(rows))
            titles = [row.text for row in rail]
            words = rail_words(drawn)
            assert _squeezed(" ".join(words)) == _squeezed(" ".join(titles)), step.id
            now = next(row.text for row in rail if row.mark == "now" and row.depth == max(r.depth for r in rail))
            few = "\n".join(plain_rows(tuple(rail_rows(rail, LAYOUTS[0], cells, 6))))
            assert now.split()[0] in few, step.id


@pytest.mark.parametrize(
    ("layout", "sign"), [(LAYOUTS[0], "│"), (TextLayout(utf8=False), "|")], ids=["UTF-8", "ASCII"]
)
@pytest.mark.parametrize(("size", "at"), [((80, 24), 20), ((120, 40), 29)], ids=str)
def test_a_horizontal_line_separates_the_stages_from_the_step(
    plan: Plan, standing: Standing, size: tuple[int, int], at: int, layout: TextLayout, sign: str
) -> None:
    view = build_view(standing(plan, "b1.developer", running_s=20.0, at=AT), AT)
    keys = Keys("confirms the marked line", "", "menu")
    picture = guide_picture(view, KeyState(), keys, Notices(), layout, *size)
    assert {row[at - 1 : at + 2] for row in plain_rows(picture)[1:-2]} == {f" {sign} "}


def rail_words(drawn: tuple[str, ...]) -> list[str]:
    """The titles alone: of each row what stands before its word at the right edge."""
    marks = tuple(word for word, _ in MARKS.values() if word)
    found = []
    for row in drawn:
        mark = next((mark for mark in sorted(marks, key=len, reverse=True) if row.endswith(f" {mark}")), "")
        found.append(row.removesuffix(mark).strip())
    return found


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_far_view_shows_a_call_once(plan: Plan, standing: Standing, size: tuple[int, int]) -> None:
    state = standing(plan, "b1.developer", running_s=0.0, at=AT)
    seen = set()
    for cue in map(announced, schedule(state, plan.step("b1.developer"))):
        view = build_view(state, cue.at)
        said = keys(state, KeyState(far=True), cue.at)
        picture = guide_picture(view, KeyState(far=True), said, Notices(cue=cue.text), LAYOUTS[0], *size)
        text = " ".join(" ".join(plain_rows(picture)).split())
        assert text.count("CALL") == 1
        assert text.count(" ".join(cue.text.split())[: size[0] - 8]) == 1, cue
        assert cue.text in view.act or view.act.rstrip(".") in cue.text or view.act[:20] in text, cue
        seen.add(cue.call)
    assert seen == {"agitate", "ready", "drain", "over"}


def test_the_step_before_which_waiting_items_are_due_is_named_once(plan: Plan, standing: Standing) -> None:
    several = 0
    for state in _moments(plan, standing):
        view, picture = _pictured(state, KeyState(), Notices(), LAYOUTS[0], (120, 60))
        text = "\n".join(plain_rows(picture))
        dues = {tick.due for tick in view.meanwhile}
        if len(dues) != 1:
            continue
        assert f"While you wait, {dues.pop()}" in text, view.step
        assert "(before" not in text, view.step
        several += len(view.meanwhile) > 1
    assert several


def test_on_a_small_screen_the_last_rule_set_aside_is_named_by_its_own_words(
    plan: Plan, standing: Standing
) -> None:
    state = standing(plan, "b1.developer", running_s=75.0, at=AT)
    rules = tuple(
        StandingLine(f"{what} (Not needed)", rule=True)
        for what in ("Goggles on", "Gloves on", "Tray dry", "Lid locked")
    )
    view = replace(build_view(state, AT), standing=rules)
    drawn = guide_picture(view, KeyState(), keys(state, KeyState(), AT), Notices(), LAYOUTS[0], 40, 12)
    assert any("4 rules set aside; the last: Lid" in row for row in plain_rows(drawn))
