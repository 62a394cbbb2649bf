"""Paper for the bench: text, tables, tick boxes and QR codes at millimetre places, black on white."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby

import segno
from reportlab.lib.colors import Color, black, white
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase import pdfmetrics

from artwork.drawings.canvas import PAPERS, fill, new_canvas, size_page
from artwork.lettering.paper import embedded, letters
from artwork.lettering.typefaces import typefaces
from service.language.chosen import N_, _
from service.orders.machine import Paper

LEFT, RIGHT, TOP = 15.0, 195.0, 12.0
"""The printed part, mm from the sheet's left and upper edges."""
LOW = 262.0
"""Lowest printed line, mm from the upper edge: inside A4 and Letter alike, whichever the printer has."""
GREY = Color(0.45, 0.45, 0.45)
PALE = Color(0.90, 0.90, 0.90)
PLAIN, BOLD = "lato-regular", "lato-bold"
"""Typefaces of what is printed, by their keys."""
_UNPRINTABLE = N_("[in a script this sheet cannot print: see the order]")
_COUNT = "count"
"""Name of the PDF form that holds the number of sheets: drawn on every sheet, filled in at the end."""


class Sheet:
    """A PDF of sheets, drawn top to bottom in millimetres from the upper left corner.

    Args:
        paper: what is printed on.
        title: of the document.
    """

    def __init__(self, paper: Paper, title: str) -> None:
        self._height = PAPERS[paper][1]
        self.canvas, self._out = new_canvas(title)
        size_page(self.canvas, PAPERS[paper])
        self._number = 1

    def bytes(self) -> bytes:
        """The finished file."""
        self.canvas.beginForm(_COUNT)
        self.text(RIGHT - 4, LOW + 5, str(self._number), 7)
        self.canvas.endForm()
        self.canvas.save()
        return self._out.getvalue()

    def turn(self) -> None:
        """Go on to a new sheet."""
        self.canvas.showPage()
        self._number += 1

    def number(self) -> None:
        """Write at the foot which sheet of how many this is; how many is known at the end."""
        self.right(RIGHT - 4.5, LOW + 5, _("sheet {number} of", number=self._number), 7)
        self.canvas.doForm(_COUNT)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Points of the PDF for millimetres from the upper left corner."""
        return x * mm, (self._height - y) * mm

    def text(self, x: float, y: float, words: str, size: float = 9, *, bold: bool = False) -> None:
        """One line, its baseline at ``y``."""
        font = embedded(BOLD if bold else PLAIN)
        self.canvas.setFillColor(black)
        if all(ord(sign) in _characters(font) for sign in words):
            self.canvas.setFont(font, size)
            self.canvas.drawString(*self.at(x, y), words)
        else:
            self._outlined(x, y, words, size)

    def right(self, x: float, y: float, words: str, size: float = 9, *, bold: bool = False) -> None:
        """One line of plain Latin text that ends at ``x``."""
        self.canvas.setFillColor(black)
        self.canvas.setFont(embedded(BOLD if bold else PLAIN), size)
        self.canvas.drawRightString(*self.at(x, y), words)

    def paragraph(self, x: float, y: float, words: str, width: float, size: float = 8.5) -> float:
        """Text broken to ``width`` mm, its first baseline at ``y``; returns the baseline after the last."""
        step = size * 1.25 / mm
        for line in simpleSplit(words, embedded(PLAIN), size, width * mm):
            self.text(x, y, line, size)
            y += step
        return y

    def box(self, x: float, y: float, size: float = 3.2) -> None:
        """A box to tick, its lower edge at ``y``."""
        self.canvas.setStrokeColor(black)
        self.canvas.setLineWidth(0.25 * mm)
        self.canvas.rect(*self.at(x, y), size * mm, size * mm)

    def rule(self, y: float, x0: float = LEFT, x1: float = RIGHT, width: float = 0.2) -> None:
        """A line across."""
        self.canvas.setStrokeColor(black)
        self.canvas.setLineWidth(width * mm)
        self.canvas.line(*self.at(x0, y), *self.at(x1, y))

    def shade(self, x: float, y: float, width: float, height: float) -> None:
        """A pale band, its upper edge at ``y``."""
        self.canvas.setFillColor(PALE)
        self.canvas.rect(*self.at(x, y + height), width * mm, height * mm, stroke=0, fill=1)

    def qr(self, x: float, y: float, words: str, size: float) -> None:
        """A QR code of that side, its upper edge at ``y``, with the white margin the standard asks for."""
        rows = _code(words)
        cell = size / len(rows)
        self.canvas.setFillColor(white)
        self.canvas.rect(*self.at(x, y + size), size * mm, size * mm, stroke=0, fill=1)
        self.canvas.setFillColor(black)
        left, top = self.at(x, y)
        side = cell * mm
        dark = [
            f"{left + start * side:.3f} {top - (row + 1) * side:.3f} {(end - start) * side:.3f} {side:.3f} re"
            for row, line in enumerate(rows)
            for start, end in _runs(line)
        ]
        self.canvas.addLiteral(" ".join([*dark, "f"]))

    def _outlined(self, x: float, y: float, words: str, size: float) -> None:
        """Letters that the sheet's own font lacks, as outlines from the typeface that has them all."""
        face = max(typefaces(), key=lambda each: sum(ord(sign) in each.characters for sign in words))
        known = [ord(sign) in face.characters for sign in words]
        if not all(known):
            # no typeface of ours has the whole of it: say so rather than print a part as if it were all
            self.text(x, y, _(_UNPRINTABLE), size)
            return
        self.canvas.saveState()
        self.canvas.translate(*self.at(x, y))
        fill(self.canvas, letters(words.strip(), face, size / mm))
        self.canvas.restoreState()


def shortened(words: str, width: float, size: float) -> str:
    """The words where they fit in ``width`` mm, else as many of their letters as do, and an ellipsis."""
    font = embedded(PLAIN)
    shown, kept = words, words
    while pdfmetrics.stringWidth(shown, font, size) > width * mm:
        kept = kept[:-1].rstrip()
        shown = f"{kept}…"
    return shown


@lru_cache(maxsize=1024)
def _code(words: str) -> tuple[tuple[int, ...], ...]:
    """The cells of a QR code, row by row, 1 where dark: slow to work out, and drawn again where a batch is verified."""
    return tuple(tuple(row) for row in segno.make(words, error="m", micro=False).matrix_iter(border=4))


def _runs(line: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Start and end of each run of dark cells."""
    place = 0
    for dark, cells in groupby(line):
        length = len(list(cells))
        if dark:
            yield place, place + length
        place += length


@cache
def _characters(font: str) -> frozenset[int]:
    return frozenset(pdfmetrics.getFont(font).face.charToGlyph)
