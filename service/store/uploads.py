"""Queries about uploads that are not whole yet."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select, update

from service.orders.uploads import OpenUpload
from service.store.mapping import Rows
from service.store.tenant_scope import TenantScope
from service.store.upload_tables import uploads

_UPLOADS = Rows(OpenUpload)


def insert_upload(connection: Connection, upload: OpenUpload) -> None:
    """Store a new one."""
    connection.execute(insert(uploads).values(_UPLOADS.row(upload)))


def find_upload(
    connection: Connection, reach: TenantScope, upload_id: str, now: datetime
) -> OpenUpload | None:
    """One that is not over."""
    query = select(uploads).where(
        uploads.c.id == upload_id, uploads.c.expires_at > now, *reach.within(uploads)
    )
    found = _UPLOADS.values(connection.execute(query))
    return found[0] if found else None


def count_open(connection: Connection, order_id: str, now: datetime) -> int:
    """How many of an order are not over."""
    query = select(func.count()).where(uploads.c.order_id == order_id, uploads.c.expires_at > now)
    return int(connection.execute(query).scalar_one())


def add_part(connection: Connection, upload: OpenUpload, digest: str, size: int) -> bool:
    """Put a part behind what was there; ``False`` where somebody else did meanwhile."""
    values = {"taken": upload.taken + size, "parts": [*upload.parts, digest]}
    same = (uploads.c.id == upload.id) & (uploads.c.taken == upload.taken)
    return connection.execute(update(uploads).where(same).values(values)).rowcount == 1


def delete_upload(connection: Connection, upload_id: str) -> None:
    """Let one go."""
    connection.execute(delete(uploads).where(uploads.c.id == upload_id))


def delete_of_order(connection: Connection, order_id: str) -> set[str]:
    """Let go of an order's; digests of their parts that no other one has."""
    every = connection.execute(select(uploads.c.order_id, uploads.c.parts)).all()
    connection.execute(delete(uploads).where(uploads.c.order_id == order_id))
    theirs, others = (
        {digest for row in every if (row.order_id == order_id) is mine for digest in row.parts}
        for mine in (True, False)
    )
    return theirs - others


def delete_expired(connection: Connection, now: datetime) -> None:
    """Let go of those whose time is over."""
    connection.execute(delete(uploads).where(uploads.c.expires_at <= now))
