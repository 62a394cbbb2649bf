"""Text of a PDF page whose font is in the file → outlines of its letters."""

from __future__ import annotations

import ctypes
from collections import defaultdict
from typing import Any, Literal

import pypdfium2.raw as pdfium

from artwork.intake.paths import Matrix, Path
from artwork.intake.pdf_paths import path_of

Missing = Literal["", "font", "letters"]
_BOX_TOLERANCE = 0.05
"""How far, in ems, a letter's outline may lie off the box that pdfium gives for it."""


class PageText:
    """The letters of one page by the text object they belong to."""

    def __init__(self, page: Any) -> None:
        self._page = pdfium.FPDFText_LoadPage(page)
        self._characters: dict[int, list[int]] = defaultdict(list)
        for at in range(max(pdfium.FPDFText_CountChars(self._page), 0)):
            owner = pdfium.FPDFText_GetTextObject(self._page, at)
            if owner:
                self._characters[_address(owner)].append(at)

    def close(self) -> None:
        """Gives the page's text back to pdfium."""
        pdfium.FPDFText_ClosePage(self._page)

    def words(self, item: Any) -> str:
        """What a text object says."""
        return "".join(
            chr(pdfium.FPDFText_GetUnicode(self._page, at)) for at in self._characters.get(_address(item), ())
        )

    def outlines(self, item: Any) -> tuple[list[Path], Missing]:
        """Outlines of a text object's letters on the page, and what is missing, if anything.

        ``"font"``: its font is not in the file. ``"letters"``: some letters could not be found in the font,
        or their outlines do not lie where pdfium shows them.
        """
        font = pdfium.FPDFTextObj_GetFont(item)
        size = ctypes.c_float()
        if not font or not pdfium.FPDFTextObj_GetFontSize(item, size):
            return [], "letters"
        if pdfium.FPDFFont_GetIsEmbedded(font) != 1:
            return [], "font"
        found: list[Path] = []
        for at in self._characters.get(_address(item), ()):
            letter = pdfium.FPDFText_GetUnicode(self._page, at)
            if chr(letter).isspace() or pdfium.FPDFText_IsGenerated(self._page, at) == 1:
                continue
            outline = self._letter(font, size.value, letter, at)
            if outline is None:
                return [], "letters"
            found.append(outline)
        return found, ""

    def _letter(self, font: Any, size: float, letter: int, at: int) -> Path | None:
        glyph = pdfium.FPDFFont_GetGlyphPath(font, letter, size)
        count = pdfium.FPDFGlyphPath_CountGlyphSegments(glyph) if glyph else 0
        if count <= 0:
            return None
        outline = path_of(pdfium.FPDFGlyphPath_GetGlyphPathSegment(glyph, i) for i in range(count))
        m = pdfium.FS_MATRIX()
        x, y = ctypes.c_double(), ctypes.c_double()
        if not pdfium.FPDFText_GetMatrix(self._page, at, m):
            return None
        if not pdfium.FPDFText_GetCharOrigin(self._page, at, x, y):
            return None
        matrix: Matrix = (m.a * size, m.b * size, m.c * size, m.d * size, x.value, y.value)
        placed = outline.moved(matrix)
        em = max(abs(matrix[0]) + abs(matrix[2]), abs(matrix[1]) + abs(matrix[3]))
        return placed if self._lies_in_its_box(placed, at, _BOX_TOLERANCE * em) else None

    def _lies_in_its_box(self, outline: Path, at: int, tolerance: float) -> bool:
        left, right, low, high = (ctypes.c_double() for _ in range(4))
        if not pdfium.FPDFText_GetCharBox(self._page, at, left, right, low, high):
            return False
        box = (left.value, low.value, right.value, high.value)
        return all(abs(a - b) <= tolerance for a, b in zip(outline.box, box, strict=True))


def _address(handle: Any) -> int:
    return ctypes.cast(handle, ctypes.c_void_p).value or 0
