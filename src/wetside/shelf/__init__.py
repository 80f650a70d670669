"""What is in the bottles: events, state and commands of the shelf."""
