"""pdfium's path segments → paths: of a page's shapes, of its clips, of its letters."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from typing import Any

import pypdfium2.raw as pdfium

from artwork.intake.paths import Builder, Path


def path_of(segments: Iterator[Any]) -> Path:
    """pdfium's path segments as a path; a cubic comes as three points in a row."""
    builder = Builder()
    x, y = ctypes.c_float(), ctypes.c_float()
    pending: list[float] = []
    for segment in segments:
        if not segment or not pdfium.FPDFPathSegment_GetPoint(segment, x, y):
            break
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            builder.move(x.value, y.value)
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            builder.line(x.value, y.value)
        else:
            pending += (x.value, y.value)
            if len(pending) == 6:  # three points
                builder.cubic(*pending)
                pending = []
        if pdfium.FPDFPathSegment_GetClose(segment):
            builder.close()
    return builder.path()
