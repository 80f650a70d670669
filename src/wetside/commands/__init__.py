"""The commands of the program, one small file each: its arguments, and what it does with them."""
