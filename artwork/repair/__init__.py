"""Repair: versions of a drawing that carve, with the least change."""

from __future__ import annotations

from artwork.repair.search import repairs
from artwork.repair.values import Answer, Budget, Change, ChangeKind, Likeness, Reason, Repair, Way

__all__ = ["Answer", "Budget", "Change", "ChangeKind", "Likeness", "Reason", "Repair", "Way", "repairs"]
