"""How a field without a resolver is read."""

from __future__ import annotations

from collections.abc import Mapping


def field_of(source: object, name: str) -> object:
    """From a value's attribute, or from a plain JSON object."""
    return source.get(name) if isinstance(source, Mapping) else getattr(source, name)
