"""The HTML page: self-contained, the same values as in the other forms, and opened in a real browser."""

from __future__ import annotations

import csv
import gzip
import io
import re
import shutil
import subprocess
import tomllib
from html.parser import HTMLParser
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from msgspec.structs import replace

from wetside.commands.export import exported
from wetside.domain.session import events as e
from wetside.export.pages import export_html
from wetside.export.session_log import session_log
from wetside.files.settings import JOURNAL, Places
from wetside.sanitize import escape_controls

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
KEPT = Path(__file__).parents[1] / "journals" / "0.1.0"
TAGS = {
    *("html", "head", "meta", "title", "style", "body", "h1", "h2", "p", "table", "tr", "th", "td", "figure"),
    *("figcaption", "svg", "rect", "line", "text", "polyline", "circle"),
}


class Seen(HTMLParser):
    """The tags, the attributes, the texts by tag, and the tags that were not closed."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.names: set[str] = set()
        self.texts: dict[str, list[str]] = {}
        self.open: list[str] = []
        self.cells: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.names |= {name for name, _ in attrs}
        if tag != "meta":
            self.open.append(tag)
        self.texts.setdefault(tag, []).append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.names |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open:
            self.texts[self.open[-1]][-1] += data
            if self.open[-1] in ("td", "th"):
                self.cells.append(data)


@pytest.fixture
def places(tmp_path: Path) -> Places:
    """A data folder with a whole evening of three rolls."""
    data = tmp_path / "data"
    data.mkdir(mode=0o700)
    (data / JOURNAL).write_bytes(gzip.decompress((KEPT / f"{JOURNAL}.gz").read_bytes()))
    (data / JOURNAL).chmod(0o600)
    return Places(data, tmp_path / "settings.toml")


def test_the_html_page_loads_no_other_file(places: Places) -> None:
    page = exported(places, "last", "html", ticks=True)
    seen = Seen(page)
    assert not seen.open
    assert set(seen.tags) <= TAGS
    assert not {"src", "href", "style", "onclick", "onload", "xlink:href"} & seen.names
    assert not re.search(r"https?:|//|url\(|@import|<script", page)
    assert "@media print" in page
    assert page == exported(places, "last", "html", ticks=True)


def test_the_html_tables_say_the_same_as_the_markdown_page(places: Places) -> None:
    seen = Seen(exported(places, "last", "html", ticks=True))
    markdown = MarkdownIt("commonmark").enable("table").render(exported(places, "last", "markdown", ticks=True))
    assert seen.cells == Seen(markdown).cells
    assert len(seen.cells) > 200


def test_the_html_charts_draw_the_values_of_the_other_formats(places: Places) -> None:
    seen = Seen(exported(places, "last", "html"))
    record = tomllib.loads(exported(places, "last", "toml"))
    rows = list(csv.DictReader(io.StringIO(exported(places, "last", "csv"), newline="")))
    marks = [mark for mark in seen.texts["title"][1:] if mark.endswith("°C")]
    read = [(r["when"], r["title"], r["value"]) for r in record["readings"] if r["of"] in ("developer", "bath")]
    drawn = sorted(f"{when:%H:%M:%S} {title} {value:.2f} °C" for when, title, value in read)
    within = [mark for mark in drawn if mark.startswith("19:07:29")]
    assert sorted(marks) == sorted((*drawn, *within)), "once over the evening, those in the bath once more"
    developer = next(step for step in record["steps"] if step["id"] == "b1.developer")
    (row,) = (row for row in rows if row["step"] == "b1.developer")
    share = developer["doses"][-1][1]
    assert f"{share:.6f}" == row["dose"]
    assert f"{share * 100:.1f} % at 3:47" in seen.texts["title"]
    bars = [text for text in seen.texts["text"] if " due, " in text]
    timed = [step for step in record["steps"] if step["kind"] in ("bath", "wash") and "due_s" in step]
    assert len(bars) == len(timed)
    assert "Developer: 3:37 due, 3:37 was" in bars


def test_a_dose_is_the_time_divided_by_that_of_the_table(evening: tuple[e.Event, ...]) -> None:
    began = evening[0]
    assert isinstance(began, e.SessionBegan)
    developer = replace(began.plan.steps[1], table=((37.0, 210.0), (38.0, 195.0), (39.0, 180.0)))
    plan = replace(began.plan, steps=(began.plan.steps[0], developer, *began.plan.steps[2:]))
    held = e.ReadingTaken(69.0, "b1.developer", "developer", 38.0, "38")
    without = tuple(event for event in evening[1:] if not isinstance(event, e.ReadingTaken))
    log = session_log((replace(began, plan=plan), *without[:9], held, *without[9:]))
    # 38.0 °C throughout, poured out at 192 s, empty 10 s later: 202 s of 195
    doses = dict(log.steps[1].doses)
    assert max(doses) == 202.0
    assert doses[202.0] == pytest.approx(202.0 / 195.0)
    assert doses[101.0] == pytest.approx(101.0 / 195.0)
    assert "103.6 % at 3:22" in export_html(log)


def test_hostile_labels_stay_text(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    page = export_html(session_log(hostile_evening), ticks=True)
    page.encode()
    seen = Seen(page)
    assert not seen.open
    assert set(seen.tags) <= TAGS
    assert escape_controls(hostile).strip() in [cell.strip() for cell in seen.texts["td"]]


@pytest.mark.skipif(BROWSER is None, reason="no browser is installed here")
def test_a_real_browser_shows_the_page_whole_and_prints_it(places: Places, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(exported(places, "last", "html"), "utf-8")
    run = [str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'browser'}"]
    paper = tmp_path / "page.pdf"
    run += ["--dump-dom", f"--print-to-pdf={paper}", page.as_uri()]
    shown = subprocess.run(run, capture_output=True, timeout=120, check=True)
    seen = Seen(shown.stdout.decode("utf-8"))
    assert seen.texts["h1"] == ["Three rolls on a Sunday evening"]
    assert seen.tags.count("svg") == 4
    assert seen.texts["td"] == Seen(page.read_text("utf-8")).texts["td"]
    assert paper.read_bytes().startswith(b"%PDF")
