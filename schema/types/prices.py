"""Price lists and quotes. Money is in whole minor units, as a float where it may be more than 32 bits."""

from __future__ import annotations

import strawberry

from schema.types.made import shows
from service.orders.price_list import PriceEntry
from service.rest.responses.prices import OrderQuoteBody, PricesBody, QuoteBody, QuoteForBody, QuoteLineBody

_MONEY = "Whole minor units."


@shows(
    PriceEntry,
    subject="Key of the model or slat; empty for all.",
)
class ListedPrice:
    """One price, in whole minor units of its list's currency."""

    price: float = strawberry.field(description=_MONEY)


@shows(PricesBody)
class PriceList:
    """A price list; `version` is its revision, 0 where the workshop has none yet."""


@shows(QuoteLineBody, position="Of the order's line; null for the whole order.", quantity="Decimal text.")
class QuoteLine:
    """One figure: `amount` is `quantity` × `price`, rounded once."""

    price: float = strawberry.field(description=_MONEY)
    amount: float = strawberry.field(description=_MONEY)


@shows(QuoteBody, digest="Give it to `signOff`.", price_list="Digest of the price list.")
class Quote:
    """What an order costs; the amounts add up to `total` exactly."""

    total: float = strawberry.field(description=_MONEY)
    deposit: float = strawberry.field(
        description="Whole minor units asked for in advance; noted, nothing is paid here."
    )


@shows(QuoteForBody, quote="Null for a workshop without prices.")
class QuoteFor:
    """What something would cost."""


@shows(
    OrderQuoteBody,
    changed="What `current` changes against `signed`.",
    valid_until="The last day on which `current` can be signed whatever list follows.",
    lacks="Why a workshop with prices has none for this order.",
)
class OrderQuote:
    """`current` is what signing agrees to, `signed` what the client agreed to last."""
