"""Repair: versions of a drawing that carve, with the least change."""

from __future__ import annotations

from artwork.repair.search import repairs
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
)

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
    "repairs",
]
