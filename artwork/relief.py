"""What is left of the face after carving, round-over and sanding, as a height field."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.clearance import Edges, Grid
from artwork.close_up import Box
from artwork.curves import Floats
from artwork.cut import Cut
from artwork.floors import ridges
from artwork.picture_frame import Part
from artwork.raster import inside, near_edge
from artwork.tooling import depth_limit, drop, edge_radius, slope, zero_below_face
from artwork.workpiece import Slat

Heights = NDArray[np.float32]

CURVE_TOLERANCE = 0.01
"""How far a flattened curve may lie off the true one in a picture, mm."""
STEEP = 0.92
"""Eight neighbours of a pixel lie within 22.5° of any direction: away from the axis the distance to the edge
grows by at least cos 22.5° of the way to one of them."""
TOUCHING = 0.002
"""What the tip's distance from an edge may lack where it is taken to touch it, mm."""
NOWHERE = 1e-9
"""A place nearer the edge than this lies on it, mm."""
TIP_TURNS = 24
"""Every other of so many stands around the tip's edge, and every fourth halfway in; then all around the best."""
TIP_STEP = 0.012
"""How close, mm."""


@dataclass(frozen=True, eq=False)
class Relief:
    """The finished face as a height field. Row 0 is the top, column 0 the left of the slat as it stands.

    Attributes:
        height: shape (h, w), how far the wood lies below the finished flat face, mm, at each pixel's centre;
            0 where nothing was taken off, meaningless outside the slat.
        to_edge: shape (h, w), distance of each pixel centre to the slat's edge, mm; negative outside; worked
            out only as far as the round-over (at least 2 px) reaches.
        px_per_mm: pixels per millimetre.
        left, top: slat mm of the outer corner of pixel (0, 0).
        part: which pixels of the whole slat's picture these are.
        art: rows and columns outside which nothing is carved; ``None`` where nothing is at all.
        carved: shape of ``art``, how far carving took the wood below the face as it is without it, mm.
    """

    height: Heights
    to_edge: Heights
    px_per_mm: float
    left: float
    top: float
    part: Part
    art: tuple[slice, slice] | None = None
    carved: Heights | None = None

    def pixels(self, points: Floats) -> Floats:
        """Slat mm → pixel coordinates (x right, y down, the first pixel's centre at 0.5, 0.5)."""
        return (points - [self.left, self.top]) * [self.px_per_mm, -self.px_per_mm]


def relief(
    cut: Cut, px_per_mm: float, border: float = 0.0, window: Box | None = None, *, exact: bool = True
) -> Relief:
    """The face of the slat as it will be: carved, then rounded over, then sanded.

    Carving leaves ``h = min(r / tan φ, (R − t/2) / tan φ, D)``: ``r`` the distance to the art's edge, ``R``
    that of the nearest place of the axis (the tip, ``t`` wide, leaves a flat), ``D`` the depth limit.
    Round-over and sanding then take ``L = s + drop(x)`` off the face; what lies deeper than that stays. The
    board is taken as even: that is what the picture shows; the worst board is what the check judges.

    Args:
        cut: what is cut.
        px_per_mm: pixels per millimetre.
        border: kept around the slat, mm.
        window: the part that is wanted, slat mm, whole pixels from the corner of the whole; all of it without one.
        exact: whether the edge nearest to each pixel is looked for and the flat that the tip leaves is measured; else,
            in a fraction of the time, what a page shows is told from the pixels beside: within half a pixel's way to
            the edge and ``t / 2``, over ``tan φ``, and right where the walls are.

    Distances to the art's edge are exact but for its chords (``CURVE_TOLERANCE``) and, right where edges meet,
    half of ``clearance.SPACING``: at every pixel's centre the depth is within 0.05 mm of what a swept cone leaves.
    """
    return carved_into(bare(cut.slat, px_per_mm, border, window), cut, exact=exact)


def carved_into(plain: Relief, cut: Cut, *, exact: bool = True) -> Relief:
    """A bare face of the cut's slat with the cut in it; ``exact`` as for :func:`relief`."""
    face = replace(plain, height=plain.height.copy())
    art = _carve(cut, face, exact)
    return replace(face, art=art, carved=None if art is None else face.height[art] - plain.height[art])


def bare(slat: Slat, px_per_mm: float, border: float = 0.0, window: Box | None = None) -> Relief:
    """A slat that carries no art: rounded over and sanded. Arguments as for :func:`relief`."""
    radius = edge_radius(slat)
    x0, y0, x1, y1 = slat.outline.bounds
    whole = (x0 - border, y0 - border, x1 + border, y1 + border)
    left, _, _, top = window or whole
    height, width = shape = _shape(window or whole, px_per_mm)
    ring = (np.asarray(slat.outline.exterior.coords)[:-1] - [left, top]) * [px_per_mm, -px_per_mm]
    to_edge = near_edge(ring, width, height, max(radius * px_per_mm, 2.0))
    to_edge *= np.where(inside([ring], width, height), np.float32(1 / px_per_mm), np.float32(-1 / px_per_mm))
    part = Part.all_of(shape)
    if window is not None:
        row, column = round((whole[3] - top) * px_per_mm), round((left - whole[0]) * px_per_mm)
        where = (slice(row, row + height), slice(column, column + width))
        part = Part(_shape(whole, px_per_mm), where)
    return Relief(_lowered(to_edge, radius), to_edge, px_per_mm, left, top, part)


def _shape(box: Box, px_per_mm: float) -> tuple[int, int]:
    """Rows and columns of a picture of a box."""
    return int(np.ceil((box[3] - box[1]) * px_per_mm)), int(np.ceil((box[2] - box[0]) * px_per_mm))


def _lowered(to_edge: Heights, radius: float) -> Heights:
    """How far the round-over leaves the face below its flat part; sanding takes the same off both."""
    lowered = np.zeros_like(to_edge)
    if radius > 0:
        near = to_edge < radius
        lowered[near] = drop(to_edge[near].astype(np.float64), radius)
    return lowered


def _carve(cut: Cut, face: Relief, exact: bool) -> tuple[slice, slice] | None:
    """Lower the face, in place, to the grooves' depths where they lie deeper; returns where that may be."""
    edges = Edges.of(cut, CURVE_TOLERANCE)
    points = face.pixels(edges.points)
    c0, r0 = np.maximum(np.floor(points.min(axis=0)).astype(int) - 1, 0)
    c1, r1 = np.minimum(np.ceil(points.max(axis=0)).astype(int) + 1, face.height.shape[::-1])
    if c0 >= c1 or r0 >= r1:
        return None
    rings = np.split(points - [c0, r0], np.flatnonzero(np.diff(edges.ring)) + 1)
    rows, columns = np.nonzero(inside(rings, c1 - c0, r1 - r0))
    places = np.stack([columns + c0 + 0.5, rows + r0 + 0.5], axis=1) / face.px_per_mm * [1, -1]
    places += [face.left, face.top]
    corner = np.array([c0, r0]) / face.px_per_mm * [1, -1] + [face.left, face.top]
    grid = Grid(corner, 1 / face.px_per_mm, (r1 - r0, c1 - c0), rows, columns, places)
    reach = _reach(edges, grid, cut.bit.tip_flat / 2, exact)
    limit = depth_limit(cut.slat, cut.bit, cut.allowances)
    depth = np.minimum(reach / slope(cut.bit), limit)
    if cut.allowances.floor_ridge > 0:
        depth -= ridges(cut, lambda: edges.region, places, reach, 1 / face.px_per_mm)
    depth += zero_below_face(cut.allowances) - cut.allowances.sanding
    block = face.height[r0:r1, c0:c1]
    block[rows, columns] = np.maximum(block[rows, columns], depth)
    return slice(int(r0), int(r1)), slice(int(c0), int(c1))


def _reach(edges: Edges, grid: Grid, half_flat: float, exact: bool) -> Floats:
    """How far from the edge the tip's stands leave each place of a grid; ``exact`` as for :func:`relief`."""
    room = np.zeros(grid.shape)
    if not exact:
        reach = edges.quickly(grid)
        room[grid.rows, grid.columns] = reach
        around = cv2.dilate(room, np.ones((3, 3), np.uint8))[grid.rows, grid.columns]
        return np.asarray(np.minimum(reach, np.maximum(around - half_flat, 0.0)))
    reach, foot, chord = edges.nearest(grid.places)
    if half_flat > 0:
        room[grid.rows, grid.columns] = reach
        near = np.flatnonzero(_near_axis(room, half_flat, 1 / grid.pitch)[grid.rows, grid.columns])
        reach[near] = _on_the_flat(
            edges, grid.places[near], (reach[near], foot[near], chord[near]), half_flat
        )
    return reach


def _near_axis(room: Floats, half_flat: float, px_per_mm: float) -> NDArray[np.bool_]:
    """Where the distance to the edge stops growing within the tip's reach: elsewhere the tip touches the wall."""
    step = max(int(np.ceil(half_flat * px_per_mm)), 1)
    ahead = np.pad(room, step)
    height, width = room.shape
    gain = np.full(room.shape, -np.inf)
    for down in (0, step, 2 * step):
        for right in (0, step, 2 * step):
            way = float(np.hypot(down - step, right - step))
            if way > 0:
                there = ahead[down : down + height, right : right + width]
                np.maximum(gain, (there - room) * (px_per_mm / way), out=gain)
    return gain < STEEP


def _on_the_flat(
    edges: Edges, places: Floats, nearest: tuple[Floats, Floats, NDArray[np.int64]], half_flat: float
) -> Floats:
    """How far off the edge the tip's stands leave places near the axis; ``nearest`` of them, as edges have it."""
    reach, foot, chord = nearest
    reach = reach.copy()
    away = (places - foot) * (half_flat / np.maximum(reach, NOWHERE))[:, None]
    ahead, _, other = edges.nearest(places + away)
    between = ahead < reach + half_flat - TOUCHING  # else the tip there touches the nearest edge
    walls = np.stack([chord[between], other[between]], axis=1)
    reach[between] = _reach_of_tip(edges, places[between], reach[between], walls, half_flat)
    return reach


def _reach_of_tip(
    edges: Edges, places: Floats, room: Floats, walls: NDArray[np.int64], half_flat: float
) -> Floats:
    """The greatest distance to the edge within the tip's flat around each place, less the flat's half width.

    A tip ``2·half_flat`` wide that stands at c leaves a flat that wide; so a place is as deep as the deepest
    stand of the bit within that reach of it allows. Most places lie between two walls, and stands are measured
    to those alone; where a third proves nearer, to the whole edge.
    """
    quick = _BestStands(edges, places, room, half_flat, walls)
    found = edges.distance(places + quick.off)
    more = np.flatnonzero(found < quick.room - TOUCHING)
    if len(more):
        quick.room[more] = _BestStands(edges, places[more], room[more], half_flat).room
    return np.maximum(quick.room - half_flat, 0.0)


class _BestStands:
    """For each place the stand of the tip with the most room, how much that is, and how far off it stands.

    Args:
        edges: of the art.
        places: shape (n, 2), slat mm. room: shape (n,), their own distance to the edge.
        half_flat: half the tip's width, mm.
        walls: shape (n, k), the chords that room is measured to; the whole edge without them.
    """

    def __init__(
        self,
        edges: Edges,
        places: Floats,
        room: Floats,
        half_flat: float,
        walls: NDArray[np.int64] | None = None,
    ) -> None:
        self._edges, self._places, self._half_flat, self._walls = edges, places, half_flat, walls
        self._crossing = room < half_flat  # there the tip may reach across the edge
        self.room, self.off = room.copy(), np.zeros_like(places)
        self._search()

    def _search(self) -> None:
        """Around the tip's edge and halfway in, then closer around the best."""
        turns = np.linspace(0, 2 * np.pi, TIP_TURNS, endpoint=False)
        around = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        for way in np.concatenate([around[::2], around[::4] / 2]):
            self._try_at(np.broadcast_to(self._half_flat * way, self._places.shape))
        step = self._half_flat / 4
        while step > TIP_STEP:
            for way in around:  # so many ways that one climbs along a ridge, however it runs
                self._try_at(self.off + step * way)
            step /= 2

    def _try_at(self, off: Floats) -> None:
        """Try a stand beside each place, no farther off than the tip reaches and within the art."""
        reach = np.maximum(np.hypot(*off.T), self._half_flat)
        off = off * (self._half_flat / reach)[:, None]
        stands = self._places + off
        walls = self._walls
        room = self._edges.distance(stands) if walls is None else self._edges.distance_to(stands, walls)
        better = room > self.room
        doubtful = better & self._crossing
        better[doubtful] = self._edges.inside(stands[doubtful])
        self.room[better], self.off[better] = room[better], off[better]
