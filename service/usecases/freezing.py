"""What a release freezes: everything a batch shows besides the proofs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from artwork.layout_json import layout_to_json
from service.batches.released import order_digest
from service.orders.machine import Machine
from service.orders.order import Carving, Line, Order
from service.orders.record import EntryKind
from service.orders.standing_mark import StandingMark, is_stale, marks_to_carve, refuse_stale
from service.orders.workshop import Settings
from service.store import machines, marks, record, shop
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate
from service.usecases.audit import deed_of
from service.usecases.context import Context
from service.usecases.opened import OpenOrder

Facts = Mapping[str, Any]
"""Of an entry in the record, as plain JSON values."""


@dataclass(frozen=True)
class MarkedLine:
    """The workshop's mark on all pieces of one line."""

    mark: StandingMark
    line: int
    pieces: int

    @property
    def facts(self) -> dict[str, Any]:
        """As it is frozen."""
        return {"mark": self.mark.id, "line": self.line, "pieces": self.pieces}


def freeze_release(opened: OpenOrder, machine: Machine, made: Callable[[StandingMark], Facts]) -> None:
    """Keep what a batch shows besides the proofs, so that it shows the same whenever it is made.

    The workshop's marks on the order are released with it. ConflictError "mark-changed".

    Args:
        machine: that the order's drawings are made for.
        made: what the record says of a mark's drawings.
    """
    every = marks.all_marks(opened.connection, opened.order.workshop_id)
    marked = marked_lines(every, opened.lines.values(), opened.carvings.values())
    for each in {each.mark.id: each for each in marked}.values():
        refuse_stale(each.mark, opened.settings)
        _enter(opened, EntryKind.RELEASE, each.mark, facts=made(each.mark))
    machines.freeze(
        opened.connection,
        opened.reach,
        release_facts(opened.ctx.base_url, opened.order.id, opened.settings, machine, marked),
    )


def frozen_digest(opened: OpenOrder, machine: Machine) -> str:
    """Names what a release freezes of the order as it stands, for the record."""
    names = {model.layout.key: model.layout.name for model in opened.settings.models}
    lines = [
        (line.model_key, names.get(line.model_key, line.model_key), line.quantity)
        for line in sorted(opened.lines.values(), key=lambda line: line.position)
    ]
    address = order_address(opened.ctx.base_url, opened.order.id)
    return order_digest(opened.order.number, lines, machine, address)


def order_address(base_url: str, order_id: str) -> str:
    """Where the bench sees an order; empty for a workshop without an address."""
    return f"{base_url}/bench/orders/{order_id}" if base_url else ""


def recall_marks(opened: OpenOrder, reason: str) -> None:
    """Enter that the marks released with the order are taken back with it."""
    facts = machines.frozen(opened.connection, opened.reach)
    ids = {each["mark"] for each in (facts or {}).get("marks", ())}
    found = marks.marks_by_ids(opened.connection, opened.order.workshop_id, sorted(ids))
    for mark in found.values():
        _enter(opened, EntryKind.RECALL, mark, reason)


def release_facts(
    base_url: str, order_id: str, settings: Settings, machine: Machine, marked: Sequence[MarkedLine] = ()
) -> Mapping[str, Any]:
    """Where the order is seen, the workshop's name and unit, its models, machine and marks, as JSON values."""
    return {
        "address": order_address(base_url, order_id),
        "workshop": settings.workshop.name,
        "units": settings.workshop.units.value,
        "models": {model.layout.key: model.layout.name for model in settings.models},
        "layouts": {model.layout.key: layout_to_json(model.layout) for model in settings.models},
        "machine": machine.facts,
        "marks": [each.facts for each in marked],
    }


def frozen_marks(
    connection: Connection, workshop_id: str, facts: Mapping[str, Any]
) -> tuple[MarkedLine, ...]:
    """The marks that a release froze, from its facts."""
    frozen = facts.get("marks", ())  # none in releases of before there were marks
    return _marked(frozen, marks.marks_by_ids(connection, workshop_id, [each["mark"] for each in frozen]))


def _marked(frozen: Iterable[Mapping[str, Any]], known: Mapping[str, StandingMark]) -> tuple[MarkedLine, ...]:
    return tuple(MarkedLine(known[each["mark"]], each["line"], each["pieces"]) for each in frozen)


def marks_of_order(ctx: Context, whole: OrderAggregate) -> tuple[MarkedLine, ...]:
    """The workshop's marks on an order: those it was released with, or those it would be released with today.

    A mark that must be approved anew first is not among them.
    """
    return marks_of_orders(ctx, whole.order.workshop_id, [(whole.order, whole.lines, whole.carvings)])[0]


def marks_of_orders(
    ctx: Context, workshop_id: str, aggregates: Sequence[tuple[Order, Sequence[Line], Sequence[Carving]]]
) -> list[tuple[MarkedLine, ...]]:
    """As :func:`marks_of_order`, of several orders of a workshop in as many questions as of one."""
    released = [order.id for order, _lines, _carvings in aggregates if order.released_at is not None]
    with ctx.store.reading() as connection:
        frozen = machines.frozen_marks_of(connection, TenantScope(workshop_id), released) if released else {}
        ids = sorted({each["mark"] for of_order in frozen.values() for each in of_order})
        known = marks.marks_by_ids(connection, workshop_id, ids) if ids else {}
        if len(released) < len(aggregates):  # what is released needs neither
            settings = shop.read_settings(connection, workshop_id)
            every = marks.all_marks(connection, workshop_id)
    return [
        _marked(frozen.get(order.id, ()), known)
        if order.released_at is not None
        else tuple(each for each in marked_lines(every, lines, carvings) if not is_stale(each.mark, settings))
        for order, lines, carvings in aggregates
    ]


def marked_lines(
    every: Sequence[StandingMark], lines: Iterable[Line], carvings: Iterable[Carving]
) -> list[MarkedLine]:
    """The marks to carve, line by line; a slat with the client's art on it carries no mark."""
    taken = {(carving.line_id, carving.slat_key) for carving in carvings}
    return [
        MarkedLine(mark, line.position, line.quantity)
        for line in sorted(lines, key=lambda line: line.position)
        for mark in marks_to_carve(every, line.model_key)
        if (line.id, mark.slat_key) not in taken
    ]


def _enter(
    opened: OpenOrder, kind: EntryKind, mark: StandingMark, words: str = "", facts: Facts | None = None
) -> None:
    deed = deed_of(
        opened.actor,
        kind,
        opened.now,
        order_id=opened.order.id,
        carving_id=mark.id,
        digest=mark.digest,
        picture=mark.picture,
        facts={**mark.facts, **(facts or {})},
        words=words,
    )
    record.append(opened.connection, opened.order.workshop_id, deed)
