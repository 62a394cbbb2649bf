"""Files copied from one place to another, each checked against its name on the way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import partial

from service.backup.patience import patiently
from service.store.blobs import BlobMissingError, Blobs, pieces


@dataclass
class Copied:
    """What became of the files.

    Attributes:
        fresh: files that were not there before.
        missing, damaged: digests of files that could not be copied.
    """

    files: int = 0
    fresh: int = 0
    bytes: int = 0
    missing: list[str] = field(default_factory=list)
    damaged: list[str] = field(default_factory=list)


def copy_files(digests: Iterable[str], source: Blobs, target: Blobs) -> Copied:
    """Copy those that the target does not have, waiting out a place that is away. BlobsAwayError."""
    copied = Copied()
    for digest in digests:
        copied.files += 1
        size = patiently(partial(_copy, digest, source, target, copied))
        if size is not None:
            copied.fresh += 1
            copied.bytes += size
    return copied


def _copy(digest: str, source: Blobs, target: Blobs, copied: Copied) -> int | None:
    """Bytes that were copied; ``None`` where there was nothing to copy, or nothing good."""
    if target.size(digest) is not None:
        return None
    try:
        size = source.size(digest)
        if size is None:
            raise BlobMissingError(digest)
        kept = target.put(pieces(source, digest, 0, size))
    except BlobMissingError:
        copied.missing.append(digest)
        return None
    if kept != digest:
        target.delete(kept)
        copied.damaged.append(digest)
        return None
    return size
