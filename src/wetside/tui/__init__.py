"""The full screen, the only code that imports Textual."""
