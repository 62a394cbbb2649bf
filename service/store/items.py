"""Queries about what was said of items."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, delete, insert, select

from service.orders.items import Tick
from service.store.item_tables import item_shifts, items
from service.store.rows import TICKS
from service.store.sharing import asked_once
from service.store.tenant_scope import TenantScope

_AT_ONCE = 400
"""Keys in one statement: SQLite takes no more than so many parameters."""


@asked_once
def ticks_of_order(connection: Connection, reach: TenantScope) -> list[Tick]:
    """What was last said of each item of an order; ``reach`` names it."""
    return TICKS.values(connection.execute(select(items).where(*reach.within(items))))


def forget_lines(connection: Connection, reach: TenantScope, positions: Sequence[int]) -> None:
    """Forget what was said of items of these lines of an order; ``reach`` names the order."""
    for position in positions:
        of_line = items.c.key.startswith(f"{position}-", autoescape=True)
        connection.execute(delete(items).where(*reach.within(items), of_line))


def keep_ticks(connection: Connection, reach: TenantScope, ticks: Sequence[Tick]) -> None:
    """Store what is said of items of an order, in place of what was said before; ``reach`` names the order."""
    where = {"workshop_id": reach.workshop_id, "order_id": reach.order_id}
    for start in range(0, len(ticks), _AT_ONCE):
        some = ticks[start : start + _AT_ONCE]
        keys = [tick.key for tick in some]
        connection.execute(delete(items).where(*reach.within(items), items.c.key.in_(keys)))
        connection.execute(insert(items), [TICKS.row(tick, **where) for tick in some])


@asked_once
def shifts_of_order(connection: Connection, reach: TenantScope) -> dict[tuple[str, str], tuple[float, float]]:
    """How art is shifted, slat mm, by the item's key and the digest of its proof; ``reach`` names the order."""
    rows = connection.execute(select(item_shifts).where(*reach.within(item_shifts)))
    return {(row.key, row.digest): (row.x, row.y) for row in rows}


def keep_shift(
    connection: Connection, reach: TenantScope, key: str, digest: str, by: tuple[float, float]
) -> None:
    """Store how the art of one item is shifted, in place of what was stored; ``reach`` names the order."""
    this = item_shifts.c.key == key
    connection.execute(delete(item_shifts).where(*reach.within(item_shifts), this))
    if by != (0.0, 0.0):
        where = {"workshop_id": reach.workshop_id, "order_id": reach.order_id}
        connection.execute(insert(item_shifts).values(key=key, digest=digest, x=by[0], y=by[1], **where))
