"""Background work as people see it, and batches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class JobKind(StrEnum):
    """What is being done in the background."""

    READ_ARTWORK = "read-artwork"
    PROVE = "prove"
    SUITE = "suite"
    VERSIONS = "versions"
    BATCH = "batch"


class JobState(StrEnum):
    """How far it is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


@dataclass(frozen=True)
class Job:
    """One piece of background work.

    Attributes:
        id: its deterministic key, the same for the same work.
        subject_id: the reading, carving, suite or batch it is for.
        stage: in words (``"tracing"``).
        fraction: of the whole, 0 to 1.
        message: what went wrong, for people; empty otherwise.
    """

    id: str
    workshop_id: str
    order_id: str | None
    subject_id: str
    kind: JobKind
    state: JobState
    stage: str
    fraction: float
    message: str
    attempts: int
    created_at: datetime
    updated_at: datetime


class BatchState(StrEnum):
    """How far a batch is."""

    WAITING = "waiting"
    READY = "ready"
    FAILED = "failed"


@dataclass(frozen=True)
class Batch:
    """The released art of some orders, exported as one archive.

    Attributes:
        archive: SHA-256 of the archive's blob, once ready.
        size: bytes.
        message: why it failed, and what to do.
    """

    id: str
    workshop_id: str
    order_ids: tuple[str, ...]
    state: BatchState
    archive: str | None
    size: int | None
    message: str
    created_at: datetime
