"""How negatives came out before: what past sessions with the same process or bottles noted, for the next plan.

One job: find the notes about looks and say when, of which roll and why they matter tonight. It judges nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from wetside.domain.calc.learning import SESSIONS_REMEMBERED
from wetside.domain.session.events import NoteAdded
from wetside.export.session_log import SessionLog, session_log
from wetside.present.film_faults import CAME_OUT_WELL
from wetside.storage.sessions import load, summaries
from wetside.storage.store import Store


def past_looks(logs: Iterable[SessionLog], profile_id: str, bottle_ids: Collection[str] = ()) -> tuple[str, ...]:
    """One sentence for each look noted in `logs`, in their order; practice and other processes' bottles left out.

    A look counts when the session used this profile or one of these shelf bottles; the sentence says which. That
    a roll came out well is left out: there is nothing to change.
    """
    found = []
    for log in logs:
        if log.practice:
            continue
        shared = [bottle.label for bottle in log.plan.setup.bottles if bottle.shelf_id in bottle_ids]
        if not shared and log.profile_id != profile_id:
            continue
        why = f"same {', '.join(shared)}" if shared else "same process"
        for note in log.notes:
            if note.about == "look" and not note.text.startswith(CAME_OUT_WELL):
                of = f", {note.roll_label}" if note.roll_label else ""
                found.append(f"{log.began.wall:%Y-%m-%d}{of} ({why}): {note.text}.")
    return tuple(found)


def looks_before(store: Store, profile_id: str, bottle_ids: Collection[str] = ()) -> tuple[str, ...]:
    """The looks of the latest sessions in the journal that can be read, the newest first."""
    rows = [row for row in summaries(store) if row.developed][:SESSIONS_REMEMBERED]
    told = (load(store, row.stream) for row in rows)
    looked_at = (events for events in told if any(isinstance(e, NoteAdded) and e.about == "look" for e in events))
    return past_looks(map(session_log, looked_at), profile_id, bottle_ids)
