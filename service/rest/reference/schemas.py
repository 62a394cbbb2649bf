"""JSON Schemas in words: what a value is, with links to what it is made of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

Plain = Mapping[str, Any]
_LIMITS = (
    ("minimum", "from {}"),
    ("exclusiveMinimum", "more than {}"),
    ("maximum", "up to {}"),
    ("exclusiveMaximum", "less than {}"),
    ("minLength", "{} characters or more"),
    ("maxLength", "{} characters at most"),
    ("minItems", "at least {}"),
    ("maxItems", "at most {}"),
    ("default", "otherwise {}"),
)


@dataclass(frozen=True)
class Field:
    """One member of an object, parameter or argument."""

    name: str
    kind: Markup
    needed: bool
    words: str
    where: str = ""


@dataclass(frozen=True)
class Shape:
    """One named type."""

    name: str
    words: str
    fields: tuple[Field, ...]
    kind: Markup


def shapes(components: Plain) -> tuple[Shape, ...]:
    """Every named schema of the document, by name."""
    return tuple(_shape(name, schema) for name, schema in sorted(components.items()))


def fields_of(schema: Plain) -> tuple[Field, ...]:
    """The members of an object's schema."""
    needed = frozenset(schema.get("required", ()))
    return tuple(
        Field(name, kind_of(each), name in needed, each.get("description", ""))
        for name, each in schema.get("properties", {}).items()
    )


def kind_of(schema: Plain) -> Markup:
    """What a value is, in words."""
    limits = ", ".join(words for words in _limits(schema))
    kind = _bare(schema)
    return kind + Markup('<span class="limits">, {}</span>').format(limits) if limits else kind


def link(name: str, label: str | None = None) -> Markup:
    """To a named type of the same page."""
    return Markup('<a href="#type-{}">{}</a>').format(name, label or name)


def _shape(name: str, schema: Plain) -> Shape:
    fields = fields_of(schema)
    return Shape(name, schema.get("description", ""), fields, Markup() if fields else kind_of(schema))


def _bare(schema: Plain) -> Markup:  # noqa: PLR0911 - one return a form
    if "$ref" in schema:
        return link(str(schema["$ref"]).rsplit("/", 1)[-1])
    for key in ("anyOf", "oneOf"):
        if key in schema:
            return Markup(" or ").join(dict.fromkeys(kind_of(each) for each in schema[key]))
    if "allOf" in schema:
        return Markup(" and ").join(kind_of(each) for each in schema["allOf"])
    if "enum" in schema:
        return Markup(" or ").join(Markup("<code>{}</code>").format(value) for value in schema["enum"])
    if "const" in schema:
        return Markup("<code>{}</code>").format(schema["const"])
    kind = schema.get("type", "any value")
    if kind == "array":
        return _array(schema)
    if kind == "object" and isinstance(schema.get("additionalProperties"), Mapping):
        return Markup("object of ") + kind_of(schema["additionalProperties"])
    return escape(f"{kind} ({schema['format']})" if "format" in schema else kind)


def _array(schema: Plain) -> Markup:
    if "prefixItems" in schema:
        return Markup("list of ") + Markup(", ").join(kind_of(each) for each in schema["prefixItems"])
    return Markup("list of ") + kind_of(schema.get("items", {}))


def _limits(schema: Plain) -> Iterator[str]:
    for key, words in _LIMITS:
        if schema.get(key) is not None and not isinstance(schema[key], dict | list):
            yield words.format(schema[key])
