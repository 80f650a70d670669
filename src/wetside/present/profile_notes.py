"""What a person is told about a profile that is no fault: figures far from print, and a base that has changed."""

from __future__ import annotations

import math

from wetside.domain.calc.wording import minutes_seconds, temperature
from wetside.domain.profile.model import Profile
from wetside.domain.proof.print_comparison import FarFromPrint, far_from_print


def profile_notes(profile: Profile) -> tuple[str, ...]:
    """One sentence for each; nothing is corrected."""
    return (*profile.remarks, *(far_in_words(far) for far in far_from_print(profile)))


def far_in_words(far: FarFromPrint) -> str:
    """A figure, the published ones, and their source: "Developer: 3:15 at 30.0 °C; published times ..."."""
    source = f"({far.source.title}; {far.source.sure.value})"
    ask = "Compare it with your kit's sheet."
    match far.what:
        case "time":
            if math.isinf(far.high):
                least = f"the shortest published time is {minutes_seconds(far.low)}"
                return f"{far.title}: {minutes_seconds(far.value)}; {least} {source}. {ask}"
            published = f"{minutes_seconds(far.low)} to {minutes_seconds(far.high)}"
            stated = f"{minutes_seconds(far.value)} at {temperature(far.at)}"
            return f"{far.title}: {stated}; published times come to {published} there {source}. {ask}"
        case "temperature":
            published = f"{temperature(far.low)} to {temperature(far.high)}"
            return f"{far.title}: {temperature(far.value)}; published are {published} {source}. {ask}"
        case "push":
            published = f"{far.low:.2f} to {far.high:.2f}"
            stated = f"x {far.value:g} for {far.at:g} {'stop' if far.at == 1 else 'stops'}"
            return f"{far.title}: {stated}; published factors come to {published} {source}. {ask}"
        case "capacity":
            return f"{far.title}: {far.value:g} rolls per litre; known are up to {far.high:g} {source}. {ask}"
        case "life":
            return f"{far.title}: it keeps {far.value:.0f} days; known are up to {far.high:.0f} {source}. {ask}"
