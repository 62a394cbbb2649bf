"""One place where a workshop's data lives: a database and its files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection

from service.backup.patience import patiently
from service.backup.rows import Tally, lines_of
from service.orders.actors import System
from service.store import record
from service.store.blobs import Blobs
from service.store.engine import Database
from service.store.metadata import metadata
from service.store.migrating import current_revision, newest_revision
from service.store.tables import order_counts
from service.store.upkeep_tables import workers
from service.usecases import privacy_and_audit, shop
from service.usecases.context import Context


class UnfitError(Exception):
    """What was asked for cannot be done with this place or this copy."""


@dataclass(frozen=True)
class Place:
    """A database and its files.

    Attributes:
        ctx: what use cases need to work on it.
        finish: brings its database up to this code, queue included.
    """

    database: Database
    blobs: Blobs
    ctx: Context
    finish: Callable[[], None]


def table_names() -> tuple[str, ...]:
    """The tables that hold a workshop's data: neither queue nor schema number, nor what follows from the rest."""
    return tuple(sorted(metadata.tables.keys() - {workers.name, order_counts.name}))


def need_current(connection: Connection) -> str:
    """The schema revision. Raises Unfit where this code's is another."""
    current = current_revision(connection)
    if current is None:
        raise UnfitError("There is nothing here yet: no workshop was ever opened in this place.")
    if current != newest_revision():
        raise UnfitError(
            "The database is of another version. Bring it up to date first: `slatproof migrate`."
        )
    return current


def need_empty(place: Place) -> None:
    """Raises Unfit where there is anything: a copy never goes over what somebody may need."""
    with place.database.reading() as connection:
        taken = current_revision(connection) is not None
    if taken or patiently(lambda: next(place.blobs.entries(), None)) is not None:
        raise UnfitError(
            "There is something in that place already. A copy is only ever put into an empty one: "
            "name another folder, or an empty database and bucket."
        )


def need_same(place: Place, names: tuple[str, ...], tally: Tally) -> None:
    """Raises Unfit where the rows in a place are not those that were counted, by digest."""
    there = Tally()
    with place.database.reading() as connection:
        for _ in there.over(lines_of(connection, names)):
            pass
    if (there.rows, there.digest) != (tally.rows, tally.digest):
        raise UnfitError("The copy is not the same as what was copied. Do not use it; keep the old place.")


def check_chains(place: Place) -> tuple[int, tuple[str, ...]]:
    """Check every workshop's record: entries in all, and what does not hold, in words."""
    entries, faults = 0, []
    for workshop in shop.list_workshops(place.ctx):
        fault = privacy_and_audit.verify_record(place.ctx, System(workshop.id))
        if fault is not None:
            faults.append(f"{workshop.key}: the record does not hold: {fault.reason}")
        with place.database.reading() as connection:
            entries += record.head(connection, workshop.id)[0]
    return entries, tuple(faults)
