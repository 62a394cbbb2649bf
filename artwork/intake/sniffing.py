"""What a file is, by its first bytes; its name and the sender's word for it are never trusted."""

from __future__ import annotations

import re

from artwork.refusal import Refusal

FORMATS = ("png", "jpeg", "gif", "bmp", "tiff", "webp", "heic", "avif", "svg", "pdf", "dxf")

RASTER_MARKS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n\x1a\n", "png"),
    (b"\xff\xd8\xff", "jpeg"),
    (b"GIF87a", "gif"),
    (b"GIF89a", "gif"),
    (b"BM", "bmp"),
    (b"II*\x00", "tiff"),
    (b"MM\x00*", "tiff"),
    (b"II+\x00", "tiff"),
    (b"MM\x00+", "tiff"),
)
HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}
AVIF_BRANDS = {b"avif", b"avis"}
_HEAD = 4096
_PDF_MARK_WITHIN = 1024  # ISO 32000-1, Annex H note 13: readers accept the header within the first 1024 bytes
_SVG = re.compile(rb"<(?:[A-Za-z_][\w.-]*:)?svg[\s>/]")
_DXF = re.compile(rb"^\s*(?:999\s*\n[^\n]*\n\s*)*0\s*\r?\n\s*SECTION\s*\r?\n", re.MULTILINE)

UNREADABLE = {
    "eps": (
        "eps-not-read",
        "This is an EPS (PostScript) file, which is a program rather than a drawing; it is not run here.",
        "In the program it was drawn in, export it as SVG or PDF and send that.",
    ),
    "zip": (
        "archive-not-read",
        "This is an archive or an office document, not a picture or a drawing.",
        "Send the logo file inside it: SVG, PDF, DXF, PNG, JPEG, TIFF, WebP, GIF, BMP, HEIC or AVIF.",
    ),
    "dwg": (
        "dwg-not-read",
        "This is a DWG file, a closed format that is not read here.",
        "Export it as DXF (ASCII, any release from R12) or SVG and send that.",
    ),
    "svgz": (
        "compressed-svg",
        "This is a compressed file (gzip), as SVGZ files are.",
        "Save it as plain SVG, not compressed, and send that.",
    ),
    "unknown": (
        "not-artwork",
        "This file is not a picture or drawing of a kind that is read here.",
        "Send SVG, PDF, DXF, PNG, JPEG, TIFF, WebP, GIF, BMP, HEIC or AVIF.",
    ),
}


def sniff(data: bytes) -> str:
    """The format, one of :data:`FORMATS`. Refusal for all else."""
    if not data:
        raise Refusal("empty-file", "The file is empty.", "Check the file on your side and send it again.")
    kind = _known(data)
    if kind in UNREADABLE:
        raise Refusal(*UNREADABLE[kind])
    return kind


def _known(data: bytes) -> str:  # noqa: PLR0911 - one line a format
    for mark, kind in RASTER_MARKS:
        if data.startswith(mark):
            return kind
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    if data[4:8] == b"ftyp":
        return _iso_media(data)
    if b"%PDF-" in data[:_PDF_MARK_WITHIN]:
        return "pdf"
    if data.startswith((b"%!PS", b"\xc5\xd0\xd3\xc6")):
        return "eps"
    if data.startswith((b"PK\x03\x04", b"Rar!", b"7z\xbc\xaf", b"\xd0\xcf\x11\xe0")):
        return "zip"
    if data.startswith(b"\x1f\x8b"):
        return "svgz"
    if re.match(rb"AC10\d\d", data):
        return "dwg"
    if data.startswith(b"AutoCAD Binary DXF\r\n"):
        return "dxf"
    return _text(data)


def _iso_media(data: bytes) -> str:
    size = int.from_bytes(data[:4], "big")
    box = data[8 : min(max(size, 16), 256)]
    brands = {box[:4]} | {box[i : i + 4] for i in range(8, len(box) - 3, 4)}
    if brands & AVIF_BRANDS:
        return "avif"
    return "heic" if brands & HEIF_BRANDS else "unknown"


def _text(data: bytes) -> str:
    head = data[:_HEAD]
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        head = head.decode("utf-16", "replace").encode()
    if _SVG.search(head) or (head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<?xml") and _SVG.search(data)):
        return "svg"
    if _DXF.search(head.replace(b"\r\n", b"\n")):
        return "dxf"
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"<!--", b"<!DOCTYPE svg")) and _SVG.search(data):
        return "svg"
    return "unknown"
