"""The shipped profiles and setups, read once in each process, and their plans.

All are frozen, so a test that changes one makes a copy.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.files.profile_base import whole_document
from wetside.files.profile_file import profile_of_whole, read_profile
from wetside.files.profile_places import find_profile, setups_by_name, shipped_dir
from wetside.files.setup_file import read_setup
from wetside.present.evening_plan import make_plan

PROFILES = shipped_dir()


def shipped_setups() -> tuple[Path, ...]:
    """The example setups that ship, by name."""
    return tuple(setups_by_name().values())


SETUPS = tuple(path.stem for path in shipped_setups())

read_shipped = cache(read_profile)


def profile_from_text(text: str, name: str) -> Profile:
    """The profile in a text; findings use `name` as its file name. Raises FileUnusable with all findings."""
    return profile_of_whole(whole_document(text, name))


def shipped_profile(name: str) -> Profile:
    """The shipped profile of this name."""
    return read_shipped(find_profile(name))


@cache
def shipped_setup(name: str) -> Setup:
    """The shipped setup of this name."""
    return read_setup(PROFILES / "setups" / f"{name}.toml")


def plan_for(setup: Setup, habits: Habits | None = None, today: date | None = None) -> Plan:
    """The plan of a setup with the shipped profile it names."""
    return make_plan(shipped_profile(setup.profile), setup, habits, today)


@cache
def shipped_plan(name: str, habits: Habits | None = None, **changes: Any) -> Plan:
    """The plan of a shipped setup with these fields changed."""
    return plan_for(replace(shipped_setup(name), **changes), habits)
