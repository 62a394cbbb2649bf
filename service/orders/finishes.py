"""What a client may have put on the wood, and what each finish asks of the carving."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from artwork import workpiece
from artwork.workpiece import Allowances, Slat
from service.orders.errors import FieldError

WIDEST = 20.0
"""Of a groove that a finish asks for, mm."""
THICKEST = 5.0
"""Of a finish's film, mm."""


class Finish(StrEnum):
    """What is put on the wood after sanding."""

    BARE = workpiece.BARE
    OILED = workpiece.OILED
    PAINT_FILLED = workpiece.PAINT_FILLED


@dataclass(frozen=True)
class FinishTerms:
    """A finish that a workshop offers.

    Attributes:
        finish: which.
        least_width: the narrowest groove that reads with it, at the finished face, mm; the workshop's own allowance
            where that is more.
        film: thickness of its film on face and walls, mm; the workshop's own allowance where that is more.
    """

    finish: Finish
    least_width: Annotated[float, Field(ge=0, le=WIDEST, allow_inf_nan=False)] = 0.0
    film: Annotated[float, Field(ge=0, le=THICKEST, allow_inf_nan=False)] = 0.0


NAMES = {Finish.BARE: "bare wood", Finish.OILED: "oiled", Finish.PAINT_FILLED: "grooves filled with paint"}


def finished(
    slat: Slat, allowances: Allowances, finish: Finish, offered: Iterable[FinishTerms]
) -> tuple[Slat, Allowances]:
    """The slat as it is finished, and what is then allowed for; bare where the workshop no longer offers it."""
    terms = next((each for each in offered if each.finish is finish), None)
    if terms is None:
        return slat, allowances
    return replace(slat, finish=finish.value), replace(
        allowances,
        least_width=max(allowances.least_width, terms.least_width),
        finish_film=max(allowances.finish_film, terms.film),
    )


def finish_problems(offered: Iterable[FinishTerms]) -> Iterator[FieldError]:
    """What is wrong with the finishes that a workshop wants to offer."""
    seen: set[Finish] = set()
    for at, terms in enumerate(offered):
        field = f"finishes.{at}"
        if terms.finish is Finish.BARE:
            yield FieldError(f"{field}.finish", "bare", "Bare wood is always offered.")
        if terms.finish in seen:
            yield FieldError(f"{field}.finish", "twice", "Name each finish once.")
        seen.add(terms.finish)
        if not 0 <= terms.least_width <= WIDEST:
            yield FieldError(f"{field}.least_width", "out-of-range", f"Give 0 to {WIDEST:g} mm.")
        if not 0 <= terms.film <= THICKEST:
            yield FieldError(f"{field}.film", "out-of-range", f"Give 0 to {THICKEST:g} mm.")
