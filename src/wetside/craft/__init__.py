"""What the trade works out: pure arithmetic in base units, standard library only."""
