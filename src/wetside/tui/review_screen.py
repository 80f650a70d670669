"""The review before an evening: what must not be missing, hazards, gear, first aid, tonight's plan in short,
and what the process's file says of it.

It decides nothing; the guide asks each item again. ENTER begins only after the page was read to its end.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from wetside.app.terminal import Terminal
from wetside.domain.calc.wording import volume
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.present.plan_text import short_lines
from wetside.present.plan_words import MOVED, agitation_words
from wetside.present.review_text import ABOUT, DECIDES, Review, ReviewItem, review_of
from wetside.present.shelf_text import LEFT_AFTER
from wetside.tui.frame import text_rows
from wetside.tui.page_screen import PageScreen
from wetside.tui.rows import Form, Row, StyledText, TextLayout


class ReviewScreen(PageScreen):
    """The checklist of `plan`. `begin` starts the session, `left` goes back.

    profile: adds its hazard codes. said: a sentence that stands until the first key. after: what is left in the
    kits of the shelf after tonight.
    """

    def __init__(
        self,
        terminal: Terminal,
        plan: Plan,
        begin: Callable[[], None],
        left: Callable[[], None],
        *,
        profile: Profile | None = None,
        starts_at: datetime | None = None,
        said: str = "",
        after: tuple[str, ...] = (),
    ) -> None:
        def body(pen: TextLayout, cells: int) -> Form:
            return review_rows(plan, profile, starts_at, pen, cells, after)

        super().__init__(terminal, f"Review: {plan.setup.title}", body, "begins the session")
        self._begin, self._left = begin, left
        self._message = said

    def finish(self, acted: bool) -> None:
        """Go on by the callbacks: a review may be the first screen, which has no screen below it to go back to."""
        (self._begin if acted else self._left)()


def review_rows(
    plan: Plan,
    profile: Profile | None,
    starts_at: datetime | None,
    pen: TextLayout,
    cells: int,
    after: tuple[str, ...] = (),
) -> Form:
    """The whole review as rows: what can hurt first, gear, first aid, the plan, notes."""
    review = review_of(plan)
    killers = [item for item in review.items if item.killer]
    rows: Form = [_line("Not without these; the guide asks for each again", "strong", pen, cells)]
    rows += [row for item in killers for row in _item(item, pen, cells)]
    rows += [(), _line("What can hurt", "strong", pen, cells), *_hazards(review, profile, pen, cells)]
    for step in dict.fromkeys(item.step for item in review.items if not item.killer):
        rows += [(), _line(step, "strong", pen, cells)]
        items = [item for item in review.items if item.step == step and not item.killer]
        rows += [row for item in items for row in _item(item, pen, cells)]
    rows += [(), _line("First aid", "strong", pen, cells)]
    rows += [row for words in review.first_aid for row in _hung("- ", words, pen, cells)]
    if plan.kit is None:
        rows += [(), _line(MOVED, "strong", pen, cells)]
        rows += _hung("- ", f"{agitation_words(plan.setup)}.", pen, cells)
        rows += [(), _line("Tonight in short", "strong", pen, cells)]
        rows += text_rows(short_lines(plan, cells, not pen.signs.utf8, starts_at), pen, cells)
    else:
        rows += [(), _line("What is mixed, in this order", "strong", pen, cells)]
        made = [f"{each.figures.title}, {volume(each.volume_ml, plan.volume_unit)}" for each in plan.kit.bottles]
        rows += [row for words in made for row in _hung("- ", words, pen, cells)]
    if after:
        rows += [(), *((StyledText(line, "strong"),) for line in pen.wrap(LEFT_AFTER, cells))]
        rows += [row for words in after for row in _hung("- ", words, pen, cells)]
    if review.notes:
        rows += [(), _line(ABOUT, "strong", pen, cells)]
        rows += [row for words in review.notes for row in _hung("- ", words, pen, cells)]
    rows += [(), *((StyledText(line, "faint"),) for line in pen.wrap(DECIDES, cells))]
    return rows


def _hazards(review: Review, profile: Profile | None, pen: TextLayout, cells: int) -> Form:
    rows: Form = []
    for caution in review.cautions:
        label = f" {caution.signal} "
        words = f"{caution.hazard} {caution.consequence} {caution.avoid}"
        lines = pen.wrap(words, max(12, cells - 10))
        rows.append((StyledText(label, "signal"), StyledText(" " * (10 - len(label)) + lines[0])))
        rows += [(StyledText(" " * 10 + line),) for line in lines[1:]]
    hazards = review_of(profile).hazards if profile is not None else ()
    for solution in dict.fromkeys(of for of, _, _ in hazards):
        codes = "; ".join(f"{code} {text.rstrip('.')}" for of, code, text in hazards if of == solution)
        rows += _hung(f"{solution}: ", f"{codes}.", pen, cells)
    return rows


def _item(item: ReviewItem, pen: TextLayout, cells: int) -> Form:
    rows = _hung("! " if item.killer else "- ", item.text, pen, cells)
    return [(StyledText(row[0].text, "strong"),) for row in rows] if item.killer else rows


def _hung(first: str, words: str, pen: TextLayout, cells: int) -> Form:
    """`words` after `first`, later lines two cells in."""
    first = pen.cut(first, cells // 2)
    lines = pen.wrap(first + words, cells - 2)
    return [(StyledText(line if number == 0 else f"  {line}"),) for number, line in enumerate(lines)]


def _line(words: str, role: str, pen: TextLayout, cells: int) -> Row:
    return pen.row(words, cells, "strong" if role else "")
