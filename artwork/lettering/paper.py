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
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from artwork.curves import Contour, Floats
from artwork.drawings.canvas import PAPERS, fill_many, new_canvas, size_page
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import Typeface, typeface, typefaces

A4 = PAPERS["A4"]
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
class Photo:
    """A picture.

    Attributes:
        png: its bytes; on the page it loses what nobody sees.
        x, y: its lower left, mm.
        width, height: mm.
    """

    png: bytes
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, eq=False)
class Page:
    """One page: its size in mm, and what is on it, later over earlier."""

    size: tuple[float, float]
    items: Sequence[Ink | Words | Photo]


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
    canvas, out = new_canvas(title, packed=True)
    for page in pages:
        size_page(canvas, page.size)
        for item in page.items:
            if isinstance(item, Photo):
                _show(canvas, item)
                continue
            canvas.setFillColorRGB(*(part / 255 for part in item.colour))
            if isinstance(item, Ink):
                fill_many(canvas, item.contours)
            else:
                _write(canvas, item)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _show(canvas: Canvas, photo: Photo) -> None:
    """A picture as JPEG, which a PDF holds as it is."""
    pixels = cv2.imdecode(np.frombuffer(photo.png, np.uint8), cv2.IMREAD_COLOR)
    if pixels is None:
        raise ValueError("a piece's picture is no picture")
    packed = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, 85])[1]
    source = ImageReader(io.BytesIO(bytes(packed)))
    canvas.drawImage(source, photo.x * mm, photo.y * mm, photo.width * mm, photo.height * mm)


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


def letters(text: str, face: Typeface, em: float) -> list[Contour]:
    """A line of text as curves, mm, from the start of its baseline; ``em``: the size, mm."""
    outline = set_lines([text], face).outline
    scale = em / face.em
    shift = np.array([-outline.bounds[0] * scale, 0.0])
    return [contour.moved(np.eye(2) * scale, shift) for contour in outline.contours]


@cache
def embedded(key: str) -> str:
    """A typeface of the set made known to the PDF library, under its key."""
    pdfmetrics.registerFont(TTFont(key, io.BytesIO(typeface(key).data)))
    return key


def _write(canvas: Canvas, item: Words) -> None:
    face, shown = _face_for(item.text)
    em = item.cap_height * face.em / face.cap_height
    if face.key == PLAIN:
        canvas.setFont(embedded(PLAIN), em * mm)
        canvas.drawString(item.x * mm, item.y * mm, shown)
    elif shown.strip():
        start = np.array([item.x, item.y])
        fill_many(canvas, (each.moved(np.eye(2), start) for each in letters(shown, face, em)))


def _face_for(text: str) -> tuple[Typeface, str]:
    plain = typeface(PLAIN)
    for face in (plain, *typefaces()):
        if all(ord(character) in face.characters for character in text):
            return face, text
    return plain, "".join(c if ord(c) in plain.characters else _UNKNOWN for c in text)
