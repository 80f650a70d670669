"""An evening that mixes a kit: its plan, refused in words, and the plan as lines of text."""

from __future__ import annotations

from wetside.domain.messages import message
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import mixing
from wetside.domain.shelf.mixing import KitRequest
from wetside.present.message_words import in_words, worded


@worded()
def mixing_plan(profile: Profile, request: KitRequest) -> Plan:
    """As `domain.shelf.mixing.mixing_plan`, but raises Refused with a sentence."""
    return mixing.mixing_plan(profile, request)


def guide_lines(plan: Plan) -> tuple[str, ...]:
    """The plan as lines of text: each step with its cautions and the statements to confirm."""
    lines = [in_words(message("mixing sheet"))]
    for number, step in enumerate(plan.steps, 1):
        lines += ["", f"{number}. {step.title}: {in_words(step.instruction, plan.units)}"]
        for each in step.cautions:
            texts = (in_words(text, plan.units) for text in (each.hazard, each.consequence, each.avoid))
            lines.append(f"   {each.signal}: {' '.join(texts)}")
        lines += [f"   {in_words(step.about, plan.units)}"] if step.about is not None else []
        lines += [f"   [ ] {in_words(tick.text, plan.units)}" for tick in step.ticks]
    return tuple(lines)
