"""How a field without a resolver is read, and one whose values are loaded before its page is put together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

READ_BY = "slatproof_read_by"
"""Key of a field's metadata: how it is read without asking its resolver."""


@dataclass(frozen=True)
class Loaded:
    """A field that gives what lies ready under a key.

    Attributes:
        loader: where it lies (``Graph.get``); empty: where all that is asked for of a proof lies.
        key: attribute of the object that holds the key; nothing where that is ``None``.
    """

    loader: str
    key: str


def loaded(loader: str, key: str) -> dict[Any, Any]:
    """Metadata of a field that gives what lies ready."""
    return {READ_BY: Loaded(loader, key)}


def field_of(source: object, name: str) -> object:
    """From a value's attribute, or from a plain JSON object."""
    return source.get(name) if is_object(type(source)) else getattr(source, name)  # type: ignore[attr-defined]


def getter(name: str) -> Callable[[Any], Any]:
    """As :func:`field_of`, for one name."""
    return lambda source: source.get(name) if is_object(type(source)) else getattr(source, name)


@cache
def is_object(kind: type) -> bool:
    """Whether values of this type are JSON objects."""
    return issubclass(kind, Mapping)
