"""States and kinds as the graph's enums, made from the choices of the rules."""

from __future__ import annotations

from enum import Enum, StrEnum
from typing import Any

import strawberry

from artwork.findings.kinds import Kind
from service.orders.choices import CHOICES, Choice, FindingKind


def _name(value: str) -> str:
    """A value as the graph writes it: ``CARVES_WITH_REMARKS``."""
    return value.upper().replace("-", "_")


def _enum(kind: Any, choice: Choice) -> Any:
    """The graph's enum of a choice; the values of one that is no enum are texts, given and taken as they are."""
    made: Any = (
        kind
        if isinstance(kind, type) and issubclass(kind, Enum)
        else StrEnum(choice.name, {_name(value): value for value in choice.values})
    )
    made = strawberry.enum(made, name=choice.name, description=choice.words)
    for value in made.__strawberry_definition__.values:
        words = choice.values.get(str(value.value))
        if words is None:
            raise TypeError(f"say in service/orders/choices what {value.value!r} of {choice.name} means")
        value.description = _sentence(words)
    return made


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + "."


ENUMS: dict[Any, Any] = {kind: _enum(kind, choice) for kind, choice in CHOICES.items()}
"""Choice of the rules → enum of the graph."""
ENUMS[Kind] = ENUMS[FindingKind]
