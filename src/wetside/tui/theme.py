"""The one table of looks: what each role of text looks like. Word first, sign second, colour last.

Roles are used instead of colours everywhere. Only attributes and the eight plain terminal colours are used,
and never a background: a person's own black, white or amber stays as it is. Reverse video marks what matters,
since no plain colour is readable on black and on white alike.
"""

from __future__ import annotations

from typing import Final, Literal

from rich.style import Style

from wetside.app.terminal import Colours

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


def styles(colours: Colours) -> dict[Role, Style]:
    """The style of each role for a terminal of so many colours."""
    return _ATTRIBUTES if colours == "none" else {**_ATTRIBUTES, **_COLOURED}
