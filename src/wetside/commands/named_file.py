"""A file that may be a profile or a setup: by its name, or by what stands in it."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from wetside.commands.tonight import all_setups, find_setup, is_path, profiles_by_name
from wetside.domain.nearest import nearest_of
from wetside.errors import FileUnusable
from wetside.files.settings import Places
from wetside.files.toml_file import parse, read_text
from wetside.files.units import quoted

Which = Literal["profile", "setup"]


def named_file(name: str, places: Places) -> tuple[Path, Which]:
    """The file a person means, and which kind it is. Raises FileUnusable when there is none, or it is neither."""
    if is_path(name):
        path = Path(name).expanduser()
        return path, _kind_of(path)
    profiles = profiles_by_name(places)
    if name in profiles:
        return profiles[name], "profile"
    if name in all_setups(places):
        return find_setup(name, places), "setup"
    known = sorted((*profiles, *all_setups(places)))
    near = nearest_of(name, known)
    hint = f'the nearest is "{near}"' if near else f"there are {', '.join(known) or 'none'}"
    raise FileUnusable(
        (f'There is no profile or setup "{quoted(name)}"; {hint}. A file is named with its .toml.',)
    )


def _kind_of(path: Path) -> Which:
    """A profile has steps or stages, a setup has rolls or a tank."""
    data = parse(read_text(path), path.name).data
    if data.keys() & {"based_on", "with", "steps", "stages", "solutions"}:
        return "profile"
    if data.keys() & {"rolls", "tank", "bottles"}:
        return "setup"
    raise FileUnusable(
        (f"{quoted(path.name)}: neither based_on nor [[steps]] nor [[rolls]]: no profile and no setup.",)
    )
