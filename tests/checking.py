"""The texts of the findings of the checks, which most tests look at."""

from __future__ import annotations

from datetime import date

from wetside.domain.planning.alerts import PlanWords
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile
from wetside.domain.proof.check import profile_findings, setup_findings
from wetside.present.evening_plan import WORDS


def check_profile(profile: Profile, every: bool = False) -> tuple[str, ...]:
    return tuple(finding.text for finding in profile_findings(profile, every, WORDS))


def check_setup(
    profile: Profile, setup: Setup, today: date | None = None, words: PlanWords = WORDS
) -> tuple[str, ...]:
    return tuple(finding.text for finding in setup_findings(profile, setup, today, words))
