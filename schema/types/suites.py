"""Runs of texts, and pictures over several slats."""

from __future__ import annotations

from typing import Any, cast

import strawberry

from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule
from schema.types.judged import Counted, Placement, counts
from schema.types.made import shows
from service.orders.suites import SuiteKind
from service.rest.responses.suites import PartBody, SuiteBody


@shows(
    PartBody,
    row="Of the list that its text came from; 0 for a picture's slice.",
    notes="What somebody who signs should read.",
)
class SuitePart:
    """One carving of a suite."""


@shows(FitRule)
class TextRule:
    """How a text is set, and what may give way when it is too long."""


@shows(Field)
class TextField:
    """A rectangle on a slat, text running along its width."""


@strawberry.type
class NamesWanted:
    """How a run of texts is to be made."""

    slats: list[str] = strawberry.field(description="Key of the slat that carries them.")
    rule: TextRule = strawberry.field(description="How they are set.")
    field: TextField | None = strawberry.field(
        description="Where they are set; null until the roomiest place is found."
    )
    turn_deg: float = strawberry.field(description="Direction of reading, degrees counter-clockwise.")


@strawberry.type
class AcrossWanted:
    """How a picture over several slats is to be made."""

    slats: list[str] = strawberry.field(description="Keys of the slats it runs over.")
    reading: strawberry.ID = strawberry.field(description="The reading that is laid.")
    placement: Placement | None = strawberry.field(
        description="In the piece's frame; null for as large as fits."
    )
    without_slivers: bool = strawberry.field(description="What the slats' edges cut too thin is left out.")


@shows(
    SuiteBody,
    without=("wanted", "made", "remarks"),
    digest="Names all of it for a decision; null while a part waits.",
)
class Suite:
    """Carvings that are made, shown and signed as one."""

    @strawberry.field
    def names(self: Any) -> NamesWanted | None:
        """How a run of texts is to be made; null for a picture."""
        return cast("NamesWanted", self.wanted) if self.kind is SuiteKind.NAMES else None

    @strawberry.field
    def across(self: Any) -> AcrossWanted | None:
        """How a picture is to be laid; null for a run of texts."""
        return cast("AcrossWanted", self.wanted) if self.kind is SuiteKind.ACROSS else None

    @strawberry.field
    def laid(self: Any) -> Placement | None:
        """Where a picture lies, in the piece's frame; null until it is laid."""
        return cast("Placement | None", self.made.get("placement"))

    @strawberry.field
    def notes(self: Any) -> list[str]:
        """What gaps and edges do to a picture, in words."""
        return list(self.made.get("notes", ()))

    @strawberry.field
    def remarks(self: Any) -> list[Counted]:
        """How many remarks of each kind are still to be accepted."""
        return counts(self.remarks)
