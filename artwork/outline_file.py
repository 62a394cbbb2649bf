"""Outlines as bytes: exact, and the same bytes for the same outline every time.

Layout, little-endian: the mark, then ``pixel`` and ``stated_mm`` (NaN for none), the number of contours, the
segment count of each, one byte per segment (1: straight), the knots, and the control points of the cubics.
"""

from __future__ import annotations

import math
import struct

import numpy as np

from artwork.curves import Contour
from artwork.outline import Outline

_MARK = b"outline1"
_HEAD = struct.Struct("<8sddI")


def pack(outline: Outline) -> bytes:
    """The outline as bytes."""
    contours = outline.contours
    straight = [contour.straight for contour in contours]
    head = _HEAD.pack(_MARK, _number(outline.pixel), _number(outline.stated_mm), len(contours))
    parts = [head, np.array([len(c.knots) for c in contours], "<u4").tobytes()]
    parts += [flags.astype("u1").tobytes() for flags in straight]
    parts += [contour.knots.astype("<f8").tobytes() for contour in contours]
    parts += [
        contour.controls[~flags].astype("<f8").tobytes()
        for contour, flags in zip(contours, straight, strict=True)
    ]
    return b"".join(parts)


def unpack(data: bytes) -> Outline:
    """The outline that :func:`pack` wrote. ValueError for anything else."""
    try:
        return _unpacked(data)
    except (struct.error, IndexError, ValueError) as error:
        raise ValueError(f"not an outline file: {error}") from error


def _unpacked(data: bytes) -> Outline:
    mark, pixel, stated, count = _HEAD.unpack_from(data)
    if mark != _MARK:
        raise ValueError("wrong mark")
    at = _HEAD.size
    lengths = np.frombuffer(data, "<u4", count, at)
    total = int(lengths.sum())
    at += 4 * count
    straight = np.frombuffer(data, "u1", total, at).astype(bool)
    at += total
    knots = np.frombuffer(data, "<f8", 2 * total, at).reshape(-1, 2)
    at += 16 * total
    controls = np.full((total, 2, 2), np.nan)
    bent = int(total - straight.sum())
    controls[~straight] = np.frombuffer(data, "<f8", 4 * bent, at).reshape(-1, 2, 2)
    if at + 32 * bent != len(data):
        raise ValueError("wrong length")
    cuts = np.cumsum(lengths)[:-1]
    pieces = zip(np.split(knots, cuts), np.split(controls, cuts), strict=True)
    contours = tuple(Contour(a.astype(np.float64), b) for a, b in pieces) if count else ()
    return Outline(contours, _optional(pixel), _optional(stated))


def _number(value: float | None) -> float:
    return math.nan if value is None else value


def _optional(value: float) -> float | None:
    return None if math.isnan(value) else value
