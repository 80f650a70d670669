"""The styles of all roles of text. Meaning is in the words, then in signs; colour only adds to them.

Only attributes and the sixteen basic terminal colours are used. The theme "terminal" sets no background, so that
the terminal's own stays; the others set foreground and background, if the terminal has colours. Reverse video
marks what matters, since no basic colour is readable on both black and white.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, Literal

from rich.style import Style

from wetside.app.terminal import Colours

if TYPE_CHECKING:
    from textual.app import App

TERMINAL: Final = "ansi-dark"
"""The library's theme in which every colour is the terminal's own."""

Theme = Literal["terminal", "light", "dark", "high contrast"]
Role = Literal["", "strong", "faint", "bar", "mark", "signal", "done", "late"]

_ATTRIBUTES: Final[dict[Role, Style]] = {
    "": Style.null(),
    "strong": Style(bold=True),
    "faint": Style(dim=True),
    "bar": Style(reverse=True),
    "mark": Style(bold=True, reverse=True),
    "signal": Style(bold=True, reverse=True),
    "done": Style.null(),
    "late": Style(bold=True),
}
_COLOURED: Final[dict[Role, Style]] = {
    "done": Style(color="green"),
    "late": Style(bold=True, color="red"),
}

_GROUNDS: Final[dict[Theme, Style]] = {
    "terminal": Style.null(),
    "light": Style(color="black", bgcolor="bright_white"),
    "dark": Style(color="white", bgcolor="black"),
    "high contrast": Style(color="bright_white", bgcolor="black", bold=True),
}
_STRONGEST: Final[dict[Role, Style]] = {
    "faint": Style.null(),  # no dimmed text in the theme for high contrast
    "done": Style.null(),
    "late": Style(color="bright_yellow"),
    "signal": Style(color="black", bgcolor="bright_yellow"),
}


def styles(colours: Colours, theme: Theme = "terminal") -> dict[Role, Style]:
    """The style of each role; on a terminal without colours the theme has no effect."""
    if colours == "none":
        return _ATTRIBUTES
    looks = {**_ATTRIBUTES, **_COLOURED, **(_STRONGEST if theme == "high contrast" else {})}
    return {role: _GROUNDS[theme] + look for role, look in looks.items()}


def wear(app: App[Any], theme: Theme, colours: Colours) -> bool:
    """Give the app the library's theme of these colours; whether it has changed."""
    named = theme.replace(" ", "-") if colours != "none" and theme != "terminal" else TERMINAL
    if app.theme == named:
        return False
    if named not in app.available_themes:
        ground = _GROUNDS[theme]
        front, back = (f"ansi_{colour.name}" for colour in (ground.color, ground.bgcolor) if colour is not None)
        app.register_theme(
            replace(
                app.available_themes[TERMINAL],
                name=named,
                primary=front,
                foreground=front,
                background=back,
                surface=back,
                panel=back,
                boost=back,
                dark=theme != "light",
            )
        )
    app.theme = named
    return True


def content_styles(colours: Colours, theme: Theme = "terminal") -> dict[Role, str]:
    """The style of each role in a widget of the library, in its notation; the screen's ground is the theme's.

    With high contrast no colour but those of the ground, and nothing dimmed.
    """
    strongest = theme == "high contrast"
    looks = _ATTRIBUTES if colours == "none" or strongest else _ATTRIBUTES | _COLOURED
    return {role: _in_notation(look) for role, look in looks.items()} | ({"faint": ""} if strongest else {})


def _in_notation(look: Style) -> str:
    """ "bold ansi_red": the library names the terminal's own colours so."""
    words = [name for name in ("bold", "dim", "reverse") if getattr(look, name)]
    return " ".join([*words, f"ansi_{look.color.name}"] if look.color is not None else words)
