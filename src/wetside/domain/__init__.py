"""The trade as values: pure, standard library only, no clock, no disk, no randomness."""
