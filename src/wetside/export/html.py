"""The session log as one HTML page that holds all it needs: no script, nothing from a network, fit for paper.

One job: write the tables of `page_rows.py` and the charts of `page_charts.py`. Everything is escaped.
"""

from __future__ import annotations

import html

from wetside.export.page_charts import charts
from wetside.export.page_rows import Section, sections, standing, title
from wetside.export.session_log import SessionLog
from wetside.sanitize import coded

_STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.4 sans-serif; color: #000; background: #fff; max-width: 52rem; margin: 1.5rem auto;
  padding: 0 1rem; }
h1 { font-size: 1.5rem; }
h2 { font-size: 1.15rem; margin: 1.4rem 0 .3rem; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th { white-space: nowrap; }
td, th { border-bottom: 1px solid #999; padding: .2rem .5rem .2rem 0; text-align: left; vertical-align: top;
  overflow-wrap: break-word; }
figure { margin: .8rem 0; break-inside: avoid; }
figcaption { font-size: .85rem; }
svg { width: 100%; height: auto; }
svg text { font: 12px sans-serif; }
svg .end { text-anchor: end; }
svg .middle { text-anchor: middle; }
svg polyline { fill: none; stroke: #000; stroke-width: 1.6; }
svg polyline.dashed { stroke-dasharray: 6 4; }
svg polyline.dotted { stroke-dasharray: 1.5 3.5; }
svg circle.open { fill: #fff; stroke: #000; stroke-width: 1.5; }
svg .grid { stroke: #ccc; }
svg .band { fill: #d5e6d5; }
svg .span { fill: #eee; }
svg .planned { fill: none; stroke: #000; }
svg .actual { fill: #888; }
@media print {
  body { margin: 0; max-width: none; font-size: 10pt; }
  tr { break-inside: avoid; }
  h2 { break-after: avoid; }
  svg .band, svg .span, svg .actual { print-color-adjust: exact; }
}
"""


def export_html(log: SessionLog, ticks: bool = False) -> str:
    """The page, the charts after the baths; equal logs give equal text."""
    name, said = _text(title(log)), _text(standing(log))
    body = [f"<h1>{name}</h1>", *((f"<p>{said}</p>",) if said else ())]
    for section in sections(log, ticks):
        body.append(_section(section))
        if section.title == "Baths":
            body += [
                f"<figure>\n{chart.svg}\n<figcaption>{_text(chart.caption)}</figcaption>\n</figure>"
                for chart in charts(log)
            ]
    head = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{name}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
    )
    return head + "\n".join(body) + "\n</body>\n</html>\n"


def _section(section: Section) -> str:
    lines = [f"<h2>{_text(section.title)}</h2>"] if section.title else []
    lines += [f"<p>{_text(section.said)}</p>"] if section.said else []
    lines.append("<table>")
    if section.heads:
        lines.append(f"<tr>{''.join(f'<th>{_text(cell)}</th>' for cell in section.heads)}</tr>")
    for row in section.rows:
        first = f"<th>{_text(row[0])}</th>" if not section.heads else f"<td>{_text(row[0])}</td>"
        lines.append(f"<tr>{first}{''.join(f'<td>{_text(cell)}</td>' for cell in row[1:])}</tr>")
    return "\n".join((*lines, "</table>"))


def _text(text: str) -> str:
    return html.escape(coded(text).strip())
