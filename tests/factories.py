"""Values with many fields, of which a test names those that matter to it."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from wetside.domain.planning.plan import NO_PLAN, Plan
from wetside.domain.planning.setup import Roll, Setup, Tank
from wetside.domain.session.events import SessionBegan


def bare_plan(**fields: Any) -> Plan:
    """A plan of two rolls without steps, batches, words or figures, with these fields set."""
    rolls = (Roll("First", "standard"), Roll("Second", "backed"))
    setup = Setup("Two rolls", "small", rolls, Tank(2, (240.0, 470.0)), ())
    plan = replace(NO_PLAN, profile_id="small", profile_title="Small", profile_sha256="ab" * 32, setup=setup)
    return replace(plan, **fields)


def session_began(
    plan: Plan, session: str = "k3v9", wall: str = "2031-03-01T18:00:00Z", **fields: Any
) -> SessionBegan:
    """The first event of a session, with these fields set."""
    began = SessionBegan(0.0, session, wall, 0, "boot", 0.0, "0", "", plan, False, 1.0, "one")
    return replace(began, **fields)
