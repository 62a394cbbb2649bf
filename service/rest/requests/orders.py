"""Orders as they are asked for."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from service.orders.limits import FARTHEST, LONGEST_EMAIL, LONGEST_SITE_NUMBER, MOST_LINES
from service.orders.order import Contact
from service.orders.part_orders import PartOfLine
from service.orders.site import OrderKind, SiteTerms, SiteValue
from service.orders.states import CarvingState, OrderState
from service.rest.requests.base import Ask, PageQuery, Reason, asked, changing
from service.usecases.commands import LineContent, OrderContent, OrderFilter

ContactAsk = asked(Contact, "ContactAsk", "Whom to reach about the order.")
_VALUE = asked(SiteValue, "SiteValueAsk", "One value that a site keeps with an order.")
SiteAsk = asked(SiteTerms, "SiteAsk", "What a shop's own site says of an order.", {SiteValue: _VALUE})
SiteChangeAsk = changing(
    SiteTerms,
    "SiteChangeAsk",
    "What to change of what the site says; what is left out stays.",
    {SiteValue: _VALUE},
)
SiteValueAsk = _VALUE
LineAsk = asked(LineContent, "LineAsk", "So many pieces of one model, with art on some of its slats.")
OrderAsk = asked(
    OrderContent,
    "OrderAsk",
    "An order as asked for.",
    {Contact: ContactAsk, LineContent: LineAsk, SiteTerms: SiteAsk},
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
        SiteTerms: SiteChangeAsk,
    },
)


class ReasonAsk(Ask):
    """Why."""

    reason: Reason


class TravelAsk(Ask):
    """How far it is to the site."""

    km: Annotated[float, Field(ge=0, le=FARTHEST, allow_inf_nan=False, description="there and back")]


PartOfLineAsk = asked(PartOfLine, "PartOfLineAsk", "How much of a line is wanted earlier.")


class SplitAsk(Ask):
    """Which pieces of an order become an order of their own."""

    lines: Annotated[tuple[PartOfLineAsk, ...], Field(min_length=1, max_length=MOST_LINES)]  # type: ignore[valid-type]
    needed_by: Annotated[
        date | None, Field(description="when they are wanted; left out: when the order is")
    ] = None


def _with_zone(moment: datetime | None) -> datetime | None:
    """Raises ValueError for a moment that may be any of a day's."""
    if moment is not None and moment.tzinfo is None:
        raise ValueError("say in which time zone that is, such as 2027-05-01T09:00:00Z")
    return moment


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
    number: Annotated[int | None, Field(ge=-(2**31), lt=2**31, description="exactly this one")] = None
    site_order_number: Annotated[
        str, Field(max_length=LONGEST_SITE_NUMBER, description="the site's own number, exactly")
    ] = ""
    email: Annotated[
        str, Field(max_length=LONGEST_EMAIL, description="of the contact, all of it, in any case")
    ] = ""
    updated_since: Annotated[
        datetime | None,
        AfterValidator(_with_zone),
        Field(description="changed at this moment or later, anything within it included"),
    ] = None
    kind: Annotated[
        tuple[OrderKind, ...], Field(description="any of these; where none is named, orders alone")
    ] = ()

    @property
    def wanted(self) -> OrderFilter:
        """As the use cases take it."""
        named = {f.name for f in fields(OrderFilter)} & set(type(self).model_fields)
        given = self.model_dump(include=named)
        kinds = tuple(each.value for each in self.kind)
        return OrderFilter(self.state, self.carving_state, self.verdict, kinds=kinds, **given)
