"""Files within files: archives, office documents, messages, compressed drawings. Nothing in them is run or fetched."""

from __future__ import annotations

import email
import email.policy
import io
import lzma
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from artwork.errors import EngineError
from artwork.intake.office import drawings, is_part
from artwork.intake.sniffing import FORMATS, kind_of
from artwork.intake.values import Limits

CONTAINERS = ("zip", "svgz", "eml")
_MOST_ENTRIES = 2000
_MOST_MEMBERS = 500
_ASIDE = ("__macosx/", "thumbnails/", "docprops/thumbnail", "quicklook/")
"""Folders of small copies and of what a system keeps for itself."""
_FIRST = ("svg", "pdf", "dxf", "eps", "emf", "wmf", "png", "psd", "tiff", "webp", "gif", "jxl", "jpeg")
"""Kinds in the order in which they are preferred: drawings before pictures, lossless pictures before others."""
_GZIP = 16 + zlib.MAX_WBITS
# What the readers of archives raise for damaged ones. Anything else is a defect of ours and is not swallowed.
_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    EOFError,
    OSError,
    ValueError,
    KeyError,
    IndexError,
    NotImplementedError,
    RuntimeError,
    LookupError,
    OverflowError,
)


@dataclass(frozen=True)
class Member:
    """One file within another: its name there, its bytes, what they are; ``plain``: only a box or two of a page."""

    name: str
    data: bytes
    kind: str
    plain: bool = False


def members(data: bytes, kind: str, limits: Limits) -> list[Member]:
    """The pictures and drawings within a file, the best first. EngineError where there are none, or far too much."""
    read = {"zip": _zipped, "svgz": _compressed, "eml": _attached}[kind]
    found: list[Member] = []
    parts: dict[str, bytes] = {}
    left = limits.file_bytes
    try:
        for name, content in read(data, left):
            left -= len(content)
            if left < 0:
                raise _too_much(limits)
            if kind == "zip" and is_part(name):
                parts[name] = content
            inner = kind_of(content)
            if inner in FORMATS and len(found) < _MOST_MEMBERS:
                found.append(Member(name, content, inner))
    except _DAMAGE as error:
        raise EngineError(
            "damaged-archive",
            "The file holds other files, and is damaged, locked or cut short.",
            "Unpack it on your side and send the logo file that is in it.",
        ) from error
    found += [Member(each.name, each.svg, "svg", each.plain) for each in drawings(parts, limits)]
    if not found:
        raise EngineError(
            "nothing-inside",
            "The file holds other files, but no picture or drawing among them that can be read here.",
            "Send the logo itself: SVG or PDF where you have it, else a large PNG. From an office document, "
            "save it as PDF and send that.",
        )
    order = {each: at for at, each in enumerate(_FIRST)}
    found.sort(key=lambda each: (each.plain, order.get(each.kind, len(order)), -len(each.data), each.name))
    return found


def _zipped(data: bytes, most: int) -> Iterator[tuple[str, bytes]]:
    """The entries of a ZIP, each unpacked no further than is allowed; those within folders put aside are left."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        entries = archive.infolist()
        if len(entries) > _MOST_ENTRIES:
            raise EngineError(
                "too-many-files-inside",
                f"The archive holds {len(entries)} files; at most {_MOST_ENTRIES} are looked through.",
                "Send the logo file alone.",
            )
        for entry in entries:
            if entry.is_dir() or any(part in entry.filename.lower() for part in _ASIDE):
                continue
            with archive.open(entry) as packed:
                content = packed.read(most + 1)
            most -= len(content)
            yield entry.filename, content


def _compressed(data: bytes, most: int) -> Iterator[tuple[str, bytes]]:
    """What a gzip file holds."""
    yield "drawing.svg", zlib.decompressobj(_GZIP).decompress(data, most + 1)


def _attached(data: bytes, _most: int) -> Iterator[tuple[str, bytes]]:
    """The attachments of a message, and pictures within its text."""
    message = email.message_from_bytes(data, policy=email.policy.default)
    for part in message.walk():
        if part.is_multipart() or part.get_content_maintype() == "text":
            continue
        content = part.get_payload(decode=True)
        if isinstance(content, bytes):
            yield str(part.get_filename() or "attachment"), content


def _too_much(limits: Limits) -> EngineError:
    return EngineError(
        "archive-too-large",
        f"Unpacked, the file holds more than {limits.file_bytes / 1e6:.0f} MB.",
        "Send the logo file alone.",
    )
