"""Queries about suites."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, delete, exists, insert, select, update

from service.orders.ids import ids_among
from service.orders.suites import Part, Suite
from service.store.rows import PARTS, SUITES
from service.store.sharing import asked_once
from service.store.suite_tables import suite_parts, suites
from service.store.tenant_scope import TenantScope


def insert_suite(connection: Connection, suite: Suite, parts: Sequence[Part]) -> None:
    """Store a new suite and its parts; their carvings must be there."""
    connection.execute(insert(suites).values(SUITES.row(suite)))
    where = {"workshop_id": suite.workshop_id, "order_id": suite.order_id}
    connection.execute(insert(suite_parts), [PARTS.row(part, **where) for part in parts])


def update_suite(connection: Connection, suite: Suite) -> None:
    """Store another revision, or what was found while making it."""
    connection.execute(update(suites).where(suites.c.id == suite.id).values(SUITES.row(suite)))


def note_part(connection: Connection, part: Part) -> None:
    """Store what is to be noted of a part."""
    this = suite_parts.c.carving_id == part.carving_id
    connection.execute(update(suite_parts).where(this).values(notes=list(part.notes)))


def place_part(connection: Connection, carving_id: str, place: int) -> None:
    """Store another place of a part within its suite."""
    this = suite_parts.c.carving_id == carving_id
    connection.execute(update(suite_parts).where(this).values(place=place))


def delete_suite(connection: Connection, suite_id: str) -> None:
    """Forget a suite; its carvings stay, each for itself."""
    connection.execute(delete(suites).where(suites.c.id == suite_id))


def delete_empty(connection: Connection, order_id: str) -> None:
    """Forget suites of an order that have no carvings any more."""
    has_parts = exists().where(suite_parts.c.suite_id == suites.c.id)
    connection.execute(delete(suites).where(suites.c.order_id == order_id, ~has_parts))


def delete_of_order(connection: Connection, order_id: str) -> None:
    """Forget the suites of an order, and the texts in them."""
    connection.execute(delete(suites).where(suites.c.order_id == order_id))


def find_suite(connection: Connection, reach: TenantScope, suite_id: str) -> Suite | None:
    """One suite within reach."""
    query = select(suites).where(suites.c.id.in_(ids_among([suite_id])), *reach.within(suites))
    row = connection.execute(query).one_or_none()
    return None if row is None else SUITES.value(row)


@asked_once
def suites_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Suite]:
    """The suites of these orders, oldest first."""
    query = select(suites).where(suites.c.order_id.in_(ids_among(ids)), *reach.within(suites))
    return SUITES.values(connection.execute(query.order_by(suites.c.created_at, suites.c.id)))


@asked_once
def parts_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Part]:
    """The parts of the suites of these orders, in their places."""
    query = select(suite_parts).where(suite_parts.c.order_id.in_(ids_among(ids)), *reach.within(suite_parts))
    return PARTS.values(connection.execute(query.order_by(suite_parts.c.place)))


def suite_of_carving(connection: Connection, carving_id: str) -> str | None:
    """The suite that a carving is part of."""
    query = select(suite_parts.c.suite_id).where(suite_parts.c.carving_id == carving_id)
    return connection.execute(query).scalar_one_or_none()
