"""Arcs and helices of RS274/NGC (NISTIR 6556, 3.5.3) as chords."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan2, ceil, hypot, pi, sqrt

import numpy as np

from artwork.curves import Floats
from artwork.program.moves import Point, ProgramError

CHORD_ERROR = 0.002
"""How far a chord may lie off its arc, mm."""
RADII_AGREE = 0.002
"""Difference of the two radii that the report allows, mm (3.5.3.2)."""
RADII_ROUNDED = 0.03
"""Difference up to which it is taken for rounding, with a remark, mm: two decimals on four coordinates make 0.028
(computed: √2·0.005·4)."""
RADIUS_SHORT = 0.02
"""How much longer than a diameter a radius arc's chord may be through rounding, mm."""


@dataclass(frozen=True)
class Arc:
    """An arc in the xy plane.

    Attributes:
        centre: mm.
        radius: mm.
        begin: angle of its first point, radians.
        sweep: signed angle, counter-clockwise positive.
        radii_differ: by how much the distances of both ends from the centre differ, mm.
    """

    centre: tuple[float, float]
    radius: float
    begin: float
    sweep: float
    radii_differ: float

    def points(self, start: Point, end: Point) -> Floats:
        """Chords' ends without the first: shape (k, 3), mm. ``z`` changes evenly along the arc (a helix)."""
        fine = 2 * acos(max(1 - CHORD_ERROR / self.radius, 0.0)) if self.radius > CHORD_ERROR else pi / 2
        count = max(ceil(abs(self.sweep) / fine), 1)
        share = np.arange(1, count + 1) / count
        angle = self.begin + self.sweep * share
        points = np.empty((count, 3))
        points[:, 0] = self.centre[0] + self.radius * np.cos(angle)
        points[:, 1] = self.centre[1] + self.radius * np.sin(angle)
        points[:, 2] = start[2] + (end[2] - start[2]) * share
        points[-1] = end
        return points


def by_centre(start: Point, end: Point, centre: tuple[float, float], *, clockwise: bool, line: int) -> Arc:
    """An arc given by its centre; the same end as start is a whole turn. ProgramError."""
    r0 = hypot(start[0] - centre[0], start[1] - centre[1])
    r1 = hypot(end[0] - centre[0], end[1] - centre[1])
    if r0 == 0:
        raise ProgramError("arc", "the arc's centre is its own start.", line)
    if abs(r0 - r1) > RADII_ROUNDED:
        words = f"the arc's ends lie {r0:.4f} and {r1:.4f} mm from its centre; they should lie equally far."
        raise ProgramError("arc", words, line)
    begin = atan2(start[1] - centre[1], start[0] - centre[0])
    finish = atan2(end[1] - centre[1], end[0] - centre[0])
    same = start[0] == end[0] and start[1] == end[1]
    return Arc(centre, r0, begin, _sweep(begin, finish, clockwise=clockwise, whole=same), abs(r0 - r1))


def by_radius(start: Point, end: Point, radius: float, *, clockwise: bool, line: int) -> Arc:
    """An arc given by its radius: above 0 at most half a turn, below 0 more than that. ProgramError."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = hypot(dx, dy)
    if chord == 0:
        raise ProgramError("arc", "an arc given by its radius cannot end where it starts.", line)
    if chord / 2 > abs(radius) + RADIUS_SHORT / 2:
        words = f"its ends are {chord:.4f} mm apart, more than twice its radius of {abs(radius):.4f} mm."
        raise ProgramError("arc", words, line)
    size = max(abs(radius), chord / 2)
    off = sqrt(max(size**2 - (chord / 2) ** 2, 0.0))
    # the centre lies left of the way for a short counter-clockwise arc; a clockwise or a long one swaps sides
    side = (-1 if clockwise else 1) * (-1 if radius < 0 else 1)
    centre = (
        start[0] + dx / 2 - side * off * dy / chord,
        start[1] + dy / 2 + side * off * dx / chord,
    )
    begin = atan2(start[1] - centre[1], start[0] - centre[0])
    finish = atan2(end[1] - centre[1], end[0] - centre[0])
    return Arc(centre, size, begin, _sweep(begin, finish, clockwise=clockwise, whole=False), 0.0)


def _sweep(begin: float, finish: float, *, clockwise: bool, whole: bool) -> float:
    if whole:
        return -2 * pi if clockwise else 2 * pi
    turn = finish - begin
    if clockwise:
        return turn - 2 * pi if turn > 0 else (turn if turn < 0 else -2 * pi)
    return turn + 2 * pi if turn < 0 else (turn if turn > 0 else 2 * pi)
