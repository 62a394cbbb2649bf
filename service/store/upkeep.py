"""Queries about the workers there are, and about what is to be done now and then."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from service.orders.upkeep import Chore, Done
from service.store.upkeep_tables import upkeep, workers


def add_worker(connection: Connection, worker_id: str, now: datetime) -> None:
    """A worker begins."""
    row = {"id": worker_id, "begun_at": now, "seen_at": now, "beats": 0}
    connection.execute(insert(workers).values(row))


def beat(connection: Connection, worker_id: str, now: datetime) -> bool:
    """A worker says that it lives; false where it was taken for dead and is no longer one of them."""
    changed = connection.execute(
        update(workers)
        .where(workers.c.id == worker_id)
        .values(seen_at=now, beats=workers.c.beats + 1)
        .returning(workers.c.id)
    )
    return changed.one_or_none() is not None


def beats_of_workers(connection: Connection) -> dict[str, int]:
    """How often each worker has said that it lives."""
    return {row.id: row.beats for row in connection.execute(select(workers.c.id, workers.c.beats))}


def newest_sign_of_life(connection: Connection) -> datetime | None:
    """When a worker was last seen."""
    query = select(workers.c.seen_at).order_by(workers.c.seen_at.desc()).limit(1)
    return connection.execute(query).scalar_one_or_none()


def strike_worker(connection: Connection, worker_id: str, beats: int | None = None) -> None:
    """A worker is one no more; with ``beats``, only if it has said nothing since."""
    query = delete(workers).where(workers.c.id == worker_id)
    connection.execute(query if beats is None else query.where(workers.c.beats == beats))


def strike_all_workers(connection: Connection) -> None:
    """Nobody works here: for a process that knows itself to be the only one."""
    connection.execute(delete(workers))


def note_done(connection: Connection, done: Done) -> None:
    """Keep when a chore was last done and how it went."""
    write = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    values = {"what": done.what.value, "at": done.at, "well": done.well, "words": done.words[:1000]}
    connection.execute(
        write(upkeep).values(values).on_conflict_do_update(index_elements=["what"], set_=values)
    )


def claim_chore(connection: Connection, what: Chore, now: datetime, before: datetime) -> bool:
    """Take a chore in hand unless somebody did since ``before``; of several who try, one gets it."""
    write = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    values = {"what": what.value, "at": now, "well": True, "words": ""}
    claimed = connection.execute(
        write(upkeep)
        .values(values)
        .on_conflict_do_update(
            index_elements=["what"],
            set_={"at": now},
            where=(upkeep.c.at <= before) | (upkeep.c.at > now),
        )
        .returning(upkeep.c.what)
    )
    return claimed.one_or_none() is not None


def last_done(connection: Connection) -> dict[Chore, Done]:
    """Each chore's last time; those never done are absent."""
    known = {chore.value: chore for chore in Chore}
    rows = connection.execute(select(upkeep)).all()
    return {
        known[row.what]: Done(known[row.what], row.at, row.well, row.words)
        for row in rows
        if row.what in known
    }
