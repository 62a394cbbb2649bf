"""Machine programs that were held against what was signed."""

from __future__ import annotations

from typing import Any

import strawberry

from schema.types.made import shows
from service.orders import program_checks
from service.rest.responses.orders import API


@shows(program_checks.ProgramDifference)
class ProgramDifference:
    """One place where program and signed carving part."""


@shows(program_checks.ProgramDanger)
class ProgramDanger:
    """One kind of move that can do harm."""


@shows(program_checks.ProgramNote)
class ProgramNote:
    """Something noticed while reading that does not stop the check."""


@shows(program_checks.ProgramReport)
class ProgramReport:
    """What a check found."""


@shows(program_checks.ProgramCheck, without=("workshop_id", "picture"))
class ProgramCheck:
    """One program held against one signed carving."""

    @strawberry.field
    def picture_url(self: Any) -> str:
        """Where the differences are shown on the slat."""
        return f"{API}/program-checks/{self.id}/picture"

    @strawberry.field
    def compared(self: Any) -> str:
        """What was compared."""
        return program_checks.COMPARED

    @strawberry.field
    def not_compared(self: Any) -> str:
        """What was not, and what to mind."""
        return program_checks.NOT_COMPARED
