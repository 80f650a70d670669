"""A screen outside a session, on the library's widgets: a title line, rows, a list, rows, and what the keys do.

It takes no key once another screen lies over it or it was left: keys that come faster than screens change (a stuck
or a wet key) are queued to the screen that was on top; acted on there, three BACKSPACEs would leave three screens
that were not looked at.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import OptionList, Static

from wetside.app.terminal import Terminal
from wetside.tui.fitting import Form
from wetside.tui.keyed_screen import KeyedScreen
from wetside.tui.page_frame import Body, PageView
from wetside.tui.styled_rows import Row
from wetside.tui.theme import Theme, content_styles

if TYPE_CHECKING:  # home asks nothing, and is drawn before what a question needs is loaded
    from wetside.present.prompts import Asked

HELD_S = 0.15
"""BACKSPACE again sooner than this is held down (consoles repeat 10 to 30 times a second)."""


class PaperScreen(KeyedScreen):
    """Subclasses give `draw` and `press`. question: what is asked over the page now, if anything."""

    question: Asked | None = None
    _rubbed_at: float | None = None

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(terminal)
        self._colours = terminal.colours
        self._parts = {name: Static(id=name) for name in ("title", "head", "foot", "aside", "bottom")}
        self._options = OptionList(id="list", compact=True)
        self._options.can_focus = False
        self._shown: dict[str, Form] = {}

    @abstractmethod
    def draw(self, columns: int, rows: int) -> PageView:
        """The screen at this size; pure but for what the screen remembers."""

    def compose(self) -> ComposeResult:
        """Title line, body, bottom line."""
        self._fill()  # so that what is laid out first is what is shown first
        parts = self._parts
        yield parts["title"]
        yield Horizontal(
            Vertical(parts["head"], self._options, parts["foot"], id="main"), parts["aside"], id="body"
        )
        yield parts["bottom"]

    def redraw(self) -> None:
        """Show what has changed; nothing while another screen lies over this one."""
        if self.on_top:
            self._fill()

    def _fill(self) -> None:
        columns, rows = self.app.size
        if self.too_small:
            view = PageView((), Body(head=list(self.draw_small(columns, rows))), [])
        else:
            view = self.draw(columns, rows)
        self._wear()
        body = view.body
        parts = {"title": [view.title] if view.title else [], "bottom": view.bottom}
        for name, lines in {**parts, "head": body.head, "foot": body.foot, "aside": body.aside}.items():
            self._show(name, lines)
        if body.aside:
            self._parts["aside"].styles.width = columns - body.aside_at
        self._show_list(body)

    def _show(self, name: str, rows: Form) -> None:
        """What has kept its height is painted anew and not laid out anew."""
        before = self._shown.get(name)
        if rows == before:
            return
        self._shown[name] = rows
        part = self._parts[name]
        part.display = bool(rows)
        lines = Content("\n").join(self._content(row) for row in rows)
        part.update(lines, layout=before is None or len(before) != len(rows))

    def _show_list(self, body: Body) -> None:
        """The library marks the option and scrolls to it; ours is the sign before it."""
        before, listed = self._shown.get("list"), body.listed
        options = self._options
        if before is None or len(before) != len(listed):
            options.display = bool(listed)
            options.set_options([self._content(row) for row in listed])
        else:
            for number, (old, row) in enumerate(zip(before, listed, strict=True)):
                if old != row:
                    options.replace_option_prompt_at_index(number, self._content(row))
        self._shown["list"] = listed
        if options.styles.height is None or options.styles.height.value != body.room:
            options.styles.height = body.room
        options.highlighted = body.marked if listed and body.marked >= 0 else None

    def _content(self, row: Row) -> Content:
        looks = content_styles(self._colours, self._theme)
        return Content.assemble(*((text, looks[role]) for text, role in row))

    @property
    def _theme(self) -> Theme:
        settings = getattr(self.app, "settings", None)
        return settings.theme if settings is not None else "terminal"

    def _wear(self) -> None:
        """The theme's own ground, where the terminal has colours."""
        worn = f"-{self._theme.replace(' ', '-')}" if self._colours != "none" else "-terminal"
        if not self.has_class(worn):
            self.set_classes(worn)
            self._shown.clear()

    def on_screen_resume(self) -> None:
        """Back on top of the others."""
        self.redraw()

    def on_key(self, event: events.Key) -> None:
        """Hand the key on, unless this screen is no longer the one looked at."""
        if self.on_top and not self._rubs_nothing(event):
            super().on_key(event)
        else:
            event.stop()
            event.prevent_default()

    def _rubs_nothing(self, event: events.Key) -> bool:
        """Whether BACKSPACE, held down to rub a field out, has come to its end: it must not leave the page too."""
        back = event.key == "backspace"
        held = back and self._rubbed_at is not None and event.time < self._rubbed_at + HELD_S
        typed = bool(getattr(self.question, "typed", ""))  # a choice has nothing typed
        self._rubbed_at = event.time if back and (typed or held) else None
        return held and not typed
