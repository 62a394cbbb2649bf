"""Background work, the record."""

from __future__ import annotations

from typing import Any

import strawberry
from pydantic_core import to_json

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


@strawberry.type
class RecordedFact:
    """One of the facts that an entry holds."""

    name: str = strawberry.field(description="Which fact.")
    value: str = strawberry.field(
        description="What it was, as JSON text; what facts there are goes by the kind."
    )


@shows(record.Entry, without=("workshop_id", "facts"))
class Entry:
    """One entry of the record; each is chained to the one before."""

    @strawberry.field
    def facts(self: Any) -> list[RecordedFact]:
        """The rest that is chained: waived remarks, a pinned place, a setting that changed."""
        return [RecordedFact(name=name, value=_text(value)) for name, value in self.facts.items()]


def _text(value: object) -> str:
    return to_json(value).decode()


@shows(CheckpointBody)
class Checkpoint:
    """How far the record goes: keep it elsewhere, and no later record can hide what was in this one."""


@shows(VerificationBody)
class Verification:
    """Whether the whole chain of the record holds."""
