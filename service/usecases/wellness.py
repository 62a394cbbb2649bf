"""Whether everything is well: for the workshop in words, for whoever watches the machines in a word."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from queue import Empty, Queue
from threading import Thread

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from service.orders.actors import Actor, Role
from service.orders.errors import TooManyError
from service.orders.ids import new_id
from service.orders.installation import installation_signs
from service.orders.shares import Used
from service.orders.wellness import ROOM_GONE, WORKER_SILENT, Sign, Vitals, signs
from service.store import art, jobs, mail, upkeep
from service.store.blobs import BlobDamagedError, BlobMissingError, BlobsAwayError
from service.usecases.context import Context
from service.usecases.examining import installation_of
from service.usecases.guard import need_role

MAIL_LOST_WITHIN = timedelta(days=30)
_TRIAL_SECONDS = 1.5
"""How long a trial may take where files are well; who watches machines asks again and again."""
_TRIAL = "Slatproof keeps this file now and then to see whether files can be kept: {}\n"


@dataclass(frozen=True)
class Readiness:
    """Whether people can read and decide by this process at this moment.

    Attributes:
        lacks: ``database``, ``files``, ``room``: what is missing. Without files no picture is shown and no upload
            taken in, and without room no upload; all else goes on, so they are told and do not count.
        worker: whether some worker showed itself lately; told, and does not count either.
    """

    lacks: tuple[str, ...]
    worker: bool

    @property
    def ready(self) -> bool:
        """Whether requests should come here."""
        return "database" not in self.lacks


def list_signs(ctx: Context, actor: Actor) -> tuple[Sign, ...]:
    """How everything is, in the workshop's own words; makers and helpers. NotAllowedError."""
    need_role(actor, "see how the service is", Role.MAKER, Role.HELPER)
    return all_signs(ctx, actor.workshop_id)


def all_signs(ctx: Context, workshop_id: str | None = None) -> tuple[Sign, ...]:
    """How work and installation are; work and mail of one workshop, or of all."""
    return signs(vitals_of(ctx, workshop_id)) + installation_signs(installation_of(ctx))


def vitals_of(ctx: Context, workshop_id: str | None = None) -> Vitals:
    """What there is to judge; work and mail of one workshop, or of all."""
    now, files_kept = ctx.clock.now(), _keeps_files(ctx)
    with ctx.store.reading() as connection:
        waiting, since = jobs.waiting_work(connection, workshop_id)
        mail_waiting, mail_since = mail.waiting_letters(connection, workshop_id)
        return Vitals(
            now=now,
            worker_seen=upkeep.newest_sign_of_life(connection),
            work_waiting=waiting,
            work_since=since,
            given_up=jobs.count_given_up(connection, workshop_id),
            mail_waiting=mail_waiting,
            mail_since=mail_since,
            mail_lost=mail.count_lost_letters(connection, now - MAIL_LOST_WITHIN, workshop_id),
            files_kept=files_kept,
            room=_room(ctx.folder),
            upkeep=upkeep.last_done(connection),
            shares=ctx.shares,
            used=None if workshop_id is None else _used(connection, workshop_id, now),
        )


def _used(connection: Connection, workshop_id: str, now: datetime) -> Used:
    files, size = art.kept_by_workshop(connection, workshop_id)
    return Used(files, size, jobs.asked_by_workshop(connection, workshop_id, now - timedelta(days=1)))


def readiness(ctx: Context) -> Readiness:
    """Whether requests should come here: asks the database, keeps a file, looks at the disk."""
    lacks: list[str] = []
    worker = False
    try:
        with ctx.store.reading() as connection:
            seen = upkeep.newest_sign_of_life(connection)
        worker = seen is not None and ctx.clock.now() - seen <= WORKER_SILENT
    except (DBAPIError, TooManyError):
        lacks.append("database")
    if not _keeps_files(ctx):
        lacks.append("files")
    room = _room(ctx.folder)
    if room is not None and room < ROOM_GONE:
        lacks.append("room")
    return Readiness(tuple(lacks), worker)


def _keeps_files(ctx: Context) -> bool:
    """Whether a file can be kept and read again: tried, not guessed from settings, and not waited for."""
    found: Queue[bool] = Queue()
    Thread(target=lambda: found.put(_keeps_a_file(ctx)), name="files-trial", daemon=True).start()
    try:
        return found.get(timeout=_TRIAL_SECONDS)
    except Empty:
        return False


def _keeps_a_file(ctx: Context) -> bool:
    trial = _TRIAL.format(new_id()).encode()  # never the same, so that several may try at once
    try:
        digest = ctx.blobs.put(trial)
        kept = ctx.blobs.get(digest) == trial
        ctx.blobs.delete(digest)
    except (BlobsAwayError, BlobMissingError, BlobDamagedError):
        return False
    return kept


def _room(folder: Path | None) -> int | None:
    try:
        return None if folder is None else shutil.disk_usage(folder).free
    except OSError:
        return 0
