"""Works out the plan of an evening and words its alerts."""

from __future__ import annotations

from functools import partial

from wetside.domain.planning import planner
from wetside.present.alert_text import alert_text

make_plan = partial(planner.make_plan, words=alert_text)
"""`planner.make_plan` with the sentences of `alert_text`."""
