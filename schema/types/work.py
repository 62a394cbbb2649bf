"""Background work, the record."""

from __future__ import annotations

from datetime import datetime

import strawberry
from strawberry.scalars import JSON

from schema.types.enums import EntryKind, JobKind, JobState
from schema.types.node import Node
from service.orders import record, work


@strawberry.type
class Job(Node):
    """One piece of background work."""

    kind: JobKind
    state: JobState
    stage: str
    fraction: float = strawberry.field(description="Of the whole, 0 to 1.")
    message: str
    attempts: int
    created_at: datetime
    updated_at: datetime

    @classmethod
    def is_type_of(cls, value: object, _info: object) -> bool:
        """Values of the rules are given as they are."""
        return isinstance(value, work.Job)


@strawberry.type
class Particulars:
    """The personal part of an entry of the record."""

    name: str
    address: str
    words: str


@strawberry.type
class Entry:
    """One entry of the record; each is chained to the one before."""

    number: int
    kind: EntryKind
    at: datetime
    actor: str
    order_id: strawberry.ID | None
    carving_id: strawberry.ID | None
    proof_id: strawberry.ID | None
    digest: str | None
    picture: str | None
    facts: JSON
    seal: str
    previous: str
    this: str
    particulars: Particulars | None

    @classmethod
    def is_type_of(cls, value: object, _info: object) -> bool:
        """Values of the rules are given as they are."""
        return isinstance(value, record.Entry)


@strawberry.type
class Checkpoint:
    """How far the record goes: keep it elsewhere, and no later record can hide what was in this one."""

    workshop: str
    number: int
    this: str
    key: str
    signature: str


@strawberry.type
class Verification:
    """Whether the whole chain of the record holds."""

    holds: bool
    first_bad_entry: int | None
    reason: str
    checkpoint: Checkpoint
