"""What is damaged in the journal, in a sentence with the remedy; "" when nothing is.

One job: name what is lost and what to do, wherever the journal's sessions are shown. Everything else goes on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from wetside.files.settings import Places

if TYPE_CHECKING:
    from wetside.storage.salvage import StreamSalvage
    from wetside.storage.store import Store

REMEDY: Final = (
    "Close every guide, then `wetside salvage NEW` copies what can be read, and says how NEW is put to use."
)
_MOST_NAMED: Final = 3
_INDEX: Final = "contents"
"""The list of sessions, which is made anew from the sessions themselves."""


def damage_words(store: Store, places: Places) -> str:
    """Reads every page: about 5 ms for four evenings."""
    found = store.damage()
    if found is None:
        return _kept_apart(places)
    lost = [_named(stream) for stream in found.streams if stream.lost and stream.stream != _INDEX]
    more = f", and {len(lost) - _MOST_NAMED} more" if len(lost) > _MOST_NAMED else ""
    what = f"lost are {', '.join(lost[:_MOST_NAMED])}{more}; the rest goes on" if lost else "every entry reads"
    gone = f" {found.missing_pages} of its pages are missing: more may be lost." if found.missing_pages else ""
    return f"The journal is damaged: {what}.{gone} {REMEDY} {_kept_apart(places)}".strip()


def _named(stream: StreamSalvage) -> str:
    kind, _, session = stream.stream.partition("/")
    numbers = ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in stream.lost)
    return f"entries {numbers} of {f'session {session}' if session else f'the {kind}'}"


def _kept_apart(places: Places) -> str:
    """That an evening went on beside the journal, and how the two come together again; "" where none did."""
    from shlex import quote

    from wetside.files.settings import JOURNAL
    from wetside.storage.journal_file import KEPT_APART

    apart = sorted(path.parent.name for path in places.data.glob(f"{KEPT_APART}*/{JOURNAL}"))
    if not apart:
        return ""
    folder = places.data / apart[-1]
    both = f"--from {quote(str(places.data / JOURNAL))} --from {quote(str(folder / JOURNAL))}"
    return (
        f"An evening was kept beside the journal: `wetside --data {quote(str(folder))} resume` goes on with it; "
        f"`wetside salvage NEW {both}` puts both into one."
    )
