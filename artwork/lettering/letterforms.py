"""A glyph's own curves as contours: overlaps united, quadratics raised to cubics exactly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pathops
import shapely

from artwork.curves import Contour, Floats, bounds_of
from artwork.lettering.typefaces import Typeface

_Point = tuple[float, float]
_Piece = tuple[_Point, Floats | None]
"""Where a segment starts, and its two control points unless it is straight."""


@dataclass(frozen=True, eq=False)
class Placed:
    """A letter where it stands.

    Attributes:
        contours: its curves.
        corners: shape (4, 2), of its bounding box, which may be turned.
    """

    contours: tuple[Contour, ...]
    corners: Floats


SAME_POINT = 1e-3
"""Points nearer than this, font units, are one: less than 0.0001 mm at any size letters are carved."""


@lru_cache(maxsize=4096)
def letterform(face: Typeface, glyph: int) -> tuple[Contour, ...]:
    """The glyph's contours in font units: outer ones counter-clockwise, none crossing; empty for a space.

    The curves are the font's own (cubics of CFF, quadratics of TrueType), through HarfBuzz at the typeface's
    axes; only where contours overlap does Skia put their union in place of them.
    """
    path = pathops.Path()
    face.font.draw_glyph_with_pen(glyph, path.getPen())
    path.simplify(fix_winding=True, clockwise=False)
    return tuple(contours_of(path))


def joined(letters: Sequence[Placed]) -> tuple[Contour, ...]:
    """All letters' contours, none crossing; only letters whose boxes meet go through Skia's union."""
    letters = [letter for letter in letters if letter.contours]
    boxes = np.array(shapely.polygons(np.array([letter.corners for letter in letters]).reshape(-1, 4, 2)))
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    meeting = set(first[first != second].tolist())
    apart = [contour for at, letter in enumerate(letters) if at not in meeting for contour in letter.contours]
    if meeting:
        path = path_of(contour for at in sorted(meeting) for contour in letters[at].contours)
        path.simplify(fix_winding=True, clockwise=False)
        apart += contours_of(path)
    return tuple(apart)


def placed(face: Typeface, glyph: int, turn: Floats | None, shift: Floats) -> Placed:
    """A glyph turned (``None``: upright) and moved, font units."""
    contours, corners = letterform(face, glyph), _corners(face, glyph)
    if turn is None:
        moved = tuple(Contour(each.knots + shift, each.controls + shift) for each in contours)
        return Placed(moved, corners + shift)
    return Placed(tuple(each.moved(turn, shift) for each in contours), corners @ turn.T + shift)


@lru_cache(maxsize=4096)
def _corners(face: Typeface, glyph: int) -> Floats:
    contours = letterform(face, glyph)
    left, low, right, high = bounds_of(contours) if contours else (0.0, 0.0, 0.0, 0.0)
    return np.array([[left, low], [right, low], [right, high], [left, high]])


def path_of(contours: Iterable[Contour]) -> pathops.Path:
    """Contours as a Skia path (single precision: keep coordinates below a few thousand)."""
    path = pathops.Path()
    pen = path.getPen()
    for contour in contours:
        straight = contour.straight
        ends = np.roll(contour.knots, -1, axis=0)
        pen.moveTo(tuple(contour.knots[0]))
        for k in range(len(contour.knots)):
            if straight[k]:
                pen.lineTo(tuple(ends[k]))
            else:
                pen.curveTo(tuple(contour.controls[k, 0]), tuple(contour.controls[k, 1]), tuple(ends[k]))
        pen.closePath()
    return path


def contours_of(path: pathops.Path) -> Iterator[Contour]:
    """A Skia path as contours; quadratics become the same curves as cubics."""
    pieces: list[_Piece] = []
    here: _Point = (0.0, 0.0)
    for verb, points in path:
        if verb == pathops.PathVerb.MOVE:
            yield from _closed(pieces)
            pieces, here = [], points[0]
        elif verb == pathops.PathVerb.CLOSE:
            pieces.append((here, None))  # back to the start; nothing where the curve is there already
        else:
            pieces.append((here, _controls(verb, here, points)))
            here = points[-1]
    yield from _closed(pieces)


def _controls(verb: int, start: _Point, points: list[_Point]) -> Floats | None:
    if verb == pathops.PathVerb.LINE:
        return None
    given = np.array([start, *points])
    if verb == pathops.PathVerb.QUAD:  # degree raised: exact
        return np.array([given[0] + 2 * given[1], given[2] + 2 * given[1]]) / 3
    if verb == pathops.PathVerb.CUBIC:
        return given[1:3]
    raise ValueError(f"unexpected verb {verb}")  # fonts have no conics


def _closed(pieces: list[_Piece]) -> Iterator[Contour]:
    if not pieces:
        return
    knots = np.array([start for start, _ in pieces], float)
    controls = np.full((len(pieces), 2, 2), np.nan)
    for k, (_, bent) in enumerate(pieces):
        if bent is not None:
            controls[k] = bent
    ends = np.roll(knots, -1, axis=0)
    void = np.isnan(controls[:, 0, 0]) & (np.hypot(*(ends - knots).T) < SAME_POINT)
    if (~void).sum() >= 2:
        yield Contour(knots[~void], controls[~void])
