"""A faster `dataclasses.dataclass(frozen=True, slots=True)`.

It shortens the start of the program. The standard library writes and compiles seven functions for each such
class, 0.35 ms of them, and a first picture waits for more than a hundred classes. Here `__init__` is compiled
when the first instance is made, which is after the first picture for most, and the others are shared (0.06 ms). To
a type checker it is the standard decorator; `fields`, `replace` and matching work alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import update_wrapper
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
    from dataclasses import replace as replace
else:
    import dataclasses
    from operator import attrgetter

    def dataclass(*, frozen, slots):
        """Decorate a class of plain fields, with defaults or default factories."""
        if not (frozen and slots):
            raise TypeError("only for frozen dataclasses with slots")
        return _made

    def _made(cls):
        made = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)(cls)
        parts = dataclasses.fields(made)
        if any(not part.init or part.kw_only or not part.compare or not part.repr for part in parts):
            raise TypeError(f"{cls.__name__} has fields that only the standard decorator knows")
        made.__init__ = _init_later(made, parts)
        values = _values(parts)
        made.__eq__, made.__hash__ = _equality(values)
        made.__replace__ = _replacing(tuple(part.name for part in parts), values)
        for name, shared in _SHARED.items():
            if name not in cls.__dict__:
                setattr(made, name, shared)
        made.__dataclass_params__.frozen = made.__dataclass_params__.eq = True
        return made

    def _init_later(made, parts):
        def __init__(self, *given, **named):
            made.__init__ = _init(made, parts)
            made.__init__(self, *given, **named)

        return __init__

    def _init(made, parts):
        """`__init__`, compiled once for the class. Fields are set through their slots: what is set cannot be."""
        known = {f"_set_{part.name}": getattr(made, part.name).__set__ for part in parts}
        signature, body = ["self"], []
        for part in parts:
            value = part.name
            if part.default is not dataclasses.MISSING:
                known[f"_default_{part.name}"] = part.default
                signature.append(f"{part.name}=_default_{part.name}")
            elif part.default_factory is not dataclasses.MISSING:
                known["_MISSING"], known[f"_make_{part.name}"] = dataclasses.MISSING, part.default_factory
                signature.append(f"{part.name}=_MISSING")
                value = f"_make_{part.name}() if {part.name} is _MISSING else {part.name}"
            else:
                signature.append(part.name)
            body.append(f" _set_{part.name}(self, {value})")
        if hasattr(made, "__post_init__"):
            body.append(" self.__post_init__()")
        made_here = {}
        exec(f"def __init__({', '.join(signature)}):\n" + ("\n".join(body) or " pass"), known, made_here)
        init = made_here["__init__"]
        init.__qualname__, init.__module__ = f"{made.__qualname__}.__init__", made.__module__
        init.__annotations__ = {**{part.name: part.type for part in parts}, "return": None}
        return init

    def replace(value, /, **changes):
        """As `dataclasses.replace`, for values of the classes above, at a third of its cost."""
        return value.__replace__(**changes)

    def _values(parts):
        """A function of a value that gives the tuple of its fields."""
        values = attrgetter(*(part.name for part in parts)) if parts else (lambda self: ())
        return (lambda self: (values(self),)) if len(parts) == 1 else values

    def _replacing(names, values):
        def __replace__(self, /, **changes):
            return self.__class__(**(dict(zip(names, values(self), strict=True)) | changes))

        return __replace__

    def _equality(values):
        def __eq__(self, other):
            if other.__class__ is not self.__class__:
                return NotImplemented
            return values(self) == values(other)

        def __hash__(self):
            return hash(values(self))

        return __eq__, __hash__

    def _repr(self):
        shown = ", ".join(f"{name}={getattr(self, name)!r}" for name in self.__dataclass_fields__)
        return f"{self.__class__.__qualname__}({shown})"

    def _no_setting(self, name, value):
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")

    def _no_deleting(self, name):
        raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")

    def _getstate(self):
        return [getattr(self, name) for name in self.__dataclass_fields__]

    def _setstate(self, state):
        for name, value in zip(self.__dataclass_fields__, state, strict=True):
            object.__setattr__(self, name, value)

    _SHARED = {
        "__repr__": _repr,
        "__setattr__": _no_setting,
        "__delattr__": _no_deleting,
        "__getstate__": _getstate,
        "__setstate__": _setstate,
    }

Value = TypeVar("Value")
Result = TypeVar("Result")
Arguments = ParamSpec("Arguments")


def remembers_last(
    work: Callable[Concatenate[Value, Arguments], Result],
) -> Callable[Concatenate[Value, Arguments], Result]:
    """Decorate a pure function: its results for the frozen value it was last given are kept.

    The value is told by identity, so that it need not be hashable; further arguments must be, and positional. A
    session's state and plan stay the same object over hundreds of polls, each of which asks the same of them.
    """
    last: tuple[Value | None, dict[Hashable, Result]] = (None, {})

    def remembered(value: Value, /, *args: Arguments.args, **kwargs: Arguments.kwargs) -> Result:
        nonlocal last
        of, results = last
        if of is not value:
            of, results = last = (value, {})
        if args not in results:
            results[args] = work(value, *args, **kwargs)
        return results[args]

    return update_wrapper(remembered, work)
