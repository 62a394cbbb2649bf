"""One workshop put into another place, beside those that are there: rows, files, record; all checked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy import ColumnElement, Connection, MetaData, Table

from service.backup.files import copy_files
from service.backup.moving import Moved, ask_again
from service.backup.place import Place, UnfitError, need_current, table_names
from service.backup.rows import Line, Tally, lines_where, load
from service.orders.actors import System
from service.store import art, record, shop
from service.store.access_tables import accounts, api_tokens, attempts, client_links, session_links, sessions
from service.store.tables import workshops
from service.store.upkeep_tables import upkeep
from service.store.vault import SealedError
from service.usecases import privacy_and_audit

_STAY = frozenset({attempts.name, sessions.name, session_links.name, upkeep.name})
"""Of the place itself: who is signed in here signs in anew there."""


def move_shop(source: Place, target: Place, key: str) -> Moved:
    """Put one workshop of a place into another one, and check it there. UnfitError, BlobsAwayError.

    Either it is there whole afterwards, or nothing of it but files that nobody names. The source is left as it is;
    nobody may be changing it meanwhile.

    Args:
        source: where it is.
        target: where it shall be; other workshops there are not touched.
        key: the workshop's public key.
    """
    target.finish()
    with source.database.reading() as connection:
        need_current(connection)
        found = shop.find_workshop_by_key(connection, key)
        if found is None:
            raise UnfitError(f"There is no workshop {key} in this place.")
        _need_room(target, connection, found.id, key)
        files = sorted(art.blobs_of_workshop(connection, found.id))
        copied = copy_files(
            files, source.blobs, target.blobs
        )  # named after, so that no row names what is not there
        tally = _load(target, lines_of_shop(connection, found.id), found.id)
    _need_same(target, found.id, tally)
    fault = privacy_and_audit.verify_record(target.ctx, System(found.id))
    faults = () if fault is None else (f"{key}: the record does not hold: {fault.reason}",)
    with target.database.writing() as connection:
        asked = ask_again(target, connection, found.id)
        entries = record.head(connection, found.id)[0]
    target.finish()  # keys that were kept as they are, are sealed where this place seals them
    return Moved(tally.rows.total(), copied, entries, faults, asked)


def close_shop(place: Place, key: str, now: datetime) -> None:
    """Let nobody into a workshop that has moved: its accounts, links and tokens are good no more. UnfitError."""
    with place.database.writing() as connection:
        found = shop.find_workshop_by_key(connection, key)
        if found is None:
            raise UnfitError(f"There is no workshop {key} in this place.")
        for table, ended in (
            (accounts, "disabled_at"),
            (client_links, "revoked_at"),
            (api_tokens, "revoked_at"),
        ):
            still = (table.c.workshop_id == found.id) & table.c[ended].is_(None)
            connection.execute(sa.update(table).where(still).values({ended: now}))


def lines_of_shop(connection: Connection, workshop_id: str) -> Iterator[Line]:
    """Every row that is one workshop's."""
    return lines_where(connection, lambda tables: _theirs(tables, workshop_id))


def _theirs(tables: MetaData, workshop_id: str) -> dict[str, ColumnElement[bool]]:
    """Which rows of each table are the workshop's: by its id, or because they belong to rows that are."""
    found: dict[str, ColumnElement[bool]] = {}
    wanted = set(table_names()) - _STAY
    for table in tables.sorted_tables:  # those that others point at first
        if table.name not in wanted:
            continue
        if table.name == workshops.name:
            found[table.name] = table.c.id == workshop_id
        elif "workshop_id" in table.c:
            found[table.name] = table.c.workshop_id == workshop_id
        else:
            found[table.name] = _belongs(table, found)
    return found


def _belongs(table: Table, found: dict[str, ColumnElement[bool]]) -> ColumnElement[bool]:
    for column in table.c:
        for foreign in column.foreign_keys:
            owner = foreign.column
            if owner.table.name in found:
                return column.in_(sa.select(owner).where(found[owner.table.name]))
    raise UnfitError(
        f"Whose the rows of the table {table.name} are is not known. This is a fault of this version."
    )


def _need_room(target: Place, source: Connection, workshop_id: str, key: str) -> None:
    """Raises UnfitError where the other place has the workshop already, its key, or somebody's address."""
    emails = set(source.scalars(sa.select(accounts.c.email).where(accounts.c.workshop_id == workshop_id)))
    with target.database.reading() as connection:
        same = (workshops.c.id == workshop_id) | (workshops.c.key == key)
        if connection.scalar(sa.select(workshops.c.id).where(same)) is not None:
            raise UnfitError(
                f"There is a workshop {key}, or this one under another key, in the other place already."
            )
        taken = sorted(connection.scalars(sa.select(accounts.c.email).where(accounts.c.email.in_(emails))))
    if taken:
        raise UnfitError(
            f"In the other place these addresses sign in to another workshop: {', '.join(taken)}. Change them first."
        )


def _load(target: Place, lines: Iterator[Line], workshop_id: str) -> Tally:
    tally = Tally()
    with target.database.writing() as connection:
        load(connection, tally.over(lines))
        try:
            shop.signing_key(connection, workshop_id)
        except SealedError:
            raise UnfitError(
                "The workshop's keys are sealed with a key file that the other place does not have. Give it the same "
                "SLATPROOF_KEY_FILE."
            ) from None
    return tally


def _need_same(target: Place, workshop_id: str, tally: Tally) -> None:
    there = Tally()
    with target.database.reading() as connection:
        for _ in there.over(lines_of_shop(connection, workshop_id)):
            pass
    if (there.rows, there.digest) != (tally.rows, tally.digest):
        raise UnfitError("The copy is not the same as what was copied. Do not use it; keep the old place.")
