"""What can stand over a step: menu, choice, number, words, page. Data, and what a key does to each.

Panels know no session: a key on a panel gives the panel as it is then, or an `Answer` that `key_state.py` acts on.
Every panel works with SPACE, ENTER and BACKSPACE alone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, assert_never

from wetside.domain.calc.wording import TemperatureUnit, from_scale
from wetside.frozen import dataclass
from wetside.present.actions import ActionId, action
from wetside.present.key_legend import BOTH_WAYS, Keys

NumberKind = Literal["temperature", "late", "bells"]
ChoiceKind = Literal[
    "measure",
    "blocker",
    "reason",
    "safe way out",
    "early",
    "no bell",
    "poured out",
    "large move",
    "large late",
    "dark trouble",
    "leave",
    "mishap",
    "mishap about",
    "look roll",
    "look edge",
    "look group",
    "look",
    "asked",
]
WordsKind = Literal["asked", "note", "reason", "dark trouble", "look"]

LATE_LADDER = (-30.0, -10.0, -5.0, 0.0, 5.0, 10.0, 30.0, 60.0, 90.0, 120.0)
LATE_FIRST = 5
"""The ladder opens at 10 s: ENTER keeps it, one SPACE is 30 s, one BACKSPACE is 5 s, two change nothing."""

LONGEST_NUMBER = 7
MOST_BELLS_HEARD = 9.0
"""Nobody counts more; a key held down goes no further."""


@dataclass(frozen=True, slots=True)
class Menu:
    """The menu: harmless; SPACE moves, ENTER chooses, BACKSPACE leaves."""

    items: tuple[tuple[ActionId, str, str], ...]  # (id, title, letter)
    index: int = 0


@dataclass(frozen=True, slots=True)
class TypedReading:
    """A temperature that was typed and is asked about before it is taken: °C, and the text as typed."""

    of: str
    temperature_c: float
    text: str


@dataclass(frozen=True, slots=True)
class LateBy:
    """A correction of a step's clock that is asked about, in s."""

    step: str
    by_s: float


@dataclass(frozen=True, slots=True)
class SeenEdge:
    """How the edge numbers of a roll look. roll: its place in the setup, from 0."""

    roll: int
    edge: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several. index −1: nothing is marked yet, so that ENTER alone chooses nothing.

    about: the id of what is chosen for; subject: the values it is about, where an id is not enough.
    """

    what: ChoiceKind
    title: str
    lines: tuple[str, ...]
    options: tuple[tuple[str, str], ...]  # (id, words)
    index: int = -1
    about: str = ""
    subject: TypedReading | LateBy | SeenEdge | None = None


@dataclass(frozen=True, slots=True)
class Number:
    """A number typed with digits, or stepped with SPACE (up) and BACKSPACE (down). `typed` wins over `value`."""

    what: NumberKind
    title: str
    about: str
    unit: str
    suggestion: float
    step: float
    value: float | None = None
    typed: str = ""
    index: int = LATE_FIRST
    hidden: str = ""

    @property
    def begins(self) -> str:
        """Where stepping begins: "38.5 °C", "1 bell"."""
        return self._with_unit(f"{self.suggestion:g}")

    @property
    def shown(self) -> str:
        """What stands in the field."""
        if self.typed:
            return self._with_unit(self.typed)
        if self.what == "late":
            seconds = LATE_LADDER[self.index]
            if seconds == 0:
                return "the clock as it is"
            return f"{abs(seconds):.0f} s {'late' if seconds > 0 else 'early'}"
        if self.value is None:
            return f"— {self.unit}"
        return self._with_unit(f"{self.value:.0f}" if self.what == "bells" else f"{self.value:.1f}")

    def _with_unit(self, number: str) -> str:
        return f"{number} bell" if self.what == "bells" and number == "1" else f"{number} {self.unit}"


@dataclass(frozen=True, slots=True)
class Words:
    """Free words typed in. BACKSPACE on an empty field leaves.

    lines: cautions and help. default: what an empty answer means. needed: an empty answer leaves the field open.
    """

    what: WordsKind
    title: str
    about: str
    typed: str = ""
    subject: SeenEdge | None = None
    lines: tuple[str, ...] = ()
    default: str = ""
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """A page to read: help, first aid, what was seen on negatives. SPACE reads on, ENTER or BACKSPACE leaves."""

    what: Literal["help", "first aid", "look", "mishap"]
    title: str
    lines: tuple[str, ...]
    top: int = 0


Panel = Menu | Choice | Number | Words | Page


@dataclass(frozen=True, slots=True)
class Answer:
    """A panel was answered: `value` is an action id, an option id, a number as text, or words."""

    panel: Panel
    value: str


Asked = Choice | Words
"""What is asked outside a session, over a page."""


def asked(
    title: str,
    lines: tuple[str, ...] = (),
    options: tuple[tuple[str, str], ...] = (),
    *,
    default: str = "",
    typed: str = "",
    index: int = 0,
    optional: bool = False,
) -> Asked:
    """A question over a page: one of `options`, or typed where there are none.

    default: what an empty answer means. optional: an empty answer leaves things as they were.
    """
    if options:
        return Choice("asked", title, lines, options, index)
    return Words("asked", title, "", typed, lines=lines, default=default, needed=not optional)


def guarded(title: str, lines: tuple[str, ...], options: tuple[tuple[str, str], ...]) -> Choice:
    """A question that needs SPACE before ENTER."""
    return Choice("asked", title, lines, options)


def press_asked(question: Asked, key: str) -> Asked | Answer | None:
    """As `press_panel`; the escape key leaves a question, however much is typed."""
    if key == "escape":
        return None
    return _choice(question, key) if isinstance(question, Choice) else _words(question, key)


def _asked_keys(question: Asked) -> tuple[str, str, str]:
    if isinstance(question, Choice):
        chosen = "takes the marked one" if question.index >= 0 else ""
        return ("moves" if chosen else "marks the first", chosen, "leaves it as it was")
    if question.typed:
        return ("is a space", "puts it in", "rubs out")
    empty = "" if question.needed else "leaves it as it was"
    return ("is a space", f"takes {question.default}" if question.default else empty, "leaves it as it was")


def press_panel(panel: Panel, key: str) -> Panel | Answer | None:
    """What `key` does: the panel as it is then, an answer, or None when it is left."""
    match panel:
        case Menu():
            return _menu(panel, key)
        case Choice():
            return _choice(panel, key)
        case Number():
            return _number(panel, key)
        case Words():
            return _words(panel, key)
        case Page():
            return _page(panel, key)
        case _:
            assert_never(panel)


WAYS = {"space": 1, "down": 1, "up": -1}
"""How far each key moves the mark of a list."""


def _menu(panel: Menu, key: str) -> Panel | Answer | None:
    if key in WAYS:
        return replace(panel, index=(panel.index + WAYS[key]) % len(panel.items))
    if key == "enter":
        return Answer(panel, panel.items[panel.index][0])
    if key == "backspace":
        return None
    found = next((n for n, (_, _, letter) in enumerate(panel.items) if letter == key), None)
    if found is None:
        return panel
    id_ = panel.items[found][0]
    return replace(panel, index=found) if action(id_).at_once else Answer(panel, id_)


def _choice(panel: Choice, key: str) -> Choice | Answer | None:
    if key in WAYS:
        # Nothing is marked at first: the way up from there is the last one.
        start = 0 if panel.index < 0 and key == "up" else panel.index
        return replace(panel, index=(start + WAYS[key]) % len(panel.options))
    if key == "enter":
        return panel if panel.index < 0 else Answer(panel, panel.options[panel.index][0])
    return None if key == "backspace" else panel


def _number(panel: Number, key: str) -> Panel | Answer | None:
    if len(key) == 1 and ((key.isdecimal() and key.isascii()) or (key in ".,-" and panel.what != "bells")):
        # What was stepped to is forgotten, so that a field rubbed out is an untouched one and can be left.
        return replace(panel, typed=(panel.typed + key)[:LONGEST_NUMBER], value=None)
    if key == "enter":
        return _number_answer(panel)
    if key == "backspace":
        if panel.typed:
            return replace(panel, typed=panel.typed[:-1])
        return _stepped(panel, -1)
    return _stepped(panel, 1) if key == "space" else panel


def _stepped(panel: Number, way: int) -> Panel | None:
    if panel.what == "late":
        index = panel.index + way
        return replace(panel, index=min(index, len(LATE_LADDER) - 1), typed="") if index >= 0 else None
    if panel.value is None:
        # The first SPACE puts the suggestion in; BACKSPACE on an untouched field leaves.
        return replace(panel, value=panel.suggestion, typed="") if way > 0 else None
    value = panel.value + way * panel.step
    if panel.what == "bells":
        value = min(value, MOST_BELLS_HEARD)
    return None if value < 0 else replace(panel, value=value, typed="")


def _number_answer(panel: Number) -> Panel | Answer | None:
    if panel.typed:
        return Answer(panel, panel.typed.replace(",", "."))
    if panel.what == "late":
        if LATE_LADDER[panel.index] == 0:
            return None
        return Answer(panel, f"{LATE_LADDER[panel.index]:.0f}")
    if panel.value is None:
        return panel
    return Answer(panel, f"{panel.value:.0f}" if panel.what == "bells" else f"{panel.value:.1f}")


def _words(panel: Words, key: str) -> Words | Answer | None:
    if key == "enter":
        text = panel.typed.strip() or panel.default
        unanswered = panel if panel.needed else None
        return Answer(panel, text) if text else unanswered
    if key == "backspace":
        return replace(panel, typed=panel.typed[:-1]) if panel.typed else None
    typed = " " if key == "space" else key
    if len(typed) == 1 and typed.isprintable():
        return replace(panel, typed=(panel.typed + typed)[:200])
    return panel


def _page(panel: Page, key: str) -> Panel | None:
    if key == "space":
        return replace(panel, top=panel.top + 1 if panel.top + 1 < len(panel.lines) else 0)
    return None if key in ("enter", "backspace") else panel


def to_celsius(text: str, unit: TemperatureUnit) -> float | None:
    """A typed number in the person's unit as °C; None when it is not a number."""
    try:
        value = float(text)
    except ValueError:
        return None
    return from_scale(value, unit)


def panel_keys(panel: Panel) -> Keys:
    """What the keys do on this panel, in words."""
    arrows = BOTH_WAYS if isinstance(panel, Menu | Choice) else ""
    return Keys(*_three_keys(panel), arrows)


def _three_keys(panel: Panel) -> tuple[str, str, str]:
    match panel:
        case Menu():
            return ("moves down", f"opens: {panel.items[panel.index][1]}", "leaves the menu")
        case Choice() | Words() if panel.what == "asked":
            return _asked_keys(panel)
        case Choice():
            chosen = f"chooses: {panel.options[panel.index][1]}" if panel.index >= 0 else "chooses what is marked"
            return ("marks the next", chosen, "leaves")
        case Number():
            kept = f"keeps {panel.shown}" if panel.typed or panel.value is not None or panel.what == "late" else ""
            if not kept:
                return (f"begins at {panel.begins}", "", "leaves")
            last = panel.what == "late" and panel.index == 0
            return ("goes up", kept, "rubs out" if panel.typed else "leaves" if last else "goes down")
        case Words():
            return ("is a space", "keeps the words" if panel.typed.strip() else "leaves", "rubs out")
        case Page():
            return ("reads on", "leaves", "leaves")
        case _:
            assert_never(panel)
