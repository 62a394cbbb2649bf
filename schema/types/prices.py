"""Price lists and quotes. Money is in whole minor units, as decimal text where it may be large."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

import strawberry

from service.rest.bodies.prices import OrderQuoteBody, PricesBody, QuoteBody


@strawberry.type
class Price:
    """One price, in whole minor units of its list's currency."""

    key: str
    kind: str = strawberry.field(
        description="`model`, `carved-slat`, `carving-minute`, `order-setup` or `personalised-piece`."
    )
    price: float = strawberry.field(description="Whole minor units.")
    subject: str = strawberry.field(description="Key of the model or slat; empty for all.")
    words: str


@strawberry.type
class PriceList:
    """A price list; `version` is its revision, 0 where the workshop has none yet."""

    version: int
    digest: str | None
    currency: str
    minor_digits: int
    rounding: str
    entries: list[Price]
    made_at: datetime | None


@strawberry.type
class QuoteLine:
    """One figure: `amount` is `quantity` × `price`, rounded once."""

    entry: str
    words: str
    position: int | None = strawberry.field(description="Of the order's line; null for the whole order.")
    quantity: str = strawberry.field(description="Decimal text.")
    unit: str
    price: float = strawberry.field(description="Whole minor units.")
    amount: float = strawberry.field(description="Whole minor units.")
    price_words: str
    amount_words: str


@strawberry.type
class Quote:
    """What an order costs; the amounts add up to `total` exactly."""

    digest: str = strawberry.field(description="Give it to `signOff`.")
    currency: str
    minor_digits: int
    rounding: str
    price_list_version: int
    price_list: str = strawberry.field(description="Digest of the price list.")
    lines: list[QuoteLine]
    total: float = strawberry.field(description="Whole minor units.")
    total_words: str
    not_included: str
    sentence: str


@strawberry.type
class OrderQuote:
    """`current` is what signing agrees to, `signed` what the client agreed to last."""

    current: Quote | None
    signed: Quote | None
    signed_at: datetime | None
    changed: list[str] = strawberry.field(description="What `current` changes against `signed`.")
    lacks: str = strawberry.field(description="Why a workshop with prices has none for this order.")


def price_list_of(body: PricesBody) -> PriceList:
    """From a price list."""
    given = {
        name: getattr(body, name) for name in ("version", "digest", "currency", "minor_digits", "made_at")
    }
    entries = [Price(**{**vars(entry), "kind": entry.kind.value}) for entry in body.entries]
    return PriceList(**given, rounding=body.rounding.value, entries=entries)


def order_quote_of(body: OrderQuoteBody) -> OrderQuote:
    """From what an order costs."""
    return OrderQuote(
        current=_quote_of(body.current),
        signed=_quote_of(body.signed),
        signed_at=body.signed_at,
        changed=list(body.changed),
        lacks=body.lacks,
    )


def _quote_of(body: QuoteBody | None) -> Quote | None:
    if body is None:
        return None
    given = {**vars(body), "rounding": body.rounding.value}
    return Quote(**{**given, "lines": [QuoteLine(**asdict(line)) for line in body.lines]})
