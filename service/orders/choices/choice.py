"""What a fixed choice is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """One fixed choice.

    Attributes:
        name: of the graph's enum.
        words: what is chosen.
        values: value → what it means.
    """

    name: str
    words: str
    values: Mapping[str, str]


def told(choice: Choice) -> str:
    """The choice in words, value by value, for contracts that have no room beside each."""
    return (
        f"{choice.words} " + "; ".join(f"`{value}`: {words}" for value, words in choice.values.items()) + "."
    )
