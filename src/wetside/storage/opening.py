"""Opening the journal for somebody to be guided: one that cannot be written to, or is damaged, still shows.

One job: choose between a writer and a reader that stands in for it. It must not show anything.
"""

from __future__ import annotations

import os

from wetside.errors import JournalDamaged, JournalUnusable, Unusable
from wetside.files.settings import JOURNAL, Places
from wetside.storage.store import Store, open_store


def open_to_guide(places: Places) -> Store:
    """As `open_store`, but where nothing can be written, as on a read-only disk, one to read; `barred` says why.

    What would be refused for another reason, or has no journal, is refused.
    """
    path = places.data / JOURNAL
    try:
        return open_store(places)
    except JournalDamaged as problem:
        return Store.open_remains(path, problem)
    except Unusable as problem:
        if not path.exists() or (os.access(places.data, os.W_OK) and os.access(path, os.W_OK)):
            raise
        store = open_store(places, read_only=True)
        if store.barred is None:
            store.barred = JournalUnusable(str(problem), "the data folder cannot be written to.")
        return store


def only_shown(store: Store) -> bool:
    """Whether sessions can be watched alone: nothing can be written, beside the journal either."""
    return store.barred is not None and not isinstance(store.barred, JournalDamaged)
