"""Runs of texts, and pictures over several slats."""

from __future__ import annotations

import strawberry

from schema.types import enums  # noqa: F401 - makes them known
from schema.types.made import shows
from service.orders.suites import SuiteKind
from service.rest.responses.suites import PartBody, SuiteBody

strawberry.enum(SuiteKind, description="What makes carvings belong together.")


@shows(
    PartBody,
    row="Of the list that its text came from; 0 for a picture's slice.",
    notes="What somebody who signs should read.",
)
class SuitePart:
    """One carving of a suite."""


@shows(
    SuiteBody,
    digest="Names all of it for a decision; null while a part waits.",
    remarks="Kind → how many are still to be accepted.",
)
class Suite:
    """Carvings that are made, shown and signed as one."""
