"""Profile and setup in, the plan of one evening out."""
