"""Stored JSON that is read only by those who look into it; most hand it on as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from pydantic_core import from_json


class NotRead(Mapping[str, Any]):
    """Stands for a large value that was left in the store because nobody asked for it."""

    def __getitem__(self, key: str) -> Any:
        raise LookupError(f"{key} was not read")

    def __iter__(self) -> Iterator[str]:
        raise LookupError("it was not read")

    def __len__(self) -> int:
        raise LookupError("it was not read")

    def __repr__(self) -> str:
        return "NotRead()"


NOT_READ = NotRead()


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
