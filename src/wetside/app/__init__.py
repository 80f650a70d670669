"""Runs one session: connects clock, journal, state and keys, and serves both front ends (full screen, lines)."""
