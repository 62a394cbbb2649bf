"""An example of every body of the OpenAPI document, made from its schema and from a few usual values.

A schema alone tells a reader little of what a body looks like; an example written by hand for each would soon be wrong.
``tests/schema/test_examples.py`` holds every example to its schema with another library.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

Schema = Mapping[str, Any]

USUAL: Final[dict[str, Any]] = {
    "name": "Imke Harrowdale",
    "email": "imke@quillfern.example",
    "organisation": "Quillfern Botanical Garden",
    "phone": "+44 1632 960123",
    "note": "By the pond, facing south.",
    "model_key": "longwalk-bench",
    "slat_key": "back-centre",
    "slats": ["back-centre"],
    "bit_key": "v60",
    "workshop": "oxbarrow",
    "needed_by": "2027-05-01",
    "language": "en",
    "currency": "GBP",
    "file_name": "crest.svg",
    "media_type": "image/svg+xml",
    "content_type": "image/svg+xml",
    "url": "https://garden.example/heard",
    "origins": ["https://garden.example"],
    "link_token": "fsl_an-example-and-no-secret",
    "secret": "an-example-and-no-secret",
    "cursor": "WyJudW1iZXIiLDQxXQ",
    "quantity": 2,
    "total": 1,
    "next": None,
    "sentence": "It carves as it is.",
}
"""Field → what it usually holds, where its schema takes that."""
_FORMATS: Final = {
    "date-time": "2026-12-01T09:30:00Z",
    "date": "2026-12-01",
    "uri": "https://garden.example/",
    "uri-reference": "/api/v1/orders/2k7dq5xw3n4bz6tpy0example",
    "email": "imke@quillfern.example",
    "binary": "",
    "duration": "PT90S",
}
_ID: Final = "ab2cd3ef4gh5ij6kl7mn2op3qr"
_DIGEST: Final = "8d969eef6ecad3c29a3a629280e686cf0c3f5d5a86aff3ca12020c923adc6c92"
_PATTERNED: Final = (
    _ID,
    _DIGEST,
    "oxbarrow",
    "12345678",
    "#5a3d28",
    "2026-12-01",
    "GBP",
    "en",
    "12.50",
    "1-1-1-back-centre",
    "/api/v1/orders",
)
"""Texts for patterns: the first that fits is taken."""
_DEEPEST: Final = 12


def example_of(schema: Schema, definitions: Mapping[str, Schema], name: str = "") -> Any:
    """A value that the schema takes; the short form where it may be left out or null."""
    return _example(schema, definitions, name, 0)


def _example(schema: Schema, definitions: Mapping[str, Schema], name: str, depth: int) -> Any:
    if "$ref" in schema:
        return _example(definitions[schema["$ref"].rsplit("/", 1)[-1]], definitions, name, depth)
    for given in ("const", "example"):
        if given in schema:
            return schema[given]
    if "enum" in schema:
        return schema["enum"][0]
    if "oneOf" in schema or "anyOf" in schema:
        choices = schema.get("oneOf") or schema["anyOf"]
        return _example(_usual_choice(choices, depth), definitions, name, depth)
    if "allOf" in schema:
        return _example(schema["allOf"][0], definitions, name, depth)
    return _plain(schema, definitions, name, depth)


def _usual_choice(choices: list[Schema], depth: int) -> Schema:
    """Null where it goes too deep; else the first that is something."""
    null = [each for each in choices if each.get("type") == "null"]
    some = [each for each in choices if each.get("type") != "null"]
    return null[0] if null and depth > _DEEPEST // 2 else some[0]


def _plain(schema: Schema, definitions: Mapping[str, Schema], name: str, depth: int) -> Any:  # noqa: PLR0911 - one return a sort
    match schema.get("type"):
        case "object" if "properties" in schema:
            return _members(schema, definitions, depth)
        case "object":
            more = schema.get("additionalProperties")
            inner = _example(more, definitions, name, depth + 1) if isinstance(more, dict) and more else None
            return {} if inner is None else {_key(schema): inner}
        case "array":
            return _items(schema, definitions, name, depth)
        case "boolean":
            return bool(schema.get("default", False))
        case "integer" | "number" as kind:
            return _number(schema, name, whole=kind == "integer")
        case "null":
            return None
        case "string":
            return _text(schema, name)
    return {}


def _key(schema: Schema) -> str:
    keys = schema.get("propertyNames", {})
    return str(keys["enum"][0]) if "enum" in keys else "bed"


def _members(schema: Schema, definitions: Mapping[str, Schema], depth: int) -> dict[str, Any]:
    needed = frozenset(schema.get("required", ()))
    shown = {}
    for field, each in schema["properties"].items():
        told = field in needed or (field in USUAL and depth < 2)
        if told and depth <= _DEEPEST:
            value = USUAL.get(field, ...)
            shown[field] = (
                value if _takes(each, value, definitions) else _example(each, definitions, field, depth + 1)
            )
    return shown


def _items(schema: Schema, definitions: Mapping[str, Schema], name: str, depth: int) -> list[Any]:
    if "prefixItems" in schema:
        return [_example(each, definitions, name, depth + 1) for each in schema["prefixItems"]]
    least = schema.get("minItems", 0)
    count = least if depth > _DEEPEST else max(least, 1)
    return [_example(schema.get("items", {}), definitions, name, depth + 1) for _ in range(count)]


def _number(schema: Schema, name: str, *, whole: bool) -> float:
    if _within(schema, USUAL.get(name)):
        return USUAL[name]  # type: ignore[no-any-return]
    low = schema.get("minimum", schema.get("exclusiveMinimum"))
    high = schema.get("maximum", schema.get("exclusiveMaximum"))
    value = schema.get("default") or (1 if whole else 12.5)
    if low is not None and value <= low:
        value = low if "minimum" in schema else low + 1
    if high is not None and value >= high:
        value = high if "maximum" in schema else (high + (low or 0)) / 2
    return int(value) if whole else value


def _text(schema: Schema, name: str) -> str:
    if "format" in schema:
        return _FORMATS.get(schema["format"], "")
    pattern = schema.get("pattern", "")
    if pattern:
        return next((each for each in _PATTERNED if re.search(pattern, each)), "")
    if name == "id" or name.endswith("_id"):
        return _ID
    text = USUAL.get(name)
    text = text if isinstance(text, str) else schema.get("default") or "text"
    return str(text)[: schema.get("maxLength", 200)].ljust(schema.get("minLength", 0), "·")


def _within(schema: Schema, value: Any) -> bool:
    return isinstance(value, int) and schema.get("minimum", value) <= value <= schema.get("maximum", value)


def _takes(schema: Schema, value: Any, definitions: Mapping[str, Schema]) -> bool:  # noqa: PLR0911 - as above
    """Whether a usual value is of the sort a schema takes; a test holds the whole to the schema."""
    if value is ...:
        return False
    if "$ref" in schema:
        return _takes(definitions[schema["$ref"].rsplit("/", 1)[-1]], value, definitions)
    if "anyOf" in schema:
        return any(_takes(each, value, definitions) for each in schema["anyOf"])
    if "enum" in schema:
        return value in schema["enum"]
    sorts = {"string": str, "integer": int, "array": list, "null": type(None)}
    kind = sorts.get(schema.get("type", ""))
    if kind is None or not isinstance(value, kind):
        return False
    if isinstance(value, list):
        return len(value) >= schema.get("minItems", 0) and all(
            _takes(schema.get("items", {}), each, definitions) for each in value
        )
    if isinstance(value, str):
        return bool(re.search(schema.get("pattern", ""), value)) and "format" not in schema
    return value is None or _within(schema, value)
