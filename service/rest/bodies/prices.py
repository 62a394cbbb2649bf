"""Price lists and quotes, as JSON. Money is in whole minor units; quantities are decimal text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.orders.price_list import PriceEntry, Rounding, amount_text
from service.orders.quote import NOT_INCLUDED, Quote
from service.usecases.pricing import DatedPrices, OrderQuote


@dataclass(frozen=True)
class PricesBody:
    """A price list; `version` is its revision, 0 where the workshop has none yet."""

    version: int
    digest: str | None
    currency: str
    minor_digits: int
    rounding: Rounding
    entries: tuple[PriceEntry, ...]
    made_at: datetime | None


@dataclass(frozen=True)
class PriceListsBody:
    """Every price list there was, newest first."""

    items: tuple[PricesBody, ...]


@dataclass(frozen=True)
class QuoteLineBody:
    """One figure: `amount` is `quantity` × `price`, rounded once; `position` is the order's line."""

    entry: str
    words: str
    position: int | None
    quantity: str
    unit: str
    price: int
    amount: int
    price_words: str
    amount_words: str


@dataclass(frozen=True)
class QuoteBody:
    """What an order costs; the amounts add up to `total` exactly."""

    digest: str
    currency: str
    minor_digits: int
    rounding: Rounding
    price_list_version: int
    price_list: str
    lines: tuple[QuoteLineBody, ...]
    total: int
    total_words: str
    not_included: str
    sentence: str


@dataclass(frozen=True)
class OrderQuoteBody:
    """`current` is what signing agrees to, `signed` what the client agreed to last.

    Without a price list both are `null` and nothing about prices is signed; `lacks` says why a workshop with
    prices has none for this order.
    """

    current: QuoteBody | None
    signed: QuoteBody | None
    signed_at: datetime | None
    changed: tuple[str, ...]
    lacks: str


def prices_body(dated: DatedPrices | None) -> PricesBody:
    """From a price list, or from there being none."""
    if dated is None:
        return PricesBody(0, None, "USD", 2, Rounding.HALF_EVEN, (), None)
    prices = dated.prices
    return PricesBody(
        version=prices.version,
        digest=prices.digest,
        currency=prices.currency,
        minor_digits=prices.minor_digits,
        rounding=prices.rounding,
        entries=prices.entries,
        made_at=dated.made_at,
    )


def quote_body(quote: Quote) -> QuoteBody:
    """From a quote."""

    def words(amount: int) -> str:
        return amount_text(amount, quote.currency, quote.minor_digits)

    lines = tuple(
        QuoteLineBody(
            entry=line.entry,
            words=line.words,
            position=line.position,
            quantity=str(line.quantity),
            unit=line.unit,
            price=line.price,
            amount=line.amount,
            price_words=words(line.price),
            amount_words=words(line.amount),
        )
        for line in quote.lines
    )
    return QuoteBody(
        digest=quote.digest,
        currency=quote.currency,
        minor_digits=quote.minor_digits,
        rounding=quote.rounding,
        price_list_version=quote.price_list_version,
        price_list=quote.price_list,
        lines=lines,
        total=quote.total,
        total_words=words(quote.total),
        not_included=NOT_INCLUDED,
        sentence=quote.sentence,
    )


def order_quote_body(found: OrderQuote) -> OrderQuoteBody:
    """From what an order costs."""
    return OrderQuoteBody(
        current=None if found.current is None else quote_body(found.current),
        signed=None if found.signed is None else quote_body(found.signed.quote),
        signed_at=None if found.signed is None else found.signed.signed_at,
        changed=found.changed,
        lacks=found.lacks,
    )
