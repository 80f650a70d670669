"""A kit's sheet asked line by line, for a terminal, a screen reader or a pipe. Its rules: `app/kit_sheet.py`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from wetside.app.kit_sheet import KitSheet, begun_with, drafts
from wetside.errors import Refused
from wetside.files.atomic_write import shown_path
from wetside.present.kit_questions import HEAD, Question, how_to_answer
from wetside.present.proof_text import finding_text

HOW_TO: Final = (
    "My kit's sheet: one question a line. An empty line leaves a question out.",
    '"back" opens the one before, "end" goes to the end, "sheet" shows the sheet as it will read.',
    '"leave" leaves: your answers are kept, and you can go on another day.',
)
BEGAN: Final = {
    "not there": "A new file: {path}.",
    "as it stood": "{path} is there already: its answers are shown, and kept by an empty line.",
    "not finished": "{path} was not finished: here it goes on.",
}

Read = Callable[[], str | None]
"""Returns the next typed line; None at the end of the input."""
Write = Callable[[Iterable[str]], None]


def ask_for_path(own_dir: Path, read: Read, write: Write) -> KitSheet | None:
    """Ask for the kit's name and return its sheet; None if the person leaves."""
    for name in drafts(own_dir):
        write((f"Not finished: {name}; `wetside profiles --new {name}` goes on with it.",))
    while True:
        write(_asked(HEAD[0], "", "It names the file, too.", ()))
        line = read()
        if line is None or line.strip() == "leave":
            return None
        try:
            return begun_with(line, own_dir)
        except Refused as refused:
            write((str(refused),))


def run_lines(sheet: KitSheet, read: Read, write: Write) -> int:
    """Ask until the file is written or the person leaves; returns the exit code."""
    path = shown_path(sheet.path)
    write((BEGAN[sheet.began].format(path=path),))
    while True:
        question = sheet.question
        if question is not None:
            place = f"{sheet.index + 1} of {len(sheet.questions)}. "
            write(_asked(question, place, sheet.left_out, sheet.choices, sheet.answered))
        elif not _proved(sheet, write):
            continue
        line = read()
        if line is None or line.strip() == "leave":
            kept = f"; the answers are in {shown_path(sheet.draft)}" if sheet.draft.exists() else ""
            write((f"Not written{kept}. `wetside profiles --new {sheet.called}` goes on.",))
            return 0 if line is not None else 1
        if question is None and not line.strip():
            sheet.write()
            write(
                (f"Written: {path}. `wetside profiles --show {sheet.called}` shows each figure with its source.",)
            )
            return 0
        _act(sheet, question, line.strip(), write)


def _act(sheet: KitSheet, question: Question | None, line: str, write: Write) -> None:
    if line == "sheet":
        write(each.text for each in sheet.lines())
    elif line == "back":
        if not sheet.back():
            write(("This is the first question.",))
    elif line == "end":
        sheet.open_end()
    elif question is not None:
        try:
            answer = "" if line == "-" else line or sheet.answered
            sheet.answer(answer)
        except Refused as refused:
            write((str(refused),))
            return
        write(sheet.lines_about(question.keys) if answer else ())


def _proved(sheet: KitSheet, write: Write) -> bool:
    """Run the proof and write its result; with findings, open the first one's question and return False."""
    write(("That was the last question. It is proved now, on every path of an evening.",))
    found = sheet.proved()
    if found:
        write(dict.fromkeys(finding_text(each) for each in found))
        sheet.reopen(found[0])
        write(("It is not sound as it stands, so it is not written yet: here is the question to look at.",))
        return False
    write((*(f"Note: {note}" for note in sheet.notes()), "Sound. The sheet as it will read:"))
    write(each.text for each in sheet.lines())
    write((f'An empty line writes {shown_path(sheet.path)}; "back" goes back.',))
    return True


def _asked(
    question: Question, place: str, left_out: str, choices: tuple[str, ...], answered: str = ""
) -> tuple[str, ...]:
    lines = [f"{place}{question.words}", f"   {how_to_answer(question)}"]
    if choices:
        lines.append(f"   There are: {', '.join(choices)}")
    if answered:
        lines.append(
            f"   Now: {answered}. An empty line keeps it{', - takes it out' if question.without else ''}."
        )
    if question.without or not answered:
        lines.append(f"   {left_out}")
    return tuple(lines)
