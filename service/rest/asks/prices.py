"""Price lists, and a signature with its price, as they are asked for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.orders.price_list import DEAREST, PriceEntry, PriceKind, Rounding
from service.rest.asks.base import Ask, Digest, Key, ShortText
from service.rest.asks.cutting import ProofsAsk
from service.usecases.pricing import PricesContent


class PriceAsk(Ask):
    """One price, in whole minor units of the list's currency."""

    key: Annotated[Key, Field(description="names it within the list; a quote's line points at it")]
    kind: Annotated[PriceKind, Field(description="what is counted")]
    price: Annotated[int, Field(ge=0, lt=DEAREST, description="minor units for one of it")]
    subject: Annotated[Key | None, Field(description="of a model or a slat; left out for all")] = None
    words: ShortText = ""

    def entry(self) -> PriceEntry:
        """As the rules take it."""
        return PriceEntry(self.key, self.kind, self.price, self.subject or "", self.words)


class PricesAsk(Ask):
    """A price list; saving makes a new version of all of it."""

    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$", description="ISO 4217")]
    minor_digits: Annotated[int, Field(ge=0, le=4, description="decimals of the currency")] = 2
    rounding: Annotated[Rounding, Field(description="of each line of a quote, once")] = Rounding.HALF_EVEN
    entries: Annotated[tuple[PriceAsk, ...], Field(max_length=200)]

    def content(self) -> PricesContent:
        """As the use cases take it."""
        entries = tuple(price.entry() for price in self.entries)
        return PricesContent(self.currency, self.minor_digits, self.rounding, entries)


class SignatureAsk(ProofsAsk):
    """The proofs signed, and the price agreed to with them."""

    quote: Annotated[
        Digest | None,
        Field(description="`digest` of the quote that was shown; needed where the workshop has prices"),
    ] = None
