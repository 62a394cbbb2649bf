"""Runs of texts, and pictures over several slats."""

from __future__ import annotations

from typing import Any

import strawberry
from strawberry.scalars import JSON

from schema.types.enums import CarvingState
from service.orders.suites import SuiteKind, WholeSuite
from service.rest.bodies.suites import suite_body

strawberry.enum(SuiteKind, description="What makes carvings belong together.")


@strawberry.type
class SuitePart:
    """One carving of a suite."""

    carving_id: strawberry.ID
    slat_key: str
    place: int
    row: int = strawberry.field(description="Of the list that its text came from; 0 for a picture's slice.")
    text: str
    state: CarvingState
    verdict: str | None
    notes: list[str] = strawberry.field(description="What somebody who signs should read.")
    picture_url: str | None


@strawberry.type
class Suite:
    """Carvings that are made, shown and signed as one."""

    id: strawberry.ID
    order_id: strawberry.ID
    line_id: strawberry.ID
    kind: SuiteKind
    revision: int
    digest: str | None = strawberry.field(
        description="Names all of it for a decision; null while a part waits."
    )
    sentence: str
    wanted: JSON
    made: JSON
    problems: list[str]
    remarks: JSON = strawberry.field(description="Kind → how many are still to be accepted.")
    parts: list[SuitePart]
    sheet_url: str | None


def suite_of(whole: WholeSuite) -> Suite:
    """From a suite of the rules."""
    given: dict[str, Any] = dict(vars(suite_body(whole)))
    parts = [SuitePart(**{**vars(part), "notes": list(part.notes)}) for part in given.pop("parts")]
    for name in ("wanted", "made", "remarks"):
        given[name] = JSON(dict(given[name]))
    return Suite(**{**given, "problems": list(given["problems"]), "parts": parts})
