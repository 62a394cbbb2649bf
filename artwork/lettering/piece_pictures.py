"""Each piece's picture, cut from the run's contact sheet: what is signed is what the sheet shows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.lettering.contact_sheet import Cell, cells, contact_sheet
from artwork.lettering.paper import pdf, pictures
from artwork.lettering.runs import JudgedRun

DENSITY = 10.0
"""Pixels per mm of the sheet: a 60 mm picture is 600 pixels wide."""


def piece_pictures(judged: JudgedRun) -> Iterator[bytes]:
    """A PNG per piece, in their order; a piece that was refused has the one that says so."""
    sheet = contact_sheet(judged, "")
    height = sheet[0].size[1]
    pages = pictures(pdf(sheet, ""), DENSITY)
    for _, cells_of_page in groupby(cells(judged), key=lambda cell: cell.page):
        page = cv2.imdecode(np.frombuffer(next(pages), np.uint8), cv2.IMREAD_COLOR)
        if page is None:
            raise ValueError("a page of the sheet is no picture")
        for cell in cells_of_page:
            yield _cut(page, cell, height)


def _cut(page: NDArray[Any], cell: Cell, height: float) -> bytes:
    left, right = round(cell.x * DENSITY), round((cell.x + cell.width) * DENSITY)
    top, bottom = round((height - cell.y - cell.height) * DENSITY), round((height - cell.y) * DENSITY)
    return bytes(cv2.imencode(".png", page[top:bottom, left:right], [cv2.IMWRITE_PNG_COMPRESSION, 6])[1])
