"""Queries about orders, their lines and carvings."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Select, bindparam, delete, func, insert, select, update

from service.orders.definition import blanks, search_texts
from service.orders.ids import ids_among, is_id
from service.orders.order import Carving, Line, Order
from service.orders.site import OrderKind
from service.orders.states import CarvingState, OrderState
from service.orders.texts import words_of
from service.store.bells import order_topic, tell
from service.store.numbering import take_numbers
from service.store.prepared import Prepared, one_of
from service.store.rows import CARVINGS, LINES, ORDERS
from service.store.sharing import asked_once
from service.store.suite_tables import suite_parts
from service.store.tables import artworks, carvings, lines, order_words, orders, proofs, workshops
from service.store.tenant_scope import TenantScope

_PROVISIONAL = 2**31 - 1

# Asked most often of all, so built once.
_ACTIVITY = Prepared(
    select(orders.c.activity).where(
        orders.c.id == bindparam("order"), orders.c.workshop_id == bindparam("workshop")
    )
)

_SET_NUMBER = update(orders).where(orders.c.id == bindparam("order")).values(number=bindparam("given"))


def lock_workshop_settings(connection: Connection, workshop_id: str, *, to_change: bool) -> None:
    """Keep the workshop's settings as they are until the transaction ends, or keep everybody off them.

    SQLite has one writer anyway. Locks are always taken in this order: settings, orders by id, the record.
    """
    lock = select(workshops.c.id).where(workshops.c.id == workshop_id)
    connection.execute(lock.with_for_update(read=not to_change, key_share=to_change))


@asked_once
def find_order(
    connection: Connection, reach: TenantScope, order_id: str, *, lock: bool = False
) -> Order | None:
    """One order within reach; with ``lock`` nobody else changes anything in it until the transaction ends."""
    query = select(orders).where(orders.c.id.in_(ids_among([order_id])), *reach.within(orders))
    row = connection.execute(query.with_for_update() if lock else query).one_or_none()
    return None if row is None else ORDERS.value(row)


@asked_once
def find_activity(connection: Connection, reach: TenantScope, order_id: str) -> int | None:
    """The activity number of one order within reach."""
    if reach.order_id not in {None, order_id} or not is_id(order_id):
        return None
    if reach.tests:
        of_test = select(orders.c.activity).where(orders.c.id == order_id, *reach.within(orders))
        return connection.scalar(of_test)
    activity: int | None = _ACTIVITY.scalar(connection, {"order": order_id, "workshop": reach.workshop_id})
    return activity


def workshop_of(connection: Connection, order_id: str) -> str | None:
    """Whose an order is; for who asks with a signature alone, which is then held against that workshop's key."""
    if not is_id(order_id):
        return None
    return connection.scalar(select(orders.c.workshop_id).where(orders.c.id == order_id))


def provisional_number() -> int:
    """What stands for an order's number until it is given one: below zero, so it is no order's."""
    return -1 - secrets.randbelow(_PROVISIONAL)


def give_number(connection: Connection, order: Order, bare: bool = False) -> Order:
    """Give an order the workshop's next number: the last that is done to a new one.

    Whoever places another order of the workshop waits from here until this transaction ends. Checks and tests take
    no number.

    Args:
        connection: of a transaction that writes.
        order: as it is stored.
        bare: whether this transaction has stored it, without any file.
    """
    numbered = order
    if order.kind is OrderKind.ORDER:
        (number,) = take_numbers(connection, "orders", order.workshop_id)
        connection.execute(_SET_NUMBER, {"order": order.id, "given": number})
        numbered = replace(order, number=number)
    if bare:
        _insert_words(connection, numbered, ())
    else:
        _store_words(connection, numbered)
    return numbered


def insert_order(connection: Connection, order: Order) -> None:
    """Store a new order; it can be found by words once it has its number (:func:`give_number`)."""
    connection.execute(insert(orders), ORDERS.row(order))


def update_order(connection: Connection, before: Order, after: Order) -> bool:
    """Store what changed; whether ``before`` was still what is stored."""
    fixed = {"id", "workshop_id", "number"}
    changed = {name: value for name, value in ORDERS.row(after).items() if name not in fixed}
    done = connection.execute(
        update(orders)
        .where(
            orders.c.id == before.id,
            orders.c.revision == before.revision,
            orders.c.activity == before.activity,
        )
        .values(changed)
    )
    tell(connection, order_topic(after.id))
    if done.rowcount == 1 and search_texts(before) != search_texts(after):
        _store_words(connection, after)
    return done.rowcount == 1


def _store_words(connection: Connection, order: Order) -> None:
    """Make the order findable by what is defined to be searched for, and by its files' names."""
    names = connection.scalars(select(artworks.c.name).where(artworks.c.order_id == order.id)).all()
    connection.execute(delete(order_words).where(order_words.c.order_id == order.id))
    _insert_words(connection, order, names)


def _insert_words(connection: Connection, order: Order, names: Sequence[str]) -> None:
    words = words_of(*search_texts(order), *names)
    rows = [{"order_id": order.id, "word": w, "workshop_id": order.workshop_id} for w in sorted(words)]
    connection.execute(insert(order_words), rows)


def refresh_words(connection: Connection, order: Order) -> None:
    """The order's files changed: find it by their names too."""
    _store_words(connection, order)


def ids_in_states(connection: Connection, workshop_id: str, states: Iterable[OrderState]) -> list[str]:
    """Ids of the workshop's orders in one of these states, by number."""
    wanted = orders.c.state.in_([state.value for state in states])
    query = select(orders.c.id).where(orders.c.workshop_id == workshop_id, wanted).order_by(orders.c.number)
    return list(connection.scalars(query))


def orders_by_ids(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Order]:
    """Those of the orders that are within reach, in no set order."""
    query = select(orders).where(orders.c.id.in_(ids_among(ids)), *reach.within(orders))
    return ORDERS.values(connection.execute(query))


@asked_once
def orders_of_whole(connection: Connection, workshop_id: str, whole_id: str) -> list[Order]:
    """An order and those that are part of it, by number."""
    those = (orders.c.id == whole_id) | (orders.c.part_of == whole_id)
    query = select(orders).where(those, *TenantScope(workshop_id).within(orders)).order_by(orders.c.number)
    return ORDERS.values(connection.execute(query))


@asked_once
def lines_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Line]:
    """Their lines, by position."""
    query = (
        select(lines)
        .where(lines.c.order_id.in_(ids_among(ids)), *reach.within(lines))
        .order_by(lines.c.position)
    )
    return LINES.values(connection.execute(query))


@asked_once
def carvings_of_orders(
    connection: Connection, reach: TenantScope, ids: Sequence[str], only: frozenset[str] | None = None
) -> list[Carving]:
    """Their carvings, by line, slat and piece; ``only`` these fields of them where they can be read alone."""
    some = None if only is None else CARVINGS.some(only)
    if some is not None:
        asked = _carvings_in_part(some.columns, reach.kind)
        return some.values(asked.rows(connection, {"orders": ids_among(ids), **reach.values}))
    those = (carvings.c.order_id.in_(ids_among(ids)), *reach.within(carvings))
    return CARVINGS.values(connection.execute(_in_their_order(select(carvings)).where(*those)))


@lru_cache(maxsize=64)
def _carvings_in_part(columns: tuple[str, ...], reach: TenantScope) -> Prepared:
    query = _in_their_order(select(*(carvings.c[name] for name in columns)))
    those = (one_of(carvings.c.order_id, "orders"), *reach.prepared(carvings))
    return Prepared(query.where(*those), named=False)


def _in_their_order(query: Select[Any]) -> Select[Any]:
    """Carvings by line, slat and piece."""
    return query.join(lines, lines.c.id == carvings.c.line_id).order_by(
        lines.c.position, carvings.c.slat_key, carvings.c.piece
    )


def carvings_by_ids(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Carving]:
    """Those of the carvings that are within reach, in no set order."""
    query = select(carvings).where(carvings.c.id.in_(ids_among(ids)), *reach.within(carvings))
    return CARVINGS.values(connection.execute(query))


def open_cuts(
    connection: Connection, workshop_id: str, states: Iterable[CarvingState]
) -> list[tuple[Carving, Line, str]]:
    """Carvings in these states in orders not yet released, each with its line and its proof's basis."""
    open_states = [OrderState.DRAFT.value, OrderState.SUBMITTED.value]
    wanted = (
        carvings.c.workshop_id == workshop_id,
        carvings.c.state.in_([state.value for state in states]),
        orders.c.state.in_(open_states),
    )
    base = orders.join(carvings, orders.c.id == carvings.c.order_id)
    proved = base.join(proofs, proofs.c.id == carvings.c.proof_id)
    found = connection.execute(select(carvings, proofs.c.basis).select_from(proved).where(*wanted)).all()
    theirs = select(lines).where(lines.c.id.in_(select(carvings.c.line_id).select_from(base).where(*wanted)))
    by_id = {row.id: LINES.value(row) for row in connection.execute(theirs)}
    return [(CARVINGS.value(row), by_id[row.line_id], row.basis) for row in found]


def drafts_of_other_engines(connection: Connection, engine: str, most: int) -> list[tuple[str, str]]:
    """Workshops and ids of checked carvings of drafts, part of no suite, that another engine judged; oldest first."""
    base = carvings.join(orders, orders.c.id == carvings.c.order_id)
    proved = base.join(proofs, proofs.c.id == carvings.c.proof_id)
    query = (
        select(carvings.c.workshop_id, carvings.c.id)
        .select_from(proved)
        .where(
            orders.c.state == OrderState.DRAFT.value,
            carvings.c.state == CarvingState.CHECKED.value,
            carvings.c.id.not_in(select(suite_parts.c.carving_id)),
            proofs.c.facts["engine"].as_string() != engine,
        )
        .order_by(proofs.c.made_at, carvings.c.id)
        .limit(most)
    )
    return [(row.workshop_id, row.id) for row in connection.execute(query)]


def insert_lines(connection: Connection, workshop_id: str, new: Sequence[Line]) -> None:
    """Store new lines."""
    if new:
        connection.execute(insert(lines), [LINES.row(line, workshop_id=workshop_id) for line in new])


def update_line(connection: Connection, line: Line) -> None:
    """Store a changed line."""
    connection.execute(update(lines).where(lines.c.id == line.id).values(LINES.row(line)))


def blank_lines(connection: Connection, order_id: str) -> None:
    """Take what the client wrote off an order's lines."""
    connection.execute(update(lines).where(lines.c.order_id == order_id).values(blanks(Line)))


def delete_lines(connection: Connection, ids: Sequence[str]) -> None:
    """Remove lines that have no carvings any more."""
    connection.execute(delete(lines).where(lines.c.id.in_(ids_among(ids))))


def insert_carvings(connection: Connection, workshop_id: str, new: Sequence[Carving]) -> None:
    """Store new carvings."""
    if new:
        connection.execute(
            insert(carvings), [CARVINGS.row(carving, workshop_id=workshop_id) for carving in new]
        )


def update_carving(connection: Connection, workshop_id: str, before: Carving, after: Carving) -> bool:
    """Store what changed; whether ``before`` was still what is stored."""
    done = connection.execute(
        update(carvings)
        .where(
            carvings.c.id == before.id,
            carvings.c.workshop_id == workshop_id,
            carvings.c.revision == before.revision,
            carvings.c.state == before.state.value,
        )
        .values(CARVINGS.row(after))
    )
    return done.rowcount == 1


def blank_carvings(connection: Connection, order_id: str, state: CarvingState | None) -> None:
    """Take art, cut and proof off an order's carvings; ``None`` leaves their states."""
    values: dict[str, object] = dict.fromkeys(
        (
            *("artwork_id", "reading_id", "outline", "placement", "proof_id", "verdict", "trouble", "kept"),
            "version",
        )
    )
    values["kept_outline"] = None
    values |= {"outline_note": "", "revision": carvings.c.revision + 1}
    if state is not None:
        values["state"] = state.value
    connection.execute(update(carvings).where(carvings.c.order_id == order_id).values(values))


def idle_orders(
    connection: Connection,
    workshop_id: str,
    states: Iterable[OrderState],
    before: datetime,
    *,
    limit: int,
    kinds: Iterable[OrderKind],
) -> list[str]:
    """Ids of orders of these kinds and states without activity since ``before`` and not yet erased."""
    query = select(orders.c.id).where(
        orders.c.workshop_id == workshop_id,
        orders.c.kind.in_([kind.value for kind in kinds]),
        orders.c.state.in_([state.value for state in states]),
        orders.c.updated_at < before,
        orders.c.erased_at.is_(None),
    )
    return list(connection.scalars(query.order_by(orders.c.updated_at).limit(limit)))


def delete_carvings(connection: Connection, ids: Sequence[str]) -> None:
    """Remove carvings that have no proofs any more."""
    connection.execute(delete(carvings).where(carvings.c.id.in_(ids_among(ids))))


MOST_LOST = 5
"""Orders whose links are mailed at once to an address: the newest."""


def orders_of_address(
    connection: Connection, workshop_id: str, address: str, number: int | None = None
) -> list[str]:
    """Ids of the orders that a mail address may have back: its newest, or the one of that number."""
    query = select(orders.c.id).where(
        orders.c.workshop_id == workshop_id,
        func.lower(orders.c.contact_email) == address.lower(),
        orders.c.erased_at.is_(None),
    )
    if number is not None:
        query = query.where(orders.c.number == number)
    newest = query.order_by(orders.c.number.desc()).limit(MOST_LOST)
    return list(connection.execute(newest).scalars())
