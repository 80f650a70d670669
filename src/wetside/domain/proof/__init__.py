"""Whether a profile is sound: consistency of its figures, and a proof over every path."""
