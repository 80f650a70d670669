"""Reads and checks TOML files that people write, with errors in sentences.

The result is a checked pydantic form, or `FileUnusable` with all findings of the file at once, each naming file,
line, key, what is wrong and the nearest valid key. A symbolic link is followed: nothing is written here, and
people may keep their files elsewhere.

Limits (our own, far above any real file): 256 kB, 4000 characters a line, 20 levels of nesting. They keep the
parser's worst cases under a second: a dotted key of 2000 parts took 30 ms.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any, Final, Literal, NamedTuple, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from wetside.domain.nearest import nearest_of
from wetside.errors import FileFinding, FileUnusable
from wetside.files.toml_lines import Path as KeyPath
from wetside.files.toml_lines import lines_of
from wetside.files.units import quoted
from wetside.present.sentences import word_table
from wetside.sanitize import invisible

LARGEST_BYTES: Final = 256 * 1024
LONGEST_LINE: Final = 4000
DEEPEST: Final = 20
MOST_FINDINGS: Final = 50
_MOST_EXAMINED: Final = 1000
FORMAT_KEY: Final = "format"
_WORD: Final = r"[A-Za-z0-9_\-\"']"
_MANY_PARTS: Final = re.compile(rf"(?<!{_WORD})(?:{_WORD}++[ \t]*+\.[ \t]*+){{{DEEPEST}}}")

_TOO_LARGE: Final = f"is larger than {LARGEST_BYTES // 1024} kB, too large for a file of this kind."
_TOO_DEEP: Final = f"is nested too deeply: at most {DEEPEST} levels are read"

Form = TypeVar("Form", bound=BaseModel)


class Place(NamedTuple):
    """The file and line (from 1) on which a value was written; `derived` if it follows from the value there."""

    name: str
    line: int
    derived: bool = False


@dataclass(slots=True)
class Document:
    """A parsed file: its name as findings show it, its data, the place of each value, and what is wrong.

    also: keys that a table may have besides its form's; they were removed beforehand.
    """

    name: str
    data: dict[str, Any]
    places: dict[KeyPath, Place]
    also: tuple[str, ...] = ()
    findings: dict[FileFinding, None] = field(default_factory=dict)

    def find(self, path: KeyPath, what: str, place: Place | None = None) -> None:
        """Add a finding about the value at `path`, which is looked up if its place is not given.

        One about a derived value is dropped if there are others.
        """
        place = place or self.place_of(path)
        if not (self.findings and place.derived):
            joint = ": " if path else ", "
            what = f"{what.rstrip('.')}."
            self.findings[FileFinding(what, place.name, place.line, spoken(path), joint)] = None

    def place_of(self, path: KeyPath) -> Place:
        """The place of the value at `path`, or of its nearest known parent."""
        return next(self.places[path[:n]] for n in range(len(path), -1, -1) if path[:n] in self.places)

    def stop_if_wrong(self) -> None:
        """Raise FileUnusable with all findings in the order of the file, if there are any."""
        if not self.findings:
            return
        findings = sorted(self.findings, key=lambda each: (each.file != self.name, each.file, each.line))
        left = len(findings) - MOST_FINDINGS
        if left > 0:
            more = FileFinding(f"at least {left} more findings are not shown.", self.name)
            findings = [*findings[:MOST_FINDINGS], more]
        raise FileUnusable(*findings)


Kind = Literal["profile", "setup"]


def spoken(path: KeyPath) -> str:
    """A key path for display: "solutions.developer.target", "steps 3, ticks 1, text" (entries count from one)."""
    words = ""
    for before, part in zip((None, *path), path, strict=False):
        if isinstance(part, int):
            words += f"{',' if isinstance(before, int) else ''} {part + 1}"
        else:
            words += {int: ", ", str: "."}.get(type(before), "") + quoted(part)
    return words


def nearest(word: str, valid: Iterable[str]) -> str:
    """The end of a finding: '; the nearest is "title"', else '; it may be "a", "b" or "c"' (short lists only)."""
    known = list(valid)
    if near := nearest_of(word, known):
        return f'; the nearest is "{near}"'
    if 0 < len(known) <= 12:
        return f"; it may be {either(known)}"
    return ""


def either(words: Iterable[str]) -> str:
    """The words as '"a", "b" or "c"'."""
    *first, last = (f'"{word}"' for word in words)
    return f"{', '.join(first)} or {last}" if first else last


_UNREADABLE: Final[dict[type[Exception], str]] = {
    FileNotFoundError: "does not exist: check the name.",
    IsADirectoryError: "is a folder: name a file in it.",
    PermissionError: "may not be read: change its permissions.",
}


def read_text(path: Path) -> str:
    """The text of a file a person wrote; raises FileUnusable with one sentence if it cannot be read."""
    name = quoted(path.name or str(path), 80)
    try:
        if not (path.is_file() or path.is_dir()) and path.exists():
            raise FileUnusable(FileFinding("is no ordinary file: name a file.", name, joint=" "))
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        why = _UNREADABLE.get(type(error), f"cannot be read: {str(reason).lower()}.")
        shown = quoted(str(path), 200) if isinstance(error, FileNotFoundError) else name
        raise FileUnusable(FileFinding(why, shown, joint=" ")) from None
    if len(raw) > LARGEST_BYTES:
        raise FileUnusable(FileFinding(_TOO_LARGE, name, joint=" "))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileUnusable(FileFinding("this is not UTF-8 text; save the file as UTF-8.", name, line)) from None


def parse(text: str, name: str) -> Document:
    """The parsed text; raises FileUnusable if it is not TOML, exceeds the limits, or has invisible characters."""
    name = quoted(name, 80)
    if len(text.encode("utf-8", "surrogatepass")) > LARGEST_BYTES:
        raise FileUnusable(FileFinding(_TOO_LARGE, name, joint=" "))
    _check_lines(text, name)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileUnusable(_not_toml(name, error, text)) from None
    except ValueError:
        raise FileUnusable(FileFinding("a number in it is too large.", name)) from None
    except RecursionError:
        raise FileUnusable(FileFinding(f"{_TOO_DEEP}.", name, joint=" ")) from None
    entries = list(_entries(data))
    if any(len(path) >= DEEPEST for path, _ in entries):
        raise FileUnusable(FileFinding(f"{_TOO_DEEP}.", name, joint=" "))
    document = Document(name, data, {path: Place(name, line) for path, line in lines_of(text).items()})
    for path, value in entries:
        words = (part for part in (*path[-1:], value) if isinstance(part, str))
        if bad := next(filter(invisible, chain.from_iterable(words)), None):
            document.find(path, _holds(bad))
    document.stop_if_wrong()
    return document


_KIND_KEYS: Final[dict[Kind, frozenset[str]]] = {
    "profile": frozenset({"based_on", "with", "steps", "stages", "solutions"}),
    "setup": frozenset({"rolls", "tank", "bottles"}),
}
_ANOTHER_KIND: Final[dict[Kind, str]] = {
    "profile": "is a process: name a setup that uses it.",
    "setup": "is a setup: name a profile.",
}


def kind_of(document: Document) -> Kind | None:
    """The kind of a file by its keys: only a profile has steps, only a setup has rolls; None for neither."""
    return next((kind for kind, keys in _KIND_KEYS.items() if document.data.keys() & keys), None)


def check_kind(document: Document, wanted: Kind) -> None:
    """Raise FileUnusable, with this one finding, for a file that has keys of the other kind alone."""
    kind = kind_of(document)
    if kind is not None and not document.data.keys() & _KIND_KEYS[wanted]:
        raise FileUnusable(FileFinding(_ANOTHER_KIND[kind], document.name, joint=" "))


def check_format(document: Document, known: int) -> None:
    """Raise FileUnusable at once for a newer format; a missing or invalid one is a finding."""
    value = document.data.get(FORMAT_KEY)
    number = value if isinstance(value, int) and not isinstance(value, bool) else 0
    if number > known:
        what = f"it is written in a newer format than this Wetside reads ({known}); "
        document.find((FORMAT_KEY,), f"{what}get a newer Wetside, or a file in the older format")
        document.stop_if_wrong()
    elif number != known:
        document.find((FORMAT_KEY,) if value is not None else (), f"write format = {known} at the top")


def checked(document: Document, form: type[Form], *checks: Callable[[Document], None]) -> Form:
    """The data as `form`. Raises FileUnusable with all findings, those that `checks` add among them."""
    try:
        read = form.model_validate({key: value for key, value in document.data.items() if key != FORMAT_KEY})
    except ValidationError as error:
        for details in error.errors(include_url=False)[:_MOST_EXAMINED]:
            path, what = _finding(details, form, document.also)
            document.find(path, what)
    except RecursionError:
        document.find((), f"it {_TOO_DEEP}")
    for check in checks:
        check(document)
    document.stop_if_wrong()  # whatever was not read has a finding
    return read


def _check_lines(text: str, name: str) -> None:
    findings = []
    for number, line in enumerate(text.split("\n"), 1):
        line, what = line.removesuffix("\r"), ""
        if len(line) > LONGEST_LINE:
            what = f"the line has {len(line)} characters; at most {LONGEST_LINE} are read"
        elif line.count(".") >= DEEPEST and _MANY_PARTS.search(line):
            what = f"a key has more than {DEEPEST} parts"
        elif not line.isprintable() and (bad := next(filter(invisible, line.replace("\t", "")), None)):
            what = _holds(bad)
        findings += [FileFinding(f"{what}.", name, number)] if what else []
    if findings:
        raise FileUnusable(*findings[:MOST_FINDINGS])


def _holds(letter: str) -> str:
    return f"it holds the character U+{ord(letter):04X}, which cannot be shown; take it out"


def _not_toml(name: str, error: tomllib.TOMLDecodeError, text: str) -> FileFinding:
    """The parser's message, with its place, "(at line 3, column 9)" at the end, moved to the front."""
    reason, _, place = quoted(str(error), 200).rpartition(" (at ")
    found = re.search(r"line (\d+)", place)
    line = int(found[1]) if found else text.rstrip().count("\n") + 1
    plain = word_table("toml_findings")["no TOML"]
    reason = next((words for beginning, words in plain.items() if reason.startswith(beginning)), reason)
    return FileFinding(f"this is not TOML: {reason[:1].lower()}{reason[1:]}.", name, line)


def _entries(data: object) -> Iterator[tuple[KeyPath, object]]:
    """Every value of the data with its path, without recursion, down to the limit of nesting."""
    left: list[tuple[KeyPath, object]] = [((), data)]
    while left:
        path, value = left.pop()
        yield path, value
        if len(path) < DEEPEST and isinstance(value, dict | list):
            below = value.items() if isinstance(value, dict) else enumerate(value)
            left += [((*path, key), each) for key, each in below]


def _finding(details: ErrorDetails, form: type[BaseModel], also: tuple[str, ...]) -> tuple[KeyPath, str]:
    """The path of pydantic's error, and the sentence for it."""
    path = tuple(part for part in details["loc"] if part != "[key]")
    value, about, kind = details["input"], details.get("ctx", {}), details["type"]
    match kind:
        case "missing":
            return path[:-1], f'the key "{path[-1]}" is missing'
        case "extra_forbidden":
            key = str(path[-1])
            here = _form_at(form, path[:-1])
            keys = [each.alias or name for name, each in here.model_fields.items()] if here else []
            return path, f'"{quoted(key)}" is no key here{nearest(key, (*keys, *also))}'
        case "literal_error" | "enum":
            return path, _not_among(value, str(about["expected"]))
        case "string_too_long":
            return path, f"it has {len(value)} characters; at most {about['max_length']} fit"
        case "float_type" | "int_type" if isinstance(value, int) and not isinstance(value, bool):
            return path, "the number is too large"
        case "value_error":
            return path, str(about["error"])
    words = word_table("toml_findings")["wrong value"].get(kind)
    return path, words.format_map(about) if words else details["msg"][:1].lower() + details["msg"][1:]


def _not_among(value: object, expected: str) -> str:
    words = [word.strip().strip("'") for word in expected.replace(" or ", ", ").split(",")]
    if not isinstance(value, str):
        return f"it must be {either(words)}"
    near = nearest_of(value, words)
    hint = f'; the nearest is "{near}"' if near else ""
    return f'"{quoted(value)}" is not {either(words)}{hint}'


def _form_at(form: type[BaseModel], path: KeyPath) -> type[BaseModel] | None:
    """The form of the table at `path` inside `form`, through fields, tables by id and lists; None if none."""
    kind: Any = form
    for part in path:
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            fields = {each.alias or name: each.annotation for name, each in kind.model_fields.items()}
            kind = fields.get(str(part))
        elif get_origin(kind) in (dict, list):
            kind = get_args(kind)[-1]
        else:
            return None
        while hasattr(kind, "__metadata__"):  # unwrap Annotated types
            kind = kind.__origin__
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None
