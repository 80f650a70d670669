"""The session's state machine: commands, events, decide, evolve."""
