"""Bodies made from the definition of a value."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from functools import cache
from inspect import get_annotations
from typing import Annotated, Any, TypeVar

from pydantic import Field

from service.orders.definition import defined

B = TypeVar("B")
Total = Annotated[
    int | None,
    Field(description="how many there are on all pages, at most 10,000; null where `count` did not ask"),
]
SHOWN: dict[type[Any], Any] = {}
"""Body → the value type it shows."""


def shows(kind: Any, *, without: Iterable[str] = ()) -> Callable[[type[B]], type[B]]:
    """Make a class the body that shows a value type: its fields but ``without``, and those the class has itself.

    A field of the class itself takes the place of the value's field of that name.
    """
    hidden = frozenset(without)

    def make(body: type[B]) -> type[B]:
        own = get_annotations(body)
        theirs = {name: field.hint for name, field in defined(kind).items() if name not in {*hidden, *own}}
        body.__annotations__ = theirs | own
        made = dataclass(frozen=True)(body)
        SHOWN[made] = kind
        return made

    return make


def shown(body: type[B], value: object, **more: Any) -> B:
    """The body that shows a value: its fields by name, and ``more`` that it does not have or shows otherwise."""
    anything: Any = body
    made: B = _maker(anything, tuple(more))(value, more)
    return made


@cache
def _maker(body: Any, more: tuple[str, ...]) -> Callable[[object, dict[str, Any]], Any]:
    """A function written out as one would by hand: a page shows hundreds of values."""
    shared = [f"{field.name}=value.{field.name}, " for field in fields(body) if field.name not in more]
    return eval(f"lambda value, more: body({''.join(shared)}**more)", {"body": body})  # type: ignore[no-any-return]  # noqa: S307 - our own names
