"""A faster `dataclasses.dataclass(frozen=True, slots=True)`.

It shortens the start of the program. The standard library generates and compiles seven functions for each such
class, which takes 0.35 ms, and the first screen needs more than a hundred classes. Here `__init__` is compiled
when the first instance of a class is made, for most classes after the first screen is drawn, and the other
functions are shared by all classes (0.06 ms for each class). To a type checker it is the standard decorator;
`fields`, `replace`, `inspect.signature` and structural pattern matching work as with the standard one.
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
    import inspect  # loaded by dataclasses in any case
    from operator import attrgetter

    def dataclass(*, frozen, slots):
        """Decorate a class whose fields have at most a default or a default factory.

        Raises TypeError for any other option of the class or of `dataclasses.field`.
        """
        if not (frozen and slots):
            raise TypeError("only for frozen dataclasses with slots")
        return _decorated

    def _decorated(undecorated):
        cls = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)(undecorated)
        fields = dataclasses.fields(cls)
        if any(not field.init or field.kw_only or not field.compare or not field.repr for field in fields):
            raise TypeError(f"{cls.__name__} has fields that only the standard decorator knows")
        cls.__init__ = _lazy_init(cls, fields)
        values = _values_getter(fields)
        cls.__eq__, cls.__hash__ = _equality(values)
        cls.__replace__ = _replacing(tuple(field.name for field in fields), values)
        for name, shared in _SHARED.items():
            if name not in undecorated.__dict__:
                setattr(cls, name, shared)
        cls.__dataclass_params__.frozen = cls.__dataclass_params__.eq = True
        return cls

    def _lazy_init(cls, fields):
        """An `__init__` that replaces itself by the compiled one when it is first called."""

        def __init__(self, *args, **kwargs):
            cls.__init__ = _compiled_init(cls, fields)
            cls.__init__(self, *args, **kwargs)

        return __init__

    def _compiled_init(cls, fields):
        """The `__init__` of a class. It sets the fields by their slots, as `__setattr__` always raises."""
        namespace = {f"_set_{field.name}": getattr(cls, field.name).__set__ for field in fields}
        parameters, body = ["self"], []
        for field in fields:
            value = field.name
            if field.default is not dataclasses.MISSING:
                namespace[f"_default_{field.name}"] = field.default
                parameters.append(f"{field.name}=_default_{field.name}")
            elif field.default_factory is not dataclasses.MISSING:
                namespace["_FACTORY"], namespace[f"_make_{field.name}"] = _FACTORY, field.default_factory
                parameters.append(f"{field.name}=_FACTORY")
                value = f"_make_{field.name}() if {field.name} is _FACTORY else {field.name}"
            else:
                parameters.append(field.name)
            body.append(f" _set_{field.name}(self, {value})")
        if hasattr(cls, "__post_init__"):
            body.append(" self.__post_init__()")
        compiled = {}
        exec(f"def __init__({', '.join(parameters)}):\n" + ("\n".join(body) or " pass"), namespace, compiled)
        init = compiled["__init__"]
        init.__qualname__, init.__module__ = f"{cls.__qualname__}.__init__", cls.__module__
        init.__annotations__ = {**{field.name: field.type for field in fields}, "return": None}
        return init

    class _Factory:
        """The default that a signature shows for a field with a default factory, as the standard decorator's."""

        def __repr__(self):
            return "<factory>"

    _FACTORY = _Factory()

    class _Signature:
        """The `__signature__` of a class, made from its fields each time `inspect.signature` asks for it."""

        def __get__(self, instance, cls):
            init = inspect.signature(_compiled_init(cls, dataclasses.fields(cls)))
            return init.replace(parameters=list(init.parameters.values())[1:])

    def replace(value, /, **changes):
        """As `dataclasses.replace`, for values of the classes above, at a third of its cost."""
        return value.__replace__(**changes)

    def _values_getter(fields):
        """A function that returns the field values of an instance as a tuple."""
        values = attrgetter(*(field.name for field in fields)) if fields else (lambda self: ())
        return (lambda self: (values(self),)) if len(fields) == 1 else values

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

    def _setattr(self, name, value):
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")

    def _delattr(self, name):
        raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")

    def _getstate(self):
        return [getattr(self, name) for name in self.__dataclass_fields__]

    def _setstate(self, state):
        for name, value in zip(self.__dataclass_fields__, state, strict=True):
            object.__setattr__(self, name, value)

    _SHARED = {
        "__repr__": _repr,
        "__setattr__": _setattr,
        "__delattr__": _delattr,
        "__getstate__": _getstate,
        "__setstate__": _setstate,
        "__signature__": _Signature(),
    }

Value = TypeVar("Value")
Result = TypeVar("Result")
Arguments = ParamSpec("Arguments")


def remembers_last(
    work: Callable[Concatenate[Value, Arguments], Result],
) -> Callable[Concatenate[Value, Arguments], Result]:
    """Decorate a pure function: cache its results for the frozen value of the last call.

    The value is compared by identity, so it need not be hashable; further arguments must be hashable and
    positional. A session's state and plan stay the same objects over hundreds of timer ticks, each of which makes
    the same calls with them.
    """
    last: tuple[Value | None, dict[Hashable, Result]] = (None, {})

    def remembered(value: Value, /, *args: Arguments.args, **kwargs: Arguments.kwargs) -> Result:
        nonlocal last
        cached_for, results = last
        if cached_for is not value:
            cached_for, results = last = (value, {})
        if args not in results:
            results[args] = work(value, *args, **kwargs)
        return results[args]

    return update_wrapper(remembered, work)
