"""What a file is, by its first bytes; its name and the sender's word for it are never trusted."""

from __future__ import annotations

import re

from artwork.errors import EngineError

FORMATS = (
    "png", "jpeg", "gif", "bmp", "tiff", "webp", "heic", "avif", "jp2", "ico", "pcx", "ppm", "tga", "psd",
    "svg", "pdf", "dxf", "eps", "emf", "wmf", "jxl",
)  # fmt: skip

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

_JPEG_2000 = (b"\x00\x00\x00\x0cjP  \r\n\x87\n", b"\xff\x4f\xff\x51")
_TGA_END = b"TRUEVISION-XFILE.\x00"
_PPM = re.compile(rb"P[1-6][\s#]")
_MESSAGE = re.compile(rb"\A(?:[A-Za-z][A-Za-z0-9-]*:[^\n]*\n(?:[ \t][^\n]*\n)*){2,}\r?\n", re.MULTILINE)
"""Two or more header lines, then an empty one (RFC 5322 §2.1)."""
_WORDS = re.compile(rb"[\x09\x0a\x0d\x20-\x7e\x80-\xff]*")

UNREADABLE = {
    "archive": (
        "archive-not-read",
        "This is a packed archive (RAR or 7z).",
        "Unpack it on your side and send the logo file that is in it, or pack it as ZIP.",
    ),
    "office": (
        "old-office-not-read",
        "This is a document of an older office program (DOC, PPT, XLS or MSG).",
        "Save it as PDF and send that, or save it in the newer form (DOCX, PPTX, XLSX); or send the logo's own file.",
    ),
    "dwg": (
        "dwg-not-read",
        "This is a DWG file, a closed format that is not read here.",
        "Export it as DXF (ASCII, any release from R12) or SVG and send that.",
    ),
    "cdr": (
        "illustration-not-read",
        "This is a file of an illustration program whose format is closed (CDR and the like).",
        "In that program choose Export and send SVG or PDF; or ask whoever drew it for one of these.",
    ),
    "layout": (
        "layout-not-read",
        "This is a file of a page layout or painting program whose format is its own.",
        "Export the page as PDF, or the picture as PNG, 3000 pixels across, and send that.",
    ),
    "rtf": (
        "text-not-read",
        "This is a text document (RTF).",
        "For lettering, write the words into the order: we can set them. For a logo in it, save the document as PDF.",
    ),
    "text": (
        "text-not-read",
        "This is plain text, not a picture or a drawing.",
        "Write the words into the order as lettering: we can set them. For a logo, send SVG, PDF or PNG.",
    ),
    "page": (
        "page-not-read",
        "This is a saved web page, which only refers to its pictures.",
        "Save the logo itself from the page (SVG or PNG) and send that.",
    ),
    "font": (
        "font-not-read",
        "This is a font, not a drawing.",
        "Send the lettering as SVG or PDF with its text turned into outlines.",
    ),
    "film": (
        "film-not-read",
        "This is a film or a sound, not a picture.",
        "Send the logo's own file, or a still picture of it as PNG.",
    ),
    "unknown": (
        "not-artwork",
        "This file is not a picture or drawing of a kind that is read here.",
        "Send SVG, PDF, DXF, PNG, JPEG, TIFF, WebP, GIF, BMP, HEIC or AVIF.",
    ),
}
_MARKS: tuple[tuple[bytes, str], ...] = (
    (b"8BPS", "psd"),
    (b"\x00\x00\x01\x00", "ico"),
    (b"%!", "eps"),
    (b"\x04%!", "eps"),
    (b"\xc5\xd0\xd3\xc6", "eps"),
    (b"PK\x03\x04", "zip"),
    (b"Rar!", "archive"),
    (b"7z\xbc\xaf", "archive"),
    (b"\xd0\xcf\x11\xe0", "office"),
    (b"\x1f\x8b", "svgz"),
    (b"AutoCAD Binary DXF\r\n", "dxf"),
    (b"\xff\x0a", "jxl"),
    (b"\x00\x00\x00\x0cJXL ", "jxl"),
    (b"\xd7\xcd\xc6\x9a", "wmf"),
    (b"\x01\x00\x09\x00\x00\x03", "wmf"),
    (b"{\\rtf", "rtf"),
    (b"\x06\x06\xed\xf5", "layout"),
    (b"gimp xcf", "layout"),
    (b"\x00\x01\x00\x00\x00", "font"),
    (b"OTTO", "font"),
    (b"wOFF", "font"),
    (b"wOF2", "font"),
    (b"ID3", "film"),
    (b"\x1aE\xdf\xa3", "film"),
    *((mark, "jp2") for mark in _JPEG_2000),
)


def sniff(data: bytes) -> str:
    """The format, one of :data:`FORMATS` or of the containers ``zip``, ``svgz``, ``eml``. EngineError for all else."""
    if not data:
        raise EngineError(
            "empty-file", "The file is empty.", "Check the file on your side and send it again."
        )
    kind = kind_of(data)
    if kind in UNREADABLE:
        raise EngineError(*UNREADABLE[kind])
    return kind


def kind_of(data: bytes) -> str:
    """What bytes are: a format, a container, or a key of :data:`UNREADABLE`."""
    for mark, kind in (*RASTER_MARKS, *_MARKS):
        if data.startswith(mark):
            return kind
    if data[:4] == b"RIFF":
        return "webp" if data[8:12] == b"WEBP" else "cdr" if data[8:11] in (b"CDR", b"cdr") else "film"
    if data[4:8] == b"ftyp":
        return _iso_media(data)
    if b"%PDF-" in data[:_PDF_MARK_WITHIN]:
        return "pdf"
    if re.match(rb"AC10\d\d", data):
        return "dwg"
    return _small_mark(data) or _text(data)


def _small_mark(data: bytes) -> str:
    """Formats with a mark of a byte or two, or one that stands elsewhere than at the start; empty for none."""
    if data[:1] == b"\x0a" and data[1:2] <= b"\x05" and data[2:3] == b"\x01" and len(data) > _PCX_HEAD:
        return "pcx"
    if data[40:44] == b" EMF":
        return "emf"
    if data.endswith(_TGA_END):
        return "tga"
    return "ppm" if _PPM.match(data) else ""


_PCX_HEAD = 128


def _iso_media(data: bytes) -> str:
    size = int.from_bytes(data[:4], "big")
    box = data[8 : min(max(size, 16), 256)]
    brands = {box[:4]} | {box[i : i + 4] for i in range(8, len(box) - 3, 4)}
    if brands & AVIF_BRANDS:
        return "avif"
    return "heic" if brands & HEIF_BRANDS else "film"


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
    if _MESSAGE.match(head) and b"content-type:" in data.lower():
        return "eml"
    if head.lstrip().lower().startswith((b"<!doctype html", b"<html")):
        return "page"
    return "text" if _WORDS.fullmatch(head) else "unknown"
