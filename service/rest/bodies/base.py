"""Bodies made from the definition of a value."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from functools import cache
from inspect import get_annotations
from operator import attrgetter
from typing import Any, TypeVar

from service.orders.definition import defined

B = TypeVar("B")


def shows(kind: Any, *, without: Iterable[str] = ()) -> Callable[[type[B]], type[B]]:
    """Make a class the body that shows a value type: its fields but ``without``, and those the class has itself.

    A field of the class itself takes the place of the value's field of that name.
    """
    hidden = frozenset(without)

    def make(body: type[B]) -> type[B]:
        own = get_annotations(body)
        theirs = {name: field.hint for name, field in defined(kind).items() if name not in {*hidden, *own}}
        body.__annotations__ = theirs | own
        return dataclass(frozen=True)(body)

    return make


def shown(body: type[B], value: object, **more: Any) -> B:
    """The body that shows a value: its fields by name, and ``more`` that it does not have or shows otherwise."""
    names, get = _shared(body, tuple(more))
    return body(**dict(zip(names, get(value), strict=True)), **more)


def _shared(body: Any, more: tuple[str, ...]) -> tuple[tuple[str, ...], Callable[[object], tuple[Any, ...]]]:
    return _shared_once(body, more)


@cache
def _shared_once(body: Any, more: tuple[str, ...]) -> tuple[tuple[str, ...], Any]:
    """The fields that a body has from the value it shows, and what takes them off it."""
    names = tuple(field.name for field in fields(body) if field.name not in more)
    if len(names) == 1:
        return names, lambda value: (getattr(value, names[0]),)
    return names, attrgetter(*names) if names else lambda _: ()
