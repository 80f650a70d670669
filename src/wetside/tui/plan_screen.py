"""The plan screen: lists what is on the bench, for changing it line by line, beside the resulting plan.

Calculations and files are behind `PlanPorts`. Every change recomputes the plan; an error is shown in one sentence.
ENTER on the last line goes to the review, and starts nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import partial

from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import Static

from wetside.app.setup_fields import EVEN_SO, Field, Group, Option
from wetside.app.setup_form import from_kit, groups, suited_to, with_another_roll
from wetside.app.terminal import Terminal
from wetside.domain.planning.bottles import STOPPING, WANTS_REASON
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup, Units
from wetside.domain.profile.model import Profile
from wetside.domain.shelf.setup_bottles import BottleOffer, KitLeft, KitOffer
from wetside.errors import WetsideError
from wetside.present.evening_plan import COVER_FIRST
from wetside.present.message_words import in_words
from wetside.present.plan_text import in_a_sentence, plan_lines, serious, short_lines
from wetside.present.prompts import asked
from wetside.present.shelf_text import LEFT_AFTER, kit_left_in_short, kit_left_text, kit_text
from wetside.present.text_page import LABEL
from wetside.tui.choice_list import ChoiceList
from wetside.tui.dialog import Flow, ask
from wetside.tui.frame import text_rows
from wetside.tui.list_screen import ListLine, ListScreen
from wetside.tui.page_screen import TWO_COLUMNS_FROM, Edge, PageScreen, first_sentence
from wetside.tui.plan_ports import EMPTY_BENCH, EMPTY_SAID, EXAMPLE_SAID, GUESSED, PlanPorts
from wetside.tui.rows import RowList, StyledText, TextLayout

TITLE_CELLS = 11
"""Cells of the titles in the list."""


class PlanScreen(ListScreen):
    """Plans from `setup`. Shows the whole list, or one group of it.

    said: a message until the first key. guessed: kinds of groups whose values are guesses.
    """

    def __init__(
        self,
        terminal: Terminal,
        setup: Setup,
        ports: PlanPorts,
        units: Units | None = None,
        *,
        said: str = "",
        guessed: tuple[str, ...] = (),
    ) -> None:
        super().__init__(terminal)
        self.setup = setup
        self.plan: Plan | None = None
        self.findings: tuple[str, ...] = ()
        self._after: tuple[KitLeft, ...] = ()
        self._list = ChoiceList(self.text_layout)
        self._whole, self._aside = Static(id="whole"), Static(id="aside")
        self._ports = ports
        self._units = units or Units()
        self._kept: tuple[BottleOffer, ...] = ()
        self._kits: tuple[KitOffer, ...] = ()
        self._profile: Profile | None = None
        self._group = ""
        self._top_index = 0
        self.message = said
        self._made_for = ""
        self._unseen = set(guessed)
        self._safe = setup
        self._grouped: tuple[Setup, tuple[Group, ...]] | None = None
        try:
            self._kept, self._kits = ports.kept(), ports.kits()
        except WetsideError as problem:
            self.message = first_sentence(problem)
        self._make()

    @property
    def _groups(self) -> tuple[Group, ...]:
        if self._grouped is None or self._grouped[0] is not self.setup:
            self._grouped = (self.setup, groups(self.setup, self._units, self._kept))
        return self._grouped[1]

    def _to_be_seen(self) -> list[Group]:
        """The groups with guessed values that were not opened yet."""
        return [group for group in self._groups if group.id in self._unseen and not self._from_shelf(group)]

    def _from_shelf(self, group: Group) -> bool:
        number = group.number if group.kind == "bottle" else None
        return number is not None and self.setup.bottles[number].shelf_id is not None

    def contents(self) -> Iterable[Widget]:
        return Vertical(self._list, self._whole, id="left"), self._aside

    def edge(self) -> Edge:
        where = self._open_group()
        left = f"Plan: {where.title}" if where is not None else "Plan a new evening"
        keys = self.keys("goes back" if self._group else "leaves the plan")
        return Edge(left, self._standing(self.app.size.width), keys)

    def fill(self, columns: int, rows: int) -> None:
        narrow = columns < TWO_COLUMNS_FROM
        left = columns if narrow else 34 if columns < 100 else 44  # as in style.tcss
        self.show_values(self._list, self._whole, TITLE_CELLS, left)
        self.put(
            self._aside, self._answers(columns if narrow else min(columns - left - 2, 90), rows, narrow=narrow)
        )

    # -- what is listed

    def lines(self) -> list[ListLine]:
        group = self._open_group()
        return self._group_lines(group) if group is not None else self._top_lines()

    def _open_group(self) -> Group | None:
        return next((group for group in self._groups if group.id == self._group), None)

    def _top_lines(self) -> list[ListLine]:
        ports = self._ports
        process = dict(ports.processes).get(self.setup.profile, self.setup.profile)
        lines = [
            ListLine("Start from", "lists the benches", self._ask_bench, "another bench"),
            ListLine("Process", "lists the processes", self._ask_process, process),
        ]
        unseen = {group.id for group in self._to_be_seen()}
        for group in self._groups:
            if group.kind == "bottle" and group.number == 0 and (kits := self._fitting_kits()):
                name = next((kit.name for kit in kits if kit.holds(self.setup)), "from the shelf")
                lines.append(ListLine("Whole kit", "lists the kits", self._ask_kit, name))
            new = group.id in unseen
            summary = f"? {group.summary}" if new else group.summary
            does = "opens it to be looked at" if new else "opens it"
            lines.append(ListLine(group.title, does, partial(self._open, group.id), summary))
            if group.kind == "roll" and group.number == len(self.setup.rolls) - 1:
                lines.append(ListLine("Add a roll", "adds one like the last", self._add_roll))
        return [
            *lines,
            ListLine("Whole plan", "shows all of it", self._read_plan, "hour by hour"),
            ListLine("Keep it", "asks for a name", self._ask_name, "as my own file"),
            ListLine("Go on", "goes to the review", self._review, "to the review"),
        ]

    def _group_lines(self, group: Group) -> list[ListLine]:
        lines = [
            ListLine(field.title, "changes it", partial(self._ask_field, field), field.value)
            for field in group.fields
        ]
        if group.without is not None:
            lines.append(
                ListLine("Take it out", f"takes out {group.title}", partial(self._take_out, group.without))
            )
        return lines

    def _open(self, group: str) -> None:
        self._top_index, self._group, self.index = self.index, group, 0
        self._unseen.discard(group)

    def _take_out(self, without: Callable[[], Setup]) -> None:
        if self._unseen & (rolls := self._ids("roll")):
            self._unseen |= rolls  # groups of rolls get new numbers
        self._change(without())
        self._close_group()

    def _ask_field(self, field: Field) -> None:
        def put(text: str) -> str:
            self._change(field.put(text))
            return ""

        lines = (field.ask, f"Now: {field.value}") if field.value and not field.options else (field.ask,)
        self._ask_one(field.title, lines, put, field.options, field.chosen or field.value)

    # -- acts

    def _ask_bench(self) -> None:
        def put(key: str) -> str:
            self._change(self._ports.bench(key))
            empty = key == EMPTY_BENCH[0]
            example = self._ids("evening", "roll", "tank", "bottle", "water") if self.setup.invented else set()
            self._unseen = set(GUESSED) if empty else example
            return EMPTY_SAID if empty else EXAMPLE_SAID if self.setup.invented else ""

        lines = ("Which bench? It replaces what stands here. What is (invented) is an example.",)
        self._ask_one("Start from", lines, put, self._ports.benches)

    def _ask_process(self) -> None:
        def put(key: str) -> str:
            profile = self._ports.process(key)
            before = {bottle.solution for bottle in self.setup.bottles}
            unseen = self._unseen & self._ids("bottle")
            self._change(suited_to(self.setup, profile, key))
            added = [bottle.label for bottle in self.setup.bottles if bottle.solution not in before]
            if unseen:
                self._unseen |= self._ids("bottle")  # groups of bottles may have new numbers
            new = (n for n, bottle in enumerate(self.setup.bottles) if bottle.solution not in before)
            self._unseen |= {f"bottle {number}" for number in new}
            said = f"New on the bench, 1 l each: {', '.join(added)}. Correct what is not so."
            return said if added else ""

        self._ask_one("Process", ("Which process?",), put, self._ports.processes, self.setup.profile)

    def _fitting_kits(self) -> tuple[KitOffer, ...]:
        """The kits on the shelf that were mixed for this process."""
        process = self._profile.id if self._profile is not None else ""
        return tuple(kit for kit in self._kits if kit.profile_id == process)

    def _ask_kit(self) -> None:
        kits = self._fitting_kits()

        def put(number: str) -> str:
            kit = next(kit for kit in kits if str(kit.number) == number)
            self._change(from_kit(self.setup, kit))
            others = [bottle.label for bottle in self.setup.bottles if not kit.fills(bottle.solution)]
            left = f" Not in it, so left as it was: {', '.join(others)}." if others else ""
            return f"Taken from the shelf: {kit.name}.{left}"

        held = next((str(kit.number) for kit in kits if kit.holds(self.setup)), "")
        lines = ("Every bottle from one kit on the shelf. What each has done is kept there.",)
        self._ask_one("Whole kit", lines, put, tuple((str(kit.number), kit_text(kit)) for kit in kits), held)

    def _ask_name(self) -> None:
        if self._to_be_seen():
            self.message = self._look_first()
            return

        def put(name: str) -> str:
            path = self._ports.save(self.setup, name)
            self._safe = self.setup
            return f"Kept: {path}"

        self._ask_one("Keep it", ("A short name for the file, such as sunday-two-rolls.",), put)

    def leave(self) -> None:
        """Close the group; else leave, but ask first if changes would be lost, so that held BACKSPACE cannot."""
        if self._group:
            self._close_group()
            return
        if self.setup == self._safe:
            self.dismiss()
            return

        def flow() -> Flow:
            options = (("stay", "Stay here"), ("leave", "Leave: changes are lost"))
            lines = ("This plan is not kept. Keep it makes a file of it.",)
            return (yield asked("Leave the plan?", lines, options, optional=True))

        def answered(answer: str) -> None:
            if answer == "leave":
                self.dismiss()

        ask(self, "Plan a new evening", flow, answered)

    def _add_roll(self) -> None:
        self._change(with_another_roll(self.setup))
        self._open(f"roll {len(self.setup.rolls) - 1}")

    def _read_plan(self) -> None:
        plan = self.plan
        if plan is None:
            self.message = self._not_yet()
            return
        starts_at = self._ports.starts_at()
        after = ("", LEFT_AFTER, *(f"  - {kit_left_text(left)}" for left in self._after)) if self._after else ()

        def body(layout: TextLayout, cells: int) -> RowList:
            lines = plan_lines(plan, cells, not layout.utf8, starts_at)
            return text_rows((*lines, *after), layout, cells)

        self.app.push_screen(PageScreen(self.terminal, "The whole plan", body))

    def _review(self) -> None:
        if self.plan is None or self._profile is None or self._to_be_seen():
            self.message = self._not_yet()
            return
        wanted = (each for each in self.plan.warnings if each.code in (*STOPPING, *WANTS_REASON))
        if (wanting := next(wanted, None)) is not None:
            reason = f"Or give a reason: open the bottle, then {EVEN_SO}."
            remedy = COVER_FIRST if wanting.code in STOPPING else reason
            self.message = f"Not yet: {in_words(wanting, self.plan.units)} {remedy}"
            return
        self._ports.review(self.plan, self._profile, self.setup)

    def _not_yet(self) -> str:
        if self.findings:
            return f"Not yet: {self.findings[0]}"
        return self._look_first() if self._to_be_seen() else "There is no plan yet."

    def _look_first(self) -> str:
        titles = ", ".join(group.title for group in self._to_be_seen())
        return f"Not yet: nobody has looked at {titles}. Open each, and correct what is not so."

    def _ids(self, *kinds: str) -> set[str]:
        return {group.id for group in self._groups if group.kind in kinds}

    def _change(self, setup: Setup) -> None:
        self.setup = setup
        self._make()
        self.index = min(self.index, len(self.lines()) - 1)

    def _make(self) -> None:
        """Recompute the plan of the present setup, or the sentences on why there is none."""
        self.plan, self.findings, self._after = None, (), ()
        try:
            if self._profile is None or self._made_for != self.setup.profile:
                self._profile = self._ports.process(self.setup.profile)
                self._made_for = self.setup.profile
            self.plan = self._ports.make(self._profile, self.setup)
            self._after = self._ports.after(self.plan)
        except WetsideError as problem:
            self.findings = tuple(str(problem).splitlines())

    def _close_group(self) -> None:
        self._group, self.index = "", self._top_index
        self.index = min(self.index, len(self.lines()) - 1)

    def _ask_one(
        self,
        title: str,
        lines: tuple[str, ...],
        put: Callable[[str], str],
        options: tuple[Option, ...] = (),
        chosen: str = "",
    ) -> None:
        """Ask one question. put: takes the answer and returns a message. chosen: the option that is marked."""

        def flow() -> Flow:
            return put((yield asked(title, lines, options, chosen=chosen, optional=True)))

        group = self._open_group()
        ask(self, "Plan a new evening" if group is None else f"Plan: {group.title}", flow)

    # -- pictures

    def _standing(self, columns: int) -> str:
        """The state of the plan, for the title line."""
        if self.plan is None:
            return "no plan yet"
        grave = len(serious(self.plan))
        if grave:
            return f"{grave} to settle first"
        if unseen := len(self._to_be_seen()):
            return f"{unseen} to look at"
        return "the plan stands" if columns >= 60 else "stands"

    def _answers(self, cells: int, rows: int, *, narrow: bool) -> RowList:
        """The plan's main results in at most `rows` rows, in one sentence on a narrow screen."""
        if self.plan is None:
            return why_not(self.findings, self.text_layout, cells)[:rows]
        starts_at = self._ports.starts_at()
        if narrow:
            return self.text_layout.lines(in_a_sentence(self.plan, starts_at), cells, most=2)
        return in_short_rows(self.plan, starts_at, self._after, self.text_layout, cells, rows)


def in_short_rows(
    plan: Plan, starts_at: datetime | None, after: Sequence[KitLeft], layout: TextLayout, cells: int, rows: int
) -> RowList:
    """At most `rows` rows: the plan's main results, then what is left in the kits (`after`)."""
    lines = short_lines(plan, cells, not layout.utf8, starts_at)
    drawn: RowList = [layout.row("Tonight in short", cells, "strong")]
    drawn += [layout.row(line.text, cells, "strong" if line.opens_warning else "") for line in lines]
    kits = text_rows(tuple(f"  {'Kit left':<{LABEL}} {kit_left_in_short(left)}" for left in after), layout, cells)
    room = rows - len(kits)
    if len(drawn) > room:
        drawn[room - 1 :] = [layout.row("  More stands in: Whole plan", cells, "faint")]
    return [*drawn, *kits]


def why_not(findings: Sequence[str], layout: TextLayout, cells: int) -> RowList:
    """The findings, in whole sentences, on why there is no plan."""
    rows: RowList = [layout.row("There is no plan yet", cells, "strong")]
    return [*rows, *((StyledText(line),) for finding in findings for line in layout.wrap(finding, cells))]
