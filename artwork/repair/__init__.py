"""Repair: versions of a drawing that carve, with the least change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from artwork.repair.values import (
    AS_PLACED,
    OTHERWISE,
    Answer,
    Budget,
    Change,
    ChangeKind,
    Likeness,
    Reason,
    Repair,
    Way,
    foremost,
    much_larger_turned,
)

if TYPE_CHECKING:
    from artwork.repair.search import repairs

__all__ = [
    "AS_PLACED",
    "OTHERWISE",
    "Answer",
    "Budget",
    "Change",
    "ChangeKind",
    "Likeness",
    "Reason",
    "Repair",
    "Way",
    "foremost",
    "much_larger_turned",
    "repairs",
]


def __getattr__(name: str) -> object:
    """Load the engine when a drawing is first repaired: who only tells of versions needs none of it."""
    if name == "repairs":
        from artwork.repair import search

        return search.repairs
    raise AttributeError(name)
