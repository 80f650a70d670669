"""What a process is: the model, reading and writing it as TOML, and the proof that it is sound."""
