"""What goes into a batch, as values: the use case fills them in, the assembler writes them out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from artwork.furniture import ModelLayout
from service.batches.board_plan import PlannedBoard
from service.batches.drawn import drawn_with
from service.orders.machine import Machine
from service.orders.order import OrderTerms
from service.orders.record import Entry
from service.orders.units import Units

ReadBlob = Callable[[str], bytes]
"""All bytes under a SHA-256 (64 hex digits), checked against it. KeyError when missing, ValueError when damaged."""


@dataclass(frozen=True)
class ShopContent:
    """Who made the batch.

    Attributes:
        key, name: of the workshop.
        software: name and version of this program, as printed on sheets.
        drawn_with: programs that decide the drawings' bytes, name → version.
    """

    key: str
    name: str
    software: str
    drawn_with: Mapping[str, str] = field(default_factory=drawn_with)


@dataclass(frozen=True)
class ModelContent:
    """A furniture model as it was when the order was released.

    Attributes:
        key, name: of the model.
        quantity: pieces ordered.
        note: the client's words on the line.
    """

    key: str
    name: str
    quantity: int
    note: str = ""


@dataclass(frozen=True)
class OrderContent:
    """One order of the batch, without its carvings.

    Attributes:
        id: of the order.
        number: what people say aloud.
        client: name or organisation, for the job sheet.
        address: where the order is seen in a browser, for the sheet's QR code; empty for none.
        lines: what was ordered.
        terms: what the client said of the order that goes to the bench.
        released_at: when it was released.
        machine: that drawings and sheets are made for, as the release froze it.
        plan: sentences about boards and time for the job sheet.
        sheets: further files of the order, name → SHA-256 of the blob (bed layouts, contact sheets).
        boards: what its parts are cut from; none where there is no plan.
        units: that its sheets give lengths in.
        part_of: number of the order that it is part of and paid with; ``None`` for none.
        models: its models as they were when it was released, by key.
        quote: what the client agreed to pay, as :attr:`service.orders.quote.Quote.facts`; ``None`` where the
            workshop had no prices.
    """

    id: str
    number: int
    client: str
    address: str
    lines: tuple[ModelContent, ...]
    terms: OrderTerms
    released_at: datetime
    machine: Machine = field(default_factory=Machine)
    plan: tuple[str, ...] = ()
    sheets: Mapping[str, str] = field(default_factory=dict)
    quote: Mapping[str, Any] | None = None
    boards: tuple[PlannedBoard, ...] = ()
    models: Mapping[str, ModelLayout] = field(default_factory=dict)
    part_of: int | None = None
    units: Units = Units.MM


@dataclass(frozen=True)
class ArtworkContent:
    """The uploaded file a carving was made from.

    Attributes:
        name: as the client called it.
        sha256: of its bytes.
    """

    name: str
    sha256: str


@dataclass(frozen=True)
class CarvingContent:
    """One carving of a released order.

    Attributes:
        id: of the carving.
        order_id: of the order it belongs to.
        line: position of its line within the order, from 1.
        model_key, model_name: of that line.
        slat_key, slat_name: what is carved.
        piece: ordinal of the one piece it is on (from 1), ``None`` for all pieces of the line.
        pieces: on how many pieces it is cut.
        proof_number: of the released proof.
        digest: of the released proof: the SHA-256 of its facts' canonical JSON, which is kept as a blob.
        picture: SHA-256 of the preview that was signed.
        check: the whole check as plain JSON values.
        waived: names of the remarks the client accepted.
        artwork: the file it was made from; ``None`` for a text, which is carved in a typeface.
        text: carved on it; empty for a file's art.
        mark: version of the workshop's own mark that it is, whose id is then ``id``; ``None`` for client's art.
        drawings: file ending → bytes, drawn from the proof's facts (:func:`service.batches.drawn.draw`).
    """

    id: str
    order_id: str
    line: int
    model_key: str
    model_name: str
    slat_key: str
    slat_name: str
    piece: int | None
    pieces: int
    proof_number: int
    digest: str
    picture: str
    check: Mapping[str, Any]
    waived: tuple[str, ...]
    artwork: ArtworkContent | None
    drawings: Mapping[str, bytes]
    text: str = ""
    mark: int | None = None


@dataclass(frozen=True)
class BatchContent:
    """Everything a batch is made of.

    Attributes:
        id: of the batch.
        shop: who made it.
        orders: by number.
        carvings: one after the other, as they are to stand in the archive, those of one order together; read
            once, lazily, so that a thousand of them never lie in memory together.
        record: every entry of the workshop's record from the first to the last one about these orders, oldest
            first, and from the approvals of the marks on them; entries about anything else are written without
            their content.
        read: gives the bytes of a blob.
        marks: ids of the workshop's own marks on the orders.
        parts: ids of orders that these are part of, or that are part of them: the record holds their entries too.
    """

    id: str
    shop: ShopContent
    orders: tuple[OrderContent, ...]
    carvings: Iterable[CarvingContent]
    record: Iterable[Entry]
    read: ReadBlob
    marks: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()
