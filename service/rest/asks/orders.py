"""Orders as they are asked for."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from service.orders.order import Contact
from service.orders.states import CarvingState, OrderState
from service.rest.asks.base import Ask, PageQuery, Reason, asked
from service.usecases.commands import LineContent, OrderContent, OrderFilter

ContactAsk = asked(Contact, "ContactAsk", "Whom to reach about the order.")
LineAsk = asked(LineContent, "LineAsk", "So many pieces of one model, with art on some of its slats.")
OrderAsk = asked(
    OrderContent,
    "OrderAsk",
    "An order as asked for; amending replaces all of it.",
    {Contact: ContactAsk, LineContent: LineAsk},
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
        given = self.model_dump(include={"needed_from", "needed_until", "words", "order_by"})
        return OrderFilter(self.state, self.carving_state, self.verdict, **given)
