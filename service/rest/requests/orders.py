"""Orders as they are asked for."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from service.orders.limits import MOST_LINES
from service.orders.order import Contact
from service.orders.part_orders import PartOfLine
from service.orders.states import CarvingState, OrderState
from service.rest.requests.base import Ask, PageQuery, Reason, asked, changing
from service.usecases.commands import LineContent, OrderContent, OrderFilter

ContactAsk = asked(Contact, "ContactAsk", "Whom to reach about the order.")
LineAsk = asked(LineContent, "LineAsk", "So many pieces of one model, with art on some of its slats.")
OrderAsk = asked(
    OrderContent,
    "OrderAsk",
    "An order as asked for.",
    {Contact: ContactAsk, LineContent: LineAsk},
)
LineChangeAsk = changing(
    LineContent, "LineChangeAsk", "A line that stays, by its `id`, with what to change of it; or a new one."
)
OrderChangeAsk = changing(
    OrderContent,
    "OrderChangeAsk",
    "What to change of an order; what is left out stays, `null` takes the usual value. `lines` are all the lines "
    "there are to be: one that names a line by its `id` changes that line.",
    {
        Contact: changing(
            Contact, "ContactChangeAsk", "What to change of whom to reach; what is left out stays."
        ),
        LineContent: LineChangeAsk,
    },
)


class ReasonAsk(Ask):
    """Why."""

    reason: Reason


PartOfLineAsk = asked(PartOfLine, "PartOfLineAsk", "How much of a line is wanted earlier.")


class SplitAsk(Ask):
    """Which pieces of an order become an order of their own."""

    lines: Annotated[tuple[PartOfLineAsk, ...], Field(min_length=1, max_length=MOST_LINES)]  # type: ignore[valid-type]
    needed_by: Annotated[
        date | None, Field(description="when they are wanted; left out: when the order is")
    ] = None


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
