"""The shelf screen: bottles with age, remaining capacity and warnings; mix, test, top up, squeeze, discard.

`ShelfPorts` reads and changes the shelf. An error is shown in one sentence. Discarding first shows where the
bottle's content is to be disposed of, and needs SPACE, then ENTER.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Final

from wetside.app.terminal import Terminal
from wetside.domain.planning.setup import VolumeUnit
from wetside.domain.profile.model import Profile
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import BottleReport, report
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.errors import WetsideError
from wetside.frozen import dataclass
from wetside.present.prompts import (
    BOTH_WAYS,
    Answer,
    Asked,
    Choice,
    Keys,
    Words,
    asked,
    guarded,
    panel_keys,
    press_asked,
)
from wetside.present.shelf_text import decided
from wetside.present.wording import volume
from wetside.tui.frame import WIDEST, Body, Edge, PageView, moved, option, page_view, text_rows
from wetside.tui.page_screen import PageScreen, WidgetScreen, first_sentence
from wetside.tui.prompt_rows import question_body
from wetside.tui.rows import RowList, TextLayout, width
from wetside.tui.shelf_questions import FULLNESS, KitQuestions, Then, bottle_tests
from wetside.tui.shelf_rows import about_rows, bottle_row, record_lines

REASONS: Final = ("Spent", "Past its date", "Spoilt by another bath", "Spilt")
LEAST_ABOUT: Final = 3


@dataclass(frozen=True, slots=True)
class ShelfPorts:
    """The screen's callbacks. Each may raise a WetsideError, whose first line is shown.

    shelf: reads the shelf. change: decides and saves a command, and returns the new shelf. profiles: those with
    instructions for mixing a kit. volume_ml: parses a volume; a bare number is in volume_unit. mix: opens the
    evening that mixes a kit, and calls its second argument if that is left before it has begun.
    """

    shelf: Callable[[], ShelfState]
    change: Callable[[c.Command], ShelfState]
    profiles: Callable[[], tuple[Profile, ...]]
    today: Callable[[], date]
    volume_ml: Callable[[str], float]
    left: Callable[[], None]
    mix: Callable[[c.MixKit, Callable[[], None]], None]
    volume_unit: VolumeUnit = "ml"


class ShelfScreen(WidgetScreen):
    """Lists the bottles, or the actions for one bottle; a question may be open over either."""

    def __init__(self, terminal: Terminal, ports: ShelfPorts) -> None:
        super().__init__(terminal)
        self._terminal = terminal
        self._ports = ports
        self.shelf = ShelfState()
        self.index = 0
        self.open_id = ""
        self._act_index = 0
        self._marked_first = 0
        self._earlier: list[tuple[Asked, Then]] = []
        try:
            self._look()
        except WetsideError as problem:
            self.message = first_sentence(problem)

    # -- pictures

    def draw(self, columns: int, rows: int) -> PageView:
        """The list, a bottle's actions, or a question."""
        bottle = self._opened()
        standing = len(self.shelf.standing())
        title = "The shelf" if bottle is None else f"Shelf: {bottle.label}"
        right = f"{standing} {'bottle' if standing == 1 else 'bottles'}"
        return page_view(
            Edge(title, right, self._keys(), self.message), self.text_layout, columns, rows, self._body
        )

    def _body(self, columns: int, rows: int) -> Body:
        cells = min(columns, WIDEST)
        if self.question is not None:
            return question_body(self.question, self.text_layout, cells, rows)
        bottle = self._opened()
        return self._list(cells, rows) if bottle is None else self._acts_rows(bottle, cells, rows)

    def _list(self, cells: int, rows: int) -> Body:
        reports = self._reports()
        unit = self._ports.volume_unit
        labels = max((width(each.label) for each in reports), default=0)
        listed: RowList = [option("Mix a kit, or write one down", self.index == 0, self.text_layout, cells)]
        listed += [
            bottle_row(each, n == self.index, self.text_layout, cells, labels, unit)
            for n, each in enumerate(reports, 1)
        ]
        if not reports:
            words = (
                "Nothing stands here yet. What a kit fills is kept here with its age and what has gone through it."
            )
            foot: RowList = self.text_layout.lines(words, cells)
            return Body([], listed, self.index, 1, [(), *foot])
        about = self._about(reports, cells, max(LEAST_ABOUT, rows // 3))
        return Body([], listed, self.index, min(len(listed), max(1, rows - len(about) - 1)), [(), *about])

    def _about(self, reports: tuple[BottleReport, ...], cells: int, most: int) -> RowList:
        if self.index == 0:
            words = (
                "A kit fills several bottles at once. Mixed now: the guide leads through water, parts and bottles."
                " In use already: its day and its rolls are asked."
            )
            rows: RowList = self.text_layout.lines(words, cells)
            return rows[:most]
        return about_rows(reports[self.index - 1], self.text_layout, cells, most, self._ports.volume_unit)

    def _acts_rows(self, bottle: ShelfBottle, cells: int, rows: int) -> Body:
        acts = self._acts(bottle)
        listed = [
            option(words, n == self._act_index, self.text_layout, cells) for n, (words, _) in enumerate(acts)
        ]
        most = max(LEAST_ABOUT, rows - len(listed) - 1)
        about = about_rows(self._report(bottle), self.text_layout, cells, most, self._ports.volume_unit)
        return Body([], listed, self._act_index, min(len(listed), max(1, rows - len(about) - 1)), [(), *about])

    def _keys(self) -> Keys:
        if self.question is not None:
            keys = panel_keys(self.question)
            back = self._earlier and not (isinstance(self.question, Words) and self.question.typed)
            return replace(keys, backspace="goes back a question") if back else keys
        if self.open_id:
            return Keys("moves", "does the marked one", "goes back", BOTH_WAYS)
        return Keys(
            "moves", "asks for the kit" if self.index == 0 else "opens the bottle", "leaves the shelf", BOTH_WAYS
        )

    # -- keys

    def press_page(self, key: str) -> None:
        """ENTER does what the marked line says, BACKSPACE goes back, the others move."""
        bottle = self._opened()
        if key in ("backspace", "escape"):
            self._back()
        elif key == "enter":
            self._enter()
        elif bottle is not None:
            self._act_index = moved(self._act_index, key, len(self._acts(bottle)))
        else:
            self.index = moved(self.index, key, len(self.shelf.bottles) + 1)

    def press_question(self, question: Asked, key: str) -> None:
        """Answer a key of a question; BACKSPACE on an empty field opens the question before it."""
        after = press_asked(question, key)
        if after is None and self._earlier:
            self.ask(*self._earlier.pop())
            return
        if not isinstance(after, Answer):
            self.question = after
            return
        then, self.question = self._then, None
        again = replace(question, index=self._marked_first) if isinstance(question, Choice) else question
        self._earlier.append((again, then))
        try:
            then(after.value)
        except WetsideError:
            self._earlier.pop()
            self.question, self._then = question, then  # a refused answer can be corrected
            raise
        if self.question is None:
            self._earlier.clear()

    def _back(self) -> None:
        if self.open_id:
            self.open_id = ""
        else:
            self._ports.left()

    def _enter(self) -> None:
        bottle = self._opened()
        if bottle is not None:
            self._acts(bottle)[self._act_index][1]()
        elif self.index == 0:
            self._mix()
        else:
            self._look()
            self.open_id, self._act_index = self._reports()[self.index - 1].id, 0

    def ask(self, question: Asked, then: Then) -> None:
        """Open a question, with its initial option marked: asked again, a guarded option needs its keys again."""
        super().ask(question, then)
        self._marked_first = question.index if isinstance(question, Choice) else 0

    # -- what can be done with a bottle

    def _acts(self, bottle: ShelfBottle) -> tuple[tuple[str, Callable[[], None]], ...]:
        record = ("Read all about it", lambda: self._read(bottle))
        note = ("Write a note", lambda: self._note(bottle))
        if bottle.discarded is not None:
            return (record, note)
        acts = [*bottle_tests(bottle, self._on(), self.ask, self._change)]
        if bottle.material == "soft":
            acts.append(
                ("Squeezed and capped: no air in it", lambda: self._change(c.Squeeze(self._on(), bottle.id)))
            )
        return (
            record,  # first, so that repeated ENTER changes nothing
            *acts,
            ("Top it up with fresh solution", lambda: self._top_up(bottle)),
            ("Say how much is in it", lambda: self._level(bottle)),
            note,
            ("Discard it", lambda: self._discard(bottle)),
            ("Written down by mistake: the whole kit goes", lambda: self._take_back(bottle)),
        )

    def _top_up(self, bottle: ShelfBottle) -> None:
        def measured(value: str) -> None:
            added_ml = self._ports.volume_ml(value)
            self._fullness(lambda full: self._change(c.TopUp(self._on(), bottle.id, added_ml, full)))

        lines = ("Its date stays that of the oldest part in it.",)
        self.ask(asked(f"{bottle.label}: how much fresh solution?", lines), measured)

    def _level(self, bottle: ShelfBottle) -> None:
        def measured(value: str) -> None:
            level_ml = self._ports.volume_ml(value)
            if level_ml == 0:
                self._change(c.NoteLevel(self._on(), bottle.id, level_ml, full=False))
            else:
                self._fullness(lambda full: self._change(c.NoteLevel(self._on(), bottle.id, level_ml, full)))

        now = volume(bottle.volume_ml, self._ports.volume_unit)
        self.ask(asked(f"{bottle.label}: how much is in it?", default=now), measured)

    def _fullness(self, then: Callable[[bool], None]) -> None:
        self.ask(asked("And now it is", options=FULLNESS), lambda value: then(value == "full"))

    def _note(self, bottle: ShelfBottle) -> None:
        self.ask(
            asked(f"{bottle.label}: a note"),
            lambda text: self._change(c.NoteBottle(self._on(), bottle.id, text)),
        )

    def _discard(self, bottle: ShelfBottle) -> None:
        where = bottle.figures.disposal or "Follow the kit's own data sheet and local rules."
        lines = (f"CAUTION: {where}", "Gloves on. This cannot be taken back.")
        options = (("keep", "Keep it"), ("gone", "It is gone, as the caution says"))
        reasons = (*((reason, reason) for reason in REASONS), ("", "In my own words"))

        def reasoned(reason: str) -> None:
            if reason:
                self._change(c.Discard(self._on(), bottle.id, reason, cautioned=True))
            else:
                self.ask(asked("Why is it discarded?"), reasoned)

        def answered(value: str) -> None:
            if value == "gone":
                self.ask(asked("Why is it discarded?", options=reasons), reasoned)

        self.ask(guarded(f"Discard {bottle.label}?", lines, options), answered)

    def _take_back(self, bottle: ShelfBottle) -> None:
        kit = self.shelf.kit_of(bottle)
        lines = (f"All {len(kit.bottles)} bottles of {kit.name} go from the shelf, as if never written down.",)
        options = (("keep", "Keep it"), ("gone", "It was a mistake"))

        def reasoned(reason: str) -> None:
            self._change(c.TakeBackKit(self._on(), bottle.id, reason))
            self.open_id, self.index = "", 0

        def answered(value: str) -> None:
            if value == "gone":
                self.ask(asked("What was the slip?"), reasoned)

        self.ask(guarded(f"Take {kit.name} back?", lines, options), answered)

    def _read(self, bottle: ShelfBottle) -> None:
        lines = record_lines(self._report(bottle), bottle.figures, self._ports.volume_unit)

        def body(layout: TextLayout, cells: int) -> RowList:
            return text_rows(lines, layout, cells)

        self.app.push_screen(PageScreen(self._terminal, bottle.label, body))

    # -- mixing

    def _mix(self) -> None:
        ports = self._ports
        asks = KitQuestions(
            self.ask, self._guide, self._change, lambda command: decided(self.shelf, command), ports.volume_unit
        )
        asks.begin(ports.profiles(), self._on(), ports.volume_ml)

    def _guide(self, command: c.MixKit) -> None:
        """Open the evening that mixes the kit; leaving its review leads back to the last question."""
        earlier = [*self._earlier]

        def left() -> None:
            self.ask(*earlier.pop())
            self._earlier = earlier
            self.redraw()

        self._ports.mix(command, left)

    # -- the shelf

    def _change(self, command: c.Command) -> None:
        self.shelf = self._ports.change(command)
        self.message = "Kept."
        if isinstance(command, c.MixKit):
            self.index = len(self.shelf.standing())
        if isinstance(command, c.Discard):
            self._act_index = 0  # few actions are left

    def _look(self) -> None:
        self.shelf = self._ports.shelf()
        self.index = min(self.index, len(self.shelf.bottles))

    def _opened(self) -> ShelfBottle | None:
        return self.shelf.bottles.get(self.open_id)

    def _reports(self) -> tuple[BottleReport, ...]:
        return report(self.shelf, self._ports.today())

    def _report(self, bottle: ShelfBottle) -> BottleReport:
        return next(each for each in self._reports() if each.id == bottle.id)

    def _on(self) -> str:
        return self._ports.today().isoformat()
