"""Wetside: a guide that stands beside the tank. This module holds the version only."""

__version__ = "0.1.0"
