"""Writes a short profile from a kit's data sheet: asks questions, keeps a draft, runs the proof, writes the file.

Both front ends use it. Each answer is put into the profile's text, and the whole is parsed again: an answer that
cannot be read is refused, and nothing changes. The draft lies beside the file, under its name with ".draft"; it
holds the text so far and the id of the next question.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from pathlib import Path
from typing import Any, Final

from wetside.domain.messages import plain_text
from wetside.domain.profile.model import Profile
from wetside.domain.proof.check import profile_findings
from wetside.domain.proof.findings import Finding
from wetside.errors import FileFinding, FileUnusable, Refused
from wetside.files.atomic_write import shown_path, write_whole
from wetside.files.profile_base import base_digest, own_keys, whole_document
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import profile_of_whole
from wetside.files.profile_places import base_names, part_names, shipped_dir
from wetside.files.settings import make_private
from wetside.files.short_profile import at, short_toml, values_of, with_value, words_of
from wetside.files.toml_file import parse, read_text
from wetside.present.kit_questions import HEAD, Key, Question, asked_at, keys_of, kit_questions, left_out
from wetside.present.message_words import worded
from wetside.present.profile_sheet import (
    SheetLine,
    figure_line,
    figures_of,
    holds,
    kit_lines,
    note_lines,
    words_of_base,
)

DRAFT: Final = ".draft"
NONE: Final = "none"
_MARK: Final = re.compile(r"# Not finished; the next question is (?P<next>\S+), the file was (?P<of>\S+)\n")
_NO_BACKING: Final = "no-backing"
_BACKED_NEEDED: Final = "A prebath is for backed film: name backed here too, or go back and take the prebath out."


class KitSheet:
    """The sheet of one file. index: the open question; past the last one when all were asked.

    profile: the whole profile as it is now; None until its base is known.
    """

    def __init__(self, path: Path, own_dir: Path) -> None:
        self.path = path
        self.index = 0
        self.profile: Profile | None = None
        self.own: frozenset[tuple[str, str]] = frozenset()
        self.began = "as it stood" if path.exists() else "not there"
        self.questions: tuple[Question, ...] = HEAD
        self._own_dir = own_dir
        self._base: Profile | None = None
        self._bases: dict[tuple[str, ...], Profile] = {}
        self._of = _digest(path)
        self.text = short_toml({"id": slug(path.stem)})
        self._load()

    def _load(self) -> None:
        following = ""
        if self.draft.exists():
            kept = read_text(self.draft)
            mark = _MARK.match(kept)
            if mark is None:
                raise FileUnusable(
                    FileFinding("is no draft of a kit's sheet: take it away.", shown_path(self.draft), joint=" ")
                )
            if mark["of"] != self._of:
                self._refuse_changed()
            self.began, following, kept = "not finished", mark["next"], kept[mark.end() :]
        elif self.path.exists():
            kept = read_text(self.path)
            if "based_on" not in parse(kept, self.path.name).data:
                words = "says no based_on: the questions change files that do."
                raise FileUnusable(FileFinding(words, shown_path(self.path), joint=" "))
        else:
            if (shipped_dir() / self.path.name).is_file():
                raise Refused(f'"{self.path.stem}" is the name of a process that ships: choose another name.')
            return
        self._read(kept)
        ids = [each.id for each in self.questions]
        self.index = ids.index(following) if following in ids else len(ids) if following == "-" else 0

    # -- the open question

    @property
    def draft(self) -> Path:
        return self.path.with_suffix(DRAFT)

    @property
    def called(self) -> str:
        """Its name if it lies in the person's own folder, else its path."""
        return self.path.stem if self.path.parent == self._own_dir else shown_path(self.path)

    @property
    def question(self) -> Question | None:
        """The open question; None when all were asked."""
        return self.questions[self.index] if self.index < len(self.questions) else None

    @property
    def answered(self) -> str:
        """The present answer to the open question; "" for none."""
        question, data = self.question, tomllib.loads(self.text)
        if question is None:
            return ""
        if question.refusable and set(keys_of(question)) & set(_left_out(data, question.keys[0])):
            return NONE
        return words_of(at(data, key) for key in question.keys)

    @property
    def left_out(self) -> str:
        """A sentence on what applies if the open question is skipped."""
        if self.question is None:
            return ""
        return left_out(self.question, self._base, str(tomllib.loads(self.text).get("based_on", "")))

    @property
    def choices(self) -> tuple[str, ...]:
        """The names that may be answered to the open question; () where it takes no name."""
        asked = self.question.id if self.question is not None else ""
        if asked == "based-on":
            return tuple(name for name in base_names(self._own_dir) if name != self.path.stem)
        return tuple(name for name in part_names(self._own_dir) if name != "common") if asked == "parts" else ()

    def answer(self, given: str) -> None:
        """Save the answer to the open question and open the next one; "" skips it.

        Raises Refused with one sentence if it is not valid; the question stays open.
        """
        question = self.question
        if question is None:
            return
        given = given.strip()
        if not given and not question.without:
            raise _needed(question)
        if given != self.answered:
            with worded():
                plain_text(given)
        try:
            self._read(self.text if given == self.answered else self._with_answer(question, given), question)
        except FileUnusable as unusable:
            raise Refused(_sentence(unusable.findings[0], question)) from None
        self.index += 1
        self._keep()

    def back(self) -> bool:
        """Open the question before this one; False at the first."""
        if self.index == 0:
            return False
        self.open(self.index - 1)
        return True

    def open(self, index: int) -> None:
        """Open the question with this number, from 0, and save that in the draft."""
        self.index = index
        self._keep()

    def open_end(self) -> None:
        """Go to the next question that must be answered; without one, past the last."""
        data = tomllib.loads(self.text)
        missing = (
            n for n, each in enumerate(self.questions) if not each.without and at(data, each.keys[0]) is None
        )
        self.open(next(missing, len(self.questions)))

    def _with_answer(self, question: Question, given: str) -> str:
        refused = question.refusable and given == NONE
        values = values_of("" if refused else given, len(question.keys), question.many)
        text = self.text
        for key, value in zip(question.keys, values, strict=True):
            text = with_value(text, key, value)
            if question.refusable:
                stated = self._base is not None and figures_of(self._base, key[1], key[-1:])
                text = _leaving_out(text, key, key[-1], bool(refused and stated))
        if question.id == "title" and len(given) > 40:
            raise Refused(f"A title has at most 40 letters; this has {len(given)}.")
        if question.id in ("based-on", "parts", "film"):
            text = self._without_no_backing_line(text)
        return text

    def _without_no_backing_line(self, text: str) -> str:
        """Leave out the base's line that no roll is backed, if this kit takes backed film."""
        if (base := self._base_of(text)) is None:
            return text
        backed = "backed" in tomllib.loads(text).get("accepts", base.accepts)
        for step in base.steps:
            if any(tick.id == _NO_BACKING for tick in step.ticks):
                text = _leaving_out(text, ("steps", step.id, ""), f"ticks.{_NO_BACKING}", backed)
        return text

    # -- the whole

    def _base_of(self, text: str) -> Profile | None:
        data = tomllib.loads(text)
        if "based_on" not in data:
            return None
        stands_on = (str(data["based_on"]), *data.get("with", ()))
        if stands_on not in self._bases:
            based_on, *parts = stands_on
            bare = {"id": slug(self.path.stem), "title": "base", "based_on": based_on, "with": parts}
            whole = whole_document(short_toml(bare), self.path.name, self.path, self._own_dir)
            self._bases[stands_on] = profile_of_whole(whole)
        return self._bases[stands_on]

    def _read(self, text: str, asked: Question | None = None) -> None:
        """Parse this text, with the answer to `asked`, and keep it; an error leaves everything unchanged."""
        base = self._base_of(text)
        if base is not None:
            profile, own = self.profile, self.own
            if profile is None or text != self.text:
                whole = whole_document(text, self.path.name, self.path, self._own_dir)
                profile, own = profile_of_whole(whole), own_keys(whole)
            poured = {solution.role or solution.id for solution in profile.solutions}
            unbacked = "prebath" in poured and "backed" not in profile.accepts
            if unbacked and asked is not None and asked.id == "film":
                raise Refused(_BACKED_NEEDED)
            self.profile, self.own = profile, own
            self._base, self.questions = base, kit_questions(base)
        self.text = text

    def lines(self) -> tuple[SheetLine, ...]:
        if self.profile is None:
            return ()
        film = f"{self.profile.title}; film: {', '.join(self.profile.accepts)}"
        return (SheetLine("", film), *kit_lines(self.profile, self.own))

    def place(self) -> tuple[int, int]:
        """The indexes in `lines` of the heading of the bath that is asked about, and of the figure; else 0, 0."""
        question, lines = self.question, self.lines()
        if question is None or len(question.keys[0]) < 3:
            return 0, 0
        of, keys = question.keys[0][1], keys_of(question)
        heads = (n for n, each in enumerate(lines) if each.of == of)
        found = (n for n, each in enumerate(lines) if each.figure is not None and holds(each.figure, of, keys))
        head = next(heads, 0)
        return head, next(found, head)

    def lines_about(self, keys: tuple[Key, ...]) -> tuple[str, ...]:
        """The lines for display of the figures under these keys."""
        if self.profile is None:
            return ()
        named = {key[1]: tuple(each[-1] for each in keys if each[1] == key[1]) for key in keys if len(key) == 3}
        return tuple(
            figure_line(each, self.own)
            for of, asked in named.items()
            for each in figures_of(self.profile, of, asked)
        )

    def proved(self) -> tuple[Finding, ...]:
        """The findings of the proof over every path; () if there are none."""
        return profile_findings(self.profile) if self.profile is not None else ()

    def notes(self) -> tuple[str, ...]:
        """Remarks on figures far from published ones, and on words of the base that name a figure changed here."""
        if self.profile is None or self._base is None:
            return ()
        return (*note_lines(self.profile), *words_of_base(self.profile, self._base))

    def reopen(self, finding: Finding) -> None:
        """Open the question to which a finding belongs."""
        self.open(asked_at(self.questions, finding.place))

    def write(self) -> None:
        """Write the file and delete the draft. Raises Refused if the file has changed meanwhile."""
        if _digest(self.path) != self._of:
            self._refuse_changed()
        data: dict[str, Any] = tomllib.loads(self.text)
        if self._of == "new" and "base_digest" not in data:
            seen = base_digest(str(data["based_on"]), self.path, self._own_dir)
            self._read(with_value(self.text, ("base_digest",), seen))
        make_private(self.path.parent)
        write_whole(self.path, self.text, force=True)
        self.draft.unlink(missing_ok=True)

    def _keep(self) -> None:
        following = self.question.id if self.question is not None else "-"
        mark = f"# Not finished; the next question is {following}, the file was {self._of}\n"
        make_private(self.draft.parent)
        write_whole(self.draft, mark + self.text, force=True)

    def _refuse_changed(self) -> None:
        raise Refused(
            f"{shown_path(self.path)} has changed since its questions were begun: take"
            f" {shown_path(self.draft)} away to begin from the file as it is."
        )


def path_for(title: str, own_dir: Path) -> Path:
    """The file for a kit of this title in the person's own folder."""
    return own_dir / f"{slug(title) if re.search('[a-z0-9]', title.lower()) else 'my-kit'}.toml"


def begun_with(title: str, own_dir: Path) -> KitSheet:
    """The sheet of a kit of this title: the existing one or a new one. Raises Refused without a title."""
    if not title.strip():
        raise _needed(HEAD[0])
    sheet = KitSheet(path_for(title, own_dir), own_dir)
    if not sheet.answered:
        sheet.answer(title)
    return sheet


def _needed(question: Question) -> Refused:
    return Refused(f"This must be answered, like {question.example}.")


def drafts(own_dir: Path) -> tuple[str, ...]:
    """The names of the person's own sheets that are not finished."""
    return tuple(sorted(path.stem for path in own_dir.glob(f"*{DRAFT}"))) if own_dir.is_dir() else ()


def _digest(path: Path) -> str:
    """Twelve hexadecimal digits of a hash of a file's text; "new" without a file. Raises as `read_text`."""
    return hashlib.sha256(read_text(path).encode("utf-8")).hexdigest()[:12] if path.exists() else "new"


def _sentence(finding: FileFinding, asked: Question) -> str:
    """A finding without file and line, and without the key if it is that of the open question."""
    if not finding.line:
        return finding.sentence()
    key, said = finding.key, finding.what
    mine = any(key.startswith(".".join(each[:2]) if each[0] != "steps" else "steps") for each in asked.keys)
    return f"{said[:1].upper()}{said[1:]}" if mine or not key else f"{key}: {said}"


def _left_out(data: dict[str, Any], key: Key) -> list[str]:
    found = at(data, (*key[:-1], "leave_out"))
    return found if isinstance(found, list) else [found] if isinstance(found, str) else []


def _leaving_out(text: str, key: Key, name: str, out: bool) -> str:
    """The text with `name` in the leave_out of the table that holds `key`, or not in it."""
    before = _left_out(tomllib.loads(text), key)
    names = [each for each in before if each != name] + ([name] if out else [])
    return text if names == before else with_value(text, (*key[:-1], "leave_out"), names or None)
