"""The journal: one SQLite file of append-only streams, and the lock on a session."""
