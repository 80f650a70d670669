"""The safety and gear checklist of a process or of tonight's plan, as text to read or to print. Pure.

Critical items come first, then gear, hazards, first aid and the notes of the profile. The guide asks for each item
again, one by one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from itertools import takewhile
from typing import Literal

from msgspec import Struct

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import GRAVITY, Caution, Kind, Profile
from wetside.present.message_words import in_words, said_caution
from wetside.present.plan_words import MOVED, agitation_words
from wetside.present.shelf_text import LEFT_AFTER
from wetside.present.text_page import TextPage

Format = Literal["text", "markdown"]

# the characters with a meaning in Markdown; the texts come from files that people write
_MARKS = re.compile(r"[\\`*_{}\[\]<>#|~&!]")

DECIDES = (
    "The kit's own safety data sheet, your local rules and licensed practice decide;"
    " this list is general and does not replace them."
)

ABOUT = "About this process"
"""The heading of the notes of a profile."""


class ReviewItem(Struct, frozen=True):
    """One checklist item. condition: the film or setup it applies to, in words; "" for any."""

    text: str
    killer: bool
    step: str
    condition: str = ""


class Review(Struct, frozen=True):
    """The checklist. items: critical ones first, else in the order the guide asks them.

    cautions: the gravest first. hazards: (solution, code, words) of the pure substances; a plan has none.
    """

    title: str
    items: tuple[ReviewItem, ...]
    cautions: tuple[Caution, ...]
    hazards: tuple[tuple[str, str, str], ...]
    first_aid: tuple[str, ...]
    notes: tuple[str, ...]


def review_of(thing: Profile | Plan) -> Review:
    """The checklist before an evening of this plan, or before any evening of this profile."""
    if isinstance(thing, Profile):
        items, found = _profile_items(thing), thing.cautions
        hazards = tuple((s.title, hazard.code, hazard.text) for s in thing.solutions for hazard in s.hazards)
        title = thing.title
    else:
        items = _plan_items(thing)
        found = tuple(
            dict.fromkeys(said_caution(each, thing.units) for step in thing.steps for each in step.cautions)
        )
        hazards = ()
        title = f"{thing.setup.title}: {thing.profile_title}"
    cautions = tuple(sorted(found, key=lambda caution: GRAVITY.index(caution.signal)))
    items.sort(key=lambda item: not item.killer)
    return Review(title, tuple(items), cautions, hazards, thing.first_aid, thing.notes)


def review_lines(
    thing: Profile | Plan, format: Format = "text", width: int = 80, left: Sequence[str] = ()
) -> tuple[str, ...]:
    """The checklist with a box to tick before each item; "text" is wrapped to `width` cells, markdown is not.

    left: what is left in the kits of the shelf after tonight.
    """
    review = review_of(thing)
    moved = [f"{agitation_words(thing.setup)}."] if isinstance(thing, Plan) and thing.kit is None else []
    others = [item for item in review.items if not item.killer]
    boxes = {"Not without these": [_words(item) for item in review.items if item.killer]}
    for item in others:
        boxes.setdefault(item.step, []).append(_words(item))
    items = {MOVED: moved, "What can hurt": [f"{c.signal}: {c.sentence}" for c in review.cautions]}
    for solution, code, text in review.hazards:
        items.setdefault(f"{solution}: hazards of the pure substances", []).append(f"{code}: {text}")
    items |= {"First aid": [*review.first_aid], LEFT_AFTER: [*left], ABOUT: [*review.notes]}
    write = _markdown if format == "markdown" else partial(_text, TextPage(width))
    return tuple(write(f"Before you begin: {review.title}", boxes, items))


Sections = Mapping[str, Sequence[str]]


def _text(page: TextPage, title: str, boxes: Sections, items: Sections) -> Iterator[str]:
    yield from (*page.heading(title), "", *page.hanging("  ", DECIDES))
    for mark, sections in (("[ ] ", boxes), ("- ", items)):
        for heading, texts in sections.items():
            yield from page.section(heading, page.items(texts, mark))


def _markdown(title: str, boxes: Sections, items: Sections) -> Iterator[str]:
    yield from (f"# {_marked(title)}", "", _marked(DECIDES))
    for mark, sections in (("- [ ] ", boxes), ("- ", items)):
        for heading, texts in sections.items():
            if texts:
                yield from ("", f"## {_marked(heading)}", "", *(f"{mark}{_marked(text)}" for text in texts))


def _plan_items(plan: Plan) -> list[ReviewItem]:
    # In a plan that mixes a kit only the first step is preparation.
    steps = plan.steps if plan.kit is None else plan.steps[:1]
    return [
        ReviewItem(in_words(tick.text, plan.units), tick.killer, step.title)
        for step in takewhile(lambda step: step.kind is Kind.CHECK, steps)
        for tick in step.ticks
        if tick.asks != "bells"
    ]


def _profile_items(profile: Profile) -> list[ReviewItem]:
    return [
        ReviewItem(tick.text, tick.killer, step.title, " and ".join((*step.when, *tick.when)))
        for step in takewhile(lambda step: step.kind is Kind.CHECK, profile.steps)
        for tick in step.ticks
        if tick.asks != "bells"
    ]


def _words(item: ReviewItem) -> str:
    return f"{item.text} (for: {item.condition})" if item.condition else item.text


def _marked(text: str) -> str:
    """`text` with its Markdown characters escaped."""
    return _MARKS.sub(lambda found: "\\" + found[0], " ".join(text.split()))
