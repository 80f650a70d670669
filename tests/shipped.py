"""Shipped profiles, read once in each process; they are frozen, so a test that changes one makes a copy."""

from __future__ import annotations

from functools import cache

from wetside.domain.profile.model import Profile
from wetside.files.profile_base import whole_document
from wetside.files.profile_file import profile_of_whole, read_profile

read_shipped = cache(read_profile)


def profile_from_text(text: str, name: str) -> Profile:
    """The profile in a text; findings use `name` as its file name. Raises FileUnusable with all findings."""
    return profile_of_whole(whole_document(text, name))
