"""The safety and gear checklist of a process or of tonight's plan, as text to read or to print. Pure.

Critical items come first, then gear, hazards, first aid and the notes of the profile. The guide asks for each item
again, one by one.
"""

from __future__ import annotations

import re
import textwrap
from itertools import takewhile
from typing import Literal

from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import GRAVITY, Caution, Kind, Profile
from wetside.frozen import dataclass
from wetside.present.plan_words import MOVED, agitation_words

Format = Literal["text", "markdown"]

# the characters with a meaning in Markdown; the texts come from files that people write
_MARKS = re.compile(r"[\\`*_{}\[\]<>#|~&!]")

DECIDES = (
    "The kit's own safety data sheet, your local rules and licensed practice decide;"
    " this list is general and does not replace them."
)

ABOUT = "About this process"
"""The heading of the notes of a profile."""


@dataclass(frozen=True, slots=True)
class ReviewItem:
    """One checklist item. condition: the film or setup it applies to, in words; "" for any."""

    text: str
    killer: bool
    step: str
    condition: str = ""


@dataclass(frozen=True, slots=True)
class Review:
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
        found = tuple(dict.fromkeys(caution for step in thing.steps for caution in step.cautions))
        hazards = ()
        title = f"{thing.setup.title}: {thing.profile_title}"
    cautions = tuple(sorted(found, key=lambda caution: GRAVITY.index(caution.signal)))
    items.sort(key=lambda item: not item.killer)
    return Review(title, tuple(items), cautions, hazards, thing.first_aid, thing.notes)


def review_lines(
    thing: Profile | Plan,
    format: Format = "text",
    width: int = 80,
    besides: tuple[tuple[str, list[str]], ...] = (),
) -> tuple[str, ...]:
    """The checklist with a box to tick before each item; "text" is wrapped to `width` cells, markdown is not.

    besides: further sections (heading, items) about tonight; one without items is left out.
    """
    review = review_of(thing)
    writer = _Writer(format, width)
    lines = [*writer.title(f"Before you begin: {review.title}"), *writer.paragraph(DECIDES)]
    killers = [item for item in review.items if item.killer]
    others = [item for item in review.items if not item.killer]
    lines += writer.section("Not without these", [*map(_words, killers)], boxes=True)
    for step in dict.fromkeys(item.step for item in others):
        lines += writer.section(step, [_words(item) for item in others if item.step == step], boxes=True)
    if isinstance(thing, Plan) and thing.kit is None:
        lines += writer.section(MOVED, [f"{agitation_words(thing.setup)}."])
    lines += writer.section("What can hurt", [f"{c.signal}: {c.sentence}" for c in review.cautions])
    for solution in dict.fromkeys(solution for solution, _, _ in review.hazards):
        hazards = [f"{code}: {text}" for of, code, text in review.hazards if of == solution]
        lines += writer.section(f"{solution}: hazards of the pure substances", hazards)
    lines += writer.section("First aid", list(review.first_aid))
    for heading, items in besides:
        lines += writer.section(heading, items)
    lines += writer.section(ABOUT, list(review.notes))
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class _Writer:
    format: Format
    width: int

    def title(self, text: str) -> list[str]:
        if self.format == "markdown":
            return [f"# {_marked(text)}", ""]
        return [*self._wrapped(text, "", ""), ""]

    def paragraph(self, text: str) -> list[str]:
        return [_marked(text)] if self.format == "markdown" else self._wrapped(text, "  ", "  ")

    def section(self, heading: str, items: list[str], boxes: bool = False) -> list[str]:
        """A heading and its items; [] without items."""
        if not items:
            return []
        if self.format == "markdown":
            box = "[ ] " if boxes else ""
            return ["", f"## {_marked(heading)}", "", *(f"- {box}{_marked(item)}" for item in items)]
        first = "  [ ] " if boxes else "  - "
        lines = ["", *self._wrapped(heading, "", "")]
        for item in items:
            lines += self._wrapped(item, first, " " * len(first))
        return lines

    def _wrapped(self, text: str, first: str, later: str) -> list[str]:
        return textwrap.wrap(
            " ".join(text.split()),
            self.width,
            initial_indent=first,
            subsequent_indent=later,
            break_on_hyphens=False,
        )


def _plan_items(plan: Plan) -> list[ReviewItem]:
    # In a plan that mixes a kit only the first step is preparation.
    steps = plan.steps if plan.kit is None else plan.steps[:1]
    return [
        ReviewItem(tick.text, tick.killer, step.title)
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
