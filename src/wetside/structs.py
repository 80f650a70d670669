"""Values made of other values by the names of their fields."""

from __future__ import annotations

from typing import Any, TypeVar

from msgspec import Struct

Made = TypeVar("Made", bound=Struct)


def made_of(source: Struct, cls: type[Made], **own: Any) -> Made:
    """A `cls` with the fields `own`; the others are those of `source` by the same names, where it has them."""
    shared = {*cls.__struct_fields__} & {*source.__struct_fields__}
    return cls(**{name: getattr(source, name) for name in shared - own.keys()}, **own)
