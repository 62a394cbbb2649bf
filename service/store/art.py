"""Queries about artwork, its readings, and proofs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    Text,
    cast,
    delete,
    exists,
    func,
    insert,
    select,
    union_all,
    update,
)

from artwork.intake.values import Wishes
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.chain import canonical_digest
from service.orders.ids import ids_among
from service.orders.proofs import Proof
from service.store.board_tables import test_boards
from service.store.mapping import to_json
from service.store.mark_tables import marks
from service.store.prepared import Prepared, one_of
from service.store.program_tables import program_checks
from service.store.record_tables import batches, record
from service.store.rows import ARTWORKS, BRIEF_PROOFS, PROOFS, READINGS
from service.store.sharing import asked_once
from service.store.tables import artworks, carvings, drawings, proofs, readings, standings
from service.store.tenant_scope import TenantScope
from service.store.version_tables import version_files

_NAMING = 0x51A8
"""Key of the PostgreSQL advisory lock; see :func:`lock_names`."""

_AS_TEXT = ("facts", "check")  # the large ones, which most readers only hand on
_PROOF_ROW = select(
    *(column for column in proofs.c if column.name not in _AS_TEXT),
    *(cast(proofs.c[name], Text).label(name) for name in _AS_TEXT),
    standings,
).join(standings, standings.c.proof_id == proofs.c.id)
_BRIEF_ROW = select(
    *(column for column in proofs.c if column.name not in _AS_TEXT),
    *(column for column in standings.c if column.name != "proof_id"),
).join(standings, standings.c.proof_id == proofs.c.id)
_BRIEF_COLUMNS: dict[str, ColumnElement[Any]] = {**dict(standings.c.items()), **dict(proofs.c.items())}


def insert_artwork(connection: Connection, workshop_id: str, artwork: Artwork) -> None:
    """Store a new file's row."""
    connection.execute(insert(artworks).values(ARTWORKS.row(artwork, workshop_id=workshop_id)))


@asked_once
def artworks_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Artwork]:
    """The files of orders, oldest first."""
    query = select(artworks).where(artworks.c.order_id.in_(ids_among(ids)), *reach.within(artworks))
    return ARTWORKS.values(connection.execute(query.order_by(artworks.c.uploaded_at, artworks.c.id)))


def artworks_by_ids(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Artwork]:
    """Files within reach, in no set order."""
    query = select(artworks).where(artworks.c.id.in_(ids_among(ids)), *reach.within(artworks))
    return ARTWORKS.values(connection.execute(query))


def kept_by_workshop(connection: Connection, workshop_id: str) -> tuple[int, int]:
    """How many files clients sent a workshop, and their bytes."""
    counted = select(func.count(), func.coalesce(func.sum(artworks.c.size), 0)).where(
        artworks.c.workshop_id == workshop_id
    )
    number, size = connection.execute(counted).one()
    return int(number), int(size)


def insert_reading(connection: Connection, workshop_id: str, reading: StoredReading) -> None:
    """Store a reading that is yet to be made."""
    digest = canonical_digest(to_json(reading.wishes))
    values = READINGS.row(reading, workshop_id=workshop_id, wishes_digest=digest)
    connection.execute(insert(readings).values(values))


def finish_reading(connection: Connection, reading: StoredReading) -> bool:
    """Store what was read, or why it was refused; false where the reading waits no more."""
    finished = connection.execute(
        update(readings)
        .where(readings.c.id == reading.id, readings.c.state == ReadingState.WAITING.value)
        .values(
            state=reading.state.value,
            outline=reading.outline,
            picture=reading.picture,
            kind=reading.kind,
            format=reading.format,
            report=reading.report,
            trouble=to_json(reading.trouble),
        )
        .returning(readings.c.id)
    )
    return finished.one_or_none() is not None


def find_reading(
    connection: Connection, reach: TenantScope, artwork_id: str, wishes: Wishes
) -> StoredReading | None:
    """The reading of a file under these wishes, if it was asked for before."""
    query = select(readings).where(
        readings.c.artwork_id == artwork_id,
        readings.c.wishes_digest == canonical_digest(to_json(wishes)),
        *reach.within(readings),
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else READINGS.value(row)


@asked_once
def readings_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[StoredReading]:
    """The readings of orders, in no set order."""
    query = select(readings).where(readings.c.order_id.in_(ids_among(ids)), *reach.within(readings))
    return READINGS.values(connection.execute(query))


def readings_by_ids(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[StoredReading]:
    """Readings within reach, in no set order."""
    query = select(readings).where(readings.c.id.in_(ids_among(ids)), *reach.within(readings))
    return READINGS.values(connection.execute(query))


def insert_proof(connection: Connection, workshop_id: str, proof: Proof) -> None:
    """Store a new proof with nothing decided about it."""
    stored = PROOFS.row(proof, workshop_id=workshop_id)
    connection.execute(insert(proofs).values({column.name: stored[column.name] for column in proofs.c}))
    connection.execute(insert(standings).values(proof_id=proof.id, **_standing(proof)))


def update_standing(connection: Connection, proof: Proof) -> None:
    """Store what people decided about a proof; the proof itself never changes."""
    connection.execute(update(standings).where(standings.c.proof_id == proof.id).values(_standing(proof)))


def _standing(proof: Proof) -> dict[str, Any]:
    stored = PROOFS.row(proof)
    return {name: stored[name] for name in ("waived", "signed_at", "judged_at", "stale_because")}


def next_proof_number(connection: Connection, carving_id: str) -> int:
    """The number of a carving's next proof."""
    query = select(func.coalesce(func.max(proofs.c.number), 0)).where(proofs.c.carving_id == carving_id)
    return int(connection.execute(query).scalar_one()) + 1


@asked_once
def current_proofs(connection: Connection, reach: TenantScope, order_ids: Sequence[str]) -> list[Proof]:
    """The proof each carving of these orders stands by, in no set order."""
    query = _PROOF_ROW.join(carvings, carvings.c.proof_id == proofs.c.id)
    return _proofs(
        connection, query.where(carvings.c.order_id.in_(ids_among(order_ids)), *reach.within(proofs))
    )


def brief_proofs_by_ids(
    connection: Connection, reach: TenantScope, ids: Sequence[str], only: frozenset[str] | None = None
) -> list[Proof]:
    """As :func:`proofs_by_ids`, without facts and check, which are some ten thousand characters each.

    ``only`` these fields of them where they can be read alone.
    """
    some = None if only is None else BRIEF_PROOFS.some(only)
    if some is not None:
        asked = _proofs_in_part(some.columns, reach.kind)
        return some.values(asked.rows(connection, {"proofs": ids_among(ids), **reach.values}))
    those = (proofs.c.id.in_(ids_among(ids)), *reach.within(proofs))
    return BRIEF_PROOFS.values(connection.execute(_BRIEF_ROW.where(*those)))


@lru_cache(maxsize=64)
def _proofs_in_part(columns: tuple[str, ...], reach: TenantScope) -> Prepared:
    query = select(*(_BRIEF_COLUMNS[name] for name in columns))
    if not set(columns) <= set(proofs.c.keys()):
        query = query.join_from(proofs, standings, standings.c.proof_id == proofs.c.id)
    return Prepared(query.where(one_of(proofs.c.id, "proofs"), *reach.prepared(proofs)), named=False)


def last_refused(connection: Connection, workshop_id: str, most: int) -> list[Proof]:
    """The last proofs of a workshop that will not carve, newest first."""
    return _last(connection, workshop_id, proofs.c.verdict == "will-not-carve", most)


def last_signed(connection: Connection, workshop_id: str, most: int) -> list[Proof]:
    """The last proofs of a workshop that were signed, newest first."""
    return _last(connection, workshop_id, standings.c.signed_at.is_not(None), most)


def _last(connection: Connection, workshop_id: str, which: ColumnElement[bool], most: int) -> list[Proof]:
    query = _PROOF_ROW.where(proofs.c.workshop_id == workshop_id, which)
    return _proofs(connection, query.order_by(proofs.c.made_at.desc(), proofs.c.id).limit(most))


def proofs_by_ids(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Proof]:
    """Proofs within reach, in no set order."""
    return _proofs(connection, _PROOF_ROW.where(proofs.c.id.in_(ids_among(ids)), *reach.within(proofs)))


def proofs_of_carvings(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Proof]:
    """Every proof these carvings ever had, newest first."""
    query = _PROOF_ROW.where(proofs.c.carving_id.in_(ids_among(ids)), *reach.within(proofs))
    return _proofs(connection, query.order_by(proofs.c.number.desc()))


def proofs_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Proof]:
    """Every proof in these orders, oldest first."""
    query = _PROOF_ROW.where(proofs.c.order_id.in_(ids_among(ids)), *reach.within(proofs))
    return _proofs(connection, query.order_by(proofs.c.carving_id, proofs.c.number))


def _proofs(connection: Connection, query: Select[Any]) -> list[Proof]:
    return PROOFS.values(connection.execute(query))


def delete_proofs_of_carvings(connection: Connection, carving_ids: Sequence[str]) -> None:
    """Remove every proof of these carvings."""
    doomed = select(proofs.c.id).where(proofs.c.carving_id.in_(ids_among(carving_ids)))
    connection.execute(delete(drawings).where(drawings.c.proof_id.in_(doomed)))
    connection.execute(delete(standings).where(standings.c.proof_id.in_(doomed)))
    connection.execute(delete(proofs).where(proofs.c.carving_id.in_(ids_among(carving_ids))))


def tried_proofs(connection: Connection, before: datetime, most: int) -> list[str]:
    """Ids of proofs older than ``before`` that nothing stands on: not their carving's current or newest one, signed or
    judged by nobody, and in no entry of the record.
    """
    others = proofs.alias()
    of_order = (record.c.order_id == proofs.c.order_id) & (
        (record.c.proof_id == proofs.c.id) | (record.c.digest == proofs.c.digest)
    )
    query = (
        select(proofs.c.id)
        .join(standings, standings.c.proof_id == proofs.c.id)
        .where(
            proofs.c.made_at < before,
            standings.c.signed_at.is_(None),
            standings.c.judged_at.is_(None),
            exists().where(others.c.carving_id == proofs.c.carving_id, others.c.number > proofs.c.number),
            ~exists().where(carvings.c.id == proofs.c.carving_id, carvings.c.proof_id == proofs.c.id),
            ~exists().where(of_order),
        )
        .order_by(proofs.c.id)
        .limit(most)
    )
    return list(connection.scalars(query))


def delete_proofs(connection: Connection, ids: Sequence[str]) -> None:
    """Remove these proofs; what they drew is swept once nothing else names it."""
    wanted = ids_among(ids)
    for table, column in (
        (drawings, drawings.c.proof_id),
        (standings, standings.c.proof_id),
        (proofs, proofs.c.id),
    ):
        connection.execute(delete(table).where(column.in_(wanted)))


def delete_art_of_order(connection: Connection, order_id: str) -> None:
    """Remove the order's files and readings, once no carving names them."""
    connection.execute(delete(readings).where(readings.c.order_id == order_id))
    connection.execute(delete(artworks).where(artworks.c.order_id == order_id))


def find_drawing(connection: Connection, proof_id: str, form: str) -> str | None:
    """Digest of a proof's drawing in this form, if it was made before."""
    query = select(drawings.c.digest).where(drawings.c.proof_id == proof_id, drawings.c.form == form)
    return connection.execute(query).scalar_one_or_none()


def keep_drawing(connection: Connection, proof_id: str, form: str, digest: str) -> None:
    """Remember a drawing, unless it is known already or its proof is gone."""
    locked = select(standings.c.proof_id).where(standings.c.proof_id == proof_id).with_for_update()
    if connection.execute(locked).one_or_none() is None:
        return
    if find_drawing(connection, proof_id, form) is None:
        connection.execute(insert(drawings).values(proof_id=proof_id, form=form, digest=digest))


def blobs_of_order(connection: Connection, order_id: str) -> frozenset[str]:
    """Every blob that the order's files, readings, carvings and proofs name."""
    of_order = [
        select(artworks.c.sha256).where(artworks.c.order_id == order_id),
        select(readings.c.outline).where(readings.c.order_id == order_id),
        select(readings.c.picture).where(readings.c.order_id == order_id),
        select(carvings.c.outline).where(carvings.c.order_id == order_id),
        select(carvings.c.kept_outline).where(carvings.c.order_id == order_id),
        select(proofs.c.digest).where(proofs.c.order_id == order_id),
        select(proofs.c.outline).where(proofs.c.order_id == order_id),
        select(proofs.c.picture).where(proofs.c.order_id == order_id),
        select(program_checks.c.picture).where(program_checks.c.order_id == order_id),
        select(drawings.c.digest)
        .join(proofs, proofs.c.id == drawings.c.proof_id)
        .where(proofs.c.order_id == order_id),
    ]
    return frozenset(name for name in connection.scalars(union_all(*of_order)) if name is not None)


def lock_names(connection: Connection, *, to_sweep: bool) -> None:
    """Keep sweeps off while rows that name files are written, or everybody who names files while sweeping.

    SQLite has one writer anyway.
    """
    if connection.dialect.name == "postgresql":
        lock = func.pg_advisory_xact_lock if to_sweep else func.pg_advisory_xact_lock_shared
        connection.execute(select(lock(_NAMING)))


_NAMES = (
    artworks.c.sha256,
    readings.c.outline,
    readings.c.picture,
    carvings.c.outline,
    carvings.c.kept_outline,
    proofs.c.digest,
    proofs.c.outline,
    proofs.c.picture,
    drawings.c.digest,
    batches.c.archive,
    marks.c.digest,
    marks.c.outline,
    marks.c.picture,
    version_files.c.digest,
    program_checks.c.picture,
    test_boards.c.photograph,
)


def blobs_of_workshop(connection: Connection, workshop_id: str) -> frozenset[str]:
    """Every blob that a row of this workshop names."""
    found: set[str] = set()
    for column in _NAMES:
        query = select(column).where(column.is_not(None)).distinct()
        if column.table is drawings:
            query = query.join_from(drawings, proofs).where(proofs.c.workshop_id == workshop_id)
        else:
            query = query.where(column.table.c.workshop_id == workshop_id)
        found.update(connection.scalars(query))
    return frozenset(found)


def named_blobs(connection: Connection, among: Iterable[str] | None = None) -> Iterator[str]:
    """Every blob that any row of any workshop names; with ``among``, only those of them."""
    wanted = None if among is None else list(among)
    for column in _NAMES:
        query = select(column).where(column.is_not(None) if wanted is None else column.in_(wanted)).distinct()
        yield from connection.execution_options(yield_per=1000).scalars(query)
