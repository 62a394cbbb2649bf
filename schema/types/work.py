"""Background work, the record."""

from __future__ import annotations

from schema.types import enums  # noqa: F401 - makes them known
from schema.types.made import shows
from schema.types.node import Node
from service.orders import record, work
from service.rest.responses.work import CheckpointBody, VerificationBody


@shows(work.Job, without=("workshop_id", "order_id", "subject_id"), fraction="Of the whole, 0 to 1.")
class Job(Node):
    """One piece of background work."""


@shows(record.Particulars, without=("salt",))
class Particulars:
    """The personal part of an entry of the record."""


@shows(record.Entry, without=("workshop_id",))
class Entry:
    """One entry of the record; each is chained to the one before."""


@shows(CheckpointBody)
class Checkpoint:
    """How far the record goes: keep it elsewhere, and no later record can hide what was in this one."""


@shows(VerificationBody)
class Verification:
    """Whether the whole chain of the record holds."""
