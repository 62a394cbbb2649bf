"""Commands that look after a workshop's data: backup, restore, move, scrub, sweep. What they say is for its owner."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from artwork.csv_text import csv_bytes
from service.backup import backing_up, moving, one_shop, scrubbing
from service.backup.place import Place, UnfitError
from service.orders.upkeep import Chore
from service.orders.wellness import Level, level_of
from service.root import Service, build
from service.settings import BadSettingsError, Settings, load_settings, settings_file
from service.startup_errors import UNUSABLE, why_unusable
from service.store.blobs import BlobsAwayError
from service.store.usage import open_workshops
from service.store.usage import usage as count_usage
from service.usecases import maintenance_schedule, privacy_and_audit, wellness
from service.usecases.batching import altered_releases

_TROUBLES = (UnfitError, BlobsAwayError, BadSettingsError, OSError)


def backup(settings: Settings, given: argparse.Namespace) -> int:
    """Back everything up into a folder, while people go on working."""
    return _saying(_backup, settings, given.folder, given.keep)


def restore(settings: Settings, given: argparse.Namespace) -> int:
    """Put a backup into an empty place."""
    return _saying(_restore, settings, given.backup)


def move(settings: Settings, given: argparse.Namespace) -> int:
    """Put everything into another, empty place."""
    return _saying(_move, settings, given.to)


def move_shop(settings: Settings, given: argparse.Namespace) -> int:
    """Put one workshop into another place, beside those that are there."""
    return _saying(_move_shop, settings, given.key, given.to, given.close)


def scrub(settings: Settings, given: argparse.Namespace) -> int:
    """Compare every file with its name."""
    return _saying(_scrub, settings, given.heal)


def sweep(settings: Settings, _given: argparse.Namespace) -> int:
    """Remove what is kept no longer and files that nothing names."""
    return _saying(_sweep, settings)


def doctor(settings: Settings, _given: argparse.Namespace) -> int:
    """Say what is wrong with this installation, and what to do; the same signs as the page at the bench."""
    return _saying(_doctor, settings)


def let_go(service: Service) -> None:
    """Close what a service that was put together but never started has open."""
    service.queue.close()
    service.database.close()
    service.lock.release()


@contextmanager
def opened(settings: Settings) -> Iterator[Service]:
    """A service put together but not started, for the length of one command."""
    service = build(settings)
    try:
        yield service
    finally:
        let_go(service)


def _saying(work: Callable[..., int], settings: Settings, *given: Any) -> int:
    try:
        with opened(settings) as service:
            return work(service, *given)
    except _TROUBLES as trouble:
        return _bad(str(trouble))
    except UNUSABLE as trouble:
        return _bad(why_unusable(trouble, settings))


def _bad(*words: str) -> int:
    for each in words:
        print(each, file=sys.stderr)
    return 1


def _place(service: Service) -> Place:
    return Place(service.database, service.ctx.blobs, service.ctx, service.migrate)


def _backup(service: Service, folder: Path, keep: int | None) -> int:
    try:
        taken, copied = backing_up.take_backup(_place(service), folder, datetime.now(UTC))
    except (BlobsAwayError, OSError) as trouble:
        _note(service, Chore.BACKUP, well=False, words=str(trouble))
        raise
    lost = len(copied.missing) + len(copied.damaged)
    rows, files = sum(taken.about["rows"].values()), f"{copied.files} files ({copied.fresh} new)"
    words = f"{rows} rows and {files} in {taken.folder}"
    _note(
        service, Chore.BACKUP, well=not lost, words=words if not lost else f"{lost} files could not be copied"
    )
    print(f"Backed up: {words}.")
    if lost:
        return _bad(
            f"{lost} files could not be copied, because they are missing or damaged here. "
            "Older backups in this folder were left as they are; `slatproof scrub` says which files these are."
        )
    if keep is not None and (dropped := backing_up.drop_old(folder, keep)):
        print(f"{dropped} older backups removed; the newest {keep} are there.")
    return 0


def _restore(service: Service, path: Path) -> int:
    found = backing_up.open_backup(path)
    print(f"Putting back the backup of {found.about['taken_at']} …")
    return _told(moving.restore(found, _place(service)))


def _move(source: Service, to: Path) -> int:
    _need_quiet(source)
    with opened(load_settings(settings_file(to))) as target:
        status = _told(moving.move(_place(source), _place(target)))
    if status == 0:
        print(f"The old place was left as it is. Start the service with the settings in {to} from now on.")
    return status


def _move_shop(source: Service, key: str, to: Path, close: bool) -> int:
    _need_quiet(source)
    with opened(load_settings(settings_file(to))) as target:
        if target.settings.embedded:
            target.lock.take(alone=True)
        status = _told(one_shop.move_shop(_place(source), _place(target), key))
        address = f"{target.settings.base_url}/at/{key}"
    if status == 0 and close:
        one_shop.close_shop(_place(source), key, datetime.now(UTC))
        print(
            f"{key} is closed here: its people, links and tokens are let in no more. Send them to {address}."
        )
    elif status == 0:
        print(
            f"{key} is still open here: give --close, or it goes on in two places. There it is at {address}."
        )
    return status


def _need_quiet(source: Service) -> None:
    """Nobody changes what is being copied. UnfitError, FolderTakenError."""
    if source.settings.embedded:
        source.lock.take(alone=True)
    else:
        moving.need_stillness(_place(source))


def _told(moved: moving.Moved) -> int:
    print(f"{moved.rows} rows: the same, by digest, as what was copied.")
    print(f"{moved.files.files} files: each checked against its SHA-256.")
    print(
        f"{moved.entries} entries in the record of decisions; {moved.jobs} unfinished jobs asked for again."
    )
    lost = [f"file {digest} is missing" for digest in moved.files.missing]
    lost += [f"file {digest} is damaged" for digest in moved.files.damaged]
    if lost or moved.faults:
        return _bad(*lost, *moved.faults, "The rest is there. `slatproof scrub` says what these files are.")
    print("Everything is there and every chain holds.")
    return 0


def _scrub(service: Service, heal: Path | None) -> int:
    spare = backing_up.open_backup(heal).store if heal is not None else None
    files, hurt = scrubbing.scrub(_place(service), spare)
    left = [each for each in hurt if not each.healed]
    altered = [
        *altered_releases(service.ctx),
        *scrubbing.unsound_archives(_place(service), privacy_and_audit.public_keys(service.ctx)),
    ]
    words = f"{files} files read, {len(hurt)} hurt, {len(hurt) - len(left)} of them healed"
    if altered:
        words += f"; {len(altered)} altered"
    _note(service, Chore.SCRUB, well=not (left or altered), words=words)
    print(f"{words}.")
    for each in hurt:
        orders = ", ".join(str(number) for number in each.orders) or "none"
        print(
            f"{each.how}{' (healed)' if each.healed else ''}: {each.what}; orders {orders}; file {each.digest}"
        )
    if altered:
        _bad(*(f"altered: {each}" for each in altered), "Cut nothing of these; see docs/tampering.md.")
    if left:
        return _bad("Put good copies in their place from a backup: `slatproof scrub --heal FOLDER`.")
    return 1 if altered else 0


def _sweep(service: Service) -> int:
    swept = privacy_and_audit.sweep(service.ctx)
    print(
        f"{len(swept.orders)} orders past their retention emptied, {len(swept.blobs)} unnamed files removed."
    )
    return 0


def usage(settings: Settings, given: argparse.Namespace) -> int:
    """What each workshop used, for whoever hosts them."""
    return _saying(_usage, settings, given.days)


def _usage(service: Service, days: int) -> int:
    since = service.ctx.clock.now() - timedelta(days=days)
    with service.ctx.store.reading() as connection:
        found = count_usage(connection, since)
    head = (
        "workshop",
        f"orders, {days} d",
        "orders kept",
        "proofs",
        "work",
        "files",
        "MB of files",
        "MB of batches",
    )
    rows = [
        (
            each.key,
            *map(str, (each.orders, each.orders_kept, each.proofs, each.work, each.files)),
            f"{each.file_bytes / 1e6:.1f}",
            f"{each.batch_bytes / 1e6:.1f}",
        )
        for each in found
    ]
    print(csv_bytes(head, rows).decode("utf-8-sig"), end="")
    return 0


def directory(settings: Settings, _given: argparse.Namespace) -> int:
    """Which workshops are here: lines of a host's directory of places. One that was closed as it moved is not."""
    return _saying(_directory, settings)


def _directory(service: Service) -> int:
    with service.ctx.store.reading() as connection:
        keys = open_workshops(connection)
    for key in keys:
        print(f"{key} {service.settings.base_url}")
    return 0


_MARKS = {Level.WELL: "well ", Level.WATCH: "LOOK ", Level.TROUBLE: "MEND "}


def _doctor(service: Service) -> int:
    found = wellness.all_signs(service.ctx)
    for sign in sorted(found, key=lambda sign: list(Level).index(sign.level), reverse=True):
        print(f"{_MARKS[sign.level]} {sign.words}")
    return 1 if level_of(found) is Level.TROUBLE else 0


def _note(service: Service, what: Chore, *, well: bool, words: str) -> None:
    maintenance_schedule.note_upkeep(service.ctx, what, well=well, words=words)
