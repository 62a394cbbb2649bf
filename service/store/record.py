"""Queries about the record of decisions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, and_, delete, func, insert, select, update

from service.orders.chain import BEFORE_THE_FIRST, AuditEvent, link
from service.orders.ids import ids_among
from service.orders.record import Entry, EntryKind, Witness
from service.store.record_tables import record, record_heads, record_particulars
from service.store.rows import ENTRIES
from service.store.sharing import asked_once
from service.store.tables import counters, orders
from service.store.tenant_scope import in_workshop

_AT_ONCE = 1000
_ENTRY_ROW = select(
    record,
    record_particulars.c.salt,
    record_particulars.c.name,
    record_particulars.c.address,
    record_particulars.c.words,
).outerjoin(
    record_particulars,
    and_(
        record_particulars.c.workshop_id == record.c.workshop_id,
        record_particulars.c.number == record.c.number,
    ),
)


def append(connection: Connection, workshop_id: str, deed: AuditEvent) -> Entry:
    """Append an entry after the last one. Waits for whoever appends one at this moment."""
    number, previous = _lock_head(connection, workshop_id)
    entry = link(deed, workshop_id, number + 1, previous)
    connection.execute(insert(record).values(ENTRIES.row(entry)))
    connection.execute(
        insert(record_particulars).values(
            **vars(entry.particulars), workshop_id=workshop_id, number=entry.number, order_id=entry.order_id
        )
    )
    head = update(record_heads).where(record_heads.c.workshop_id == workshop_id)
    connection.execute(head.values(number=entry.number, this=entry.this))
    witness = update(counters).where(counters.c.workshop_id == workshop_id)
    if entry.order_id is not None:
        witness = update(orders).where(orders.c.id == entry.order_id)
    connection.execute(witness.values(recorded=entry.number))
    return entry


def witnesses(connection: Connection, workshop_id: str) -> tuple[list[Witness], int]:
    """The rows that name entries of the record, and how many orders were ever placed."""
    counted = select(counters.c.recorded, counters.c.orders).where(counters.c.workshop_id == workshop_id)
    theirs = select(orders.c.id, orders.c.number, orders.c.recorded).where(
        orders.c.workshop_id == workshop_id
    )
    recorded, placed = connection.execute(counted).one()
    found = [Witness(None, 0, recorded), *(Witness(*row) for row in connection.execute(theirs))]
    return found, placed


def found(connection: Connection, workshop_id: str) -> None:
    """Begin a new workshop's record."""
    connection.execute(insert(record_heads).values(workshop_id=workshop_id, number=0, this=BEFORE_THE_FIRST))


def head(connection: Connection, workshop_id: str) -> tuple[int, str]:
    """Number and digest of the last entry; (0, zeros) where there is none."""
    row = connection.execute(_head(workshop_id)).one()
    return row.number, row.this


def _head(workshop_id: str) -> Select[tuple[int, str]]:
    columns = select(record_heads.c.number, record_heads.c.this)
    return columns.where(record_heads.c.workshop_id == workshop_id)


def _lock_head(connection: Connection, workshop_id: str) -> tuple[int, str]:
    row = connection.execute(_head(workshop_id).with_for_update()).one()
    return row.number, row.this


def walk(
    connection: Connection, workshop_id: str, first: int = 1, last: int | None = None
) -> Iterator[Entry]:
    """The workshop's entries from ``first`` to ``last``, oldest first, a thousand in memory at a time."""
    after = first - 1
    while True:
        query = _ENTRY_ROW.where(record.c.workshop_id == workshop_id, record.c.number > after)
        if last is not None:
            query = query.where(record.c.number <= last)
        rows = connection.execute(query.order_by(record.c.number).limit(_AT_ONCE)).all()
        yield from ENTRIES.values(rows)
        if len(rows) < _AT_ONCE:
            return
        after = rows[-1].number


def newest(connection: Connection, workshop_id: str, before: int | None, limit: int) -> list[Entry]:
    """Entries older than number ``before``, newest first."""
    query = _ENTRY_ROW.where(record.c.workshop_id == workshop_id)
    if before is not None:
        query = query.where(record.c.number < before)
    return _entries(connection, query.order_by(record.c.number.desc()).limit(limit))


def count(connection: Connection, workshop_id: str) -> int:
    """How many entries there are: they are numbered without gaps."""
    last = select(func.max(record.c.number)).where(record.c.workshop_id == workshop_id)
    return connection.scalar(last) or 0


def newest_moment(connection: Connection) -> datetime | None:
    """When the newest entry of all workshops was made."""
    heads = record.join(
        record_heads,
        (record_heads.c.workshop_id == record.c.workshop_id) & (record_heads.c.number == record.c.number),
    )
    return connection.execute(select(func.max(record.c.at)).select_from(heads)).scalar_one_or_none()


@asked_once
def about_orders(connection: Connection, workshop_id: str, order_ids: Sequence[str]) -> list[Entry]:
    """Entries about these orders, oldest first."""
    query = _ENTRY_ROW.where(record.c.order_id.in_(ids_among(order_ids)), in_workshop(record, workshop_id))
    return _entries(connection, query.order_by(record.c.number))


def erased_orders(connection: Connection, workshop_id: str) -> frozenset[str]:
    """Orders whose client's particulars were erased, by the record's own word."""
    query = select(record.c.order_id).where(
        record.c.workshop_id == workshop_id, record.c.kind == EntryKind.ERASURE.value
    )
    return frozenset(connection.scalars(query))


def erase_particulars(connection: Connection, workshop_id: str, order_id: str) -> None:
    """Forget who decided what in an order, in words; the chain keeps its seals."""
    connection.execute(
        delete(record_particulars).where(
            record_particulars.c.order_id == order_id, in_workshop(record_particulars, workshop_id)
        )
    )


def _entries(connection: Connection, query: Select[Any]) -> list[Entry]:
    return ENTRIES.values(connection.execute(query))
