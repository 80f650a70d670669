"""The first screen: an unfinished session with its elapsed time, then the list of everything else.

It reads no journal: what it shows is passed in, and what is chosen is passed to a callback.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from math import floor
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct
from textual.timer import Timer
from textual.widget import Widget
from textual.widgets import Static

from wetside.app.terminal import Terminal
from wetside.present.wording import hours_minutes, minutes_seconds
from wetside.tui.choice_list import ChoiceList
from wetside.tui.frame import WIDEST
from wetside.tui.large_digits import rows_of, scales
from wetside.tui.list_screen import ListLine, ListScreen
from wetside.tui.page_screen import Edge
from wetside.tui.rows import RowBlock, RowList, StyledText, TextLayout, fit

if TYPE_CHECKING:
    from wetside.domain.session.state import State

HomeAct = Literal["go on", "plan", "shelf", "kit", "sessions", "tour", "practise", "files", "leave"]

WORDS: Final[dict[HomeAct, tuple[str, str]]] = {
    "plan": ("Plan a new evening", "opens the plan"),
    "shelf": ("The shelf: bottles and their age", "opens the shelf"),
    "kit": ("My kit's sheet, by questions", "opens its questions"),
    "sessions": ("Past sessions and their records", "opens the list"),
    "tour": ("Learn the keys: two minutes, nothing poured", "starts the tour"),
    "practise": ("Practise: a dry run with a fast clock", "starts a dry run"),
    "files": ("Settings, and where files live", "opens them"),
    "leave": ("Leave", "leaves"),
}
"""For each choice its words, and what ENTER does, for the bottom line."""


GREETING: Final = "Plan an evening, or learn the keys and practise first: that uses no film and counts nowhere."


class Unfinished(Struct, frozen=True):
    """A session to go on with. elapsed_s: since it began, when the screen was made. began: "18:58".

    step_elapsed_s: what the current step's clock showed then, None without a clock; step_planned_s: of how much,
    until it is to be poured out. speed: of a practice's clock. paused: the step's clock stands still. least: the
    machine was off for an unknown time, so the elapsed time is a minimum.
    """

    session: str
    title: str
    began: str
    step: str
    elapsed_s: float
    step_elapsed_s: float | None = None
    step_planned_s: float | None = None
    practice: bool = False
    speed: float = 1.0
    paused: bool = False
    least: bool = False


class HomeChoice(Struct, frozen=True):
    """What was chosen; `session` is set for "go on"."""

    act: HomeAct
    session: str = ""


def unfinished(state: State, at: float, least: bool = False) -> Unfinished | None:
    """The offer to go on with a session at `at` (session seconds; a minimum if `least`).

    None if it is over or never began.
    """
    from wetside.domain.session.gates import pour_lead_s  # without such a session home needs no domain code

    step = state.step
    if step is None:
        return None
    clock = state.clocks.get(step.id)
    return Unfinished(
        session=state.session,
        title=state.plan.setup.title,
        began=hours_minutes(state.began_wall, state.offset_s, 0.0),
        step=f"{step.title} {step.roll_label}".strip(),
        elapsed_s=at,
        step_elapsed_s=None if clock is None else max(0.0, clock.elapsed(at)),
        step_planned_s=None if clock is None or clock.end_s is None else clock.end_s - pour_lead_s(step),
        practice=state.practice,
        speed=state.speed if state.practice else 1.0,
        paused=clock is not None and clock.paused_since is not None,
        least=least,
    )


class HomeScreen(ListScreen):
    """Shows `offers` first. seconds: reads a monotonic clock. wall: returns the time of day as text."""

    def __init__(
        self,
        terminal: Terminal,
        offers: tuple[Unfinished, ...],
        on_choose: Callable[[HomeChoice], None],
        *,
        seconds: Callable[[], float],
        wall: Callable[[], str] = lambda: "",
        words: str = "",
    ) -> None:
        super().__init__(terminal)
        self.offers = offers
        self._choose = on_choose
        self._seconds = seconds
        self._since = seconds()
        self._wall = wall
        self.message = words
        # With an unfinished session the tour and the kit's sheet are not offered: at 40 by 12 their lines would
        # leave no room for the heading.
        left_out = {"tour", "kit"} if any(not offer.practice for offer in offers) else set()
        self._acts = [act for act in WORDS if act not in left_out]
        self._timer: Timer | None = None
        self._above, self._below = Static(id="above"), Static(id="below")
        self._list = ChoiceList(self.text_layout)

    def contents(self) -> Iterable[Widget]:
        return self._above, self._list, self._below

    def on_mount(self) -> None:
        """Redraw each second while a session is unfinished."""
        if self.offers:
            self._timer = self.set_interval(1.0, self.redraw)

    def edge(self) -> Edge:
        return Edge("Wetside", self._wall(), self.keys("leaves the program"))

    def fill(self, columns: int, rows: int) -> None:
        cells, layout = min(columns, WIDEST), self.text_layout
        passed_s = self._seconds() - self._since
        self._list.show([line.title for line in self.lines()], self.index)
        room = max(2, rows - len(self.lines()))
        offers = fit(offer_blocks(self.offers, passed_s, layout, cells), room) if self.offers else [()]
        self.put(self._above, offers)
        self.put(self._below, [] if self.offers else layout.lines(GREETING, cells, "faint"))

    def leave(self) -> None:
        self._choose(HomeChoice("leave"))

    def press_page(self, key: str) -> None:
        """Digits mark their line."""
        if key.isascii() and key.isdecimal() and 1 <= int(key) <= len(self.lines()):
            self.index = int(key) - 1
        else:
            super().press_page(key)

    def lines(self) -> list[ListLine]:
        choices = [
            (self._begun(offer), "goes on with it", HomeChoice("go on", offer.session)) for offer in self.offers
        ]
        choices += [(*WORDS[act], HomeChoice(act)) for act in self._acts]
        return [
            ListLine(f"{number}  {words}", does, partial(self._choose, choice))
            for number, (words, does, choice) in enumerate(choices, 1)
        ]

    def _begun(self, offer: Unfinished) -> str:
        since = minutes_seconds(offer.elapsed_s + (self._seconds() - self._since) * offer.speed)
        practice = "PRACTICE, " if offer.practice else ""
        return f"Go on: {practice}{offer.title}, {since} {_by_which_clock(offer)}"


def offer_blocks(
    offers: tuple[Unfinished, ...], passed_s: float, layout: TextLayout, cells: int
) -> list[RowBlock]:
    """The first unfinished session with its time in large digits, and the words that nothing starts by itself."""
    offer = offers[0]
    seconds, about = elapsed_of(offer, passed_s)
    digits = minutes_seconds(seconds)
    head = "PRACTICE not finished" if offer.practice else "An evening is not finished"
    small: RowList = [(StyledText(digits, "strong"), *layout.row(f" {about}", cells - len(digits)))]
    forms = [small]
    if fitting := scales(digits, cells - 2, 5, layout):
        large: RowList = [(StyledText(f"  {line}", "strong"),) for line in rows_of(digits, fitting[0], layout)]
        forms.insert(0, [*large, layout.row(about, cells)])
    about_it = f"{offer.title}, begun at {offer.began}, session {offer.session}."
    return [
        RowBlock(40, ([layout.row(head, cells, "strong")], [])),
        RowBlock(3, ([()], [])),
        RowBlock(80, tuple(forms)),
        RowBlock(3, ([()], [])),
        RowBlock(20, (layout.lines(about_it, cells), [])),
        RowBlock(10, ([layout.row("Nothing starts by itself.", cells)], [])),
        RowBlock(4, ([()], [])),
    ]


def _by_which_clock(offer: Unfinished) -> str:
    """What an elapsed time is counted from; a practice's fast clock is not the one its beginning is told by."""
    return "since it began" if offer.speed == 1.0 else "on its fast clock"


def elapsed_of(offer: Unfinished, passed_s: float) -> tuple[float, str]:
    """The elapsed time (s) to show and its caption: of the running step, else of the whole session."""
    least = " at the least" if offer.least else ""
    if offer.step_elapsed_s is None:
        return (
            offer.elapsed_s + passed_s * offer.speed,
            f"{_by_which_clock(offer)}{least}; it stands at {offer.step}",
        )
    so_far_s = floor(offer.step_elapsed_s + (0.0 if offer.paused else passed_s * offer.speed))
    left = "" if offer.step_planned_s is None or offer.least else _left(round(offer.step_planned_s) - so_far_s)
    return so_far_s, f"so far{least}{left}{', paused' if offer.paused else ''}: {offer.step}"


def _left(left_s: float) -> str:
    return f", {minutes_seconds(left_s)} to go" if left_s > 0 else f", {minutes_seconds(-left_s)} over"
