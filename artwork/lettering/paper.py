"""Pages of filled curves and words in millimetres, as PDF and as pictures of it."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import pypdfium2
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from artwork.curves import Contour, Floats
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import Typeface, typeface, typefaces

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)
"""Width and height, mm (ISO 216; ANSI/ASME Y14.1)."""
PLAIN = "lato-regular"
"""Typeface of words wherever it has the letters."""
_MM_PER_POINT = 25.4 / 72
_UNKNOWN = "·"
"""Stands for a letter that no typeface of ours has, in words about it."""

Colour = tuple[int, int, int]
"""Red, green, blue, 0 to 255."""


@dataclass(frozen=True, eq=False)
class Ink:
    """A region in one colour: closed curves, mm from the page's lower left, y upwards; even-odd."""

    contours: Sequence[Contour]
    colour: Colour


@dataclass(frozen=True)
class Words:
    """A line of words.

    Attributes:
        text: set in the first typeface of ours that has every letter; a letter that none has becomes a dot.
        x, y: start of the baseline, mm.
        cap_height: mm.
        colour: of the letters.
    """

    text: str
    x: float
    y: float
    cap_height: float
    colour: Colour = (0, 0, 0)


@dataclass(frozen=True, eq=False)
class Page:
    """One page: its size in mm, and what is on it, later over earlier."""

    size: tuple[float, float]
    items: Sequence[Ink | Words]


def rectangle(x: float, y: float, width: float, height: float, colour: Colour) -> Ink:
    """A filled rectangle."""
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    return Ink([straight(corners)], colour)


def frame(corner: tuple[float, float], width: float, height: float, line: float, colour: Colour) -> Ink:
    """A rectangle's edge, drawn inwards from its lower left ``corner``."""
    x, y = corner
    outer = rectangle(x, y, width, height, colour)
    inner = rectangle(x + line, y + line, width - 2 * line, height - 2 * line, colour)
    return Ink([*outer.contours, *inner.contours], colour)


def straight(ring: Floats) -> Contour:
    """A polygon as a contour."""
    return Contour(ring, np.full((len(ring), 2, 2), np.nan))


def pdf(pages: Iterable[Page], title: str) -> bytes:
    """The pages as a PDF, the same bytes always: curves as curves, words as text unless they need shaping."""
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    for page in pages:
        canvas.setPageSize((page.size[0] * mm, page.size[1] * mm))
        for item in page.items:
            canvas.setFillColorRGB(*(part / 255 for part in item.colour))
            if isinstance(item, Ink):
                _fill(canvas, item)
            else:
                _write(canvas, item)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def pictures(document: bytes, px_per_mm: float = 6.0) -> Iterator[bytes]:
    """Each page of a PDF as a PNG, through PDFium: what is seen is what is printed."""
    opened = pypdfium2.PdfDocument(document)
    try:
        for page in opened:
            bitmap = page.render(scale=px_per_mm * _MM_PER_POINT, rev_byteorder=False)
            encoded = cv2.imencode(".png", bitmap.to_numpy(), [cv2.IMWRITE_PNG_COMPRESSION, 3])[1]
            yield bytes(encoded)
    finally:
        opened.close()


def _write(canvas: Canvas, item: Words) -> None:
    face, shown = _face_for(item.text)
    if face.key == PLAIN:
        canvas.setFont(_embedded(PLAIN), item.cap_height * face.em / face.cap_height * mm)
        canvas.drawString(item.x * mm, item.y * mm, shown)
    elif shown.strip():
        _fill(canvas, _outlined(item, face, shown))


def _outlined(item: Words, face: Typeface, shown: str) -> Ink:
    outline = set_lines([shown], face).outline
    scale = item.cap_height / face.cap_height
    shift = np.array([item.x - outline.bounds[0] * scale, item.y])
    return Ink([each.moved(np.eye(2) * scale, shift) for each in outline.contours], item.colour)


def _face_for(text: str) -> tuple[Typeface, str]:
    plain = typeface(PLAIN)
    for face in (plain, *typefaces()):
        if all(ord(character) in face.characters for character in text):
            return face, text
    return plain, "".join(c if ord(c) in plain.characters else _UNKNOWN for c in text)


@cache
def _embedded(key: str) -> str:
    """The typeface made known to the PDF library, under its key."""
    pdfmetrics.registerFont(TTFont(key, io.BytesIO(typeface(key).data)))
    return key


def _fill(canvas: Canvas, ink: Ink) -> None:
    """The region as PDF path operators, written at once: several times as fast as a path object's calls."""
    words = [_operators(contour) for contour in ink.contours]
    if words:
        canvas._code.append(" ".join([*words, "f*"]))  # even-odd


def _operators(contour: Contour) -> str:
    """``m``, then ``l`` or ``c`` per segment, and ``h``; points to a thousandth of a PDF point."""
    ends = np.roll(contour.knots, -1, axis=0)
    rows = np.concatenate([contour.controls.reshape(-1, 4), ends], axis=1) * mm
    said = [
        f"{x:.3f} {y:.3f} l" if line else f"{a:.3f} {b:.3f} {c:.3f} {d:.3f} {x:.3f} {y:.3f} c"
        for (a, b, c, d, x, y), line in zip(rows.tolist(), contour.straight.tolist(), strict=True)
    ]
    start = contour.knots[0] * mm
    return " ".join([f"{start[0]:.3f} {start[1]:.3f} m", *said, "h"])
