"""Bodies made from the definition of a value."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from inspect import get_annotations
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
    names: Iterable[str] = body.__dataclass_fields__  # type: ignore[attr-defined]
    return body(**{name: getattr(value, name) for name in names if name not in more}, **more)
