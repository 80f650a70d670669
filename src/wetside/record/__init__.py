"""What leaves: exports of a session, and what past sessions teach."""
