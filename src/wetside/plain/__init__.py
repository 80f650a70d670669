"""The session line by line, without a full screen."""
