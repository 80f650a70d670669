"""The session log as a Markdown page to keep with the negatives.

One job: write the tables of `page_rows.py`. Everything is escaped, so that it is read as the text it is.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from wetside.export.page_rows import Section, sections, standing, title
from wetside.export.session_log import SessionLog
from wetside.sanitize import coded

# what CommonMark and its table, strike-through and address extensions act on inside a line
_SIGNS = re.compile(r"[\\`*_{}\[\]<>#|~&!@$]|(?<=www)\.|:(?=//|[a-z+-][\w+-]*:)", re.IGNORECASE)


def export_markdown(log: SessionLog, ticks: bool = False) -> str:
    """The page, what matters years later first, every statement confirmed last, if wanted."""
    said = standing(log)
    head = [f"# {escaped(title(log))}", "", *((escaped(said), "") if said else ())]
    return "\n".join((*head, *(line for section in sections(log, ticks) for line in _section(section))))


def escaped(text: str) -> str:
    """`text` as Markdown that reads as that text, on one line, inside a table or out of it."""
    return _SIGNS.sub(lambda found: "\\" + found[0], coded(text)).strip()


def _section(section: Section) -> list[str]:
    heads = section.heads or ("", "")
    lines = [f"## {section.title}", ""] if section.title else []
    lines += [section.said, ""] if section.said else []
    return [*lines, _row(heads), f"|{'|'.join('---' for _ in heads)}|", *map(_escaped_row, section.rows), ""]


def _escaped_row(cells: Sequence[str]) -> str:
    return _row([escaped(cell) for cell in cells])


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
