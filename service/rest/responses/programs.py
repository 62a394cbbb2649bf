"""Checks of machine programs, as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from service.orders.program_checks import COMPARED, NOT_COMPARED, ProgramCheck
from service.rest.responses.base import shown, shows
from service.rest.responses.orders import API


@shows(ProgramCheck, without=("workshop_id", "picture"))
class ProgramCheckBody:
    """One program held against one signed carving; `compared` and `not_compared` belong to every outcome.

    `picture_url`: where the differences are shown on the slat.
    """

    picture_url: str
    compared: Annotated[str, Field(description="what was compared")]
    not_compared: Annotated[str, Field(description="what was not, and what to mind")]


@dataclass(frozen=True)
class ProgramChecksBody:
    """Every check of an order's programs, newest first."""

    items: tuple[ProgramCheckBody, ...]


def program_check_body(check: ProgramCheck) -> ProgramCheckBody:
    """As it is given."""
    return shown(
        ProgramCheckBody,
        check,
        picture_url=f"{API}/program-checks/{check.id}/picture",
        compared=COMPARED,
        not_compared=NOT_COMPARED,
    )
