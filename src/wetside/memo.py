"""A cache for the results of the last value."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import update_wrapper
from typing import Concatenate, ParamSpec, TypeVar

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
