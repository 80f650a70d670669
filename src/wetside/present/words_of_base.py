"""Words taken over from a base that still name the base's figures, where one's own file states others."""

from __future__ import annotations

import re
from collections.abc import Iterator

from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.profile.model import Profile
from wetside.present.profile_sheet import marked_prose


def words_of_base(profile: Profile, base: Profile) -> tuple[str, ...]:
    """One sentence for each text that names a figure of the base which the profile has changed.

    Only temperatures of a target and times of a table are looked for: no check knows what other numbers in a text
    are about.
    """
    said = []
    for prose in marked_prose(profile):
        names = dict.fromkeys(each for each in _changed(profile, base) if _names(prose.text, each))
        if names:
            figures = ", ".join(names)
            said.append(
                f'The words at {prose.of} still name {figures}, taken over: "{prose.text}"'
                " Put your sheet's figure into the file there."
            )
    return tuple(said)


def _names(text: str, figure: str) -> bool:
    return re.search(rf"(?<![\d.:]){re.escape(figure)}(?![\d:]|\.\d)", text) is not None


def _changed(profile: Profile, base: Profile) -> Iterator[str]:
    """The figures of the base that the profile has no more, as texts have them: "37.8 °C", "3:15"."""
    for solution in base.solutions:
        now = next((each for each in profile.solutions if each.id == solution.id), None)
        if now is None:
            continue
        if solution.target_c is not None and now.target_c != solution.target_c:
            yield f"{round(solution.target_c, 1):g} °C"
            yield f"{round(solution.target_c * 1.8 + 32, 1):g} °F"
        times = {seconds for _, seconds in now.table}
        yield from (minutes_seconds(seconds) for _, seconds in solution.table if seconds not in times)
