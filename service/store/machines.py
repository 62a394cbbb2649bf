"""Queries about the workshop's machine, and about what releases froze."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from service.orders.ids import ids_among
from service.orders.machine import Machine, machine_from
from service.store.machine_tables import machines, releases
from service.store.prepared import Prepared
from service.store.sharing import asked_once
from service.store.tenant_scope import TenantScope

_MACHINE = Prepared(select(machines).where(machines.c.workshop_id == bindparam("workshop")))


@asked_once
def read_machine(connection: Connection, workshop_id: str) -> tuple[Machine, int]:
    """The workshop's machine and its revision; the usual one, revision 0, where nothing was set."""
    row = _MACHINE.one_or_none(connection, {"workshop": workshop_id})
    return (Machine(), 0) if row is None else (machine_from(row.facts), row.revision)


def save_machine(connection: Connection, workshop_id: str, machine: Machine, revision: int) -> None:
    """Store the machine, new (revision 1) or changed."""
    values = {"facts": machine.facts, "revision": revision}
    if revision == 1:
        connection.execute(insert(machines).values(workshop_id=workshop_id, **values))
    else:
        this = machines.c.workshop_id == workshop_id
        connection.execute(update(machines).where(this).values(values))


def machine_of_release(connection: Connection, reach: TenantScope) -> Machine:
    """What an order's drawings are made for: as its release froze it, else today's; ``reach`` names the order."""
    facts = frozen(connection, reach)
    return read_machine(connection, reach.workshop_id)[0] if facts is None else machine_from(facts["machine"])


def freeze(connection: Connection, reach: TenantScope, facts: Mapping[str, Any]) -> None:
    """Keep what holds at an order's release, in place of an earlier one; ``reach`` names the order."""
    connection.execute(delete(releases).where(releases.c.order_id == reach.order_id))
    values = {"order_id": reach.order_id, "workshop_id": reach.workshop_id, "facts": dict(facts)}
    connection.execute(insert(releases).values(values))


def frozen(connection: Connection, reach: TenantScope) -> Mapping[str, Any] | None:
    """What held at the order's release; ``None`` for one of before this was kept."""
    query = select(releases.c.facts).where(*reach.within(releases))
    facts: Mapping[str, Any] | None = connection.execute(query).scalar_one_or_none()
    return facts


def frozen_marks_of(
    connection: Connection, reach: TenantScope, ids: Sequence[str]
) -> dict[str, Sequence[Mapping[str, Any]]]:
    """What the releases of these orders say of marks, by order."""
    query = select(releases.c.order_id, releases.c.facts["marks"]).where(
        releases.c.order_id.in_(ids_among(ids)), *reach.within(releases)
    )
    return {order_id: found or () for order_id, found in connection.execute(query)}
