"""Queries about checks of machine programs."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select

from service.orders.program_checks import ProgramCheck
from service.store.program_tables import program_checks
from service.store.rows import PROGRAM_CHECKS
from service.store.tenant_scope import TenantScope


def insert_check(connection: Connection, check: ProgramCheck) -> None:
    """A new check."""
    connection.execute(insert(program_checks).values(PROGRAM_CHECKS.row(check)))


def checks_of_order(connection: Connection, reach: TenantScope) -> list[ProgramCheck]:
    """Every check of an order's programs, newest first; ``reach`` names the order."""
    query = select(program_checks).where(*reach.within(program_checks))
    return PROGRAM_CHECKS.values(
        connection.execute(query.order_by(program_checks.c.at.desc(), program_checks.c.id))
    )


def find_check(connection: Connection, workshop_id: str, check_id: str) -> ProgramCheck | None:
    """One check of the workshop."""
    query = select(program_checks).where(
        program_checks.c.workshop_id == workshop_id, program_checks.c.id == check_id
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else PROGRAM_CHECKS.value(row)


def delete_checks_of_order(connection: Connection, order_id: str) -> None:
    """Remove them; the record keeps what was found, by digest."""
    connection.execute(delete(program_checks).where(program_checks.c.order_id == order_id))
