"""A BagIt bag (RFC 8493) written as a ZIP stream: fixed order, fixed times, nothing compressed.

Stored, not deflated: what a deflater writes changes with its version, and a batch must come out the same
years later. Pictures keep their own compression.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Iterator, Mapping

_DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The first moment a ZIP can state; the true times are in the record."""
_UNIX, _PLAIN_FILE = 3, 0o100644 << 16


class _Sink:
    """Where ``zipfile`` writes; it cannot seek, so the archive comes out in one go from front to back."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def write(self, data: bytes) -> int:
        self._parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Nothing is held back."""

    def take(self) -> list[bytes]:
        parts, self._parts = self._parts, []
        return parts


class Bag:
    """Writes files one after the other; each call returns the pieces of the archive that are ready.

    Args:
        folder: the bag's own folder within the archive.
    """

    def __init__(self, folder: str) -> None:
        self._folder = folder
        self._sink = _Sink()
        self._zip = zipfile.ZipFile(self._sink, "w", zipfile.ZIP_STORED)  # type: ignore[call-overload]
        self._payload: dict[str, str] = {}
        self._octets = 0

    def add(self, path: str, data: bytes, digest: str) -> list[bytes]:
        """Put a payload file in.

        Args:
            path: below ``data/``; ASCII, and new.
            data: the file.
            digest: its SHA-256, which the caller has just worked out: large files are hashed once.
        """
        name = f"data/{path}"
        if name in self._payload or not path.isascii():
            raise ValueError(path)
        self._payload[name] = digest
        self._octets += len(data)
        self._write(name, data)
        return self._sink.take()

    def close(self, info: Mapping[str, str]) -> Iterator[bytes]:
        """Write the tag files and the archive's end.

        Args:
            info: further lines of ``bag-info.txt``.
        """
        oxum = {"Payload-Oxum": f"{self._octets}.{len(self._payload)}"}
        tags = {
            "bag-info.txt": "".join(f"{key}: {value}\n" for key, value in {**info, **oxum}.items()).encode(),
            "bagit.txt": _DECLARATION,
            "manifest-sha256.txt": _manifest(self._payload),
        }
        tags["tagmanifest-sha256.txt"] = _manifest(
            {name: hashlib.sha256(data).hexdigest() for name, data in tags.items()}
        )
        for name, data in tags.items():
            self._write(name, data)
        self._zip.close()
        yield from self._sink.take()

    def _write(self, name: str, data: bytes) -> None:
        entry = zipfile.ZipInfo(f"{self._folder}/{name}", _EARLIEST)
        entry.create_system, entry.external_attr = _UNIX, _PLAIN_FILE
        self._zip.writestr(entry, data)


def _manifest(digests: Mapping[str, str]) -> bytes:
    return "".join(f"{digest}  {name}\n" for name, digest in sorted(digests.items())).encode()
