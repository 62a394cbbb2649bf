"""Price lists and quotes, as JSON. Money is in whole minor units; quantities are decimal text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from service.orders.price_list import PriceList, Rounding, amount_text
from service.orders.quote import Quote, QuoteLine
from service.rest.responses.base import shown, shows
from service.usecases.pricing import DatedPrices, OrderQuote, PricesContent


@shows(PriceList, without=("digest",))
class PricesBody:
    """A price list; `version` is its revision, 0 where the workshop has none yet."""

    digest: str | None
    made_at: datetime | None


@dataclass(frozen=True)
class PriceListsBody:
    """Every price list there was, newest first."""

    items: tuple[PricesBody, ...]


@shows(QuoteLine, without=("quantity",))
class QuoteLineBody:
    """One figure: `amount` is `quantity` × `price`, rounded once; `position` is the order's line."""

    quantity: str
    price_words: str
    amount_words: str


@shows(Quote, without=("lines",))
class QuoteBody:
    """What an order costs; the amounts add up to `total` exactly."""

    digest: str
    lines: tuple[QuoteLineBody, ...]
    total: int
    total_words: str
    deposit_words: str
    not_included: str
    sentence: str


@dataclass(frozen=True)
class QuoteForBody:
    """What it would cost; `null` for a workshop without prices."""

    quote: QuoteBody | None


@dataclass(frozen=True)
class OrderQuoteBody:
    """`current` is what signing agrees to, `signed` what the client agreed to last.

    Without a price list both are `null` and nothing about prices is signed; `lacks` says why a workshop with
    prices has none for this order. On `valid_until` `current` can be signed for the last time, whatever list follows.
    """

    current: QuoteBody | None
    signed: QuoteBody | None
    signed_at: datetime | None
    changed: tuple[str, ...]
    lacks: str
    valid_until: date | None


def prices_body(dated: DatedPrices | None) -> PricesBody:
    """From a price list, or from there being none."""
    if dated is None:
        none = PricesContent("USD", 2, Rounding.HALF_EVEN, ())
        return shown(PricesBody, none, version=0, digest=None, made_at=None)
    return shown(PricesBody, dated.prices, made_at=dated.made_at)


def quote_body(quote: Quote) -> QuoteBody:
    """From a quote."""

    def words(amount: int) -> str:
        return amount_text(amount, quote.currency, quote.minor_digits)

    lines = (
        shown(
            QuoteLineBody,
            line,
            quantity=str(line.quantity),
            price_words=words(line.price),
            amount_words=words(line.amount),
        )
        for line in quote.lines
    )
    return shown(
        QuoteBody,
        quote,
        lines=tuple(lines),
        total_words=words(quote.total),
        deposit_words=words(quote.deposit) if quote.deposit else "",
    )


def quote_for_body(found: Quote | None) -> QuoteForBody:
    """From a quote, or from there being no prices."""
    return QuoteForBody(None if found is None else quote_body(found))


def order_quote_body(found: OrderQuote) -> OrderQuoteBody:
    """From what an order costs."""
    return OrderQuoteBody(
        current=None if found.current is None else quote_body(found.current),
        signed=None if found.signed is None else quote_body(found.signed.quote),
        signed_at=None if found.signed is None else found.signed.signed_at,
        changed=found.changed,
        lacks=found.lacks,
        valid_until=found.valid_until,
    )
