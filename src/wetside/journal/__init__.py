"""What is remembered: the append-only store and the codec of its events."""
