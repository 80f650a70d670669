"""The texts of the findings of the checks, which most tests look at."""

from __future__ import annotations

from datetime import date

from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile
from wetside.domain.proof.check import profile_findings, setup_findings
from wetside.present.proof_text import finding_text


def check_profile(profile: Profile) -> tuple[str, ...]:
    return tuple(finding_text(finding) for finding in profile_findings(profile))


def check_setup(profile: Profile, setup: Setup, today: date | None = None) -> tuple[str, ...]:
    return tuple(finding_text(finding) for finding in setup_findings(profile, setup, today))
