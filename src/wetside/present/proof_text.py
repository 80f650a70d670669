"""Words the findings of the checks of profiles and setups: `proof_findings.toml` has the sentence of each code."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetside.domain.messages import Message
from wetside.domain.planning.setup import METRIC
from wetside.domain.proof.findings import Account, Finding, PathName, PathStep
from wetside.present.evening_plan import REASON_FIRST
from wetside.present.message_words import in_words
from wetside.present.sentences import Specs, filled, word_table
from wetside.present.wording import counted

_USES: Final = {
    "solutions": ("Solution", "pours it"),
    "vessels": ("Vessel", "pours anything into it or through it"),
    "cautions": ("Caution", "shows it"),
    "gear": ("Gear", "lists it"),
    "stages": ("Stage", "belongs to it"),
}
"""What an entry of each table is called, and what no step does with it."""

_SPECS: Final[Specs] = {
    "thing": lambda value, _: _USES[value][0],
    "uses": lambda value, _: _USES[value][1],
    "lower": lambda value, _: str(value).lower(),
    "and": lambda value, _: " and ".join(each.lower() for each in value),
    "working": lambda value, _: f"while the {value.lower()} still works in the film",
    "words": in_words,
    "semicolons": lambda value, _: "; ".join(value),
    "again": lambda value, _: " again after the loading" if value else "",
    "more": lambda value, _: f" and {value} more" if value > 0 else "",
}


def finding_text(finding: Finding) -> str:
    """The sentence of a finding and, below it, line by line, the path that breaks. Temperatures are in °C."""
    said = _words(finding.what)
    if finding.what.code.endswith("beyond belief"):
        said = f"{said} Look at the kit's own sheet again."
    if finding.what.code == "wants a reason":
        said = f"{said} {REASON_FIRST}"
    if finding.about is not None:
        said = f"{_words(finding.about)}: {said}"
    return "\n".join((said, *(_account(finding.account) if finding.account is not None else ())))


def _words(what: Message) -> str:
    sentence = word_table("proof_findings").get(what.code)
    return in_words(what) if sentence is None else filled(sentence, dict(what.values), METRIC, _SPECS)


def _account(account: Account) -> Iterator[str]:
    name = "this setup" if account.path is None else _path_name(account.path)
    yield f"  Path: {name}{f' (and on {account.times - 1} more)' if account.times > 1 else ''}"
    left_out = 0
    for step in account.steps:
        ends = step in (account.steps[0], account.steps[-1])
        if not step.acts and not ends:
            left_out += 1
            continue
        if left_out:
            yield f"        ({counted(left_out, 'step')} without a pour or a rinse)"
            left_out = 0
        acts = "; ".join(_words(each) for each in step.acts)
        here = "   <- here" if step is account.steps[-1] else ""
        yield f"    {step.number + 1:>3}. {_title(step)}{f': {acts}' if acts else ''}{here}"


def _title(step: PathStep) -> str:
    who = [f"tank fill {step.batch}"] if step.batch is not None else []
    who += [step.roll_label] if step.roll_label else []
    return f"{step.title} ({', '.join(who)})" if who else step.title


def _path_name(path: PathName) -> str:
    """Which path: "standard film, dark room", "tank fill 1: backed film, tank fill 2: …"."""
    fills = [
        f"{' and '.join(' or '.join(group) for group in groups)} film{', pushed' if pushed else ''}"
        for groups, pushed in path.fills
    ]
    if len(fills) > 1:
        fills = [f"tank fill {number}: {each}" for number, each in enumerate(fills, 1)]
    return f"{', '.join(fills)}; {path.place}{f', {path.loading}' if path.loading is not None else ''}"
