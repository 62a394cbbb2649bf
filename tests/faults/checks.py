"""What was promised, looked for after a round: in the database, the files and the mail, not through the service."""

from __future__ import annotations

import hashlib
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from seeds.demo.mark import SLAT
from service.backup.place import Place, check_chains
from service.batches.verify import verify
from service.maintenance import let_go
from service.orders.work import BatchState, JobState
from service.root import build
from service.settings import load_settings
from service.store.blobs import BlobDamagedError, BlobMissingError
from service.store.mail_tables import messages
from service.store.record_tables import batches, jobs, record, record_particulars
from service.store.tables import artworks, orders
from service.usecases import privacy_and_audit
from tests.faults.traffic import CLIENT, Told

LONGEST_WORK = 60.0
MARKED = f"-{SLAT}/"
"""Folders of what the workshop's own mark stands on."""


@contextmanager
def place_at(environ: Mapping[str, str]) -> Iterator[Place]:
    """A shape's database and files."""
    service = build(load_settings(environ))
    try:
        yield Place(service.database, service.ctx.blobs, service.ctx, service.migrate)
    finally:
        let_go(service)


def losses(place: Place, told: Sequence[Told], mail: Counter[str]) -> list[str]:
    """Everything that is not as it was promised, in words; empty where all is well."""
    found = [f"job {row.id} ({row.kind}) is still {row.state}" for row in _unended(place)]
    found += check_chains(place)[1]
    with place.database.reading() as connection:
        for each in told:
            found += _of_order(place, connection, each)
        found += _batches(place, connection, told)
        found += _mail(connection, mail)
    return found


def _unended(place: Place) -> list[Any]:
    """Jobs that do not end, given a while."""
    undone = jobs.c.state.in_((JobState.WAITING.value, JobState.RUNNING.value))
    end = time.monotonic() + LONGEST_WORK
    while True:
        with place.database.reading() as connection:
            rows = list(connection.execute(sa.select(jobs.c.id, jobs.c.kind, jobs.c.state).where(undone)))
        if not rows or time.monotonic() > end:
            return rows
        time.sleep(0.2)


def _of_order(place: Place, connection: sa.Connection, told: Told) -> list[str]:
    if not told.order_id:
        return []
    found = []
    name = f"order {told.order_id}"
    if connection.scalar(sa.select(sa.func.count()).where(orders.c.id == told.order_id)) != 1:
        return [f"{name} is not there"]
    kept = connection.scalars(sa.select(artworks.c.sha256).where(artworks.c.order_id == told.order_id)).all()
    if told.erased:
        found += _left_of_erased(connection, told.order_id)
    elif told.uploaded and kept != [told.uploaded]:
        found.append(f"{name}: its upload is there {kept.count(told.uploaded)} times among {len(kept)} files")
    for digest in {*kept, *filter(None, [told.archive])}:
        try:
            place.blobs.get(digest)
        except (BlobMissingError, BlobDamagedError) as wrong:
            found.append(f"{name}: file {digest}: {type(wrong).__name__}")
    entered = Counter(
        (row.kind, row.digest)
        for row in connection.execute(
            sa.select(record.c.kind, record.c.digest).where(record.c.order_id == told.order_id)
        )
    )
    kinds = {kind for kind, _ in entered}
    found += [f"{name}: no entry for its {kind}" for kind in told.decisions if kind not in kinds]
    return found + [f"{name}: {n} entries for one {kind}" for (kind, _), n in entered.items() if n > 1]


def _left_of_erased(connection: sa.Connection, order_id: str) -> list[str]:
    """What was kept of somebody who was erased; files that nobody names are housekeeping's."""
    row = connection.execute(sa.select(orders).where(orders.c.id == order_id)).one()
    files = sa.select(sa.func.count()).select_from(artworks).where(artworks.c.order_id == order_id)
    names = connection.scalars(
        sa.select(record_particulars.c.name).where(record_particulars.c.order_id == order_id)
    ).all()
    left = {
        "name": CLIENT in repr(row),
        "files": bool(connection.scalar(files)),
        "particulars in the record": CLIENT in names,
    }
    return [f"order {order_id} was erased and its {what} is there" for what, there in left.items() if there]


def _batches(place: Place, connection: sa.Connection, told: Sequence[Told]) -> list[str]:
    """Each order that was promised one is in one batch, whole and verified with nothing but its bytes."""
    found = []
    rows = connection.execute(sa.select(batches)).all()
    for each in told:
        theirs = [row for row in rows if each.order_id in row.order_ids]
        if each.batch and [row.id for row in theirs] != [each.batch]:
            found.append(f"order {each.order_id} is in {len(theirs)} batches")
        found += [
            wrong for row in theirs if row.state == BatchState.READY.value for wrong in _half(place, row)
        ]
    return found


def _half(place: Place, row: Any) -> list[str]:
    data = place.blobs.get(row.archive)
    if hashlib.sha256(data).hexdigest() != row.archive or len(data) != row.size:
        return [f"batch {row.id}: its archive is not what it was"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "batch.zip"
        path.write_bytes(data)
        verdict = verify(path, privacy_and_audit.public_keys(place.ctx))
        with zipfile.ZipFile(path) as archive:
            marked = any(MARKED in name for name in archive.namelist())
    found = [] if marked else [f"batch {row.id}: the workshop's mark is not among its drawings"]
    return found if verdict.sound else [*found, f"batch {row.id}: {verdict.problems}"]


def _mail(connection: sa.Connection, mail: Counter[str]) -> list[str]:
    """Each event has one row, each row one message, however often the line broke while it was sent."""
    known = set(connection.scalars(sa.select(messages.c.id)))
    found = [f"mail {key} belongs to no event" for key in mail if key not in known]
    found += [f"mail {key} went out {count} times" for key, count in mail.items() if count > 1]
    sent = connection.scalars(sa.select(messages.c.id).where(messages.c.sent_at.is_not(None)))
    return found + [f"mail {key} is noted as sent and never came" for key in sent if not mail[key]]
