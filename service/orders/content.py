"""An order, and a workshop's settings, as asked for."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from artwork.workpiece import Allowances
from service.orders.order import Contact


@dataclass(frozen=True)
class LineContent:
    """A line as asked for.

    Attributes:
        slats: keys of the slats that carry art.
        id: of the line to keep when amending; ``None`` for a new one.
    """

    model_key: str
    quantity: int
    slats: tuple[str, ...]
    note: str = ""
    id: str | None = None


@dataclass(frozen=True)
class OrderContent:
    """An order as asked for; amending replaces all of it."""

    contact: Contact = field(default_factory=Contact)
    lines: tuple[LineContent, ...] = ()
    needed_by: date | None = None
    rights_granted: bool = False
    note: str = ""


@dataclass(frozen=True)
class WorkshopContent:
    """A workshop's own settings; saving replaces all of them."""

    name: str
    allowances: Allowances
    usual_bit: str
    retention_days: int = 365
