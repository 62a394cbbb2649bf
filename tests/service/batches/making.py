"""Batch contents for the tests: released orders with a true record, without a store."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from artwork.digest import facts as cut_facts
from artwork.workpiece import Allowances, Bit
from seeds.shop import load
from service.batches.board_plan import planned
from service.batches.content import (
    ArtworkContent,
    BatchContent,
    CarvingContent,
    ModelContent,
    OrderContent,
    ShopContent,
)
from service.batches.drawn import DrawnProof, draw
from service.batches.order_sheets import order_sheets
from service.boards.cut_parts import CutLine, cut_parts
from service.boards.shop import stocks_of
from service.boards.wood_plan import plan_wood
from service.orders.chain import BEFORE_THE_FIRST, AuditEvent, link
from service.orders.order import OrderTerms
from service.orders.record import Entry, EntryKind
from tests.artwork.relief.pieces import circle, cut_of, rectangle

SIGNER = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
SHOP = ShopContent("oxbarrow", "Oxbarrow Benchworks", "Slatproof 0.1.0")
SLAT = load().model("fernhollow-chair").slat("back-centre")
FIGURES = {
    "least_line": 3.1, "least_line_required": 1.89, "least_land": None, "least_land_required": 2.97,
    "depth": 7.8, "depth_limit": 8.46, "deepest_cut": 8.34, "wood_left": 17.06, "width": 60.0, "height": 70.0,
    "minutes": 4.2,
}  # fmt: skip
START = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


class Shelf:
    """Blobs in memory."""

    def __init__(self) -> None:
        self.blobs: dict[str, bytes] = {}

    def put(self, data: bytes) -> str:
        digest = hashlib.sha256(data).hexdigest()
        self.blobs[digest] = data
        return digest

    def get(self, digest: str) -> bytes:
        data = self.blobs[digest]
        if hashlib.sha256(data).hexdigest() != digest:
            raise ValueError(digest)
        return data


class Book:
    """A record of decisions being written."""

    def __init__(self, hours_per_entry: float = 0.02) -> None:
        self.entries: list[Entry] = []
        self.step = timedelta(hours=hours_per_entry)

    def enter(self, kind: EntryKind, order: str | None, **more: Any) -> None:
        number = len(self.entries) + 1
        previous = self.entries[-1].this if self.entries else BEFORE_THE_FIRST
        carving = more.pop("carving", None)
        deed = AuditEvent(
            kind=kind,
            at=START + number * self.step,
            actor="maker:m1" if kind in {EntryKind.FEASIBILITY, EntryKind.RELEASE} else "client:c1",
            order_id=order,
            carving_id=carving,
            name="Imke Harrowdale",
            address="127.0.0.1",
            words="Lovely.",
            **more,
        )
        self.entries.append(link(deed, "w1", number, previous))

    def approve(self, carving: CarvingContent) -> None:
        for kind in (EntryKind.SIGN_OFF, EntryKind.FEASIBILITY):
            self.enter(
                kind, carving.order_id, carving=carving.id, digest=carving.digest, picture=carving.picture
            )

    def release(self, order: str) -> None:
        self.enter(EntryKind.RELEASE, order)


def carving_of(shelf: Shelf, order: OrderContent, number: int, **change: Any) -> CarvingContent:
    """A carving whose blobs are on the shelf; small made-up bytes stand for pictures and drawings."""
    bar = rectangle(-30, 600, 30, 603 + number / 10)
    facts = cut_facts(cut_of(bar, circle(0, 650, 20), slat=SLAT, bit=Bit("v60"), allowances=Allowances()))
    carving = CarvingContent(
        id=f"{order.id}-c{number}",
        order_id=order.id,
        line=1,
        model_key="fernhollow-chair",
        model_name="Fernhollow chair",
        slat_key="back-centre",
        slat_name="wide centre back slat",
        piece=None,
        pieces=12,
        proof_number=2,
        digest=shelf.put(rfc8785.dumps(facts)),
        picture=shelf.put(f"picture {order.id} {number}".encode()),
        check={"verdict": "carves", "sentence": "It carves.", "findings": [], "figures": FIGURES},
        waived=(),
        artwork=ArtworkContent("crest.svg", shelf.put(b"<svg/>")),
        drawings={},
    )
    carving = replace(carving, **change)
    if carving.drawings:
        return carving
    proof = DrawnProof(shelf.get(carving.digest), carving.slat_name)
    return replace(carving, drawings=draw(proof, order.machine))


def order_of(number: int) -> OrderContent:
    """A released order."""
    return OrderContent(
        id=f"o{number}",
        number=number,
        client="Quillfern Botanical Garden",
        address=f"http://127.0.0.1:8000/orders/o{number}",
        lines=(ModelContent("fernhollow-chair", "Fernhollow chair", 12, "by the pond"),),
        terms=OrderTerms(needed_by=date(2026, 5, 1)),
        released_at=START + timedelta(days=1),
    )


def with_boards(shelf: Shelf, order: OrderContent, carvings: Sequence[CarvingContent]) -> OrderContent:
    """The order with its boards, and the sheets that are made of them."""
    mine = [each for each in carvings if each.order_id == order.id]
    carved = {(each.slat_key, each.piece): (each.digest, each.text) for each in mine}
    proofs = {each.digest: DrawnProof(shelf.get(each.digest), each.slat_name) for each in mine}
    known = repr((order, carved, proofs))
    if known not in _DRAWN:
        _DRAWN[known] = _drawn(order, carved, proofs)
    planned_order, sheets = _DRAWN[known]
    return replace(planned_order, sheets={name: shelf.put(data) for name, data in sheets.items()})


_DRAWN: dict[str, tuple[OrderContent, Mapping[str, bytes]]] = {}
"""Orders with their boards, and their sheets: most tests alter the same few, and drawing one takes half a second."""


def _drawn(
    order: OrderContent,
    carved: Mapping[tuple[str, int | None], tuple[str, str]],
    proofs: Mapping[str, DrawnProof],
) -> tuple[OrderContent, Mapping[str, bytes]]:
    layout = load().model("fernhollow-chair")
    plan = plan_wood(
        cut_parts([CutLine(1, layout, order.lines[0].quantity, carved)]), stocks_of(order.machine)
    )
    order = replace(order, boards=planned(plan), models={layout.key: layout})
    return order, order_sheets(order, proofs)


def batch_of(
    shelf: Shelf, orders: int = 1, carvings: int = 2, after: Callable[[Book], None] = lambda book: None
) -> BatchContent:
    """A batch of released orders; ``after`` may add to the record what came later."""
    book = Book()
    book.enter(EntryKind.SETTING, None, facts={"what": "sanding"})
    all_orders = tuple(order_of(number) for number in range(7, 7 + orders))
    made: list[CarvingContent] = []
    for order in all_orders:
        mine = [carving_of(shelf, order, number) for number in range(1, carvings + 1)]
        for carving in mine:
            book.approve(carving)
        book.enter(EntryKind.SUBMISSION, "someone-else")
        book.release(order.id)
        made += mine
    after(book)
    all_orders = tuple(with_boards(shelf, order, made) for order in all_orders)
    return BatchContent("b1", SHOP, all_orders, iter(made), book.entries, shelf.get)


def joined(stream: Iterator[bytes]) -> bytes:
    return b"".join(stream)
