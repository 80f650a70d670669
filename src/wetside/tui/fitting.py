"""Fits blocks of rows into the height there is. Pure; knows no session.

Each block brings its forms, from the fullest to the shortest. While all together are too high, the block that
matters least gives up one form. So what matters most keeps its room longest, and nothing needs to scroll.
"""

from __future__ import annotations

from wetside.frozen import dataclass
from wetside.tui.styled_rows import Row

Form = list[Row]


@dataclass(frozen=True, slots=True)
class RowBlock:
    """Something to show. forms: fullest first, at least one.

    weights: what each step from one form to the next costs, so one fewer than the forms; the cheapest step of
    all blocks is taken first. A single number costs the same at every step.
    """

    weights: int | tuple[int, ...]
    forms: tuple[Form, ...]

    def cost(self, form: int) -> int | None:
        """What it costs to go on from this form; None from the shortest."""
        if form + 1 >= len(self.forms):
            return None
        return self.weights if isinstance(self.weights, int) else self.weights[min(form, len(self.weights) - 1)]


def fit(blocks: list[RowBlock], rows: int) -> Form:
    """The blocks' rows in order, in at most `rows` rows; cut at the end where even the shortest are too high."""
    chosen = [0] * len(blocks)
    while _height(blocks, chosen) > rows:
        costs = [(cost, n) for n, block in enumerate(blocks) if (cost := block.cost(chosen[n])) is not None]
        if not costs:
            break
        chosen[min(costs)[1]] += 1
    _grow_back(blocks, chosen, rows)
    shown = [row for block, form in zip(blocks, chosen, strict=True) for row in block.forms[form]]
    return shown[:rows]


def _grow_back(blocks: list[RowBlock], chosen: list[int], rows: int) -> None:
    """A large step may have freed more than was needed: what was given up last comes back where it fits."""
    given_up = [(block.cost(form), n, form) for n, block in enumerate(blocks) for form in range(chosen[n])]
    for _, number, form in sorted(given_up, key=lambda step: (-(step[0] or 0), step[1], -step[2])):
        fuller = [*chosen[:number], form, *chosen[number + 1 :]]
        if form == chosen[number] - 1 and _height(blocks, fuller) <= rows:
            chosen[number] = form


def _height(blocks: list[RowBlock], chosen: list[int]) -> int:
    return sum(len(block.forms[form]) for block, form in zip(blocks, chosen, strict=True))


def around(rows: Form, marked: int, least: int) -> tuple[Form, ...]:
    """Ever shorter windows of `rows` down to `least`, each holding the row `marked` (−1: none)."""
    forms = []
    for height in range(len(rows), least - 1, -1):
        top = min(max(0, marked - height // 2), len(rows) - height) if marked >= 0 else 0
        forms.append(rows[top : top + height])
    return tuple(forms) or (rows,)
