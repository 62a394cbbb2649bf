"""A copy of everything into an empty place: from a backup, or from another place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy import Connection

from service.backup.backing_up import Backup
from service.backup.files import Copied, copy_files
from service.backup.place import (
    Place,
    UnfitError,
    check_chains,
    need_current,
    need_empty,
    need_same,
    table_names,
)
from service.backup.rows import Line, Tally, lines_of, load
from service.orders.upkeep import Chore
from service.orders.work import JobState
from service.store import art
from service.store.blobs import Blobs
from service.store.migrating import upgrade
from service.store.record_tables import jobs
from service.store.upkeep_tables import upkeep


@dataclass(frozen=True)
class Moved:
    """What was put into a place.

    Attributes:
        rows: in all tables.
        entries: of the records of decisions, each chain checked.
        faults: what did not hold in them; it did not before either.
        jobs: unfinished work that was asked for again.
    """

    rows: int
    files: Copied
    entries: int
    faults: tuple[str, ...]
    jobs: int


def restore(backup: Backup, target: Place) -> Moved:
    """Put a backup into an empty place, and check it there. Unfit, BlobsAwayError."""
    need_empty(target)
    upgrade(target.database, backup.about["schema"])  # its own version first, then what has changed since
    tally = _load(target, backup.lines())
    if tally.digest != backup.about["rows_digest"]:
        raise UnfitError("The backup's rows are not those it was made of. Take another backup.")
    names = tuple(sorted(backup.about["rows"] | dict.fromkeys(tally.rows)))
    return _finish(target, names, tally, backup.files, backup.store)


def move(source: Place, target: Place) -> Moved:
    """Put everything of one place into another, empty one, and check it there. Unfit, BlobsAwayError.

    The source is left as it is; nobody may be changing it meanwhile.
    """
    need_empty(target)
    names = table_names()
    with source.database.reading() as connection:
        upgrade(target.database, need_current(connection))
        tally = _load(target, lines_of(connection, names))
        files = sorted(set(art.named_blobs(connection)))
    return _finish(target, names, tally, files, source.blobs)


def need_stillness(place: Place) -> None:
    """Raises Unfit where others are connected to a PostgreSQL database; a folder has a lock for that."""
    if place.database.engine.dialect.name != "postgresql":
        return
    others = sa.text(
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
        "AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
    )
    with place.database.reading() as connection:
        if connection.scalar(others):
            raise UnfitError("Others are connected to the database. Stop every web and worker process first.")


def _load(target: Place, lines: Iterable[Line]) -> Tally:
    tally = Tally()
    with target.database.writing() as connection:
        load(connection, tally.over(lines))
    return tally


def _finish(target: Place, names: tuple[str, ...], tally: Tally, files: list[str], source: Blobs) -> Moved:
    need_same(target, names, tally)
    copied = copy_files(files, source, target.blobs)
    upgrade(target.database)
    with target.database.writing() as connection:
        # The background engine's own tables were not copied: they are made anew here.
        connection.execute(sa.delete(upkeep).where(upkeep.c.what == Chore.ENGINE.value))
    target.finish()
    entries, faults = check_chains(target)
    with target.database.writing() as connection:
        asked = ask_again(target, connection)
    return Moved(tally.rows.total(), copied, entries, faults, asked)


def ask_again(target: Place, connection: Connection, workshop_id: str | None = None) -> int:
    """The queue was not copied: what was not done is asked for again, under the same name.

    Of one workshop, or of all.
    """
    undone = jobs.c.state.in_((JobState.WAITING.value, JobState.RUNNING.value))
    whose = sa.true() if workshop_id is None else jobs.c.workshop_id == workshop_id
    rows = connection.execute(sa.select(jobs.c.id, jobs.c.kind, jobs.c.payload).where(undone, whose)).all()
    for row in rows:
        target.ctx.queue.enqueue(connection, row.kind, row.id, row.payload)
    return len(rows)
