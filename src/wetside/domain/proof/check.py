"""Whether a profile or a setup is sound: consistency first, then the proof over every path.

Each fault is told once, with the path that breaks it. An empty answer is a pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from wetside.domain.planning.alerts import PlanWords
from wetside.domain.planning.bottles import REASON_FIRST, STOPPING, WANTS_REASON
from wetside.domain.planning.plan import Plan, PlannedReading, PlannedStep
from wetside.domain.planning.planner import NO_WORDS, make_plan
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.steps import planned_reading
from wetside.domain.profile.model import Profile
from wetside.domain.proof.consistency import consistency_findings
from wetside.domain.proof.contact import faults
from wetside.domain.proof.findings import Finding, ProofFault, of_step
from wetside.domain.proof.paths import ways
from wetside.errors import CheckFailed, Refused


def check_profile(profile: Profile, every: bool = False) -> tuple[str, ...]:
    """The texts of `profile_findings`."""
    return tuple(finding.text for finding in profile_findings(profile, every))


def profile_findings(profile: Profile, every: bool = False) -> tuple[Finding, ...]:
    """All findings of a profile, empty when it is sound.

    A finding's sentence names the step or solution; one of the proof has the path that breaks it. `every` walks
    film kinds apart that no condition of the profile tells apart.
    """
    found = list(consistency_findings(profile))
    told: dict[tuple[str, ...], list[tuple[ProofFault, Plan, str]]] = {}
    reached: set[tuple[str, str]] = set()
    read: set[tuple[str, PlannedReading]] = set()
    for way in ways(profile, every):
        if way.plan is None:
            words = f"It cannot be planned at all: {way.refused}"
            found.append(Finding("no plan", ("steps",), words, (f"  Path: {way.words}",)))
            continue
        for step in way.plan.steps:
            reached.add((step.of, ""))
            reached |= {(step.of, tick.id.rpartition("/")[2]) for tick in step.ticks}
            read |= {(step.of, ask) for ask in step.readings}
        # A fault met in both fills of one evening is one fault of that path: the first is told.
        for fault in {fault.key: fault for fault in reversed(faults(way.plan, profile))}.values():
            told.setdefault(fault.key, []).append((fault, way.plan, way.words))
    found += [_account(*each[0], times=len(each)) for each in told.values()]
    if reached:
        found += _unreached(profile, reached, read)
    return tuple(dict.fromkeys(found))


def check_setup(
    profile: Profile, setup: Setup, today: date | None = None, words: PlanWords = NO_WORDS
) -> tuple[str, ...]:
    """The texts of `setup_findings`."""
    return tuple(finding.text for finding in setup_findings(profile, setup, today, words))


def setup_findings(
    profile: Profile, setup: Setup, today: date | None = None, words: PlanWords = NO_WORDS
) -> tuple[Finding, ...]:
    """All findings of a setup against its profile, empty when the evening can be begun.

    The profile itself is taken as it is; only the one path of this setup is proved. What keeps an evening from
    beginning is found here too; `today` decides the age of the bottles, as in a plan, and `words` makes the texts
    about them. Places under "steps" and "solutions" are in the profile, all others in the setup.
    """
    found = list(_setup_sense(profile, setup))
    try:
        plan = make_plan(profile, setup, today=today, words=words)
    except CheckFailed as failed:
        found += [Finding("no plan", (), text) for text in failed.findings]
        return tuple(dict.fromkeys(found))
    except Refused as refusal:
        return tuple(dict.fromkeys((*found, Finding("no plan", (), str(refusal)))))
    found += [Finding(worry.code, (), worry.text) for worry in plan.warnings if worry.code in STOPPING]
    reasons = [worry for worry in plan.warnings if worry.code in WANTS_REASON]
    found += [Finding(worry.code, (), f"{worry.text} {REASON_FIRST}") for worry in reasons]
    found += [_account(fault, plan, "this setup") for fault in faults(plan, profile)]
    return tuple(dict.fromkeys(found))


def _setup_sense(profile: Profile, setup: Setup) -> Iterator[Finding]:
    if setup.water.hot_c <= setup.water.cold_c:
        words = "The hot tap is no hotter than the cold one: look at [water] again."
        yield Finding("taps", ("water",), words)
    labels = [roll.label for roll in setup.rolls]
    for label in dict.fromkeys(labels):
        if labels.count(label) > 1:
            words = f"Two rolls are called {label}: wet film can be told apart by its label alone."
            yield Finding("labels", ("rolls", label), words)
    for bottle in setup.bottles:
        solution = next((each for each in profile.solutions if each.id == bottle.solution), None)
        if solution is not None and solution.storage == "tap":
            words = f"{bottle.label}: {solution.title} comes from the tap and needs no bottle."
            yield Finding("tap bottle", ("bottles", bottle.solution), words)


def _unreached(
    profile: Profile, reached: set[tuple[str, str]], read: set[tuple[str, PlannedReading]]
) -> Iterator[Finding]:
    """Steps, ticks and readings that no path has; `reached` holds (step, "") and (step, tick)."""
    for step in profile.steps:
        if (step.id, "") not in reached:
            words = "no path reaches it; its conditions never hold together."
            yield of_step(step, "unreached", words)
            continue
        for tick in step.ticks:
            if (step.id, tick.id) not in reached:
                yield of_step(step, "unreached", f'no path shows "{tick.text}".')
    for step in profile.steps:
        for ask in step.readings if (step.id, "") in reached else ():
            if (step.id, planned_reading(ask)) not in read:
                yield of_step(step, "unreached", f'no path reads "{ask.title}".', "readings")


# -------------------------------------------------------- the account


def _account(fault: ProofFault, plan: Plan, path: str, times: int = 1) -> Finding:
    """The fault and its path, step by step: every step that pours, rinses or opens, up to where it breaks.

    times: on how many paths it is met.
    """
    lines = [f"  Path: {path}{f' (and on {times - 1} more)' if times > 1 else ''}"]
    left_out = 0
    for number, step in enumerate(plan.steps[fault.since : fault.at + 1], fault.since):
        words = _happens(plan, step)
        if not words and number not in (fault.since, fault.at):
            left_out += 1
            continue
        if left_out:
            lines.append(f"        ({left_out} {'step' if left_out == 1 else 'steps'} without a pour or a rinse)")
            left_out = 0
        here = "   <- here" if number == fault.at else ""
        lines.append(f"    {number + 1:>3}. {_title(step)}{f': {words}' if words else ''}{here}")
    return Finding(fault.key[0], ("steps", plan.steps[fault.at].of), fault.sentence, tuple(lines))


def _title(step: PlannedStep) -> str:
    who = [f"tank fill {step.batch}"] if step.batch is not None else []
    who += [step.roll_label] if step.roll_label else []
    return f"{step.title} ({', '.join(who)})" if who else step.title


def _happens(plan: Plan, step: PlannedStep) -> str:
    """What matters to the proof in a step, in words."""
    words = []
    if step.solution is not None and step.pour:
        things = " and ".join(plan.title_of(thing).lower() for thing in step.pour)
        words.append(f"{step.solution_title.lower()} reaches {things}")
        if step.back:
            words.append(f"goes back through {' and '.join(plan.title_of(thing).lower() for thing in step.back)}")
    if step.rinses:
        words.append(f"rinses {' and '.join(plan.title_of(thing).lower() for thing in step.rinses)}")
    if step.lid is not None:
        words.append(f"lid {step.lid}")
    for tick in step.ticks:
        if tick.clears or tick.closes or tick.lid or tick.gloves:
            words.append(f'"{tick.text}" by the {tick.due_at} of {plan.step(tick.due_step).title}')
    return "; ".join(words)
