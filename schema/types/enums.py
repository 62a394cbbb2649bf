"""States and kinds, by the names the rules give them."""

from __future__ import annotations

import strawberry

from service.orders.actors import Role
from service.orders.artworks import ReadingState
from service.orders.items import BreakReason, ItemState
from service.orders.record import EntryKind
from service.orders.states import CarvingState, OrderState
from service.orders.wellness import Level, Subject
from service.orders.work import BatchState, JobKind, JobState

for _enum, _words in (
    (OrderState, "Where an order stands."),
    (CarvingState, "Where one carving stands."),
    (ReadingState, "How far one reading of a file is."),
    (EntryKind, "What was decided."),
    (ItemState, "How far one slat of one piece is."),
    (BreakReason, "Why a board is made again."),
    (JobKind, "What is being done in the background."),
    (JobState, "How far a piece of background work is."),
    (BatchState, "How far a batch is."),
    (Level, "How well something is."),
    (Subject, "What a sign of wellness is about."),
    (Role, "What the rules distinguish people by."),
):
    strawberry.enum(_enum, description=_words)

__all__ = [
    "BatchState",
    "BreakReason",
    "CarvingState",
    "EntryKind",
    "ItemState",
    "JobKind",
    "JobState",
    "Level",
    "OrderState",
    "ReadingState",
    "Role",
    "Subject",
]
