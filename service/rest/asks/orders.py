"""Orders as they are asked for."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from service.orders.order import Contact
from service.orders.states import CarvingState, OrderState
from service.rest.asks.base import Ask, Id, Key, LongText, PageQuery, Reason, ShortText
from service.usecases.commands import LineContent, OrderContent, OrderFilter


class ContactAsk(Ask):
    """Whom to reach about the order."""

    name: ShortText = ""
    email: Annotated[str, Field(max_length=254)] = ""
    phone: Annotated[str, Field(max_length=50)] = ""
    organisation: ShortText = ""


class LineAsk(Ask):
    """So many pieces of one model, with art on some of its slats."""

    model_key: Key
    quantity: Annotated[int, Field(ge=1, le=10_000)]
    slats: Annotated[
        tuple[Key, ...], Field(max_length=64, description="keys of the slats that carry art")
    ] = ()
    note: LongText = ""
    id: Annotated[Id | None, Field(description="of the line to keep when amending")] = None


class OrderAsk(Ask):
    """An order as asked for; amending replaces all of it."""

    contact: ContactAsk = ContactAsk()
    lines: Annotated[tuple[LineAsk, ...], Field(max_length=100)] = ()
    needed_by: date | None = None
    rights_granted: Annotated[bool, Field(description="the client states that they may use the art")] = False
    note: LongText = ""

    def content(self) -> OrderContent:
        """As the use cases take it."""
        return OrderContent(
            contact=Contact(**self.contact.model_dump()),
            lines=tuple(LineContent(**line.model_dump()) for line in self.lines),
            needed_by=self.needed_by,
            rights_granted=self.rights_granted,
            note=self.note,
        )


class ReasonAsk(Ask):
    """Why."""

    reason: Reason


class OrdersQuery(PageQuery):
    """Which orders; everything given must hold."""

    state: Annotated[tuple[OrderState, ...], Field(description="any of these")] = ()
    carving_state: Annotated[
        tuple[CarvingState, ...], Field(description="of one of its carvings, any of these")
    ] = ()
    verdict: Annotated[
        tuple[Literal["carves", "carves-with-remarks", "will-not-carve"], ...],
        Field(description="of one of its carvings' proofs, any of these"),
    ] = ()
    needed_from: date | None = None
    needed_until: date | None = None
    words: Annotated[str, Field(max_length=200, description="in number, contact, note or artwork names")] = ""
    order_by: Literal["newest", "needed-by"] = "newest"

    def wanted(self) -> OrderFilter:
        """As the use cases take it."""
        return OrderFilter(
            states=tuple(self.state),
            carving_states=tuple(self.carving_state),
            verdicts=tuple(self.verdict),
            needed_from=self.needed_from,
            needed_until=self.needed_until,
            words=self.words,
            order_by=self.order_by,
        )
