"""One question over the plan: typed, or one of several, and how it is drawn. It decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from wetside.screens.fitting import Form
from wetside.screens.paper import option, window
from wetside.screens.pen import Pen
from wetside.screens.picture import Span
from wetside.setup_fields import Option


@dataclass(slots=True)
class Asking:
    """A question that stands over the list: typed where there are no options."""

    title: str
    ask: str
    now: str
    options: tuple[Option, ...]
    answer: Callable[[str], None]
    typed: str = ""
    index: int = 0


def asking_rows(asking: Asking, pen: Pen, cells: int, rows: int) -> Form:
    """The question in at most `rows` rows; the marked option or the typed field is always among them."""
    head: Form = [pen.row(asking.title, cells, "strong")]
    head += [(Span(line),) for line in pen.wrap(asking.ask, cells)]
    if asking.options:
        drawn = [
            option(words, number == asking.index, pen, cells) for number, (_, words) in enumerate(asking.options)
        ]
        room = max(1, rows - len(head))
        return [*head[: max(0, rows - 1)], *window(drawn, asking.index, room)]
    if asking.now:
        head += [(Span(line, "faint"),) for line in pen.wrap(f"Now: {asking.now}", cells)]
    typed = pen.wrap(asking.typed, cells - 3)
    if asking.typed.endswith(" "):
        typed[-1] += " "
    field: Form = [(Span(f" {line}", "strong"),) for line in typed]
    field[-1] = (*field[-1], Span(" ", "bar"))
    return [*head[: max(0, rows - len(field))], *field][-rows:]
