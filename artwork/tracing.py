"""Bilevel mask → closed curves, by libpotrace.

Two bindings of the same library: ``potracecffi``, fed with rows packed by numpy and read as whole C arrays,
and ``pypotrace``, which fills its bitmap pixel by pixel and hands over Python objects. The first is used
where it loads; both give equal curves (tested).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Contour, Floats

try:
    import potracecffi
except ImportError:  # a machine on which only pypotrace could be built
    potracecffi = None

Mask = NDArray[Any]
"""Shape (height, width), bool or uint8."""

_CURVE = 1  # POTRACE_CURVETO; the other tag is a corner


@dataclass(frozen=True)
class TraceSettings:
    """potrace's own parameters, with its own defaults.

    Attributes:
        speck: regions of at most this many pixels are not traced (``turdsize``).
        corner: corner threshold (``alphamax``), 0 for polygons to 1.334 for no corners.
        tolerance: how far curves may be moved to be joined, pixels (``opttolerance``).
    """

    speck: int = 2
    corner: float = 1.0
    tolerance: float = 0.2


@dataclass(frozen=True)
class _Segments:
    """potrace's segments of all paths: ``tags`` (s,), ``points`` (s, 3, 2), ``lengths`` (paths,)."""

    tags: NDArray[np.int32]
    points: Floats
    lengths: NDArray[np.int64]


def trace(mask: Mask, settings: TraceSettings = TraceSettings()) -> tuple[Contour, ...]:
    """The curves around the set pixels of ``mask``, shape (height, width), row 0 at the top.

    Coordinates are pixels from the lower left corner, y upwards; outer curves run counter-clockwise, holes
    clockwise.
    """
    return _contours(_backend(mask, settings))


def trace_by_pypotrace(mask: Mask, settings: TraceSettings = TraceSettings()) -> tuple[Contour, ...]:
    """As :func:`trace`, through ``pypotrace``: the fallback, and the oracle in the tests."""
    return _contours(_by_pypotrace(mask, settings))


def _by_potracecffi(mask: Mask, settings: TraceSettings) -> _Segments:
    ffi, lib = potracecffi.ffi, potracecffi.lib
    height, width = mask.shape
    words = _packed(mask, ffi.sizeof("potrace_word"))
    bitmap = ffi.new("potrace_bitmap_t*")
    bitmap.w, bitmap.h, bitmap.dy = width, height, words.shape[1]
    bitmap.map = ffi.from_buffer("potrace_word[]", words)
    parameters = ffi.gc(lib.potrace_param_default(), lib.potrace_param_free)
    parameters.turdsize = settings.speck
    parameters.alphamax = settings.corner
    parameters.opttolerance = settings.tolerance
    state = lib.potrace_trace(parameters, bitmap)
    if state == ffi.NULL:
        raise MemoryError("potrace could not allocate its state")
    try:
        if state.status != 0:
            raise MemoryError("potrace ran out of memory")
        return _read(ffi, state.plist)
    finally:
        lib.potrace_state_free(state)


def _packed(mask: Mask, word_bytes: int) -> NDArray[Any]:
    """Rows bottom-up as potrace's words: leftmost pixel in the most significant bit, native byte order."""
    rows = np.packbits(mask[::-1], axis=1)
    words = -(-max(rows.shape[1], 1) // word_bytes)
    padded = np.zeros((mask.shape[0], words * word_bytes), np.uint8)
    padded[:, : rows.shape[1]] = rows
    return padded.view(f">u{word_bytes}").astype(f"=u{word_bytes}")


def _read(ffi: Any, path: Any) -> _Segments:
    tags, points, lengths = [], [], []
    buffer, null = ffi.buffer, ffi.NULL
    while path != null:
        curve = path.curve
        n = curve.n
        lengths.append(n)
        tags.append(bytes(buffer(curve.tag, 4 * n)))
        points.append(bytes(buffer(curve.c, 48 * n)))
        path = path.next
    return _Segments(
        np.frombuffer(b"".join(tags), np.int32),
        np.frombuffer(b"".join(points), np.float64).reshape(-1, 3, 2),
        np.array(lengths, np.int64),
    )


def _by_pypotrace(mask: Mask, settings: TraceSettings) -> _Segments:
    import potrace

    bitmap = potrace.Bitmap(np.ascontiguousarray(mask[::-1]).astype(np.uint8))
    path = bitmap.trace(turdsize=settings.speck, alphamax=settings.corner, opttolerance=settings.tolerance)
    tags, points, lengths = [], [], []
    for curve in path.curves:
        lengths.append(len(curve.segments))
        for segment in curve.segments:
            tags.append(2 if segment.is_corner else _CURVE)
            first = (np.nan, np.nan) if segment.is_corner else segment.c1
            points.append((first, segment.c if segment.is_corner else segment.c2, segment.end_point))
    return _Segments(
        np.array(tags, np.int32),
        np.array(points, np.float64).reshape(-1, 3, 2),
        np.array(lengths, np.int64),
    )


_backend: Callable[[Mask, TraceSettings], _Segments] = (
    _by_pypotrace if potracecffi is None else _by_potracecffi
)


def _contours(found: _Segments) -> tuple[Contour, ...]:
    """potrace's segments as contours: a corner becomes two straight segments. All paths at once."""
    if not len(found.lengths):
        return ()
    ends = np.cumsum(found.lengths)
    starts = ends - found.lengths
    begin = np.empty((len(found.tags), 2))
    begin[1:] = found.points[:-1, 2]
    begin[starts] = found.points[ends - 1, 2]  # a path starts where its last segment ends
    corner = found.tags != _CURVE
    at = np.arange(len(corner)) + np.cumsum(corner) - corner  # where each segment's first piece goes
    total = len(corner) + int(corner.sum())
    knots = np.empty((total, 2))
    controls = np.full((total, 2, 2), np.nan)
    knots[at] = begin
    knots[at[corner] + 1] = found.points[corner, 1]
    controls[at[~corner]] = found.points[~corner, :2]
    first = at[starts]
    last = np.append(first[1:], total)
    return tuple(Contour(knots[a:b], controls[a:b]) for a, b in zip(first, last, strict=True))
