"""PDF, and illustration files that are PDF inside → reading."""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from artwork.errors import EngineError
from artwork.intake import likeness
from artwork.intake.finishing import Drawing
from artwork.intake.inked import Picture
from artwork.intake.page_choice import read_by_parts, untouched
from artwork.intake.page_parts import SIDE as PAGE_SIDE
from artwork.intake.page_parts import page_parts
from artwork.intake.pdf_objects import CLIP_RULES, PageWalk
from artwork.intake.raster import read_picture
from artwork.intake.shaping import PART, Otherwise, as_shapes
from artwork.intake.values import Limits, Reading, Wishes
from artwork.remark import FileWarning

MM_PER_POINT = 25.4 / 72
"""PDF's default user space unit is 1/72 in (ISO 32000-1 §8.3.2.3)."""
_PICTURE_SIDE = 3000
"""A page that cannot be taken as vectors is drawn this large, pixels."""


_LEAST_PAGE = 400
"""Points from which on a page may be a letter: smaller than A5 is a card or a logo."""


def read_pdf(data: bytes, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """The outline of one page's painted shapes."""
    document = _opened(data)
    try:
        count = len(document)
        if not 0 <= wishes.page < min(count, limits.pages):
            raise EngineError(
                "page-not-there",
                f"The file has {count} pages; page {wishes.page + 1} is not among those that can be read.",
                "Choose a page that is there, or send a file with the logo alone on one page.",
            )
        page = document[wishes.page]
        parts = None
        if untouched(wishes) and max(page.get_size()) >= _LEAST_PAGE:
            parts = page_parts(_rendered(page, PAGE_SIDE / max(page.get_size())))
        return read_by_parts(parts, wishes, lambda asked: _page_read(page, count, kind, asked, limits))
    except pypdfium2.PdfiumError as error:
        raise _damaged() from error
    finally:
        document.close()


def _opened(data: bytes) -> pypdfium2.PdfDocument:
    try:
        return pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        if getattr(error, "err_code", None) == pdfium.FPDF_ERR_PASSWORD:
            raise EngineError(
                "locked-pdf",
                "The PDF is locked with a password.",
                "Save it without a password, or export the logo as SVG, and send that.",
            ) from error
        raise _damaged() from error


def _damaged() -> EngineError:
    return EngineError(
        "damaged-pdf",
        "The PDF is damaged or cut short and cannot be read.",
        "Open it on your side, export it again as PDF or SVG, and send that.",
    )


def _page_read(page: Any, count: int, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    otherwise = PART
    for rule in CLIP_RULES:
        drawing = _drawing(page, count, wishes)
        walk = PageWalk(page, drawing, limits, rule)
        walk.run()
        if walk.picture_reason:
            otherwise = Otherwise(walk.picture_reason) if wishes.crop is None else PART
            break
        drawing.turn(-page.get_rotation())
        drawing.show_only(wishes.crop)
        shown = Picture(_rendered(page, _shown_scale(page, wishes))).cropped(wishes.crop).levels
        taken = as_shapes(drawing, kind, wishes, limits, shown)
        if isinstance(taken, Reading):
            return taken
        otherwise = taken
        if not walk.clipped:
            break
    message = f"{otherwise.reason} The page was read as a picture and traced."
    drawing.remark("read-as-picture", message, otherwise.severity)
    return _as_picture(page, drawing, (kind, wishes, limits), otherwise)


def _shown_scale(page: Any, wishes: Wishes) -> float:
    """Pixels per point at which what is read of the page is as large as readings are held against."""
    left, top, right, low = wishes.crop or (0.0, 0.0, 1.0, 1.0)
    width, height = page.get_size()
    side = max((right - left) * width, (low - top) * height, 1.0)
    return float(min(likeness.SIDE / side, _PICTURE_SIDE / max(width, height)))


def _drawing(page: Any, count: int, wishes: Wishes) -> Drawing:
    """An empty drawing as large as the page."""
    left, low, right, high = page.get_cropbox()
    if not (0 < right - left < math.inf and 0 < high - low < math.inf):
        raise _damaged()
    drawing = Drawing(page=(left, low, right, high), stated_mm=MM_PER_POINT, pages=count)
    if count > 1:
        drawing.remark(
            "several-pages",
            f"The file has {count} pages; page {wishes.page + 1} was read. Choose another if need be.",
        )
    return drawing


def _as_picture(
    page: Any, drawing: Drawing, asked: tuple[str, Wishes, Limits], otherwise: Otherwise
) -> Reading:
    """The page drawn large and traced; a pixel's size in points follows from how large."""
    scale = _PICTURE_SIDE / max(page.get_size())
    rgb = _rendered(page, scale)
    inked = None if otherwise.ink is None else otherwise.ink(rgb)
    if int(np.ptp(rgb[::8, ::8].astype(np.int16), axis=2).max()) == 0:
        rgb = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))
    remarks: list[FileWarning] = list(drawing.remarks)
    stated = MM_PER_POINT / scale
    return read_picture(
        Picture(rgb).cropped(asked[1].crop),
        remarks,
        *asked,
        stated_mm=stated,
        pages=drawing.pages,
        inked=inked,
    )


def _rendered(page: Any, scale: float) -> NDArray[np.uint8]:
    """The page on white, (h, w, 3), ``scale`` pixels per point; without text that the walk left out."""
    bitmap = page.render(
        scale=scale,
        fill_color=(255, 255, 255, 255),
        may_draw_forms=False,
        rev_byteorder=True,
        force_bitmap_format=pdfium.FPDFBitmap_BGRx,
    )
    rgb = np.ascontiguousarray(bitmap.to_numpy()[:, :, :3])
    bitmap.close()
    return rgb
