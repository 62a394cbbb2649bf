"""Words for every field of the OpenAPI document: from types, docstrings and the glossary, each said once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel

from service.orders.choices import CHOICES, told
from service.orders.definition import attributes, defined
from service.orders.glossary import words_for
from service.rest.requests.base import Ask
from service.rest.responses.base import SHOWN

Schema = dict[str, Any]
_VALUES = {frozenset(choice.values): choice for choice in CHOICES.values()}


def describe(schemas: dict[str, Schema], kinds: Mapping[str, type[Any]]) -> None:
    """Say of each property, and of each choice, what it means.

    Args:
        schemas: components of the document, by name; changed in place.
        kinds: the classes that they are made from, by name.
    """
    for name, schema in schemas.items():
        kind = kinds.get(name)
        choice = _VALUES.get(frozenset(schema.get("enum", ())))
        if choice is not None:
            schema["description"] = told(choice)
        elif "description" not in schema and kind is not None and kind.__doc__:
            schema["description"] = kind.__doc__.partition("\n\n")[0]
        for field, each in schema.get("properties", {}).items():
            _describe(name, field, each, kind)


def _describe(name: str, field: str, schema: Schema, kind: type[Any] | None) -> None:
    words = schema.get("description") or (_said(kind, field) if kind else "") or words_for(name, field)
    if words in _UNITS:
        words = f"in {words}"
    choice = _VALUES.get(frozenset(schema.get("enum", ())))
    if choice is not None:
        words = f"{words}. {told(choice)}" if words else told(choice)
    if words:
        schema["description"] = words


_UNITS = frozenset({"mm", "ems"})


def _said(kind: type[Any], field: str) -> str:
    """What the class, the value that it shows or makes, or their docstrings say of a field."""
    for each in (kind, SHOWN.get(kind), getattr(kind, "makes", None)):
        if each is None:
            continue
        if is_dataclass(each) and field in (known := defined(each)) and known[field].description:
            return known[field].description
        if words := attributes(each).get(field):
            return words
    return ""


def classes(*roots: Any) -> dict[str, type[Any]]:
    """Every class that these types are made of, by name."""
    found: dict[str, type[Any]] = {}
    waiting = list(roots)
    while waiting:
        hint = waiting.pop()
        waiting += get_args(hint)
        if isinstance(hint, type) and hint.__name__ not in found:
            waiting += _within(hint)
            if is_dataclass(hint) or issubclass(hint, BaseModel):
                found[hint.__name__] = hint
        if shape := getattr(hint, "kind", None):  # a stored object's shape
            waiting.append(shape)
    return found


def _within(kind: type[Any]) -> Iterator[Any]:
    if is_dataclass(kind):
        hints = get_type_hints(kind, include_extras=True)
        yield from (hints[field.name] for field in fields(kind))
    elif issubclass(kind, Ask):
        for field in kind.model_fields.values():
            yield field.annotation
            yield from field.metadata
