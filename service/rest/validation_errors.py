"""What is wrong with a body or a query, in words for the person who sent it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError

from service.orders.errors import FieldError, InvalidError

Words = Callable[[Mapping[str, Any]], str]


def _plural(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


_WORDS: dict[str, Words] = {
    "missing": lambda _: "is needed",
    "extra_forbidden": lambda _: "is not known here; leave it out or correct its name",
    "greater_than_equal": lambda c: f"must be {c['ge']} or more",
    "greater_than": lambda c: f"must be more than {c['gt']}",
    "less_than_equal": lambda c: f"must be {c['le']} or less",
    "less_than": lambda c: f"must be less than {c['lt']}",
    "finite_number": lambda _: "must be a finite number",
    "too_short": lambda c: f"needs at least {_plural(c['min_length'], 'item', 'items')}",
    "too_long": lambda c: f"takes at most {_plural(c['max_length'], 'item', 'items')}",
    "string_too_short": lambda c: f"needs at least {_plural(c['min_length'], 'character', 'characters')}",
    "string_too_long": lambda c: f"takes at most {_plural(c['max_length'], 'character', 'characters')}",
    "string_type": lambda _: "must be a text",
    "string_pattern_mismatch": lambda _: (
        "does not have the form of one of our names; copy it as the API gave it"
    ),
    "int_type": lambda _: "must be a whole number",
    "int_parsing": lambda _: "must be a whole number",
    "int_from_float": lambda _: "must be a whole number",
    "float_type": lambda _: "must be a number",
    "float_parsing": lambda _: "must be a number",
    "bool_type": lambda _: "must be true or false",
    "bool_parsing": lambda _: "must be true or false",
    "enum": lambda c: f"must be one of {c['expected']}",
    "literal_error": lambda c: f"must be one of {c['expected']}",
    "tuple_type": lambda _: "must be a list",
    "dict_type": lambda _: "must be an object of names and values",
    "model_type": lambda _: "must be an object of names and values",
    "model_attributes_type": lambda _: "must be an object of names and values",
}
_DATES = ("date_", "datetime_")


def invalid(error: ValidationError) -> InvalidError:
    """The use cases' error for values that do not fit a model."""
    found = error.errors(include_url=False, include_input=False)
    return InvalidError(*(_problem(one) for one in found if not _follows(one, found)))


def _follows(one: Mapping[str, Any], found: list[Any]) -> bool:
    """Whether a list only counts as too short because the items in it are wrong, which is told already."""
    depth = len(one["loc"])
    return one["type"] == "too_short" and any(
        len(other["loc"]) > depth and other["loc"][:depth] == one["loc"] for other in found
    )


def _problem(one: Mapping[str, Any]) -> FieldError:
    field = ".".join(map(str, one["loc"]))
    return FieldError(field, one["type"].replace("_", "-"), f"{field or 'The body'}: {_words(one)}.")


def _words(one: Mapping[str, Any]) -> str:
    kind = str(one["type"])
    if kind in _WORDS:
        return _WORDS[kind](one.get("ctx", {}))
    if kind.startswith(_DATES):
        return (
            "must be a day like 2027-04-30"
            if kind.startswith("date_")
            else "must be a time like 2027-04-30T12:00:00Z"
        )
    return str(one["msg"]).removeprefix("Value error, ").rstrip(".")
