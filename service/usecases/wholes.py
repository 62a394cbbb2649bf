"""An order with everything in it, read in a fixed number of statements."""

from __future__ import annotations

from sqlalchemy import Connection

from service.orders.order import Order
from service.store import art, orders
from service.store.tenant_scope import TenantScope
from service.usecases.answers import WholeOrder


def read_whole(connection: Connection, reach: TenantScope, order: Order) -> WholeOrder:
    """All of one order, as this transaction sees it."""
    only = [order.id]
    return WholeOrder(
        order=order,
        lines=tuple(orders.lines_of_orders(connection, reach, only)),
        carvings=tuple(orders.carvings_of_orders(connection, reach, only)),
        artworks=tuple(art.artworks_of_orders(connection, reach, only)),
        readings=tuple(art.readings_of_orders(connection, reach, only)),
        proofs=tuple(art.current_proofs(connection, reach, only)),
    )
