"""The commands of the program: their arguments, and what runs them. `cli.py` names the module of each."""
