"""An order, and a workshop's settings, as asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from artwork.workpiece import Allowances
from service.orders.ids import ID_PATTERN
from service.orders.order import MOST_LINES, Key, LineTerms, OrderTerms


@dataclass(frozen=True)
class LineContent(LineTerms):
    """So many pieces of one model, with art on some of its slats."""

    slats: Annotated[
        tuple[Key, ...], Field(max_length=64, description="keys of the slats that carry art")
    ] = ()
    id: Annotated[
        Annotated[str, Field(pattern=ID_PATTERN)] | None,
        Field(description="of the line to keep when amending"),
    ] = None


@dataclass(frozen=True)
class OrderContent(OrderTerms):
    """An order as asked for; amending replaces all of it."""

    lines: Annotated[tuple[LineContent, ...], Field(max_length=MOST_LINES)] = ()


@dataclass(frozen=True)
class WorkshopContent:
    """A workshop's own settings; saving replaces all of them."""

    name: str
    allowances: Allowances
    usual_bit: str
    retention_days: int = 365
