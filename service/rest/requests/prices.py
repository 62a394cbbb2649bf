"""Price lists, and a signature with its price, as they are asked for."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from artwork.furniture import Minutes
from service.orders.limits import MOST_LINES, MOST_PIECES, MOST_SLATS
from service.orders.price_list import DEAREST, LONGEST_VALID, PriceEntry, PriceKind, Rounding
from service.rest.requests.base import Ask, Digest, Id, Key, ShortText
from service.rest.requests.cutting import ProofsAsk
from service.usecases.commands import Accepting
from service.usecases.pricing import PricesContent, WantedLine, WantedSlat


class PriceAsk(Ask):
    """One price, in whole minor units of the list's currency."""

    makes = PriceEntry
    key: Annotated[Key, Field(description="names it within the list; a quote's line points at it")]
    kind: Annotated[PriceKind, Field(description="what is counted")]
    price: Annotated[int, Field(ge=0, lt=DEAREST, description="minor units for one of it")]
    subject: Annotated[
        Key | None, Field(description="of a model, slat, finish, wood or tax; left out for all")
    ] = None
    words: ShortText = ""
    from_pieces: Annotated[
        int, Field(ge=1, le=MOST_PIECES, description="of that model in the order; 1: whatever is ordered")
    ] = 1

    def values(self) -> dict[str, Any]:
        """Field → value; of all models or slats where none is named."""
        return super().values() | {"subject": self.subject or ""}


class PricesAsk(Ask):
    """A price list; saving makes a new version of all of it."""

    makes = PricesContent

    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$", description="ISO 4217")]
    minor_digits: Annotated[int, Field(ge=0, le=4, description="decimals of the currency")] = 2
    rounding: Annotated[Rounding, Field(description="of each line of a quote, once")] = Rounding.HALF_EVEN
    entries: Annotated[tuple[PriceAsk, ...], Field(max_length=200)]
    deposit_percent: Annotated[
        int, Field(ge=0, le=100, description="of the total; noted, nothing is paid here")
    ] = 0
    valid_days: Annotated[
        int, Field(ge=0, le=LONGEST_VALID, description="that a quote's prices hold; 0: until the next list")
    ] = 0


class WantedSlatAsk(Ask):
    """A slat that would carry art."""

    makes = WantedSlat

    slat_key: Key
    minutes: Minutes = 0.0
    personalised: bool = False


class WantedLineAsk(Ask):
    """So many pieces of a model that somebody may order."""

    makes = WantedLine

    model_key: Key
    quantity: Annotated[int, Field(ge=1, le=MOST_PIECES)]
    slats: Annotated[
        tuple[WantedSlatAsk, ...], Field(max_length=MOST_SLATS, description="that would carry art")
    ] = ()


class QuoteForAsk(Ask):
    """What somebody may order."""

    lines: Annotated[tuple[WantedLineAsk, ...], Field(min_length=1, max_length=MOST_LINES)]


class AcceptedAsk(Ask):
    """Remarks of one proof that the client accepts with the signature, by name."""

    carving_id: Id
    remarks: Annotated[tuple[Annotated[str, Field(max_length=100)], ...], Field(min_length=1, max_length=500)]


class AcceptedKindsAsk(Ask):
    """Kinds of remarks that the client accepts with the signature, on whichever parts of the suite they are."""

    suite_id: Id
    kinds: Annotated[tuple[Annotated[str, Field(max_length=100)], ...], Field(min_length=1, max_length=50)]


class SignatureAsk(ProofsAsk):
    """The proofs signed, the price agreed to with them, and all that goes with the signature as one act."""

    accepted: Annotated[
        tuple[AcceptedAsk, ...], Field(max_length=500, description="remarks accepted with the signature")
    ] = ()
    accepted_together: Annotated[
        tuple[AcceptedKindsAsk, ...], Field(max_length=100, description="the same for whole suites, by kind")
    ] = ()
    draft_revision: Annotated[
        int | None,
        Field(ge=0, description="revision of the draft that is sent to the maker with the signature"),
    ] = None
    quote: Annotated[
        Digest | None,
        Field(description="`digest` of the quote that was shown; needed where the workshop has prices"),
    ] = None

    @property
    def accepting(self) -> Accepting:
        """As the use cases take it."""
        return Accepting(
            {one.carving_id: one.remarks for one in self.accepted},
            {one.suite_id: one.kinds for one in self.accepted_together},
        )
