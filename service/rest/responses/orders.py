"""An order and everything in it, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from artwork.picture_frame import PictureFrame
from service.orders.artworks import Artwork, StoredReading
from service.orders.order import Carving, Line, Order
from service.orders.proofs import Proof
from service.rest.raw_json import stored_as
from service.rest.responses.base import Total, shown, shows
from service.rest.responses.judged import CheckBody, FactsBody, ReportBody, picture_frame
from service.usecases.answers import OrderAggregate, Page, PlacedOrder

API = "/api/v1"
_NOT_IN_LISTS = ("rights_granted", "note", "reason", "copied_from", "erased_at")


@shows(Artwork)
class ArtworkBody:
    """One file of an order, kept byte for byte; `original_url` gives it back as an attachment."""

    original_url: str


@shows(StoredReading, without=("order_id", "outline", "picture"))
class ReadingBody:
    """What was read from a file under one set of wishes."""

    report: stored_as(ReportBody) | None  # type: ignore[valid-type]
    picture_url: str | None


@shows(Proof, without=("order_id", "basis", "outline"))
class ProofBody:
    """One judged cut. A decision names `digest` and `picture`; `check` holds findings and figures.

    `remarks` are accepted by name before signing off: of the findings, and of what the file lost in reading, whose
    names begin with `file-` and whose words are in `facts.file_remarks`. `close_up` is what a view of its art shows:
    left, low, right, high, slat mm.
    """

    check: stored_as(CheckBody)  # type: ignore[valid-type]
    facts: stored_as(FactsBody)  # type: ignore[valid-type]
    picture_frame: Annotated[
        PictureFrame,
        Field(
            description="of the picture that people sign, unless it is one piece of a list; of `getProofView` with "
            "1 / density mm per pixel instead"
        ),
    ]
    close_up: tuple[float, float, float, float]
    picture_url: str
    drawing_urls: Mapping[str, str]


@shows(Carving, without=("reading_id", "outline", "proof_id", "verdict", "kept"))
class CarvingBody:
    """The art on one slat: where it stands, how it lies, and its current reading and proof."""

    reading: ReadingBody | None
    proof: ProofBody | None


@shows(Line, without=("order_id",))
class LineBody:
    """So many pieces of one furniture model, and what is carved on them."""

    carvings: tuple[CarvingBody, ...]


@shows(Order, without=("workshop_id", "payment_reference", *_NOT_IN_LISTS))
class BriefOrder:
    """An order in a list."""

    url: str


@shows(Order, without=("workshop_id",))
class OrderBody:
    """An order with everything in it."""

    url: str
    lines: tuple[LineBody, ...]
    artworks: tuple[ArtworkBody, ...]


@dataclass(frozen=True)
class ProofsBody:
    """Every proof a carving ever had, newest first."""

    items: tuple[ProofBody, ...]
    total: int


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
    total: Total


@dataclass(frozen=True)
class ActivityBody:
    """Raised by every change to anything within the order."""

    activity: int


def artwork_body(artwork: Artwork) -> ArtworkBody:
    """From the stored file's facts."""
    return shown(ArtworkBody, artwork, original_url=f"{API}/artworks/{artwork.id}/original")


def reading_body(reading: StoredReading) -> ReadingBody:
    """From a stored reading."""
    url = f"{API}/readings/{reading.id}/picture" if reading.picture else None
    return shown(ReadingBody, reading, picture_url=url)


def proof_body(proof: Proof) -> ProofBody:
    """From a proof."""
    url = f"{API}/proofs/{proof.id}"
    drawings = {form: f"{url}/drawing.{form}" for form in ("svg", "dxf", "pdf")}
    frame = picture_frame(proof.facts)
    return shown(ProofBody, proof, picture_frame=frame, picture_url=f"{url}/picture", drawing_urls=drawings)


def carving_body(carving: Carving, reading: StoredReading | None, proof: Proof | None) -> CarvingBody:
    """From a carving with its current reading and proof."""
    return shown(
        CarvingBody,
        carving,
        reading=reading_body(reading) if reading else None,
        proof=proof_body(proof) if proof else None,
    )


def order_body(whole: OrderAggregate) -> OrderBody:
    """From a whole order."""
    return shown(
        OrderBody,
        whole.order,
        url=order_url(whole.order.id),
        lines=tuple(_line_body(line, whole) for line in whole.lines),
        artworks=tuple(artwork_body(artwork) for artwork in whole.artworks),
    )


def _line_body(line: Line, whole: OrderAggregate) -> LineBody:
    readings = {reading.id: reading for reading in whole.readings}
    proofs = {proof.id: proof for proof in whole.proofs}
    carvings = (
        carving_body(carving, readings.get(carving.reading_id or ""), proofs.get(carving.proof_id or ""))
        for carving in whole.carvings
        if carving.line_id == line.id
    )
    return shown(LineBody, line, carvings=tuple(carvings))


def new_order_body(placed: PlacedOrder) -> NewOrderBody:
    """From an order just placed."""
    return NewOrderBody(order_body(placed.whole), placed.link_token)


def brief_order(order: Order) -> BriefOrder:
    """From an order in a list."""
    return shown(BriefOrder, order, url=order_url(order.id))


def next_cursor(page: Page[Any]) -> str | None:
    """What to give back for the following page."""
    return page.cursors[-1] if page.more and page.cursors else None


def order_url(order_id: str) -> str:
    """Where an order is."""
    return f"{API}/orders/{order_id}"
