"""What is shown: the only code that knows Textual."""
