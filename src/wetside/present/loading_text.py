"""When film is loaded, beside the warming of the bottles or after it, in the plan's words. Pure."""

from __future__ import annotations

from wetside.domain.calc.wording import span, the
from wetside.domain.planning.plan import Plan


def warming_words(plan: Plan) -> str:
    """How long the bottles take, and what loading film meanwhile saves; empty where they are never in range."""
    if plan.tempering is None or plan.tempering.ready_s is None:
        return ""
    saved_s = plan.loading.saved_s if plan.loading is not None and plan.loading.why == "room" else 0.0
    beside = f"; loading meanwhile saves {span(saved_s)}" if saved_s >= 60.0 else ""
    moments = plan.tempering.ready_span_s
    if moments is None:
        return f"about {span(plan.tempering.ready_s)}{beside}"
    late = "or later" if moments[1] is None else f"to {span(moments[1])}"
    return f"{span(moments[0])} {late}{beside}".replace(" min to ", " to ")


def order_words(plan: Plan) -> str:
    """Why film is loaded only once the bottles are warm; empty where it is loaded meanwhile."""
    found = plan.loading
    if found is None or found.order == "while warming":
        return ""
    match found.why:
        case "too warm":
            when = span(found.over_s or 0.0)
            return f"after warming: {the(found.over)} may be too hot {when} into it, unseen"
        case "never ready":
            return "after warming: by the forecast the bottles are not in range together"
        case "no forecast":
            return "after warming: nothing tells how the bottles warm"
        case _:
            saves = f"; meanwhile would save {span(-found.saved_s)}" if found.saved_s <= -60.0 else ""
            return f"after warming, as the setup says{saves}"
