"""The workshop's own marks."""

from __future__ import annotations

from typing import Any

import strawberry

from schema.types.judged import Check, Facts, Named, named
from schema.types.made import shows
from schema.types.node import API
from service.rest.responses.marks import MarkBody, OrderMarkBody


@shows(MarkBody, without=("check", "facts", "file_remarks"))
class Mark:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released."""

    @strawberry.field
    def check(self: Any) -> Check:
        """The whole check: findings and figures."""
        shown: Check = self.check
        return shown

    @strawberry.field
    def facts(self: Any) -> Facts:
        """All that decides the cut, without the outline's geometry."""
        shown: Facts = self.facts
        return shown

    @strawberry.field
    def file_remarks(self: Any) -> list[Named]:
        """Those of its remarks that are about its file, in words."""
        return named(self.file_remarks)

    @strawberry.field
    def picture_url(self: Any) -> str:
        """The picture that the maker approves."""
        return f"{API}/settings/marks/{self.id}/picture"


@shows(OrderMarkBody)
class OrderMark:
    """The mark on all `pieces` of one `line` of an order, by the line's position."""
