"""An order with everything in it, read in a fixed number of statements."""

from __future__ import annotations

from sqlalchemy import Connection

from service.orders.order import Order
from service.store import art, orders
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate


def read_aggregate(connection: Connection, reach: TenantScope, order: Order) -> OrderAggregate:
    """All of one order, as this transaction sees it."""
    only = [order.id]
    return OrderAggregate(
        order=order,
        lines=tuple(orders.lines_of_orders(connection, reach, only)),
        carvings=tuple(orders.carvings_of_orders(connection, reach, only)),
        artworks=tuple(art.artworks_of_orders(connection, reach, only)),
        readings=tuple(art.readings_of_orders(connection, reach, only)),
        proofs=tuple(art.current_proofs(connection, reach, only)),
    )
