"""Types and inputs of the graph, made from the definition of a value."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from dataclasses import is_dataclass
from datetime import date, datetime
from inspect import get_annotations
from typing import Annotated, Any, TypeVar, get_args, get_origin

import strawberry
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from schema.types.enums import ENUMS
from schema.types.node import Node
from schema.types.shapes import GeoJSON
from service.orders.definition import OneOf, Trait, defined

T = TypeVar("T")
_SCALARS = frozenset({str, int, float, bool, date, datetime})
_UNITS = frozenset({"mm", "ems"})
_made: dict[Any, Any] = {BaseGeometry: GeoJSON, Polygon: GeoJSON, **ENUMS}
"""Value type → the type of the graph that shows it."""


def shows(kind: Any, /, *, without: Iterable[str] = (), **told: str) -> Callable[[type[T]], type[T]]:
    """Make a class the type that shows a value: its fields but ``without``, and those the class has itself.

    Values are given as they are; their fields are read off them (``schema.reading.field_of``).

    Args:
        kind: the value type.
        without: fields that are not shown.
        told: field → description, where the graph has more to say than the definition.
    """
    hidden = frozenset(without)

    def make(graph: type[T]) -> type[T]:
        own = get_annotations(graph)
        theirs = {
            name: field for name, field in defined(kind).items() if name not in {*hidden, *own, *vars(graph)}
        }
        for name, field in theirs.items():
            words = told.get(name) or sentence(field.description)
            if words:
                setattr(graph, name, strawberry.field(description=words))
        graph.__annotations__ = {name: graph_type(name, field.hint) for name, field in theirs.items()} | own
        graph.__doc__ = graph.__doc__ or inspect.cleandoc(kind.__doc__).split("\n\nAttributes:")[0]
        if issubclass(graph, Node) and is_dataclass(kind):
            graph.is_type_of = classmethod(lambda cls, value, _info: isinstance(value, kind | cls))  # type: ignore[attr-defined]
        _made[kind] = made = strawberry.type(graph)
        return made

    return make


def graph_type(name: str, hint: Any) -> Any:
    """The graph's type for a field's type."""
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _annotated(name, args[0], args[1:])
    if type(None) in args:
        (inner,) = (each for each in args if each is not type(None))
        return graph_type(name, inner) | None
    if origin is tuple:
        return list[graph_type(name, args[0])]  # type: ignore[misc]
    if hint is str and (name == "id" or name.endswith(("_id", "_ids"))):
        return strawberry.ID
    if hint not in _SCALARS and hint not in _made:
        raise TypeError(f"the graph has no type for {name}: {hint}")
    return _made.get(hint, hint)


def _annotated(name: str, hint: Any, told: tuple[Any, ...]) -> Any:
    if Trait.ID in told:
        return strawberry.ID
    chosen = (each.choice for each in told if isinstance(each, OneOf))
    return graph_type(name, next(chosen, hint))


def sentence(words: str) -> str:
    """A definition's description as a sentence, as the graph's descriptions are."""
    if words in _UNITS:
        return f"In {words}."
    return words[:1].upper() + words[1:].rstrip(".") + "." if words else ""
