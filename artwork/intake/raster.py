"""A picture file → traced outline."""

from __future__ import annotations

import cv2
import numpy as np

from artwork.curves import Contour
from artwork.ink import Bytes, Picture, blank_picture, read_ink
from artwork.intake.decoding import decode
from artwork.intake.values import Ink, Limits, Reading, Remark, Wishes
from artwork.outline import Outline
from artwork.refusal import Refusal
from artwork.tracing import TraceSettings, trace

PICTURE_SIDE = 1000
"""Longer side of :attr:`Reading.picture`, pixels."""


def read_raster(data: bytes, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """Decodes, finds the ink, traces it."""
    picture, remarks = decode(data, kind, limits)
    return read_picture(picture, remarks, kind, wishes, limits)


def read_picture(
    picture: Picture,
    remarks: list[Remark],
    kind: str,
    wishes: Wishes,
    limits: Limits,
    *,
    stated_mm: float | None = None,
    pages: int = 1,
) -> Reading:
    """Finds the ink of a picture and traces it; one outline unit is one pixel of ``picture``."""
    inked = read_ink(picture, wishes.shade, wishes.invert)
    remarks = [*remarks, *(Remark(code, message, severity) for code, message, severity in inked.notes)]
    contours = trace(inked.mask, TraceSettings())
    if not contours:
        raise blank_picture()
    check_size(contours, limits)
    outline = Outline(contours, 1.0, stated_mm)
    counts = {**inked.counts, "nodes": outline.nodes, "contours": len(contours)}
    inks = tuple(Ink(*colour) for colour in inked.colours)
    return Reading(outline, "traced", kind, tuple(remarks), inks, counts, mask_picture(inked.mask), pages)


def check_size(contours: tuple[Contour, ...], limits: Limits) -> None:
    """Refusal where the outline has more detail than any carving could show."""
    nodes = sum(len(contour.knots) for contour in contours)
    if nodes > limits.nodes or len(contours) > limits.regions:
        raise Refusal(
            "outline-too-detailed",
            f"The art breaks into {len(contours)} outlines with {nodes} nodes, far more than can be carved.",
            "Send a simpler or cleaner logo: flat shapes, no photo, no texture.",
        )


def mask_picture(mask: Bytes) -> bytes:
    """PNG of the ink, black on white, longer side at most :data:`PICTURE_SIDE`."""
    scale = min(1.0, PICTURE_SIDE / max(mask.shape))
    size = (max(1, round(mask.shape[1] * scale)), max(1, round(mask.shape[0] * scale)))
    shown = cv2.resize(255 - 255 * mask, size, interpolation=cv2.INTER_AREA)
    done, encoded = cv2.imencode(".png", np.asarray(shown))
    if not done:
        raise RuntimeError("the picture of the ink could not be encoded")
    return bytes(encoded)
