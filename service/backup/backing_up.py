"""Backups in a folder: rows as of one moment, while people go on working, and the files those rows name.

The folder holds one folder for each backup, named by its moment, and the files of all of them together: a file
never changes, so a second backup only adds what is new.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from service import VERSION
from service.backup.files import Copied, copy_files
from service.backup.place import Place, UnfitError, need_current, table_names
from service.backup.rows import Line, Tally, dumps, lines_of
from service.store import art
from service.store.blobs import FolderBlobs

ROWS, FILES, ABOUT = "rows.jsonl.gz", "files.txt", "about.json"
_OWN_EYES = 0o700
_MOMENT = "%Y-%m-%dT%H-%M-%S-%fZ"


@dataclass(frozen=True)
class Backup:
    """One backup.

    Attributes:
        folder: its own folder; the files are beside it.
        about: moment, schema revision, version, counts, digests.
    """

    folder: Path
    about: dict[str, Any]

    @property
    def store(self) -> FolderBlobs:
        """The files, of this backup and the others."""
        return FolderBlobs(self.folder.parent / "files")

    @property
    def files(self) -> list[str]:
        """Digests of the files its rows name."""
        return (self.folder / FILES).read_text().split()

    def lines(self) -> Iterator[Line]:
        """Its rows."""
        with gzip.open(self.folder / ROWS, "rt", encoding="utf-8") as file:
            for line in file:
                yield json.loads(line)


def take_backup(place: Place, folder: Path, now: datetime) -> tuple[Backup, Copied]:
    """Back a place up. Unfit, BlobsAwayError, OSError.

    The rows are read in one transaction, so they belong together; the files are copied afterwards, and none of
    those that the rows name can have changed. One that is gone by then was erased meanwhile, or is lost: then it
    is among ``missing``.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=_OWN_EYES)
    target = folder / now.strftime(_MOMENT)
    making = target.with_suffix(".making")
    shutil.rmtree(making, ignore_errors=True)
    making.mkdir(mode=_OWN_EYES)
    tally = Tally()
    with place.database.reading() as connection:
        revision = need_current(connection)
        _write_rows(making / ROWS, tally.over(lines_of(connection, table_names())))
        files = sorted(set(art.named_blobs(connection)))
    _write(making / FILES, "".join(f"{digest}\n" for digest in files))
    copied = copy_files(files, place.blobs, Backup(making, {}).store)
    about = {
        "taken_at": now.isoformat(),
        "schema": revision,
        "version": VERSION,
        "rows": dict(sorted(tally.rows.items())),
        "rows_digest": tally.digest,
        "rows_sha256": sha256_of(making / ROWS),
        "files": len(files),
    }
    _write(making / ABOUT, json.dumps(about, indent=1) + "\n")
    making.rename(target)
    _sync(folder)
    return Backup(target, about), copied


def backups_in(folder: Path) -> list[Backup]:
    """The finished backups of a folder, oldest first."""
    found = sorted(path.parent for path in folder.glob(f"*/{ABOUT}") if path.parent.suffix != ".making")
    return [Backup(path, json.loads((path / ABOUT).read_text())) for path in found]


def open_backup(path: Path) -> Backup:
    """One backup, or the newest of a folder of them. Raises Unfit where there is none or it is damaged."""
    found = [each for each in backups_in(path.parent) if each.folder == path] or backups_in(path)
    if not found:
        raise UnfitError(f"There is no backup in {path}.")
    if sha256_of(found[-1].folder / ROWS) != found[-1].about["rows_sha256"]:
        raise UnfitError(
            f"The backup {found[-1].folder} is damaged: {ROWS} is not what was written. Take another."
        )
    return found[-1]


def drop_old(folder: Path, keep: int) -> int:
    """Remove all backups but the newest so many, and the files only they named; how many backups."""
    every = backups_in(folder)
    doomed, kept = every[:-keep], every[-keep:]
    for backup in doomed:
        shutil.rmtree(backup.folder)
    if doomed:
        named = {digest for backup in kept for digest in backup.files}
        store = kept[-1].store
        for entry in list(store.entries()):
            if entry.digest not in named:
                store.delete(entry.digest)
    return len(doomed)


def sha256_of(path: Path) -> str:
    """Digest of a file's bytes."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write_rows(path: Path, lines: Iterator[Line]) -> None:
    with path.open("wb") as raw:
        with gzip.open(raw, "wt", encoding="utf-8", compresslevel=5) as file:
            file.writelines(f"{dumps(line)}\n" for line in lines)
        raw.flush()
        os.fsync(raw.fileno())


def _write(path: Path, text: str) -> None:
    with path.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
