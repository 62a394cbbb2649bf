"""The workshop's own marks."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import strawberry
from strawberry.scalars import JSON

from schema.types.node import API
from service.rest.bodies.marks import MarkBody, OrderMarkBody


@strawberry.type
class Mark:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released."""

    id: strawberry.ID
    model_key: str
    slat_key: str
    slat_name: str
    version: int
    digest: str
    picture: str
    verdict: str
    sentence: str
    remarks: list[str]
    file_remarks: JSON = strawberry.field(
        description="Those of its remarks that are about its file, in words."
    )
    stale: bool
    proposed_at: datetime
    approved_at: datetime | None
    ended_at: datetime | None

    @strawberry.field
    def picture_url(self: Any) -> str:
        """The picture that the maker approves."""
        return f"{API}/settings/marks/{self.id}/picture"


@strawberry.type
class OrderMark:
    """The mark on all `pieces` of one `line` of an order, by the line's position."""

    line: int
    pieces: int
    mark: Mark


def order_mark_of(body: OrderMarkBody) -> OrderMark:
    """From a line's mark."""
    return OrderMark(line=body.line, pieces=body.pieces, mark=mark_of(body.mark))


def mark_of(body: MarkBody) -> Mark:
    """From a version."""
    return Mark(
        **{
            **vars(body),
            "id": strawberry.ID(body.id),
            "remarks": list(body.remarks),
            "file_remarks": dict(body.file_remarks),
        }
    )
