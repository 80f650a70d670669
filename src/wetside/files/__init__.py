"""Reads and checks the files people write; units; settings; atomic writes."""
