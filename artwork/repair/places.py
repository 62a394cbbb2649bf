"""What a version of a drawing has changed, place by place: each can be put back by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from artwork.axis import Anatomy, study
from artwork.axis.anatomy import Axis
from artwork.curves import Floats
from artwork.cut import Cut
from artwork.repair.demands import feet_of
from artwork.repair.likeness import likeness
from artwork.repair.values import Change, ChangeKind, Likeness
from artwork.shapes import areas, united

LEAST = 0.05
"""Edges that moved by less than this, mm, are where they were, for the eye: there one place ends."""
MARGIN = 0.1
"""A place reaches this far beyond what is different there, mm."""
NARROW = 6.0
"""Strokes and gaps wider than this, mm, are not one place with both their sides."""
AT_EDGE = 0.05
FLAT = 0.003
MOSTLY = 0.9
"""A part or island of which less than the rest is left is gone."""
MUCH_MORE = 2.0
SPACING = 0.25


@dataclass(frozen=True, eq=False)
class Place:
    """One place at which a version differs from what was drawn.

    Attributes:
        change: what was done there; its place is what is different, slat mm.
        around: where the edges of both drawings are alike again, slat mm: what is put back is put back within it.
    """

    change: Change
    around: BaseGeometry


def laid_alike(cut: Cut, now: Cut) -> Cut:
    """The drawing of ``cut``, laid as ``now`` lies, whose outline has the same units."""
    x, y = np.array([now.placement.x, now.placement.y]) + now.placement.matrix @ (cut.centre - now.centre)
    return replace(now, outline=cut.outline, placement=replace(now.placement, x=float(x), y=float(y)))


def likeness_of(before: Cut, now: Cut) -> Likeness:
    """How much of a drawing another one keeps.

    Args:
        before: laid as ``now`` lies.
        now: both are held against each other in its size.
    """
    drawn, later = before.placed(), now.placed()
    return likeness(drawn.contours, study(drawn), later.contours, study(later))


def places_of(drawn: Cut, now: Cut) -> tuple[Place, ...]:
    """Where two drawings differ, the largest place first.

    Args:
        drawn: what was sent, laid as ``now`` lies.
        now: the version.
    """
    before, after = drawn.placed(), now.placed()
    old, new = before.region(FLAT), after.region(FLAT)
    added, taken = _without_slivers(new.difference(old)), _without_slivers(old.difference(new))
    parts = [*added, *taken]
    if not parts:
        return ()
    is_new = np.arange(len(parts)) < len(added)
    label = _together(parts, is_new, study(after))
    found = []
    for number in range(int(label.max()) + 1):
        chosen = np.flatnonzero(label == number)
        grown = [parts[k] for k in chosen if is_new[k]]
        gone = [parts[k] for k in chosen if not is_new[k]]
        found.append(_place(grown, gone, old))
    return tuple(sorted(found, key=lambda place: -place.change.place.area))


def _without_slivers(shape: BaseGeometry) -> list[BaseGeometry]:
    """Its parts, as far as they are thicker than an edge that has not moved."""
    thick = shape.buffer(-LEAST / 2).buffer(LEAST, join_style="mitre", mitre_limit=2.0)
    kept: list[BaseGeometry] = [*areas(thick.intersection(shape))]
    return kept


def _together(parts: list[BaseGeometry], is_new: np.ndarray, anatomy: Anatomy) -> np.ndarray:
    """A number for each part, equal for those that touch or are both sides of one stroke, or of one opened gap."""
    tree, count = STRtree(parts), len(parts)
    pairs = [tree.query(parts, predicate="dwithin", distance=AT_EDGE)]
    for axis, gap in ((anatomy.lines, False), (anatomy.lands, True)):
        pairs.append(_opposite(tree, axis, anatomy, ~is_new if gap else np.ones(count, bool)))
    first, second = np.concatenate(pairs, axis=1)
    links = coo_array((np.ones(len(first), np.int8), (first, second)), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1])


def _opposite(tree: STRtree, axis: Axis, anatomy: Anatomy, which: np.ndarray) -> np.ndarray:
    """Shape (2, n): pairs of parts at both feet of the same place of an axis."""
    narrow = np.flatnonzero(2 * axis.clearance.max(axis=1, initial=0.0) < NARROW)
    if not len(narrow):
        return np.zeros((2, 0), np.int64)
    feet: Floats = feet_of(anatomy, axis.places[narrow].mean(axis=1), axis.feet[narrow])
    at: list[np.ndarray] = []
    for side in (0, 1):
        stretch, part = tree.query(shapely.points(feet[:, side]), predicate="dwithin", distance=AT_EDGE)
        kept = which[part]
        own = np.full(len(narrow), -1)
        own[stretch[kept]] = part[kept]
        at.append(own)
    both = (at[0] >= 0) & (at[1] >= 0)
    return np.stack([at[0][both], at[1][both]])


def _place(grown: list[BaseGeometry], gone: list[BaseGeometry], old: BaseGeometry) -> Place:
    shape = united([*grown, *gone])
    kind = _kind(united(grown), united(gone), old)
    return Place(Change(kind, shape, _amount(kind, shape, old)), shape.buffer(MARGIN))


def _kind(grown: BaseGeometry, gone: BaseGeometry, old: BaseGeometry) -> ChangeKind:
    """What it is called, by what there is more of."""
    if gone.area > MUCH_MORE * grown.area:
        parts = [part for part in areas(old) if part.intersects(gone)]
        whole = any(gone.intersection(part).area > MOSTLY * part.area for part in parts)
        return "left-out" if whole else "gap-opened"
    if grown.area > MUCH_MORE * gone.area:
        holes = [shapely.Polygon(ring) for part in areas(old) for ring in part.interiors]
        filled = any(
            grown.intersection(hole).area > MOSTLY * hole.area for hole in holes if hole.intersects(grown)
        )
        return "counter-filled" if filled else "thickened"
    return "moved"


def _amount(kind: ChangeKind, shape: BaseGeometry, old: BaseGeometry) -> float:
    """How far an edge went there, mm; of what was filled or left out the longer side."""
    if kind in ("left-out", "counter-filled"):
        left, low, right, high = shape.bounds
        return float(max(right - left, high - low))
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(shape, SPACING)))
    edge = shapely.boundary(old)
    shapely.prepare(edge)
    return float(np.max(shapely.distance(points, edge), initial=0.0))
