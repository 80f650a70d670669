"""Shipped profiles, read once in each process; they are frozen, so a test that changes one makes a copy."""

from __future__ import annotations

from functools import cache

from wetside.files.profile_file import read_profile

read_shipped = cache(read_profile)
