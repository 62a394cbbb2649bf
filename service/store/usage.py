"""What each workshop used of an installation: counted for whoever hosts it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, Table, func, select

from service.store.access_tables import accounts
from service.store.record_tables import batches, jobs
from service.store.tables import artworks, orders, proofs, workshops


@dataclass(frozen=True)
class Usage:
    """One workshop's use; nothing in it names a client.

    Attributes:
        orders: placed since a moment; ``orders_kept``: all there are.
        work: pieces of background work asked for since then.
        proofs: made since then.
        files: artwork kept, of all orders; ``file_bytes``: their size.
        batch_bytes: size of all archives kept.
    """

    key: str
    name: str
    orders: int
    orders_kept: int
    work: int
    proofs: int
    files: int
    file_bytes: int
    batch_bytes: int


def open_workshops(connection: Connection) -> tuple[str, ...]:
    """Keys of the workshops that somebody may still sign in to."""
    still = accounts.c.disabled_at.is_(None) & (accounts.c.workshop_id == workshops.c.id)
    found = select(workshops.c.key).where(select(accounts.c.id).where(still).exists())
    return tuple(connection.scalars(found.order_by(workshops.c.key)))


def usage(connection: Connection, since: datetime) -> tuple[Usage, ...]:
    """Every workshop's use, by key."""
    placed = _by_workshop(connection, orders, func.count(), orders.c.created_at >= since)
    kept = _by_workshop(connection, orders, func.count())
    worked = _by_workshop(connection, jobs, func.count(), jobs.c.created_at >= since)
    proved = _by_workshop(connection, proofs, func.count(), proofs.c.made_at >= since)
    files = _by_workshop(connection, artworks, func.count())
    bytes_of_files = _by_workshop(connection, artworks, func.sum(artworks.c.size))
    bytes_of_batches = _by_workshop(connection, batches, func.coalesce(func.sum(batches.c.size), 0))
    rows = connection.execute(
        select(workshops.c.id, workshops.c.key, workshops.c.name).order_by(workshops.c.key)
    )
    return tuple(
        Usage(
            row.key,
            row.name,
            placed.get(row.id, 0),
            kept.get(row.id, 0),
            worked.get(row.id, 0),
            proved.get(row.id, 0),
            files.get(row.id, 0),
            bytes_of_files.get(row.id, 0),
            bytes_of_batches.get(row.id, 0),
        )
        for row in rows
    )


def _by_workshop(
    connection: Connection, table: Table, figure: ColumnElement[int], *only: ColumnElement[bool]
) -> dict[str, int]:
    query = select(table.c.workshop_id, figure).where(*only).group_by(table.c.workshop_id)
    return {row[0]: int(row[1]) for row in connection.execute(query)}
