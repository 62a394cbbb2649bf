"""One drawing's curves within a place, another's outside it: curves outside stay exactly as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats, stretches
from artwork.repair.crossings import crossing
from artwork.repair.net import Net

SEAM = 0.15
"""At the edge of the place both drawings' curves are no farther apart than this, mm; else there is no seam."""
BLEND = 2.0
"""From there the curves of one run into those of the other within so many mm."""
SPACING, FEWEST = 0.1, 4
"""Curves are looked at every so many mm, and at so many places at least."""
HALVINGS = 30


class NoSeamError(Exception):
    """The two drawings do not meet at the edge of the place."""


@dataclass(frozen=True, eq=False)
class _Arc:
    """An open stretch of a contour: one knot more than segments."""

    knots: Floats
    controls: Floats


def spliced(
    outside: Sequence[Contour], inside: Sequence[Contour], place: BaseGeometry
) -> tuple[Contour, ...]:
    """The curves of ``outside`` where they run outside the place, of ``inside`` where they run within it.

    Args:
        outside, inside: contours of two drawings in the same mm, filled areas to the same hand.
        place: polygons at whose edge both drawings are alike.

    Raises:
        NoSeamError: they are not, or what comes of it would cross itself.
    """
    shapely.prepare(place)
    rings, open_out = _parted(outside, place, within=False)
    more, open_in = _parted(inside, place, within=True)
    found = (*rings, *more, *_joined(open_out, open_in))
    if found and len(crossing(found)) > len(crossing(outside)):
        raise NoSeamError
    return found


def _parted(
    contours: Sequence[Contour], place: BaseGeometry, *, within: bool
) -> tuple[list[Contour], list[_Arc]]:
    """Whole contours, and arcs of others, that run within (or outside) the place."""
    rings, arcs = [], []
    for contour in contours:
        net = Net.of((contour,))
        segment, t = net.along(SPACING, FEWEST)
        is_in = _within(net, segment, t, place)
        turns = np.flatnonzero(is_in != np.roll(is_in, -1))
        if not len(turns):
            if bool(is_in[0]) == within:
                rings.append(contour)
            continue
        edges = [_edge(net, segment, t, int(turn), place) for turn in turns]
        for number, start in enumerate(edges):
            if bool(is_in[(turns[number] + 1) % len(is_in)]) == within:
                arcs.append(_arc(net, start, edges[(number + 1) % len(edges)]))
    return rings, arcs


def _within(net: Net, segment: np.ndarray, t: Floats, place: BaseGeometry) -> np.ndarray:
    at = net.places(segment, t)
    return np.asarray(shapely.contains_xy(place, at[:, 0], at[:, 1]))


def _edge(net: Net, segment: np.ndarray, t: Floats, turn: int, place: BaseGeometry) -> tuple[int, float]:
    """Segment and share at which the curve crosses the place's edge between a look and the next one."""
    number, low = int(segment[turn]), float(t[turn])
    after = (turn + 1) % len(t)
    high = float(t[after]) if int(segment[after]) == number and after else 1.0
    first = bool(_within(net, np.array([number]), np.array([low]), place)[0])
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if bool(_within(net, np.array([number]), np.array([middle]), place)[0]) == first:
            low = middle
        else:
            high = middle
    return number, high


def _arc(net: Net, start: tuple[int, float], end: tuple[int, float]) -> _Arc:
    """The contour from one edge of the place to the next one; whole segments as they are."""
    count = len(net.knots)
    (first, since), (last, until) = start, end
    steps = (last - first) % count
    if steps == 0 and until <= since:
        steps = count
    numbers = (first + np.arange(steps + 1)) % count
    low, high = np.zeros(steps + 1), np.ones(steps + 1)
    low[0], high[-1] = since, until
    a, b, c, d = stretches(net.beziers[numbers], low, high)
    knots = np.concatenate([net.knots[numbers], d[-1:]])
    knots[0] = a[0]
    cut = (low > 0) | (high < 1)
    controls = np.where(cut[:, None, None], np.stack([b, c], axis=1), net.controls[numbers])
    controls[~net.is_bent[numbers]] = np.nan
    return _Arc(knots, controls)


def _joined(outer: Sequence[_Arc], inner: Sequence[_Arc]) -> list[Contour]:
    """Rings of arcs by turns from outside and from inside, each inner one laid onto the ends of the outer ones."""
    if len(outer) != len(inner):
        raise NoSeamError
    if not outer:
        return []
    into = _matched(np.array([arc.knots[-1] for arc in outer]), np.array([arc.knots[0] for arc in inner]))
    out = _matched(np.array([arc.knots[-1] for arc in inner]), np.array([arc.knots[0] for arc in outer]))
    rings, left = [], set(range(len(outer)))
    while left:
        begun = at = min(left)
        knots, controls = [], []
        while True:
            left.discard(at)
            middle = inner[into[at]]
            after = int(out[into[at]])
            laid = _between(middle, outer[at].knots[-1], outer[after].knots[0])
            knots += [outer[at].knots[:-1], laid.knots[:-1]]
            controls += [outer[at].controls, laid.controls]
            if after == begun:
                break
            if after not in left:
                raise NoSeamError
            at = after
        rings.append(Contour(np.concatenate(knots), np.concatenate(controls)))
    return rings


def _matched(ends: Floats, starts: Floats) -> np.ndarray:
    """For each end the start that is at the same place; each start once."""
    far, near = (np.atleast_1d(each) for each in cKDTree(starts).query(ends))
    if far.max() > SEAM or len(np.unique(near)) != len(near):
        raise NoSeamError
    return np.asarray(near)


def _between(arc: _Arc, start: Floats, end: Floats) -> _Arc:
    """The arc with its ends put where the others' are, the rest after them, less and less."""
    thirds = np.diff(arc.knots, axis=0) / 3
    first, second = arc.knots[:-1] + thirds, arc.knots[1:] - thirds
    bent = ~np.isnan(arc.controls[:, 0, 0])
    legs = np.where(bent[:, None, None], arc.controls, np.stack([first, second], axis=1))
    points = np.concatenate([arc.knots[:-1, None], legs], axis=1).reshape(-1, 2)
    points = np.concatenate([points, arc.knots[-1:]])
    far = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    reach = min(BLEND, far[-1])
    for shift, off in ((start - points[0], far), (end - points[-1], far[-1] - far)):
        points = points + np.clip(1 - off / max(reach, 1e-9), 0.0, 1.0)[:, None] * shift
    points[0], points[-1] = start, end
    controls = np.where(bent[:, None, None], points[:-1].reshape(-1, 3, 2)[:, 1:], np.nan)
    return _Arc(points[::3], controls)
