"""An order and everything in it, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from artwork.cut import Placement
from artwork.intake.values import Wishes
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.order import Carving, Contact, Line, Order, Trouble
from service.orders.proofs import Proof
from service.orders.states import CarvingState, OrderState
from service.rest.verbatim import Verbatim
from service.usecases.answers import Page, PlacedOrder, WholeOrder

API = "/api/v1"


@dataclass(frozen=True)
class ArtworkBody:
    """One file of an order, kept byte for byte; `original_url` gives it back as an attachment."""

    id: str
    order_id: str
    name: str
    content_type: str
    size: int
    sha256: str
    uploaded_at: datetime
    original_url: str


@dataclass(frozen=True)
class ReadingBody:
    """What was read from a file under one set of wishes."""

    id: str
    artwork_id: str
    wishes: Wishes
    state: ReadingState
    kind: str | None
    format: str | None
    report: Mapping[str, Any] | None
    trouble: Trouble | None
    picture_url: str | None


@dataclass(frozen=True)
class ProofBody:
    """One judged cut. A decision names `digest` and `picture`; `check` holds findings and figures.

    `remarks` are accepted by name before signing off: of the findings, and of what the file lost in reading, whose
    names begin with `file-` and whose words are in `facts.file_remarks`.
    """

    id: str
    carving_id: str
    number: int
    digest: str
    picture: str
    pieces: int
    verdict: str
    sentence: str
    check: Verbatim
    facts: Verbatim
    remarks: tuple[str, ...]
    waived: tuple[str, ...]
    signed_at: datetime | None
    judged_at: datetime | None
    stale_because: str
    made_at: datetime
    picture_url: str
    drawing_urls: Mapping[str, str]


@dataclass(frozen=True)
class CarvingBody:
    """The art on one slat: where it stands, how it lies, and its current reading and proof."""

    id: str
    order_id: str
    line_id: str
    slat_key: str
    piece: int | None
    state: CarvingState
    revision: int
    artwork_id: str | None
    reading: ReadingBody | None
    outline_note: str
    placement: Placement | None
    bit_key: str | None
    thickness: float | None
    allowances: Mapping[str, float | bool]
    trouble: Trouble | None
    proof: ProofBody | None


@dataclass(frozen=True)
class LineBody:
    """So many pieces of one furniture model, and what is carved on them."""

    id: str
    position: int
    model_key: str
    quantity: int
    note: str
    carvings: tuple[CarvingBody, ...]


@dataclass(frozen=True)
class BriefOrder:
    """An order in a list."""

    id: str
    number: int
    state: OrderState
    revision: int
    activity: int
    contact: Contact
    needed_by: date | None
    created_at: datetime
    updated_at: datetime
    submitted_at: datetime | None
    released_at: datetime | None
    url: str


@dataclass(frozen=True)
class OrderBody:
    """An order with everything in it."""

    id: str
    number: int
    state: OrderState
    revision: int
    activity: int
    contact: Contact
    needed_by: date | None
    rights_granted: bool
    note: str
    reason: str
    created_at: datetime
    updated_at: datetime
    submitted_at: datetime | None
    released_at: datetime | None
    copied_from: str | None
    erased_at: datetime | None
    url: str
    lines: tuple[LineBody, ...]
    artworks: tuple[ArtworkBody, ...]


@dataclass(frozen=True)
class NewOrderBody:
    """A new order and the secret of its client's link: it is shown this once."""

    order: OrderBody
    link_token: str


@dataclass(frozen=True)
class OrdersBody:
    """One page of orders; give `next` back as `after` for the following one, `null` at the end."""

    items: tuple[BriefOrder, ...]
    next: str | None


@dataclass(frozen=True)
class ActivityBody:
    """Raised by every change to anything within the order."""

    activity: int


def artwork_body(artwork: Artwork) -> ArtworkBody:
    """From the stored file's facts."""
    return ArtworkBody(
        id=artwork.id,
        order_id=artwork.order_id,
        name=artwork.name,
        content_type=artwork.content_type,
        size=artwork.size,
        sha256=artwork.sha256,
        uploaded_at=artwork.uploaded_at,
        original_url=f"{API}/artworks/{artwork.id}/original",
    )


def reading_body(reading: StoredReading) -> ReadingBody:
    """From a stored reading."""
    return ReadingBody(
        id=reading.id,
        artwork_id=reading.artwork_id,
        wishes=reading.wishes,
        state=reading.state,
        kind=reading.kind,
        format=reading.format,
        report=reading.report,
        trouble=reading.trouble,
        picture_url=f"{API}/readings/{reading.id}/picture" if reading.picture else None,
    )


def proof_body(proof: Proof) -> ProofBody:
    """From a proof."""
    url = f"{API}/proofs/{proof.id}"
    return ProofBody(
        id=proof.id,
        carving_id=proof.carving_id,
        number=proof.number,
        digest=proof.digest,
        picture=proof.picture,
        pieces=proof.pieces,
        verdict=proof.verdict,
        sentence=proof.sentence,
        check=proof.check,
        facts=proof.facts,
        remarks=proof.remarks,
        waived=proof.waived,
        signed_at=proof.signed_at,
        judged_at=proof.judged_at,
        stale_because=proof.stale_because,
        made_at=proof.made_at,
        picture_url=f"{url}/picture",
        drawing_urls={form: f"{url}/drawing.{form}" for form in ("svg", "dxf", "pdf")},
    )


def carving_body(carving: Carving, reading: StoredReading | None, proof: Proof | None) -> CarvingBody:
    """From a carving with its current reading and proof."""
    return CarvingBody(
        id=carving.id,
        order_id=carving.order_id,
        line_id=carving.line_id,
        slat_key=carving.slat_key,
        piece=carving.piece,
        state=carving.state,
        revision=carving.revision,
        artwork_id=carving.artwork_id,
        reading=reading_body(reading) if reading else None,
        outline_note=carving.outline_note,
        placement=carving.placement,
        bit_key=carving.bit_key,
        thickness=carving.thickness,
        allowances=carving.allowances,
        trouble=carving.trouble,
        proof=proof_body(proof) if proof else None,
    )


def order_body(whole: WholeOrder) -> OrderBody:
    """From a whole order."""
    order = whole.order
    return OrderBody(
        id=order.id,
        number=order.number,
        state=order.state,
        revision=order.revision,
        activity=order.activity,
        contact=order.contact,
        needed_by=order.needed_by,
        rights_granted=order.rights_granted,
        note=order.note,
        reason=order.reason,
        created_at=order.created_at,
        updated_at=order.updated_at,
        submitted_at=order.submitted_at,
        released_at=order.released_at,
        copied_from=order.copied_from,
        erased_at=order.erased_at,
        url=order_url(order.id),
        lines=tuple(_line_body(line, whole) for line in whole.lines),
        artworks=tuple(artwork_body(artwork) for artwork in whole.artworks),
    )


def _line_body(line: Line, whole: WholeOrder) -> LineBody:
    readings = {reading.id: reading for reading in whole.readings}
    proofs = {proof.id: proof for proof in whole.proofs}
    carvings = (
        carving_body(carving, readings.get(carving.reading_id or ""), proofs.get(carving.proof_id or ""))
        for carving in whole.carvings
        if carving.line_id == line.id
    )
    return LineBody(line.id, line.position, line.model_key, line.quantity, line.note, tuple(carvings))


def new_order_body(placed: PlacedOrder) -> NewOrderBody:
    """From an order just placed."""
    return NewOrderBody(order_body(placed.whole), placed.link_token)


def brief_order(order: Order) -> BriefOrder:
    """From an order in a list."""
    return BriefOrder(
        id=order.id,
        number=order.number,
        state=order.state,
        revision=order.revision,
        activity=order.activity,
        contact=order.contact,
        needed_by=order.needed_by,
        created_at=order.created_at,
        updated_at=order.updated_at,
        submitted_at=order.submitted_at,
        released_at=order.released_at,
        url=order_url(order.id),
    )


def orders_body(page: Page[Order]) -> OrdersBody:
    """From one page of orders."""
    return OrdersBody(tuple(brief_order(order) for order in page.items), next_cursor(page))


def next_cursor(page: Page[Any]) -> str | None:
    """What to give back for the following page."""
    return page.cursors[-1] if page.more and page.cursors else None


def order_url(order_id: str) -> str:
    """Where an order is."""
    return f"{API}/orders/{order_id}"
