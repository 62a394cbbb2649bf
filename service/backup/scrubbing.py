"""Every file compared with its name, what is wrong told by the orders it touches, and healed from a backup."""

from __future__ import annotations

import tempfile
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import Connection

from service.backup.patience import patiently
from service.backup.place import Place
from service.batches.verify import verify
from service.store import art
from service.store.blobs import BlobDamagedError, BlobMissingError, Blobs, pieces, state_of
from service.store.record_tables import batches
from service.store.tables import artworks, carvings, drawings, orders, proofs, readings

_WHAT = (
    ("the file a client sent", artworks, artworks.c.sha256),
    ("the outline that was read", readings, readings.c.outline),
    ("the picture of what was read", readings, readings.c.picture),
    ("the outline that is carved", carvings, carvings.c.outline),
    ("a proof's facts", proofs, proofs.c.digest),
    ("a proof's outline", proofs, proofs.c.outline),
    ("a proof's picture", proofs, proofs.c.picture),
)


@dataclass(frozen=True)
class Hurt:
    """One file that is not what it should be.

    Attributes:
        how: ``missing`` or ``damaged``.
        what: in words, what it is.
        orders: numbers of the orders it touches.
        healed: whether a good copy was put in its place.
    """

    digest: str
    how: str
    what: str
    orders: tuple[int, ...]
    healed: bool


def scrub(place: Place, spare: Blobs | None = None) -> tuple[int, tuple[Hurt, ...]]:
    """Read every file that a row names; how many there are, and those that are hurt. BlobsAwayError.

    A place that is away is waited for.

    Args:
        place: where.
        spare: files of a backup: what is hurt is taken from there.
    """
    with place.database.reading() as connection:
        named = sorted(set(art.named_blobs(connection)))
    found = []
    for digest in named:
        how = patiently(partial(state_of, place.blobs, digest))
        if how is None:
            continue
        with place.database.reading() as connection:
            if next(art.named_blobs(connection, [digest]), None) is None:
                continue  # erased meanwhile
            what, touched = _touches(connection, digest)
        healed = spare is not None and patiently(partial(_heal, place.blobs, spare, digest))
        found.append(Hurt(digest, how, what, touched, healed))
    return len(named), tuple(found)


def unsound_archives(place: Place, keys: Collection[bytes]) -> Iterator[str]:
    """Every archive kept that is not what this program makes of what it holds, in words. BlobsAwayError.

    A place that is away is waited for.

    Args:
        place: where.
        keys: the workshops' public keys.
    """
    with place.database.reading() as connection:
        kept = connection.execute(
            sa.select(batches.c.id, batches.c.archive, batches.c.size).where(batches.c.archive.is_not(None))
        ).all()
    for row in kept:
        with tempfile.NamedTemporaryFile(suffix=".zip") as file:
            path = Path(file.name)
            if not patiently(partial(_read_into, path, place.blobs, row.archive, row.size)):
                continue  # told among the hurt files
            verdict = verify(path, keys)
        if not verdict.sound:
            yield f"batch {row.id}: {'; '.join(verdict.problems)}"


def _read_into(path: Path, blobs: Blobs, digest: str, size: int) -> bool:
    """Put a file's bytes there, from the beginning however often it is tried; whether there were any."""
    try:
        with path.open("wb") as file:
            file.writelines(pieces(blobs, digest, 0, size))
    except (BlobMissingError, BlobDamagedError):
        return False
    return True


def _heal(blobs: Blobs, spare: Blobs, digest: str) -> bool:
    try:
        good = spare.get(digest)
    except (BlobMissingError, BlobDamagedError):
        return False
    blobs.delete(digest)
    blobs.put(good)
    return True


def _touches(connection: Connection, digest: str) -> tuple[str, tuple[int, ...]]:
    for what, table, column in _WHAT:
        ids = connection.scalars(sa.select(table.c.order_id).where(column == digest)).all()
        if ids:
            return what, _numbers(connection, ids)
    drawn = sa.select(proofs.c.order_id).join(drawings, drawings.c.proof_id == proofs.c.id)
    if ids := connection.scalars(drawn.where(drawings.c.digest == digest)).all():
        return "a drawing", _numbers(connection, ids)
    lists = connection.scalars(sa.select(batches.c.order_ids).where(batches.c.archive == digest)).all()
    return "a batch's archive", _numbers(connection, [each for ids in lists for each in ids])


def _numbers(connection: Connection, ids: Iterable[str]) -> tuple[int, ...]:
    query = sa.select(orders.c.number).where(orders.c.id.in_(list(ids))).distinct()
    return tuple(connection.scalars(query.order_by(orders.c.number)))
