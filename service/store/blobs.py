"""Files by the SHA-256 of their bytes: what the service asks of a place for them, and a folder that is one.

What is kept never changes: a key names its content, a second ``put`` of the same bytes changes nothing.
A ``put`` that returned has reached the disk (or the bucket), so a row written after it points at something.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

CHUNK = 256 * 1024
_DIGEST = re.compile(r"[0-9a-f]{64}")


class BlobMissingError(KeyError):
    """There are no bytes under this digest."""


class BlobDamagedError(ValueError):
    """The bytes under a digest are not the ones it names: a failing disk, or someone changed them."""


class BlobsAwayError(Exception):
    """The store does not answer, or takes no more; trying again later may help."""


@dataclass(frozen=True)
class BlobEntry:
    """One kept file, as a listing shows it.

    Attributes:
        digest: 64 hex digits.
        size: bytes.
        kept_at: when it was stored.
    """

    digest: str
    size: int
    kept_at: datetime


class Blobs(Protocol):
    """What the service asks of a place for files; digests are 64 lower-case hex digits."""

    def put(self, data: bytes | Iterable[bytes]) -> str:
        """Keep the bytes for good and return their digest. Raises BlobsAwayError."""

    def get(self, digest: str) -> bytes:
        """All bytes, checked against their digest. Raises BlobMissingError, BlobDamagedError, BlobsAwayError."""

    def part(self, digest: str, start: int, length: int) -> bytes:
        """At most ``length`` bytes from ``start``, which lies within. Raises BlobMissingError, BlobsAwayError."""

    def size(self, digest: str) -> int | None:
        """How many bytes there are, ``None`` where there are none. Raises BlobsAwayError."""

    def delete(self, digest: str) -> None:
        """Forget the bytes; nothing happens where there are none. Raises BlobsAwayError."""

    def entries(self) -> Iterator[BlobEntry]:
        """Everything kept, in no set order. Raises BlobsAwayError."""

    def clear_incoming(self, older_than: timedelta, now: datetime) -> int:
        """Remove what a crash left half written; returns how many. Raises BlobsAwayError."""


def pieces(blobs: Blobs, digest: str, start: int, stop: int) -> Iterator[bytes]:
    """The bytes from ``start`` up to ``stop`` in chunks, so that a large file is never in memory at once."""
    for offset in range(start, stop, CHUNK):
        yield blobs.part(digest, offset, min(CHUNK, stop - offset))


def state_of(blobs: Blobs, digest: str) -> str | None:
    """``"missing"``, ``"damaged"``, or ``None`` where the bytes are those of their name. Raises BlobsAwayError."""
    try:
        blobs.get(digest)
    except BlobMissingError:
        return "missing"
    except BlobDamagedError:
        return "damaged"
    return None


def checked_name(digest: str) -> str:
    """The digest, where it is one. Raises BlobMissingError."""
    if not _DIGEST.fullmatch(digest):
        raise BlobMissingError(digest)
    return digest


def checked_bytes(digest: str, data: bytes) -> bytes:
    """The bytes, where they are those the digest names. Raises BlobDamagedError."""
    if hashlib.sha256(data).hexdigest() != digest:
        raise BlobDamagedError(digest)
    return data


def chunks_of(data: bytes | Iterable[bytes]) -> Iterable[bytes]:
    """Bytes given whole or in parts, in parts."""
    return (data,) if isinstance(data, bytes) else data


class FolderBlobs:
    """Files in a folder, each under the first two digits of its digest."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._incoming = root / "incoming"
        self._incoming.mkdir(parents=True, exist_ok=True)

    def put(self, data: bytes | Iterable[bytes]) -> str:
        """Write beside, reach the disk, then link under the digest: a crash leaves all or nothing."""
        try:
            return self._put(data)
        except OSError as error:
            raise BlobsAwayError(str(error)) from error

    def _put(self, data: bytes | Iterable[bytes]) -> str:
        handle, name = tempfile.mkstemp(dir=self._incoming)
        try:
            with os.fdopen(handle, "wb") as file:
                sha = hashlib.sha256()
                for chunk in chunks_of(data):
                    sha.update(chunk)
                    file.write(chunk)
                file.flush()
                os.fsync(file.fileno())
            digest = sha.hexdigest()
            self._link(Path(name), digest)
        finally:
            Path(name).unlink(missing_ok=True)
        return digest

    def _link(self, temporary: Path, digest: str) -> None:
        target = self._path(digest)
        if not target.parent.is_dir():
            target.parent.mkdir(exist_ok=True)
            _sync_folder(self._root)
        with contextlib.suppress(FileExistsError):
            os.link(temporary, target)
        _sync_folder(target.parent)

    def get(self, digest: str) -> bytes:
        """See Blobs."""
        return checked_bytes(digest, self.part(digest, 0, -1))

    def part(self, digest: str, start: int, length: int) -> bytes:
        """See Blobs."""
        try:
            with self._path(digest).open("rb") as file:
                file.seek(start)
                return file.read(length)
        except FileNotFoundError:
            raise BlobMissingError(digest) from None
        except OSError as error:
            raise BlobsAwayError(str(error)) from error

    def size(self, digest: str) -> int | None:
        """See Blobs."""
        try:
            return self._path(digest).stat().st_size
        except (FileNotFoundError, BlobMissingError):
            return None
        except OSError as error:
            raise BlobsAwayError(str(error)) from error

    def delete(self, digest: str) -> None:
        """See Blobs."""
        try:
            self._path(digest).unlink(missing_ok=True)
        except OSError as error:
            raise BlobsAwayError(str(error)) from error

    def entries(self) -> Iterator[BlobEntry]:
        """See Blobs."""
        for path in self._root.glob("[0-9a-f][0-9a-f]/*"):
            with contextlib.suppress(FileNotFoundError):  # swept meanwhile
                state = path.stat()
                yield BlobEntry(path.name, state.st_size, datetime.fromtimestamp(state.st_mtime, UTC))

    def clear_incoming(self, older_than: timedelta, now: datetime) -> int:
        """See Blobs."""
        left = 0
        for path in self._incoming.iterdir():
            with contextlib.suppress(FileNotFoundError):
                if now - datetime.fromtimestamp(path.stat().st_mtime, UTC) > older_than:
                    path.unlink()
                    left += 1
        return left

    def there(self) -> bool:
        """See Source."""
        return os.access(self._root, os.R_OK | os.X_OK)

    def _path(self, digest: str) -> Path:
        return self._root / checked_name(digest)[:2] / digest


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
