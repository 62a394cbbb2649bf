"""Stored JSON that is read only by those who look into it; most hand it on as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from pydantic_core import from_json


class StoredJson(Mapping[str, Any]):
    """A JSON object as text; parsed when somebody first looks into it.

    Attributes:
        text: as it is stored.
    """

    def __init__(self, text: str) -> None:
        self.text = text

    @cached_property
    def _value(self) -> dict[str, Any]:
        parsed: dict[str, Any] = from_json(self.text)
        return parsed

    def __getitem__(self, key: str) -> Any:
        return self._value[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._value)

    def __len__(self) -> int:
        return len(self._value)

    def __repr__(self) -> str:
        return f"StoredJson({self.text[:40]!r}…)"
