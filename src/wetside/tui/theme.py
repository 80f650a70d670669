"""The one table of looks: what each role of text looks like. Word first, sign second, colour last.

Roles are used instead of colours everywhere. Only attributes and the sixteen plain terminal colours are used.
The terminal's own theme sets no background: a person's own black, white or amber stays as it is. The others set
both, where the terminal has colours at all. Reverse video marks what matters, since no plain colour is readable on
black and on white alike.
"""

from __future__ import annotations

from typing import Final, Literal

from rich.style import Style

from wetside.app.terminal import Colours

Theme = Literal["terminal", "light", "dark", "high contrast"]
Role = Literal["", "strong", "faint", "bar", "mark", "signal", "act", "done", "late", "good"]

_ATTRIBUTES: Final[dict[Role, Style]] = {
    "": Style.null(),
    "strong": Style(bold=True),
    "faint": Style(dim=True),
    "bar": Style(reverse=True),
    "mark": Style(bold=True, reverse=True),
    "signal": Style(bold=True, reverse=True),
    "act": Style(bold=True),
    "done": Style.null(),
    "late": Style(bold=True),
    "good": Style.null(),
}
_COLOURED: Final[dict[Role, Style]] = {
    "done": Style(color="green"),
    "late": Style(bold=True, color="red"),
    "good": Style(color="green"),
}


_CONTENT: Final[dict[Role, str]] = {
    "": "",
    "strong": "bold",
    "faint": "dim",
    "bar": "reverse",
    "mark": "bold reverse",
    "signal": "bold reverse",
    "act": "bold",
    "done": "ansi_green",
    "late": "bold ansi_red",
    "good": "ansi_green",
}
"""The same looks as the library's own widgets take them."""

_GROUNDS: Final[dict[Theme, Style]] = {
    "terminal": Style.null(),
    "light": Style(color="black", bgcolor="bright_white"),
    "dark": Style(color="white", bgcolor="black"),
    "high contrast": Style(color="bright_white", bgcolor="black", bold=True),
}
_STRONGEST: Final[dict[Role, Style]] = {
    "faint": Style.null(),  # dimmed text is what a person who wants contrast cannot read
    "done": Style.null(),
    "late": Style(color="bright_yellow"),
    "good": Style.null(),
    "signal": Style(color="black", bgcolor="bright_yellow"),
}


def styles(colours: Colours, theme: Theme = "terminal") -> dict[Role, Style]:
    """The style of each role for a terminal of so many colours; without any, a theme changes nothing."""
    if colours == "none":
        return _ATTRIBUTES
    looks = {**_ATTRIBUTES, **_COLOURED, **(_STRONGEST if theme == "high contrast" else {})}
    return {role: _GROUNDS[theme] + look for role, look in looks.items()}


def content_styles(colours: Colours, theme: Theme = "terminal") -> dict[Role, str]:
    """The style of each role in a widget of the library; its ground is the screen's own."""
    looks = dict(_CONTENT)
    if colours == "none" or theme == "high contrast":
        looks |= {"done": "", "late": "bold", "good": ""}
    return looks | {"faint": ""} if theme == "high contrast" else looks
