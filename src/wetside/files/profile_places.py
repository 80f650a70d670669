"""Finds profiles and example setups: those that ship, and the person's own. No file is read here."""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path

import wetside
from wetside.domain.nearest import nearest_of
from wetside.errors import FileFinding, FileUnusable, Unusable
from wetside.files.units import quoted


def shipped_dir() -> Path:
    """The folder of the profiles that ship.

    In an installed wheel it is inside the package; in a checkout or an editable install it is `profiles` at
    the top. Raises Unusable when neither is there.
    """
    package = Path(wetside.__file__).resolve().parent
    for folder in (package / "shipped", package.parents[1] / "profiles"):
        if folder.is_dir():
            return folder
    raise Unusable("The profiles that ship with Wetside are missing: install it again.")


def profiles_by_name(own_dir: Path | None = None) -> dict[str, Path]:
    """Every profile file by its name; the person's own replaces a shipped one of the same name."""
    return _by_name(shipped_dir(), own_dir)


def setups_by_name(own_dir: Path | None = None) -> dict[str, Path]:
    """Every setup file, as `profiles_by_name`."""
    return _by_name(shipped_dir() / "setups", own_dir)


def tour_setup() -> Path:
    """The setup of the tour of the keys; it ships apart from the example setups."""
    return shipped_dir() / "tour" / "setup.toml"


def is_path(name: str) -> bool:
    """Whether `name` is the path of a file, rather than the name of a profile or setup."""
    return name.endswith(".toml") or os.sep in name


def find_profile(name_or_path: str, own_dir: Path | None = None) -> Path:
    """The file of a profile, by path or name.

    A path is returned unchanged, even if it does not exist. Raises FileUnusable for an unknown name.
    """
    if is_path(name_or_path):
        return Path(name_or_path).expanduser()
    known = profiles_by_name(own_dir)
    if name_or_path not in known:
        raise unknown("profile", name_or_path, known)
    return known[name_or_path]


def unknown(kind: str, name: str, known: Collection[str], more: str = "") -> FileUnusable:
    """The error for a name that no file of this kind has. more: a further sentence."""
    near = nearest_of(name, known)
    hint = f'the nearest is "{near}"' if near else f"there are {', '.join(sorted(known)) or 'none'}"
    return FileUnusable(FileFinding(f'There is no {kind} "{quoted(name)}"; {hint}.{more}'))


def find_base(name: str, file: Path, own_dir: Path | None) -> Path | None:
    """The file that `file` names as its base; None if there is none.

    A name is looked for beside the file, in the person's own folder, among the profiles that ship, and among their
    parts. A file is never its own base: one with the name of a shipped profile finds that.
    """
    return _find(name, file, own_dir, shipped_dir(), shipped_dir() / "parts")


def find_part(name: str, file: Path, own_dir: Path | None) -> Path | None:
    """The file of a ready part, by its name or path; None when there is none."""
    return _find(name, file, own_dir and own_dir / "parts", shipped_dir() / "parts")


def base_names(own_dir: Path | None) -> list[str]:
    """The names of the profiles that `find_base` finds."""
    return _names_in(own_dir, shipped_dir())


def part_names(own_dir: Path | None) -> list[str]:
    """The names of the ready parts: those that ship, and the person's own."""
    return _names_in(own_dir and own_dir / "parts", shipped_dir() / "parts")


def _find(name: str, file: Path, *folders: Path | None) -> Path | None:
    """The file of this path as seen from `file`, or of this name beside it or in one of the folders."""
    if is_path(name):
        named = file.parent / Path(name).expanduser()
        return named if named.is_file() else None
    candidates = (folder / f"{name}.toml" for folder in (file.parent, *folders) if folder is not None)
    return next((each for each in candidates if each.is_file() and each.resolve() != file.resolve()), None)


def _by_name(*folders: Path | None) -> dict[str, Path]:
    found = {path.stem: path for folder in folders for path in _toml_in(folder)}
    return dict(sorted(found.items()))


def _names_in(*folders: Path | None) -> list[str]:
    return [*dict.fromkeys(path.stem for folder in folders for path in _toml_in(folder))]


def _toml_in(folder: Path | None) -> tuple[Path, ...]:
    """The TOML files of a folder, () if it does not exist. Raises FileUnusable if it may not be read."""
    if folder is None:
        return ()
    try:
        return tuple(sorted(path for path in folder.iterdir() if path.suffix == ".toml"))
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except OSError as error:
        why = (error.strerror or "unknown reason").lower()
        raise FileUnusable(FileFinding(f"{folder} cannot be read: {why}.")) from None
