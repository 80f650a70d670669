"""The four forms of the log read back with readers that are not ours, hostile labels included."""

from __future__ import annotations

import csv
import io
import json
import re
import tomllib

import pytest
from markdown_it import MarkdownIt
from msgspec.structs import replace

from wetside.cli import main
from wetside.domain.planning.plan import Factors
from wetside.domain.planning.setup import Roll
from wetside.domain.session import events as e
from wetside.export.data_formats import COLUMNS, export_csv, export_jsonl, export_toml, nameless
from wetside.export.pages import escaped, export_html, export_markdown
from wetside.export.session_log import TAKEN_BACK, Debit, session_log
from wetside.sanitize import encodable, escape_controls
from wetside.storage.codec import session_codec

decode = session_codec().decode

ACTING = re.compile("[\x00-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def table(text: str) -> list[dict[str, str]]:
    """The rows of a CSV export, by column."""
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert rows[0] in (list(COLUMNS), list(COLUMNS)[:-1])
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def test_toml_holds_the_whole_record(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening, (Debit("bottle 3", "developer", 2.0, "two rolls"),))
    read = tomllib.loads(export_toml(log))
    assert read["tool"] == {"name": "wetside", "version": "0.1"}
    assert read["profile"]["sha256"] == "ab" * 32
    assert read["session"]["outcome"] == "complete with deviations (2)"
    assert read["session"]["practice"] is False
    assert read["session"]["began"] == log.began.wall
    assert read["setup"]["rolls"][1] == {
        **{"label": "second", "kind": "backed", "format": "135-36", "push": 1.0},
        **{"stock": "", "camera": "", "shot_at": ""},
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


def test_the_json_lines_export_decodes_to_equal_events(evening: tuple[e.Event, ...]) -> None:
    rows = [json.loads(line) for line in export_jsonl(evening).splitlines()]
    assert tuple(decode(row["kind"], row["version"], json.dumps(row["data"])) for row in rows) == tuple(
        map(nameless, evening)
    )
    assert [row["number"] for row in rows] == list(range(1, len(evening) + 1))
    assert rows[0]["wall"] == "2031-03-01T19:00:00.250+01:00"


def test_the_markdown_page_tells_what_happened(evening: tuple[e.Event, ...]) -> None:
    page = export_markdown(session_log(evening, (Debit("bottle 3", "developer", 2.0, "two rolls"),)), ticks=True)
    html = MarkdownIt("commonmark").enable("table").render(page)
    text = re.sub("<[^>]+>", " ", html)
    for words in (
        "Two rolls on a Saturday",
        "complete with deviations (2)",
        "19:00:35 (stated), first marked 19:00:40",
        "3:15, moved to 3:20, out at 3:10",
        "no more time",
        "taken back",
        "the guide was closed",
        "opened again after 0:42",
        "suspend of +0:40",
        "a little thin",
        "bottle 3",
    ):
        assert words in text
    assert html.count("<tr>") > 10


def page_rows(page: str, section: str) -> list[list[str]]:
    """The rows of one table of the page, without its head."""
    table_of = page.split(f"## {section}\n")[1].split("\n## ")[0]
    lines = [line for line in table_of.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def test_page_begins_with_film_baths_and_results(evening: tuple[e.Event, ...]) -> None:
    began = evening[0]
    assert isinstance(began, e.SessionBegan)
    told = {"stock": "old 200", "exposure_index": 160, "camera": "box", "shot_at": "pier", "shot_on": "2031-02-01"}
    setup = began.plan.setup
    bottles = (replace(setup.bottles[0], mixed_on="2031-02-15", used_rolls=4.0), setup.bottles[1])
    setup = replace(setup, rolls=(setup.rolls[0], Roll("second", "backed", push=1.0, **told)), bottles=bottles)  # type: ignore[arg-type]  # by name
    read = e.ReadingTaken(25.0, "temper", "developer", 37.9, "37.9")
    within = e.ReadingTaken(90.0, "b1.developer", "developer", 38.1, "38.1")
    slip = e.ReadingTaken(89.0, "b1.developer", "developer", 48.1, "48.1")
    told_events = (replace(began, plan=replace(began.plan, setup=setup)), *evening[1:4], read, *evening[4:12])
    log = session_log((*told_events, slip, within, *evening[12:]))
    page = export_markdown(log)
    heads = re.findall("^## (.*)$", page, re.MULTILINE)
    assert heads[:4] == ["Rolls", "Baths", "What differed (2)", "Notes"]
    assert page_rows(page, "Rolls")[1] == [
        "second",
        "old 200, backed, 135-36",
        "EI 160, box, pier, 2031-02-01",
        "push +1, fill 1",
        "a little thin",
    ]
    assert "| Kit | developer: mixed 2031-02-15, 14 days old, 4 rolls of 135-36 before |" in page
    developer = page_rows(page, "Baths")[0]
    read_of_it = "37.9 °C before; 38.1 °C in it; target 38.0 °C"
    assert developer[:4] == ["Developer", "3:20", "+0:02, on time", read_of_it]
    assert "colder by 0.4 °C ± 3 s" in developer[4]
    assert "its clock was marked 5 s late, and set right" in developer[4]
    assert TAKEN_BACK in page_rows(page, "Temperatures")[2]
    assert "a little thin" not in page.split("## Notes")[1], "it is said once"


def test_confirmed_statements_are_on_the_page_only_when_asked_for(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    assert "Gloves on" not in export_markdown(log)
    steps = page_rows(export_markdown(log, ticks=True), "Step by step")
    # Confirmed while the bleach-fix ran, and still the developer's.
    assert ["19:03:57", "Developer", "Developer bottle squeezed and capped (typed “x”) · inferred"] in steps
    assert ["19:00:31", "Developer", "Gloves on, taken back 19:00:32"] in steps
    assert ["19:00:30", "Developer", "reached"] in steps


def test_only_sources_of_the_figures_stand_on_the_page(evening: tuple[e.Event, ...]) -> None:
    began = evening[0]
    assert isinstance(began, e.SessionBegan)
    sources = (
        ("kit sheet", "The sheet", "kit sheet"),
        ("table", "A table", "read in print"),
        ("x", "Unused", "own"),
    )
    steps = (began.plan.steps[0], replace(began.plan.steps[1], sources=("table",)), *began.plan.steps[2:])
    plan = replace(began.plan, sources=sources, steps=steps)
    page = export_markdown(session_log((replace(began, plan=plan), *evening[1:])))
    assert page_rows(page, "Sources of the figures") == [["The sheet", "kit sheet"], ["A table", "read in print"]]


def test_no_export_names_the_machine_or_a_terminal(evening: tuple[e.Event, ...]) -> None:
    began, *rest = evening
    assert isinstance(began, e.SessionBegan)
    named: list[e.Event] = [replace(began, terminal="/dev/pts/7", boot_id="5f1c-boot", boot_s=98765.4)]
    for event in rest:
        named.append(replace(event, terminal="/dev/pts/8") if isinstance(event, e.SessionResumed) else event)
    log = session_log(named)
    for text in (export_jsonl(named), export_toml(log), export_csv(log), export_markdown(log, ticks=True)):
        assert not re.search(r"/dev/|pts|5f1c|98765", text)


def test_every_form_is_the_same_to_the_byte_each_time(evening: tuple[e.Event, ...]) -> None:
    for export in (export_toml, export_csv, export_markdown):
        assert export(session_log(evening)) == export(session_log(evening))
    assert export_jsonl(evening) == export_jsonl(evening)


def test_every_json_line_has_the_version_of_its_format(evening: tuple[e.Event, ...]) -> None:
    assert {next(iter(json.loads(line).items())) for line in export_jsonl(evening).splitlines()} == {("format", 2)}


def test_csv_has_a_column_for_each_figure_and_whole_numbers_for_fills(evening: tuple[e.Event, ...]) -> None:
    began = evening[0]
    assert isinstance(began, e.SessionBegan)
    developer = replace(began.plan.steps[1], volume_ml=470.0, factors=Factors(use=1.08, push=1.25))
    plan = replace(began.plan, steps=(began.plan.steps[0], developer, *began.plan.steps[2:]))
    within = e.ReadingTaken(90.0, "b1.developer", "developer", 38.1, "38.1")
    rows = table(export_csv(session_log((replace(began, plan=plan), *evening[1:12], within, *evening[12:]))))
    assert [(row["batch"], row["roll"]) for row in rows] == [
        ("0", "0"),
        ("1", "0"),
        ("1", "0"),
        ("1", "0"),
        ("1", "2"),
    ]
    figures = ("volume_ml", "target_c", "range_low_c", "range_high_c", "read_before_c", "read_within_c")
    assert [rows[1][name] for name in figures] == ["470.000", "38.000", "37.800", "38.200", "36.500", "38.100"]
    assert [rows[1][f"factor_{name}"] for name in ("temperature", "use", "push")] == [
        "1.000000",
        "1.080000",
        "1.250000",
    ]
    assert rows[0]["factor_use"] == ""


def test_the_help_describes_every_csv_column(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["export", "--help"]) == 0
    told = capsys.readouterr().out.partition("columns of csv")[2].partition("--data")[0].splitlines()
    named = [line.split(maxsplit=1) for line in told if line.startswith("  ")]
    assert [name for name, words in named if words] == list(COLUMNS)


def test_a_time_on_the_page_names_day_and_zone_only_where_they_differ(
    evening: tuple[e.Event, ...],
) -> None:
    page = export_markdown(session_log(evening))
    assert "| Developed | 2031-03-01 19:00:00 to 19:33:22 (UTC+01:00) |" in page
    assert page.count("2031-03-01") == 1
    later = (*evening, e.ClockJumped(90_000.0, "zone", -3600.0), e.NoteAdded(90_010.0, "looked again"))
    assert "| 2031-03-02 19:00:12 (UTC) | note | looked again |" in export_markdown(session_log(later))


def test_hostile_labels_stay_text_in_toml(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    text = export_toml(session_log(hostile_evening))
    # TOML's writer leaves a tab as it is, and a tab moves nothing but the cursor
    assert not ACTING.search(text.replace("\t", " "))
    read = tomllib.loads(text)
    assert read["setup"]["rolls"][0]["label"] == encodable(hostile)
    assert read["session"]["reason"] == encodable(hostile)
    assert read["notes"][-1]["text"] == encodable(hostile)
    text.encode()


def test_hostile_labels_stay_text_in_csv(hostile: str, hostile_evening: tuple[e.Event, ...]) -> None:
    text = export_csv(session_log(hostile_evening))
    text.encode()
    assert not ACTING.search(text)
    rows = table(text)
    assert rows[4]["roll_label"].removeprefix("'") == escape_controls(hostile)
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
    assert undone(reader.renderInline(escaped(hostile))) == escape_controls(hostile).strip()


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
    assert tuple(decode(row["kind"], row["version"], json.dumps(row["data"])) for row in rows) == tuple(
        map(nameless, hostile_evening)
    )


def test_exports_show_the_roll_numbers_of_the_archive(evening: tuple[e.Event, ...]) -> None:
    bare, log = session_log(evening), session_log(evening, numbers={0: "2031-007", 1: "2031-008"})
    assert tomllib.loads(export_toml(log))["session"]["roll_numbers"] == ["2031-007", "2031-008"]
    assert "roll_numbers" not in export_toml(bare) + export_csv(bare)
    rows = {row["step"]: row for row in table(export_csv(log))}
    assert all(list(row)[-1] == "roll_numbers" for row in rows.values())
    for step in log.steps:
        of_fill = [n for batch in log.plan.batches if batch.number == step.batch for n in batch.rolls]
        mine = of_fill if step.roll is None else [step.roll]
        assert rows[step.id]["roll_numbers"] == "; ".join(log.roll_numbers[n] for n in mine)
    assert [row[:2] for row in page_rows(export_markdown(log), "Rolls")] == [
        [number, roll.label] for number, roll in zip(log.roll_numbers, log.plan.setup.rolls, strict=True)
    ]
    assert "<td>2031-008</td>" in export_html(log)
    assert "<th>Number</th>" not in export_html(bare)
