"""What a process is, as data."""
