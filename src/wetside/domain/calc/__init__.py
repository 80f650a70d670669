"""Arithmetic of the trade in base units: times, temperatures, volumes, residues."""
