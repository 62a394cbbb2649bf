"""Art that is lettering: which pieces are letters, and words set on two lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats
from artwork.outline import polygons
from artwork.repair.net import TINY, Ints
from artwork.shapes import areas, united

FLAT = 0.03
LEAST_LETTERS = 3
"""Fewer pieces in a row are no lettering."""
ALIKE = 2.6
"""Letters of one line are no more than this times as high as each other."""
OVERLAP = 0.5
"""Letters of one line share at least this much of the lower one's height."""
FULL = 0.75
"""Letters of one line fill less than this share of their boxes, half of them at least: bricks are no lettering."""
SOLID = 0.85
"""Of its convex hull a letter fills less than this share, half of them at least: tiles and bricks are no lettering."""
LEVEL, HALF = 0.12, 0.5
"""They stand on one line, or end at one, within this share of their height: at least this share of them."""
ALONE = 0.06
"""Nothing else stands among them: within their line other pieces have less than this share of their area."""
REPEATED, BELOW = 0.65, 0.4
"""Neighbours that overlap by this share, each stretched to a square, repeat a pattern, half of them at least; so do
pieces that overlap by this share with those that stand below them in columns."""
COLUMN = 0.5
"""Pieces stand in columns that lie no farther askew than this times their usual distance."""
GAP = 1.8
"""Letters of one line are no farther apart than this times their height."""
WORD_GAP = 1.7
"""A gap this many times the usual one between letters parts words ..."""
WORD_SPACE = 0.24
"""... if it is also this share of the line's height (common practice, no source)."""
LEADING = 1.5
"""Distance of the two lines, of the letters' height."""


@dataclass(frozen=True, eq=False)
class Lettering:
    """The pieces of a drawing and which of them are letters, line by line.

    Attributes:
        pieces: polygons, mm.
        boxes: shape (n, 4), left, low, right, high.
        lines: numbers of the pieces of each line of lettering, from left to right.
    """

    pieces: tuple[Polygon, ...]
    boxes: Floats
    lines: tuple[Ints, ...]

    @classmethod
    def of(cls, contours: Sequence[Contour]) -> Lettering:
        """Finds lines of lettering in a drawing: three and more pieces of like height on one level."""
        pieces = tuple(areas(polygons([contour.polyline(FLAT) for contour in contours])))
        boxes = np.array([piece.bounds for piece in pieces]).reshape(-1, 4)
        rows = _lines(boxes)
        lines = [row for row in rows if _is_lettering(pieces, boxes, row)]
        return cls(pieces, boxes, tuple(row for row in lines if not _is_pattern(pieces, boxes, row, rows)))

    @cached_property
    def letters(self) -> Ints:
        """Numbers of all pieces that are letters."""
        return np.concatenate([np.empty(0, np.int64), *self.lines])

    @cached_property
    def region(self) -> BaseGeometry:
        """All letters with their counters."""
        whole: list[BaseGeometry] = [Polygon(self.pieces[number].exterior) for number in self.letters]
        return united(whole)


def _is_lettering(pieces: Sequence[Polygon], boxes: Floats, row: Ints) -> bool:
    """Whether a row looks like letters: half of it stands on one line (or ends at one), half are no solid blocks."""
    width, height = np.ptp(boxes[row].reshape(-1, 2, 2), axis=1).T
    full = np.array([pieces[number].area for number in row]) / np.maximum(width * height, 1e-9)
    solid = np.array([pieces[number].area / pieces[number].convex_hull.area for number in row])
    edges = boxes[row][:, [1, 3]]
    near = np.abs(edges - np.median(edges, axis=0)) <= LEVEL * np.median(height)
    open_shapes = np.median(full) < FULL and np.median(solid) < SOLID
    return bool(open_shapes and near.mean(axis=0).max() >= HALF) and _alone(pieces, boxes, row)


def _alone(pieces: Sequence[Polygon], boxes: Floats, row: Ints) -> bool:
    """Whether a row stands by itself, but for dots and signs: strokes of a drawing stand among others."""
    height = float(np.median(boxes[row, 3] - boxes[row, 1]))
    low, high = boxes[row, :2].min(axis=0), boxes[row, 2:].max(axis=0)
    line = shapely.box(*low, *high).buffer(-LEVEL / 2 * height)
    near = np.flatnonzero((boxes[:, :2] < high).all(axis=1) & (boxes[:, 2:] > low).all(axis=1))
    others = [pieces[number].intersection(line).area for number in np.setdiff1d(near, row)]
    return bool(sum(others) < ALONE * sum(pieces[number].area for number in row))


def _is_pattern(pieces: Sequence[Polygon], boxes: Floats, row: Ints, rows: Sequence[Ints]) -> bool:
    """Whether one shape comes again and again in a row, or a row again in columns below or above it."""
    shapes = [_square(pieces[number]) for number in row]
    if np.median([_overlap(one, other) for one, other in pairwise(shapes)]) > REPEATED:
        return True
    middle = (boxes[:, 0] + boxes[:, 2]) / 2
    distance = np.diff(middle[row]).mean()
    for other in rows:
        if other is row or len(other) != len(row):
            continue
        askew = np.abs(np.diff(middle[row] - middle[other])).max()
        if (
            askew < COLUMN * distance
            and np.median(
                [
                    _overlap(shape, _square(pieces[number]))
                    for shape, number in zip(shapes, other, strict=True)
                ]
            )
            > BELOW
        ):
            return True
    return False


def _square(piece: Polygon) -> BaseGeometry:
    """The piece stretched to the unit square."""
    left, low, right, high = piece.bounds
    across, up = 1 / max(right - left, TINY), 1 / max(high - low, TINY)
    return affine_transform(piece, [across, 0.0, 0.0, up, -left * across, -low * up]).buffer(0)


def _overlap(one: BaseGeometry, other: BaseGeometry) -> float:
    both = one.intersection(other).area
    return float(both / max(one.area + other.area - both, TINY))


def _lines(boxes: Floats) -> list[Ints]:
    """Rows of boxes of like height on one level, near each other."""
    height = boxes[:, 3] - boxes[:, 1]
    left_to_right = np.argsort(boxes[:, 0], kind="stable")
    rows: list[list[int]] = []
    for number in left_to_right.tolist():
        for row in rows:
            last = max(row[-3:], key=lambda k: boxes[k, 2])
            tallest = max(height[k] for k in row[-3:])
            shared = min(boxes[number, 3], boxes[last, 3]) - max(boxes[number, 1], boxes[last, 1])
            gap = boxes[number, 0] - boxes[last, 2]
            lower, higher = sorted((float(height[number]), float(tallest)))
            if higher <= ALIKE * lower and shared >= OVERLAP * lower and -0.5 * lower <= gap <= GAP * higher:
                row.append(number)
                break
        else:
            rows.append([number])
    return [np.array(row, np.int64) for row in rows if len(row) >= LEAST_LETTERS]


def gaps_between(boxes: Floats) -> Floats:
    """Shape (n − 1,): between boxes (n, 4) from left to right; below 0 where they overlap."""
    return np.asarray(boxes[1:, 0] - np.maximum.accumulate(boxes[:, 2])[:-1])


def usual_gap(gaps: Floats) -> float:
    """The median of those that are open; infinite where none is."""
    return float(np.median(gaps[gaps > 0])) if (gaps > 0).any() else float("inf")


def word_spaces(boxes: Floats, height: float | None = None) -> Ints:
    """Which of the gaps between boxes, from left to right, part words; ``height``: of the line, if not of the boxes."""
    gaps = gaps_between(boxes)
    high = boxes[:, 3].max() - boxes[:, 1].min() if height is None else height
    return np.flatnonzero(gaps > max(WORD_GAP * usual_gap(gaps), WORD_SPACE * high))


def stacked(contours: Sequence[Contour]) -> tuple[Contour, ...] | None:
    """One line of words set on two lines, each letter moved as it is; ``None`` for other art."""
    found = Lettering.of(contours)
    if len(found.lines) != 1 or len(found.lines[0]) < 2 * LEAST_LETTERS:
        return None
    row = found.lines[0]
    boxes = found.boxes[row]
    low, high = boxes[:, 1].min(), boxes[:, 3].max()
    others = np.setdiff1d(np.arange(len(found.pieces)), row)
    middle = (found.boxes[others, 1] + found.boxes[others, 3]) / 2
    if ((middle < low) | (middle > high)).any():
        return None  # something stands above or below the line: no lettering alone
    boxes = found.boxes[np.argsort(found.boxes[:, 0], kind="stable")]
    words = word_spaces(boxes, high - low)
    if not len(words):
        return None
    lefts, rights = boxes[:, 0], np.maximum.accumulate(boxes[:, 2])
    whole = (lefts[0] + rights[-1]) / 2
    break_at = words[np.argmin(np.abs((rights[words] + lefts[words + 1]) / 2 - whole))]
    cut_x = (rights[break_at] + lefts[break_at + 1]) / 2
    first = (lefts[0] + rights[break_at]) / 2
    second = (lefts[break_at + 1] + rights[-1]) / 2
    down = np.array([first - second, -LEADING * (high - low)])
    return tuple(
        Contour(each.knots + down, each.controls + down) if each.knots[:, 0].mean() > cut_x else each
        for each in contours
    )
