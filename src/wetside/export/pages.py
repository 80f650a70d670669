"""The session log as a page to keep with the negatives, in Markdown or HTML: the tables of `page_rows.py`.

All text is escaped. The HTML page has charts too and is self-contained: no script, nothing from a network,
printable.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from wetside.export.page_rows import Section, sections, standing, title
from wetside.export.session_log import SessionLog
from wetside.sanitize import escape_controls

# the characters that CommonMark and its table, strike-through and autolink extensions interpret inside a line
_SIGNS = re.compile(r"[\\`*_{}\[\]<>#|~&!@$]|(?<=www)\.|:(?=//|[a-z+-][\w+-]*:)", re.IGNORECASE)
_STYLE: Final = Path(__file__).with_name("page.css")


def export_markdown(log: SessionLog, ticks: bool = False, listed: bool = False) -> str:
    """The page; ticks: with every checklist item that was confirmed, at its end.

    listed: each row as a line of words instead of a table, for a screen too narrow for seven columns.
    """
    said = standing(log)
    head = [f"# {escaped(title(log))}", "", *((escaped(said), "") if said else ())]
    form = _listed if listed else _table
    return "\n".join((*head, *(line for section in sections(log, ticks) for line in _markdown(section, form))))


def escaped(text: str) -> str:
    """`text` escaped for Markdown, on one line, also for a table cell."""
    return _SIGNS.sub(lambda found: "\\" + found[0], escape_controls(text)).strip()


def _markdown(section: Section, form: Callable[[Section], list[str]]) -> list[str]:
    lines = [f"## {section.title}", ""] if section.title else []
    return [*lines, *((section.said, "") if section.said else ()), *form(section), ""]


def _table(section: Section) -> list[str]:
    def row(cells: Sequence[str]) -> str:
        return f"| {' | '.join(cells)} |"

    heads = section.heads or ("", "")
    rows = (row([escaped(cell) for cell in cells]) for cells in section.rows)
    return [row(heads), f"|{'|'.join('---' for _ in heads)}|", *rows]


_NEEDLESS: Final = frozenset({"", "What", "In words", "Step", "About", "Verdict", "How sure"})
"""Heads of a table that say nothing before words that stand in a line."""


def _listed(section: Section) -> list[str]:
    """Each row as a line of one paragraph: a list would make four widgets of each row on the screen."""
    lines = []
    for first, *others in ([escaped(cell) for cell in row] for row in section.rows):
        if section.heads:
            named = zip(section.heads[1:], others, strict=True)
            said = (cell if name in _NEEDLESS else f"{name.lower()} {cell}" for name, cell in named if cell)
            others = ["; ".join(said)]
        words = ", ".join(filter(None, others))
        lines.append(f"\\- **{first}**: {words}" if words else f"\\- **{first}**")
    return [f"{line}\\" for line in lines[:-1]] + lines[-1:]


def export_html(log: SessionLog, ticks: bool = False) -> str:
    """The page, with charts after the baths; ticks: as of `export_markdown`. Equal logs give equal text."""
    from wetside.export.charts import charts

    name, said = _text(title(log)), _text(standing(log))
    body = [f"<h1>{name}</h1>", *((f"<p>{said}</p>",) if said else ())]
    for section in sections(log, ticks):
        body.append(_html(section))
        if section.charted:
            body += [
                f"<figure>\n{svg}\n<figcaption>{_text(caption)}</figcaption>\n</figure>"
                for svg, caption in charts(log)
            ]
    head = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{name}</title>\n<style>\n{_STYLE.read_text('utf-8')}</style>\n</head>\n<body>\n"
    )
    return head + "\n".join(body) + "\n</body>\n</html>\n"


def _html(section: Section) -> str:
    lines = [f"<h2>{_text(section.title)}</h2>"] if section.title else []
    lines += [f"<p>{_text(section.said)}</p>"] if section.said else []
    lines.append("<table>")
    if section.heads:
        lines.append(f"<tr>{''.join(f'<th>{_text(cell)}</th>' for cell in section.heads)}</tr>")
    first = "td" if section.heads else "th"
    for row in section.rows:
        cells = "".join(f"<td>{_text(cell)}</td>" for cell in row[1:])
        lines.append(f"<tr><{first}>{_text(row[0])}</{first}>{cells}</tr>")
    return "\n".join((*lines, "</table>"))


def _text(text: str) -> str:
    return html.escape(escape_controls(text).strip())
