"""What happens: setup, plan, events, state, commands, cues and the view. Pure, standard library only."""
