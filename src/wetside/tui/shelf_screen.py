"""The shelf screen: bottles with age, remaining capacity and warnings; mix, test, top up, squeeze, discard.

`ShelfPorts` reads and changes the shelf. An error is shown in one sentence. Discarding first shows where the
bottle's content is to be disposed of, and needs SPACE, then ENTER.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import NoReturn

from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.domain.shelf import commands as c
from wetside.domain.shelf.report import BottleReport, bottle_report, report
from wetside.domain.shelf.state import ShelfBottle, ShelfState
from wetside.errors import WetsideError
from wetside.memo import remembers_last
from wetside.present.shelf_text import decided
from wetside.present.wording import counted
from wetside.tui.choice_list import ChoiceList
from wetside.tui.dialog import AskAgain, Flow, ask
from wetside.tui.frame import WIDEST
from wetside.tui.list_screen import ListLine, ListScreen
from wetside.tui.page_screen import Edge, PageScreen, first_sentence, text_of
from wetside.tui.shelf_questions import KEPT, BottleQuestions, Kits, ShelfPorts, mix_kit
from wetside.tui.shelf_rows import MIX, about_rows, bottle_columns, record_lines
from wetside.tui.table import LEAST_TALL, Table

_NONE = "Nothing stands here yet. What a kit fills is kept here with its age and what has gone through it."
_MIXING = (
    "A kit fills several bottles at once. Mixed now: the guide leads through water, parts and bottles."
    " In use already: its day and its rolls are asked."
)


_report = remembers_last(report)


class ShelfScreen(ListScreen):
    """Lists the bottles; ENTER opens one, or the questions about a kit."""

    def __init__(self, terminal: Terminal, ports: ShelfPorts) -> None:
        super().__init__(terminal)
        self._ports = ports
        self._table = Table(self.text_layout)
        self._about = Static(id="about")
        self.shelf = ShelfState()
        self._look()

    def contents(self) -> Iterable[Widget]:
        return self._table, self._about

    def edge(self) -> Edge:
        return Edge("The shelf", counted(len(self.shelf.standing()), "bottle"), self.keys("leaves the shelf"))

    def fill(self, columns: int, rows: int) -> None:
        cells, unit = min(columns, WIDEST), self._ports.volume_unit
        reports = self._reports()
        self._table.show_header = bool(reports) and rows >= LEAST_TALL
        self._table.show(bottle_columns(reports, cells, unit), self.index, cells)
        if self.index:
            about = about_rows(reports[self.index - 1], self.text_layout, cells, unit)
        else:
            about = self.text_layout.lines(_MIXING if reports else _NONE, cells)
        self.put(self._about, about)

    def lines(self) -> list[ListLine]:
        bottles = [
            ListLine(each.bottle.label, "opens the bottle", partial(self._open, each.bottle.id))
            for each in self._reports()
        ]
        return [ListLine(MIX, "asks for the kit", self._mix), *bottles]

    def _open(self, bottle: str) -> None:
        self.app.push_screen(BottleScreen(self.terminal, self._ports, bottle))

    def on_screen_resume(self) -> None:
        """Show the shelf as it is after a bottle was changed."""
        self._look()
        self.redraw()

    def _mix(self) -> None:
        ports = self._ports

        def guide(kit: c.MixKit) -> NoReturn:
            ports.mix(kit)
            raise AskAgain  # leaving its review leads back to the last question

        def keep(kit: c.Command) -> None:
            self.shelf = ports.change(kit)
            self.index = len(self.shelf.standing())

        kits = Kits(ports, ports.profiles(), guide, keep, lambda kit: decided(self.shelf, kit))
        ask(self, "The shelf", lambda: mix_kit(kits))

    def _look(self) -> None:
        try:
            self.shelf = self._ports.shelf()
        except WetsideError as problem:
            self.message = first_sentence(problem)
        self.index = min(self.index, len(self.shelf.bottles))

    def _reports(self) -> tuple[BottleReport, ...]:
        return _report(self.shelf, self._ports.today())


class BottleScreen(ListScreen):
    """Lists what can be done with one bottle."""

    def __init__(self, terminal: Terminal, ports: ShelfPorts, bottle: str) -> None:
        super().__init__(terminal)
        self._ports = ports
        self._bottle = bottle
        self._list = ChoiceList(self.text_layout)
        self._about = Static(id="about")
        self.shelf = ports.shelf()

    def contents(self) -> Iterable[Widget]:
        return self._list, self._about

    def edge(self) -> Edge:
        label = self.shelf.bottles[self._bottle].label
        return Edge(f"Shelf: {label}", "", self.keys("goes back"))

    def fill(self, columns: int, rows: int) -> None:
        self._list.show([line.title for line in self.lines()], self.index)
        about = about_rows(self._report(), self.text_layout, min(columns, WIDEST), self._ports.volume_unit)
        self.put(self._about, about)

    def redraw(self) -> None:
        """Show what has changed; leave if the bottle was taken back."""
        if self.on_top and self._bottle not in self.shelf.bottles:
            self.dismiss()
        else:
            super().redraw()

    def lines(self) -> list[ListLine]:
        bottle = self.shelf.bottles[self._bottle]
        asks = BottleQuestions(self._ports, self.shelf, bottle, self._change)

        def act(words: str, does: Callable[[], object]) -> ListLine:
            return ListLine(words, "does the marked one", does)

        def asked(words: str, flow: Callable[[], Flow]) -> ListLine:
            return act(words, lambda: ask(self, f"Shelf: {bottle.label}", flow))

        record = act("Read all about it", lambda: self._read(bottle))  # first: repeated ENTER changes nothing
        note = asked("Write a note", asks.note)
        if bottle.discarded is not None:
            return [record, note]
        squeeze = act("Squeezed and capped: no air in it", lambda: self._squeeze())
        return [
            record,
            *(asked(words, flow) for words, flow in asks.tests()),
            *((squeeze,) if bottle.material == "soft" else ()),
            asked("Top it up with fresh solution", asks.top_up),
            asked("Say how much is in it", asks.level),
            note,
            asked("Discard it", asks.discard),
            asked("Written down by mistake: the whole kit goes", asks.take_back),
        ]

    def _squeeze(self) -> None:
        self._change(c.Squeeze(self._ports.on, self._bottle))
        self.message = KEPT

    def _change(self, command: c.Command) -> None:
        self.shelf = self._ports.change(command)
        if isinstance(command, c.Discard):
            self.index = 0  # few acts are left

    def _read(self, bottle: ShelfBottle) -> None:
        lines = record_lines(self._report(), self._ports.volume_unit)
        self.app.push_screen(PageScreen(self.terminal, bottle.label, text_of(lines)))

    def _report(self) -> BottleReport:
        return bottle_report(self.shelf, self.shelf.bottles[self._bottle], self._ports.today())
