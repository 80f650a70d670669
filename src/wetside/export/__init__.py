"""What leaves the program: the session log and its forms, and what past sessions teach."""
