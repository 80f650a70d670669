"""The four forms of the log read back with readers that are not ours, hostile labels included."""

from __future__ import annotations

import csv
import io
import json
import re
import tomllib

from markdown_it import MarkdownIt

from wetside.domain.session import events as e
from wetside.export.csv import COLUMNS, export_csv
from wetside.export.jsonl import export_jsonl
from wetside.export.log_entries import Debit
from wetside.export.markdown import escaped, export_markdown
from wetside.export.session_log import session_log
from wetside.export.toml import export_toml
from wetside.sanitize import coded, whole
from wetside.storage.codec import decode

ACTING = re.compile("[\x00-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def table(text: str) -> list[dict[str, str]]:
    """The rows of a CSV export, by column."""
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert rows[0] == list(COLUMNS)
    assert all(len(row) == len(COLUMNS) for row in rows)
    return [dict(zip(COLUMNS, row, strict=True)) for row in rows[1:]]


def test_toml_holds_the_whole_record(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening, (Debit("bottle 3", "developer", 2.0, "two rolls"),))
    read = tomllib.loads(export_toml(log))
    assert read["tool"] == {"name": "wetside", "version": "0.1"}
    assert read["profile"]["sha256"] == "ab" * 32
    assert read["session"]["outcome"] == "complete with deviations (2)"
    assert read["session"]["practice"] is False
    assert read["session"]["began"] == log.began.wall
    assert read["setup"]["rolls"][1] == {
        "label": "second",
        "kind": "backed",
        "format": "135-36",
        "push": 1.0,
        "stock": "",
        "camera": "",
        "shot_at": "",
    }
    assert [s["id"] for s in read["plan"]["steps"]] == [s.id for s in log.plan.steps]
    developer = read["steps"][1]
    assert developer["started"] == log.steps[1].started.wall  # type: ignore[union-attr]  # it was started
    assert developer["corrections"][0]["by_s"] == 5.0
    assert developer["end_moves"][0]["new_s"] == 200.0
    assert read["readings"][0]["text"] == "97.7 °F"
    assert read["readings"][0]["unit"] == "°C"
    assert read["ticks"][0]["taken_back"] == log.ticks[0].taken_back.wall  # type: ignore[union-attr]  # it was undone
    assert read["debits"] == [{"bottle": "bottle 3", "solution": "developer", "rolls": 2.0, "text": "two rolls"}]
    assert read["cues"][1]["why_missed"] == "the guide was closed"
    assert read["resumes"][0]["gap_s"] == 42.0
    assert read["jumps"][0]["what"] == "suspend"
    assert len(read["deviations"]) == read["session"]["deviation_count"] == 2


def test_csv_has_one_row_a_step(evening: tuple[e.Event, ...]) -> None:
    text = export_csv(session_log(evening))
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    rows = table(text)
    assert [row["step"] for row in rows] == ["temper", "b1.developer", "b1.fix", "b1.wash", "b1.r2.hang"]
    developer = rows[1]
    assert developer["planned_s"] == "195.000"
    assert developer["difference_s"] == "2.000"
    assert developer["started"] == "2031-03-01T19:00:35.250+01:00"
    assert developer["verdict"] == "on time"
    assert rows[0]["readings"] == "Developer bottle 36.50 °C (typed 97.7 °F), too cold"
    assert "no more time" in rows[0]["deviations"]
    assert rows[0]["difference_s"] == ""


def test_a_negative_difference_stays_a_number(evening: tuple[e.Event, ...]) -> None:
    until = tuple(x for x in evening if not isinstance(x, e.EndMoved | e.PauseBegan | e.PauseEnded))
    short = tuple(e.StepEnded(700.0, x.step) if isinstance(x, e.StepEnded) and x.at == 885.0 else x for x in until)
    assert table(export_csv(session_log(short)))[3]["difference_s"] == "-155.000"


def test_json_lines_decode_to_equal_events(evening: tuple[e.Event, ...]) -> None:
    rows = [json.loads(line) for line in export_jsonl(evening).splitlines()]
    assert tuple(decode(row["kind"], row["version"], json.dumps(row["data"])) for row in rows) == evening
    assert [row["number"] for row in rows] == list(range(1, len(evening) + 1))
    assert rows[0]["wall"] == "2031-03-01T19:00:00.250+01:00"


def test_the_page_says_what_happened(evening: tuple[e.Event, ...]) -> None:
    page = export_markdown(session_log(evening, (Debit("bottle 3", "developer", 2.0, "two rolls"),)))
    html = MarkdownIt("commonmark").enable("table").render(page)
    text = re.sub("<[^>]+>", " ", html)
    for words in (
        "Two rolls on a Saturday",
        "complete with deviations (2)",
        "19:00:35 (stated), first marked 19:00:40",
        "3:15, moved to 3:20, out at 3:10",
        "no more time",
        "taken back",
        "planned 19:06:22: the guide was closed",
        "opened again after 0:42",
        "suspend of +0:40",
        "a little thin",
        "bottle 3",
    ):
        assert words in text
    assert html.count("<tr>") > 10


def test_the_page_says_first_how_it_came_out_and_what_differed(evening: tuple[e.Event, ...]) -> None:
    page = export_markdown(session_log(evening))
    assert "| second | backed | 135-36 | +1 | 1 | a little thin |" in page.splitlines()
    assert "a little thin" not in page.split("## Notes")[1], "it is said once"
    heads = re.findall("^## (.*)$", page, re.MULTILINE)
    assert heads[:3] == ["Rolls", "Deviations (2)", "Baths and other timed steps"]


def test_on_the_page_each_statement_stands_under_its_own_step_and_roll(evening: tuple[e.Event, ...]) -> None:
    steps = export_markdown(session_log(evening)).split("## Step by step")[1].split("### ")
    developer = next(step for step in steps if step.startswith("Developer, 19:00:30 to 19:03:56\n"))
    # Confirmed while the bleach-fix ran, and still the developer's.
    assert "queezed and capped (typed “x”) · inferred" in developer
    hanging = (*evening[:-4], e.TickMade(1990.0, "b1.r2.hang/clip"), *evening[-4:])
    log = session_log(hanging)
    assert log.ticks[-1].step == "b1.r2.hang", "a statement the plan does not know stays where it was made"
    assert "### Hang · second, 19:14:47 to 19:33:22\n\n- 19:33:12" in export_markdown(log)


def test_a_moment_on_the_page_says_its_day_and_zone_only_where_they_are_others(
    evening: tuple[e.Event, ...],
) -> None:
    page = export_markdown(session_log(evening))
    assert "| Began | 2031-03-01 19:00:00 (UTC+01:00) |" in page
    assert page.count("2031-03-01") == 1
    later = (*evening, e.ClockJumped(90_000.0, "zone", -3600.0), e.NoteAdded(90_010.0, "looked again"))
    assert "- 2031-03-02 19:00:12 (UTC) · note · looked again" in export_markdown(session_log(later))


def test_hostile_labels_stay_text_in_toml(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    text = export_toml(session_log(hostile_evening))
    # TOML's writer leaves a tab as it is, and a tab moves nothing but the cursor
    assert not ACTING.search(text.replace("\t", " "))
    read = tomllib.loads(text)
    assert read["setup"]["rolls"][0]["label"] == whole(hostile)
    assert read["session"]["reason"] == whole(hostile)
    assert read["notes"][-1]["text"] == whole(hostile)
    text.encode()


def test_hostile_labels_stay_text_in_csv(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    text = export_csv(session_log(hostile_evening))
    text.encode()
    assert not ACTING.search(text)
    rows = table(text)
    assert rows[4]["roll_label"].removeprefix("'") == coded(hostile)
    for row in rows:
        for column, cell in row.items():
            assert column == "difference_s" or not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_hostile_labels_stay_text_on_the_page(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    page = export_markdown(session_log(hostile_evening))
    page.encode()
    assert not ACTING.search(page)
    reader = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    kinds = {token.type for token in reader.parse(page)}
    inline = {child.type for token in reader.parse(page) for child in token.children or ()}
    assert inline <= {"text", "text_special", "softbreak"}
    assert kinds <= BLOCKS
    cells = re.findall("<td>(.*?)</td>", reader.render(page))
    assert reader.renderInline(escaped(hostile)) in cells
    assert undone(reader.renderInline(escaped(hostile))) == coded(hostile).strip()


BLOCKS = {
    *(f"{name}_{end}" for name in ("table", "thead", "tbody", "tr", "th", "td") for end in ("open", "close")),
    *(
        f"{name}_{end}"
        for name in ("heading", "paragraph", "bullet_list", "list_item")
        for end in ("open", "close")
    ),
    "inline",
}


def undone(html: str) -> str:
    """HTML text back as characters."""
    for code, letter in (("&lt;", "<"), ("&gt;", ">"), ("&quot;", '"'), ("&amp;", "&")):
        html = html.replace(code, letter)
    return html


def test_hostile_labels_come_back_from_json_lines(hostile_evening: tuple[e.Event, ...]) -> None:
    text = export_jsonl(hostile_evening)
    assert text.isascii()
    rows = [json.loads(line) for line in text.splitlines()]
    assert tuple(decode(row["kind"], row["version"], json.dumps(row["data"])) for row in rows) == hostile_evening
