"""Today at the machine: released work by bit, then by board; what is late; what is done and may be ordered again."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.language.woods import wood_words
from service.pages.bench import bench_session, show_order
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render
from service.pages.words import bit_words

Json = Mapping[str, Any]
_MOST_LATE = 20
_QUESTION = """
query Today($at: OrderFilterInput, $open: OrderFilterInput, $done: OrderFilterInput) {
  orders(filter: $at, first: 40) { edges { node {
    id number state neededBy contact { name organisation }
    carvings { proof { pieces facts { bit { angleDeg tipFlat } slat { name thickness species } }
      check { figures { depth minutes } } } }
    marks { pieces mark { facts { bit { angleDeg tipFlat } slat { name thickness species } }
      check { figures { depth minutes } } } }
  } } }
  open: orders(filter: $open, first: 30) { edges { node { id number state neededBy contact { name organisation } } } }
  done: orders(filter: $done, first: 20) { edges { node { id number neededBy contact { name organisation }
    lines { quantity modelKey } } } }
  batches(first: 60) { edges { node { state orderIds } } }
  models { key name }
}
"""


@dataclass(frozen=True)
class Cut:
    """One carving to be cut, on as many boards as there are pieces.

    Attributes:
        bit: in words.
        board: its thickness and wood, in words.
        depth: what the program is set to, mm.
        minutes: at the machine, for all of its boards.
    """

    order: Json
    slat: str
    pieces: int
    bit: str
    board: str
    depth: float
    minutes: float


@dataclass(frozen=True)
class Board:
    """What is cut from boards alike with one bit in the machine."""

    words: str
    cuts: tuple[Cut, ...]


@dataclass(frozen=True)
class BitWork:
    """What is cut with one bit: it is put in once."""

    words: str
    boards: tuple[Board, ...]

    @property
    def minutes(self) -> float:
        """At the machine, all of it."""
        return sum(cut.minutes for board in self.boards for cut in board.cuts)


async def today(request: Request) -> Response:
    """What is to be carved, in the order in which it is least work."""
    api = Api(request)
    session = await bench_session(api)
    found = await api.ask(
        _QUESTION,
        at={"state": ["RELEASED", "IN_PRODUCTION"], "orderBy": "NEEDED_BY"},
        open={"state": ["SUBMITTED", "RELEASED", "IN_PRODUCTION"], "orderBy": "NEEDED_BY"},
        done={"state": ["DONE"], "orderBy": "NEWEST"},
    )
    orders = _nodes(found["orders"])
    taken = {
        order
        for batch in _nodes(found["batches"])
        if batch["state"] != "FAILED"
        for order in batch["orderIds"]
    }
    return render(
        request,
        "bench/today.html",
        session=session,
        workshop=session["workshop"],
        bits=by_bit(cut for order in orders for cut in cuts_of(order)),
        orders=orders,
        taken=taken,
        late=[order for order in _nodes(found["open"]) if _is_late(order["neededBy"])][:_MOST_LATE],
        done=_nodes(found["done"]),
        names={model["key"]: model["name"] for model in found["models"]},
        today=datetime.now(UTC).date(),
        once=secrets.token_urlsafe(16),
    )


def _nodes(page: Json) -> list[Json]:
    return [edge["node"] for edge in page["edges"]]


def _is_late(day: str | None) -> bool:
    return day is not None and date.fromisoformat(day) < datetime.now(UTC).date()


def cuts_of(order: Json) -> list[Cut]:
    """An order's carvings and the workshop's own marks on it, those alike on one slat in one row."""
    alike: dict[tuple[str, ...], list[Json]] = {}
    for proof in _proofs(order):
        facts = proof["facts"]
        bit, slat = facts["bit"], facts["slat"]
        words = bit_words({"angle_deg": bit["angleDeg"], "tip_flat": bit["tipFlat"]})
        board = _(
            "{thickness:g} mm thick, {wood}",
            thickness=slat["thickness"],
            wood=wood_words(slat["species"]),
        )
        name = _("{slat}: own mark", slat=slat["name"]) if proof["own"] else slat["name"]
        alike.setdefault((words, board, name), []).append(proof)
    return [
        Cut(
            order=order,
            slat=slat,
            pieces=sum(proof["pieces"] for proof in proofs),
            bit=bit,
            board=board,
            depth=max(proof["check"]["figures"]["depth"] for proof in proofs),
            minutes=sum(proof["check"]["figures"]["minutes"] * proof["pieces"] for proof in proofs),
        )
        for (bit, board, slat), proofs in alike.items()
    ]


def _proofs(order: Json) -> Iterator[Json]:
    """What is carved and on how many pieces; ``own``: whether it is the workshop's own mark."""
    for carving in order["carvings"]:
        if carving["proof"] is not None:
            yield {**carving["proof"], "own": False}
    for carried in order["marks"]:
        yield {**carried["mark"], "pieces": carried["pieces"], "own": True}


def by_bit(cuts: Iterable[Cut]) -> Sequence[BitWork]:
    """All cuts by bit, then by board; within a board as they are needed. Most work with one bit comes first."""
    sorted_out: dict[str, dict[str, list[Cut]]] = {}
    for cut in cuts:
        sorted_out.setdefault(cut.bit, {}).setdefault(cut.board, []).append(cut)
    found = [
        BitWork(bit, tuple(Board(board, tuple(many)) for board, many in sorted(boards.items())))
        for bit, boards in sorted_out.items()
    ]
    return sorted(found, key=lambda bit: -bit.minutes)


async def reorder(request: Request) -> Response:
    """The same again: a new draft at the bench, checked under today's settings."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    try:
        placed = await Api(request).send("POST", f"/orders/{order_id}/copies", once=sent.text("once") or None)
    except CallError as refused:
        if refused.status not in {403, 409, 422, 429}:
            raise
        return await show_order(request, refused.status, refused.words)
    return go(f"/bench/orders/{placed.json['order']['id']}")


ROUTES = (
    ("/bench/today", "GET", today),
    ("/bench/orders/{order}/copies", "POST", reorder),
)
