"""The panels that open over a step (menu, choice, number, words, page), as data, and what each key does on them.

For each panel one function returns the label of a key and its effect. Panels do not depend on the session: a key
returns the changed panel, or an `Answer` that `prompt_answers.py` handles. SPACE, ENTER and BACKSPACE suffice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from msgspec import Struct
from msgspec.structs import replace

from wetside.present.actions import Action
from wetside.present.wording import from_scale

if TYPE_CHECKING:
    # Not on the way to the first paint of home.
    from wetside.domain.planning.setup import TemperatureUnit
    from wetside.domain.session.commands import CorrectClock, TakeReading
    from wetside.domain.session.events import Edge

NumberKind = Literal["temperature", "late", "bells"]
LookKind = Literal["look roll", "look edge", "look group", "look"]
DecisionKind = Literal["leave", "safe way out", "early", "no bell", "large move", "large late"]
ChoiceKind = (
    LookKind
    | DecisionKind
    | Literal["measure", "blocker", "reason", "poured out", "dark trouble", "mishap", "mishap about", "asked"]
)
WordsKind = Literal["asked", "note", "reason", "look"]

LATE_LADDER = (-30.0, -10.0, -5.0, 0.0, 5.0, 10.0, 30.0, 60.0, 90.0, 120.0)
LATE_FIRST = 5
"""The ladder opens at 10 s: ENTER keeps it, one SPACE is 30 s, one BACKSPACE is 5 s, two change nothing."""

LONGEST_NUMBER, LONGEST_WORDS = 7, 200
"""The most characters of a number and of free text."""
MOST_BELLS_HEARD = 9
"""The highest number of bells that can be stepped to, so that a key held down stops there."""

NOT_READ = "not read"
"""What a temperature field shows where it is left without a reading. A key held down stops there."""

BOTH_WAYS = "both ways"
"""What the arrow keys do in a list: they move both ways, SPACE moves in one only."""


class Keys(Struct, frozen=True):
    """The labels of the keys for the bottom line; "" where a key does nothing. arrows: of up and down."""

    space: str
    enter: str
    backspace: str
    arrows: str = ""


class Menu(Struct, frozen=True):
    """The menu: harmless; SPACE moves, ENTER chooses, BACKSPACE leaves."""

    items: tuple[Action, ...]
    index: int = 0


class SeenEdge(Struct, frozen=True):
    """How the edge numbers of a roll look. roll: its index in the setup, from 0."""

    roll: int
    edge: Edge


class Choice(Struct, frozen=True):
    """A choice of one option. index −1: none is marked yet, so that ENTER alone chooses nothing.

    about: the id of the step, reading or roll that the choice is for; subject: its values, where an id is not
    enough: the command that is to be confirmed, or the edge numbers that were seen.
    """

    what: ChoiceKind
    title: str
    lines: tuple[str, ...]
    options: tuple[tuple[str, str], ...]  # (id, words)
    index: int = -1
    about: str = ""
    subject: TakeReading | CorrectClock | SeenEdge | None = None


class Number(Struct, frozen=True):
    """A number typed with digits, or stepped with SPACE (up) and BACKSPACE (down). What is typed comes first.

    steps: where stepping has come to, None before its first key: the index in `LATE_LADDER`, the number of bells,
    or the steps of a temperature, whose number 0 is "not read", between the suggestion and the values below it.
    """

    what: NumberKind
    title: str
    about: str
    unit: str
    suggestion: float
    step: float
    steps: int | None = None
    typed: str = ""
    hidden: str = ""

    @property
    def value(self) -> float | None:
        """The number that was stepped to; None before the first key, and where nothing is to be kept."""
        if self.what == "late":
            return LATE_LADDER[LATE_FIRST if self.steps is None else self.steps] or None
        if self.steps is None or self.not_read:
            return None
        below = self.what == "temperature" and self.steps < 0
        return self.suggestion + self.step * (self.steps if below else self.steps - 1)

    @property
    def not_read(self) -> bool:
        """Whether a temperature was stepped back to where ENTER leaves the field and keeps nothing."""
        return self.what == "temperature" and self.steps == 0 and not self.typed

    @property
    def begins(self) -> str:
        """The first value of stepping: "38.5 °C", "1 bell"."""
        return " ".join(self._with_unit(f"{self.suggestion:g}"))

    @property
    def shown(self) -> str:
        """The text of the field."""
        return " ".join(part for part in self.parts if part)

    @property
    def parts(self) -> tuple[str, str]:
        """The number in the field ("—" before a value, "" without one) and the words after it: ("38.5", "°C")."""
        value = self.value
        if self.typed:
            return self._with_unit(self.typed)
        if self.not_read:
            return "", NOT_READ
        if self.what == "late":
            late = "late" if value is not None and value > 0 else "early"
            return ("", "the clock as it is") if value is None else (f"{abs(value):.0f}", f"s {late}")
        if value is None:
            return "—", self.unit
        return self._with_unit(f"{value:.0f}" if self.what == "bells" else f"{value:.1f}")

    def _with_unit(self, number: str) -> tuple[str, str]:
        return number, "bell" if self.what == "bells" and number == "1" else self.unit


class Words(Struct, frozen=True):
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


class Page(Struct, frozen=True):
    """A page to read: help, first aid, what was seen on negatives. SPACE reads on, ENTER or BACKSPACE leaves."""

    what: Literal["help", "first aid", "look", "mishap"]
    title: str
    lines: tuple[str, ...]
    top: int = 0


Panel = Menu | Choice | Number | Words | Page


class Answer(Struct, frozen=True):
    """A panel was answered: `value` is an action id, an option id, a number as text, or words."""

    panel: Panel
    value: str


Asked = Choice | Words
"""The panels that ask a question outside a session, over a page."""


def asked(
    title: str,
    lines: tuple[str, ...] = (),
    options: tuple[tuple[str, str], ...] = (),
    *,
    default: str = "",
    chosen: str = "",
    optional: bool = False,
) -> Asked:
    """A question over a page: a choice of `options`, or a text field where there are none.

    default: the value of an empty answer. chosen: the option that is marked, else the first. optional: an empty
    answer changes nothing.
    """
    if options:
        marked = next((number for number, (id_, _) in enumerate(options) if id_ == chosen), 0)
        return Choice("asked", title, lines, options, marked)
    return Words("asked", title, "", lines=lines, default=default, needed=not optional)


def guarded(title: str, lines: tuple[str, ...], options: tuple[tuple[str, str], ...]) -> Choice:
    """A question that needs SPACE before ENTER."""
    return Choice("asked", title, lines, options)


Meant = tuple[str, "Panel | Answer | None"]
"""What a key means on a panel: its label, and the panel after the press, an answer, or None where it closes."""

WAYS = {"space": 1, "down": 1, "up": -1}
"""How many lines each key moves the mark of a list."""


def press_panel(panel: Panel, key: str) -> Panel | Answer | None:
    """The effect of `key`: the panel after it, an answer, or None where the panel closes."""
    return _meant(panel, key)[1]


def press_asked(question: Asked, key: str) -> Asked | Answer | None:
    """As `press_panel`; the escape key closes a question even after text was typed."""
    after = None if key == "escape" else press_panel(question, key)
    assert after is None or isinstance(after, Choice | Words | Answer)
    return after


def panel_keys(panel: Panel) -> Keys:
    """The labels of the three large keys on this panel; "" for a key that changes nothing on it."""
    meant = (_meant(panel, key) for key in ("space", "enter", "backspace"))
    space, enter, backspace = ("" if after == panel else label for label, after in meant)
    return Keys(space, enter, backspace, BOTH_WAYS if isinstance(panel, Menu | Choice) else "")


def _meant(panel: Panel, key: str) -> Meant:
    match panel:
        case Menu():
            return _on_menu(panel, key)
        case Choice():
            return _on_choice(panel, key)
        case Number():
            return _on_number(panel, key)
        case Words():
            return _on_words(panel, key)
        case Page():
            if key == "space":
                return "reads on", replace(panel, top=panel.top + 1 if panel.top + 1 < len(panel.lines) else 0)
            return "leaves", None if key in ("enter", "backspace") else panel


def _on_menu(panel: Menu, key: str) -> Meant:
    if key in WAYS:
        return "moves down", replace(panel, index=(panel.index + WAYS[key]) % len(panel.items))
    if key == "enter":
        marked = panel.items[panel.index]
        return f"opens: {marked.title}", Answer(panel, marked.id)
    if key == "backspace":
        return "leaves the menu", None
    found = next((number for number, each in enumerate(panel.items) if each.letter == key), None)
    if found is None:
        return "", panel
    marked, after = panel.items[found], replace(panel, index=found)
    return "", after if marked.at_once else Answer(after, marked.id)


def _on_choice(panel: Choice, key: str) -> Meant:
    over_page, marked = panel.what == "asked", panel.index >= 0
    if key in WAYS:
        # With nothing marked yet, up marks the last option.
        start = 0 if not marked and key == "up" else panel.index
        label = ("moves" if marked else "marks the first") if over_page else "marks the next"
        return label, replace(panel, index=(start + WAYS[key]) % len(panel.options))
    if key == "enter" and marked:
        id_, words = panel.options[panel.index]
        return "takes the marked one" if over_page else f"chooses: {words}", Answer(panel, id_)
    if key == "backspace":
        return "leaves it as it was" if over_page else "leaves", None
    return "", panel


def _on_number(panel: Number, key: str) -> Meant:
    if len(key) == 1 and ((key.isdecimal() and key.isascii()) or (key in ".,-" and panel.what != "bells")):
        # A stepped value is dropped, so that a field whose digits are deleted is empty and can be left.
        return "", replace(panel, typed=(panel.typed + key)[:LONGEST_NUMBER], steps=None)
    if key == "enter":
        return "leaves: nothing is kept" if panel.not_read else f"keeps {panel.shown}", _number_answer(panel)
    if key == "backspace" and panel.typed:
        return "rubs out", replace(panel, typed=panel.typed[:-1])
    if key not in ("space", "backspace") or panel.typed:
        return "", panel  # SPACE changes no typed number: the habit of SPACE, ENTER would keep another one
    after = _stepped(panel, 1 if key == "space" else -1)
    if after is None:
        return "leaves", None
    if after.not_read:
        return f"goes to: {NOT_READ}", after
    if panel.steps is None and panel.what != "late":
        return f"begins at {panel.begins}", after
    return "goes up" if key == "space" else "goes down", after


def _stepped(panel: Number, way: int) -> Number | None:
    """The field one step up or down; None where BACKSPACE leaves it."""
    if panel.steps is None and panel.what != "late":
        # The first SPACE puts the suggestion in; BACKSPACE on an untouched field leaves.
        return replace(panel, steps=1, typed="") if way > 0 else None
    steps = (LATE_FIRST if panel.steps is None else panel.steps) + way
    after = replace(panel, steps=steps, typed="")
    if panel.what == "temperature":
        return after if (after.value or 0.0) >= 0 else panel
    most = len(LATE_LADDER) - 1 if panel.what == "late" else MOST_BELLS_HEARD
    return replace(after, steps=min(steps, most)) if steps >= 0 else None


def _number_answer(panel: Number) -> Panel | Answer | None:
    if panel.typed:
        return Answer(panel, panel.typed.replace(",", "."))
    value = panel.value
    if value is None:
        return None if panel.not_read or panel.what == "late" else panel
    return Answer(panel, f"{value:.1f}" if panel.what == "temperature" else f"{value:.0f}")


def _on_words(panel: Words, key: str) -> Meant:
    over_page = panel.what == "asked"
    leaves = "leaves it as it was" if over_page else "leaves"
    if key == "enter":
        text = panel.typed.strip()
        if text:
            return "puts it in" if over_page else "keeps the words", Answer(panel, text)
        if panel.default:
            return f"takes {panel.default}", Answer(panel, panel.default)
        return leaves, panel if panel.needed else None
    if key == "backspace":
        return ("rubs out", replace(panel, typed=panel.typed[:-1])) if panel.typed else (leaves, None)
    typed = " " if key == "space" else key
    if len(typed) == 1 and typed.isprintable():
        return "is a space", replace(panel, typed=(panel.typed + typed)[:LONGEST_WORDS])
    return "", panel


def to_celsius(text: str, unit: TemperatureUnit) -> float | None:
    """A typed number in the person's unit as °C; None when it is not a number."""
    try:
        value = float(text)
    except ValueError:
        return None
    return from_scale(value, unit)
