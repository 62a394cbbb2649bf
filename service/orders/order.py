"""The order, its lines and its carvings, as they stand now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from datetime import date, datetime
from typing import Annotated

from pydantic import Field

from artwork.cut import Placement
from artwork.findings.values import Verdict
from service.orders.definition import OneOf, Trait
from service.orders.finishes import Finish
from service.orders.ids import KEY_PATTERN
from service.orders.limits import (
    FARTHEST,
    FARTHEST_SHIFT,
    LONGEST_ADDRESS,
    LONGEST_EMAIL,
    LONGEST_NAME,
    LONGEST_NOTE,
    LONGEST_SITE_NUMBER,
    MOST_PIECES,
)
from service.orders.site import NO_SITE, OrderKind, Payment, SiteTerms
from service.orders.states import CarvingState, OrderState
from service.orders.versions import ChosenVersion

Id = Annotated[str, Trait.ID]
Key = Annotated[str, Field(pattern=KEY_PATTERN), Trait.KEY]
Name = Annotated[str, Field(max_length=LONGEST_NAME), Trait.SEARCHABLE, Trait.PERSONAL]
Note = Annotated[str, Field(max_length=LONGEST_NOTE), Trait.LINES, Trait.PERSONAL]


@dataclass(frozen=True)
class Contact:
    """Whom to reach about an order. Erased when the client asks."""

    name: Name = ""
    email: Annotated[str, Field(max_length=LONGEST_EMAIL), Trait.SEARCHABLE, Trait.PERSONAL] = ""
    phone: Annotated[str, Field(max_length=40), Trait.SEARCHABLE, Trait.PERSONAL] = ""
    organisation: Name = ""
    language: Annotated[
        str,
        Field(
            max_length=2,
            pattern=r"^(en|de)?$",
            description="the language that mails come in (`en`, `de`); empty for English",
        ),
        Trait.PERSONAL,
    ] = ""


@dataclass(frozen=True)
class OrderTerms:
    """What a client says of an order: a field added here is stored, taken, shown, and where it says so searched
    for and erased.

    Attributes:
        needed_by: the day it must be at the client's place.
    """

    contact: Annotated[Contact, Trait.PERSONAL] = Contact()
    _: KW_ONLY
    needed_by: Annotated[date | None, Trait.ONCE, Trait.BENCH] = None
    rights_granted: Annotated[bool, Field(description="the client states that they may use the art")] = False
    note: Annotated[Note, Trait.SEARCHABLE, Trait.BENCH] = ""
    purchase_order: Annotated[
        str,
        Field(
            max_length=60, title="Client's order number", description="the client's own number for the order"
        ),
        Trait.SEARCHABLE,
        Trait.PERSONAL,
        Trait.ONCE,
        Trait.BENCH,
    ] = ""
    delivery_address: Annotated[
        str,
        Field(
            max_length=LONGEST_ADDRESS,
            title="Delivered to",
            description="where the furniture is delivered; empty where the client fetches it",
        ),
        Trait.LINES,
        Trait.SEARCHABLE,
        Trait.PERSONAL,
        Trait.BENCH,
    ] = ""
    may_shift: Annotated[
        float,
        Field(
            ge=0,
            le=FARTHEST_SHIFT,
            allow_inf_nan=False,
            description="the maker may shift art so far on a board with a knot, mm; agreed to with the signature",
        ),
    ] = 0.0


@dataclass(frozen=True, kw_only=True)
class Order(OrderTerms):
    """One client's order.

    Attributes:
        number: what people say aloud, counted per workshop from 1; below zero for checks and tests, which take none.
        kind: an order, or one that never reaches the maker.
        payment: whether it is paid, as its site says.
        payment_reference: what the site finds the payment by.
        reason: why it was cancelled, else empty.
        copied_from: the order this one was reordered from.
        part_of: the order this one was split from; one quote holds for it and all its parts.
        erased_at: when the client's particulars and art were erased, else ``None``.
    """

    id: Id
    workshop_id: Id
    number: Annotated[int, Trait.SEARCHABLE]
    state: OrderState
    revision: Annotated[int, Field(description="raised by every change to the order itself or its lines")]
    activity: Annotated[int, Field(description="raised by every change to anything within the order")]
    created_at: datetime
    updated_at: datetime
    submitted_at: datetime | None = None
    released_at: datetime | None = None
    reason: Annotated[str, Trait.LINES] = ""
    copied_from: Id | None = None
    part_of: Id | None = None
    travel_km: Annotated[
        float, Field(ge=0, le=FARTHEST, description="to the site and back, as the maker says, km")
    ] = 0.0
    erased_at: datetime | None = None
    site: Annotated[SiteTerms, Trait.PERSONAL] = NO_SITE
    kind: OrderKind = OrderKind.ORDER
    payment: Payment = Payment.UNSAID
    payment_reference: Annotated[str, Field(max_length=LONGEST_SITE_NUMBER), Trait.PERSONAL] = ""


@dataclass(frozen=True)
class LineTerms:
    """What a client says of a line."""

    model_key: Key
    quantity: Annotated[int, Field(ge=1, le=MOST_PIECES)]
    _: KW_ONLY
    note: Note = ""
    finish: Annotated[Finish, Field(description="what is put on the wood, of what the workshop offers")] = (
        Finish.BARE
    )


@dataclass(frozen=True, kw_only=True)
class Line(LineTerms):
    """So many pieces of one furniture model.

    Attributes:
        of_line: position of the line it was split from, in the order that its order is part of; ``None`` for none.
    """

    id: Id
    order_id: Id
    position: int
    of_line: int | None = None


@dataclass(frozen=True)
class Trouble:
    """Why artwork or a carving could not be taken further; the engine's refusal, kept."""

    code: str
    message: str
    cure: str


@dataclass(frozen=True)
class KeptArt:
    """Art that a carving had before the file that is now being read and checked: what it may fall back to.

    Attributes:
        artwork_id, reading_id, outline, outline_note, placement, version: as in :class:`Carving`; ``outline`` is
            ``None`` for art that had not been read yet when other art was sent.
    """

    artwork_id: str | None
    reading_id: str
    outline: str | None
    outline_note: str
    placement: Placement | None
    version: ChosenVersion | None = None


@dataclass(frozen=True)
class Carving:
    """The art on one slat of every piece of a line, or of one piece of it.

    Attributes:
        slat_key: which slat of the line's model.
        piece: ordinal of the one piece it is on (from 1), ``None`` for all pieces of the line.
        revision: raised by every change to the carving; ``expected_revision`` of carving use cases names it.
        artwork_id, reading_id: the file and the reading of it that is used.
        outline: SHA-256 of the packed outline carved, ``None`` until read (a remedy may have changed it).
        outline_note: how the outline differs from the reading's, in words; empty for not at all.
        placement: where it lies, ``None`` until placed.
        bit_key: the bit, ``None`` for the workshop's usual one.
        thickness: mm, for a board other than the model's, else ``None``.
        allowances: field → value set for this carving alone, over the slat's and the workshop's.
        proof_id: the current proof, ``None`` while there is none for what is set now.
        verdict: the current proof's.
        trouble: why it goes no further while the state is ``refused``; else why the file sent last was not
            taken, until something else is done.
        kept: what it goes back to should the art now being read or checked be refused, newest first: art sent
            in a hurry, unread when it was replaced, then at most one that had been read.
        version: what was chosen in place of what was sent, ``None`` where nothing was.
    """

    id: str
    order_id: str
    line_id: str
    slat_key: str
    piece: int | None
    state: CarvingState
    revision: int
    artwork_id: str | None
    reading_id: str | None
    outline: str | None
    outline_note: str
    placement: Placement | None
    bit_key: str | None
    thickness: float | None
    allowances: Mapping[str, float | bool] = field(default_factory=dict)
    proof_id: str | None = None
    verdict: Annotated[str, OneOf(Verdict)] | None = None
    trouble: Trouble | None = None
    kept: tuple[KeptArt, ...] = ()
    version: ChosenVersion | None = None
