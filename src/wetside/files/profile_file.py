"""Reads a profile: TOML text in, the frozen model out, or every finding of the file at once.

One job: carry what `files/profile_forms.py` has checked into `domain/profile/model.py`, with the gear list spread
into ticks and ids made where none are given. It does not prove that the process is sound.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from wetside.domain.profile.model import (
    Agitation,
    Caution,
    Gear,
    Hazard,
    Kind,
    Profile,
    ReadingAsk,
    ResidueRule,
    Solution,
    Source,
    Stage,
    Step,
    Sure,
    Tick,
    Use,
    Vessel,
)
from wetside.errors import FileUnusable
from wetside.files.profile_base import Whole, whole_document
from wetside.files.profile_default_steps import slug
from wetside.files.profile_forms import (
    MOST_CAUTION_CHARACTERS,
    GearForm,
    ProfileForm,
    SolutionForm,
    StepForm,
    TickForm,
)
from wetside.files.profile_references import check_references
from wetside.files.toml_file import Document, checked, read_text


def read_profile(path: Path, own_dir: Path | None = None) -> Profile:
    """The profile in a file; a symbolic link is followed. Raises FileUnusable with all findings.

    What it is based on is looked for beside it, in `own_dir` and among what ships.
    """
    return profile_of_whole(whole_document(read_text(path), path.name, path, own_dir))


def profile_from_text(text: str, name: str) -> Profile:
    """The profile in a text; `name` is what findings call it. Raises FileUnusable with all findings."""
    return profile_of_whole(whole_document(text, name))


def profile_of_whole(whole: Whole) -> Profile:
    """The profile of what `whole_document` has put together. Raises FileUnusable with all findings."""
    document = whole.document
    form = checked(document, ProfileForm)
    check_references(document)
    _check_cautions(document)
    document.stop_if_wrong()
    if form is None:
        raise FileUnusable((f"{document.name} cannot be read as a profile.",))
    return replace(_profile(form, whole.text), remarks=whole.notes)


def _check_cautions(document: Document) -> None:
    """The three sentences of a caution share one place on the screen."""
    cautions = document.data.get("cautions")
    for id_, caution in cautions.items() if isinstance(cautions, dict) else ():
        if not isinstance(caution, dict):
            continue
        parts = [caution.get(key) for key in ("hazard", "consequence", "avoid")]
        length = sum(len(part) for part in parts if isinstance(part, str))
        if length > MOST_CAUTION_CHARACTERS:
            document.find(
                ("cautions", id_),
                f"hazard, consequence and avoid have {length} characters in all; "
                f"at most {MOST_CAUTION_CHARACTERS} fit",
            )


def _profile(form: ProfileForm, text: str) -> Profile:
    gear = tuple(_gear(item) for item in form.gear)
    return Profile(
        id=form.id,
        title=form.title,
        accepts=tuple(form.accepts),
        notes=tuple(form.notes),
        sources=tuple(Source(id_, each.title, Sure(each.sure)) for id_, each in form.sources.items()),
        stages=tuple(Stage(each.id, each.title) for each in form.stages),
        solutions=tuple(_solution(id_, each) for id_, each in form.solutions.items()),
        vessels=tuple(Vessel(id_, each.title, each.kind, each.dedicated_to) for id_, each in form.vessels.items()),
        residue_rules=tuple(
            ResidueRule(each.residue, each.solution, each.why, each.harmless) for each in form.residue
        ),
        gear=gear,
        cautions=tuple(
            Caution(id_, each.signal, each.hazard, each.consequence, each.avoid, each.source or "")
            for id_, each in form.cautions.items()
        ),
        steps=tuple(_step(each, gear) for each in form.steps),
        first_aid=tuple(form.first_aid),
        stabiliser_room=form.stabiliser_room,
        backed_instead=form.backed_instead or "",
        yields=form.yields,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )


def _solution(id_: str, form: SolutionForm) -> Solution:
    return Solution(
        id=id_,
        title=form.title,
        storage=form.storage,
        ends=form.ends,
        source=form.source,
        target_c=form.target,
        range_c=_pair(form.range),
        table=tuple(form.table),
        table_tolerance_c=form.table_tolerance,
        drift_table=tuple(form.drift_table or ()),
        tempered=form.tempered,
        use=Use(form.use.kind, form.use.per_roll, tuple(form.use.rows)),
        push=tuple(form.push),
        shortest_s=form.shortest,
        capacity_per_l=form.capacity,
        stretch_per_l=form.stretch,
        life_full_days=form.life_full,
        life_part_days=form.life_part,
        looks_healthy=form.looks_healthy,
        looks_spent=form.looks_spent,
        hazards=tuple(Hazard(each.code, each.text) for each in form.hazards),
        needs_caution=tuple(form.needs_caution),
        gloves=form.gloves,
        makes_light_safe=form.makes_light_safe,
        bleaches=form.bleaches or form.role in ("bleach", "bleach-fix"),
        disposal=form.disposal,
        mixing=tuple(form.mixing),
        sources=tuple(sorted(form.sources.items())),
        role=form.role,
    )


def _gear(form: GearForm) -> Gear:
    return Gear(form.id or slug(form.text), form.text, form.killer, tuple(form.when))


def _step(form: StepForm, gear: tuple[Gear, ...]) -> Step:
    return Step(
        id=form.id,
        title=form.title,
        stage=form.stage,
        kind=Kind(form.kind),
        scope=form.scope,
        instruction=form.instruction,
        safe_way_out=form.safe_way_out,
        source=form.source,
        when=tuple(form.when),
        cautions=tuple(form.cautions),
        ticks=_ticks(form, gear),
        readings=tuple(
            ReadingAsk(each.of, each.title, _pair(each.range), each.required, tuple(each.when))
            for each in form.readings
        ),
        solution=form.solution,
        through=form.through,
        into=form.into,
        back_through=form.back_through,
        touches=tuple(form.touches),
        rinses=tuple(form.rinses),
        time_s=form.time,
        ends=form.ends,
        agitation=_agitation(form),
        clock_starts=form.clock_starts,
        draining_counts=form.draining_counts,
        lead_in_s=form.lead_in,
        background=form.background,
        joins=form.joins,
        pausable=form.pausable,
        hand_in_water=form.hand_in_water,
        backing=form.backing,
        lid=form.lid,
        water_every_s=form.water_every,
        bell_every_s=form.bell_every,
        remember=tuple(form.remember),
    )


def _ticks(form: StepForm, gear: tuple[Gear, ...]) -> tuple[Tick, ...]:
    """The gear the step lists, then its own ticks; ids made from the text are unique inside the step."""
    every = form.list_gear == ["*"]
    ticks = [
        Tick(item.id, item.text, killer=item.killer, when=item.when)
        for item in gear
        if every or item.id in form.list_gear
    ]
    given = {each.id for each in form.ticks if each.id} | {tick.id for tick in ticks}
    for each in form.ticks:
        id_ = each.id or _free(slug(each.text), given)
        given.add(id_)
        ticks.append(_tick(id_, each))
    return tuple(ticks)


def _free(id_: str, given: set[str]) -> str:
    """The id, or the first of "id-2", "id-3" and so on that is not given yet."""
    number, free = 2, id_
    while free in given:
        number, free = number + 1, f"{id_}-{number}"
    return free


def _tick(id_: str, form: TickForm) -> Tick:
    return Tick(
        id=id_,
        text=form.text,
        due=form.due,
        killer=form.killer,
        asks=form.asks,
        when=tuple(form.when),
        clears=tuple(form.clears),
        closes=form.closes,
        lid=form.lid,
        gloves=form.gloves,
    )


def _agitation(form: StepForm) -> Agitation | None:
    asked = form.agitation
    return None if asked is None else Agitation(asked.first, asked.every, asked.for_, asked.words, asked.fixed)


def _pair(value: list[float] | None) -> tuple[float, float] | None:
    return None if value is None else (value[0], value[1])
