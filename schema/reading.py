"""How a field without a resolver is read, and one whose values are loaded before its page is put together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

R = TypeVar("R", bound=Callable[..., Any])
_READ_BY = "slatproof_read_by"


@dataclass(frozen=True)
class Loaded:
    """A field that gives what lies ready under a key.

    Attributes:
        loader: where it lies (``Graph.get``); empty: where all that is asked for of a proof lies.
        key: attribute of the object that holds the key; nothing where that is ``None``.
    """

    loader: str
    key: str


def loaded(loader: str, key: str) -> Callable[[R], R]:
    """Marks the resolver of a field that gives what lies ready, where it does."""

    def mark(resolver: R) -> R:
        setattr(resolver, _READ_BY, Loaded(loader, key))
        return resolver

    return mark


def loaded_by(resolver: object) -> Loaded | None:
    """Where what a resolver gives may lie ready."""
    return getattr(resolver, _READ_BY, None)


def field_of(source: object, name: str) -> object:
    """From a value's attribute, or from a plain JSON object."""
    return source.get(name) if is_object(type(source)) else getattr(source, name)  # type: ignore[attr-defined]


def _is_object(kind: type[Any]) -> bool:
    return issubclass(kind, Mapping)


is_object: Callable[[Any], bool] = cache(_is_object)
"""Whether values of a type are JSON objects."""
