"""The review before an evening: essentials, hazards, gear, first aid, the plan in short, and the profile's notes.

It only shows them: the guide asks each item again. ENTER begins only after the page was read to its end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Final

from wetside.app.terminal import Terminal
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.present.plan_text import short_lines
from wetside.present.plan_words import MOVED, agitation_words
from wetside.present.review_text import ABOUT, DECIDES, Review, review_of
from wetside.present.shelf_text import LEFT_AFTER
from wetside.present.wording import volume
from wetside.tui.frame import text_rows
from wetside.tui.page_screen import PageScreen
from wetside.tui.rows import RowList, StyledText, TextLayout

_EDGE: Final = 10
"""Cells before the sentences of a caution, for the signal word."""


class ReviewScreen(PageScreen):
    """The checklist of `plan`. left: called with whether ENTER was pressed to begin.

    profile: for its hazard codes; None leaves them out. said: a message until the first key. after: what is left
    in the kits of the shelf after tonight.
    """

    def __init__(
        self,
        terminal: Terminal,
        plan: Plan,
        left: Callable[[bool], None],
        *,
        profile: Profile | None = None,
        starts_at: datetime | None = None,
        said: str = "",
        after: tuple[str, ...] = (),
    ) -> None:
        def body(layout: TextLayout, cells: int) -> RowList:
            return review_rows(plan, profile, starts_at, layout, cells, after)

        super().__init__(terminal, f"Review: {plan.setup.title}", body, "begins the session")
        self._left = left
        self.message = said

    def finish(self, acted: bool) -> None:
        """Call `left`: a review may be the first screen, which cannot be dismissed."""
        self._left(acted)


def review_rows(
    plan: Plan,
    profile: Profile | None,
    starts_at: datetime | None,
    layout: TextLayout,
    cells: int,
    after: tuple[str, ...] = (),
) -> RowList:
    """The whole review as rows: hazards first, then gear, first aid, the plan, notes."""
    review = review_of(plan)
    rows: RowList = []

    def section(title: str, body: RowList) -> None:
        rows.extend(([()] if rows else []) + [layout.row(title, cells, "strong"), *body])

    def items(texts: Iterable[str]) -> RowList:
        return [row for words in texts for row in layout.hanging(f"- {words}", cells)]

    killers = [item.text for item in review.items if item.killer]
    others = [item for item in review.items if not item.killer]
    must = [row for words in killers for row in layout.hanging(f"! {words}", cells, "strong")]
    section("Not without these; the guide asks for each again", must)
    section("What can hurt", _hazards(review, profile, layout, cells))
    for step in dict.fromkeys(item.step for item in others):
        section(step, items(item.text for item in others if item.step == step))
    section("First aid", items(review.first_aid))
    if plan.kit is None:
        section(MOVED, items([f"{agitation_words(plan.setup)}."]))
        short = short_lines(plan, cells, not layout.utf8, starts_at)
        section("Tonight in short", text_rows(tuple(line.text for line in short), layout, cells))
    else:
        made = (f"{each.figures.title}, {volume(each.volume_ml, plan.volume_unit)}" for each in plan.kit.bottles)
        section("What is mixed, in this order", items(made))
    if after:
        rows += [(), *layout.lines(LEFT_AFTER, cells, "strong"), *items(after)]
    if review.notes:
        section(ABOUT, items(review.notes))
    return [*rows, (), *layout.lines(DECIDES, cells, "faint")]


def _hazards(review: Review, profile: Profile | None, layout: TextLayout, cells: int) -> RowList:
    rows: RowList = []
    for caution in review.cautions:
        label = StyledText(f" {caution.signal} ", "signal")
        words = caution.sentence
        rows += layout.labelled(label, words, cells, gap=_EDGE - len(label.text))
    hazards = review_of(profile).hazards if profile is not None else ()
    for solution in dict.fromkeys(of for of, _, _ in hazards):
        codes = "; ".join(f"{code} {text.rstrip('.')}" for of, code, text in hazards if of == solution)
        rows += layout.hanging(f"{layout.cut(f'{solution}: ', cells // 2)}{codes}.", cells)
    return rows
