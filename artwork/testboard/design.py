"""A test board laid out on an offcut: graded lines, lands, depths, and what is drawn of them.

The gradings and the board's size are common practice, no source: they put several readings on either side of every
figure that shops are known to set.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, box

from artwork.axis import study
from artwork.curves import Contour, Floats
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import typeface
from artwork.machining import carving_time
from artwork.outline import Outline
from artwork.scene import Scene
from artwork.shapes import areas
from artwork.testboard.features import Blank, BoardPlan, Feature
from artwork.tooling import depth_limit, groove_depth, groove_width
from artwork.workpiece import Allowances, Bit, Slat

LINES = (0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.3, 2.6, 2.9, 3.2, 3.6, 4.0)
"""Drawn widths, mm."""
LANDS = (0.5, 0.7, 0.9, 1.1, 1.3, 1.6, 2.0, 2.5, 3.2, 4.0)
"""Drawn widths, mm, in each comb."""
LENGTHS = (8.0, 16.0, 32.0)
"""Of lands, mm."""
STEPS = (0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.4)
"""Programme depths, mm."""
TAPERS = (2.0, 2.6, 3.2, 4.0)
"""Widths at the wide end, mm."""
EDGES = (1.6, 2.2, 2.8, 3.4)
"""Widths of the grooves that run off the edge, mm."""
ISLANDS = (0.8, 1.2, 1.6, 2.2, 3.0, 4.0)
"""Diameters, mm."""
BESIDE = 2.0
"""Width of the grooves on both sides of a land, mm."""
ARROW = 1.2
"""Width of the arrow along the grain, mm."""
QUARTER = 4 / 3 * (2**0.5 - 1)
"""Of the radius: how far a cubic's control points lie from the ends of a quarter of a circle."""
WIDEST_STEP = 5.5
"""A depth step wider than this would meet its neighbour, mm."""
LINE, STEP, TAPER, EDGE = 22.0, 14.0, 30.0, 22.0
"""Lengths of these grooves, mm."""
PITCH = 9.0
GAP = 4.0
LABEL = 3.2
"""Height of the labels' capitals, mm."""
LEAST_LENGTH, LEAST_WIDTH = 315.0, 139.0
"""Of an offcut that holds it, mm."""
PLACES = ((4.0, 50.0), (4.0, 90.0), (155.0, 128.0), (250.0, 128.0), (310.0, 50.0), (310.0, 90.0))
"""Where the thickness is measured: near an edge that a calliper reaches, mm."""


@dataclass(frozen=True, eq=False)
class TestBoard:
    """A test board, ready to be drawn.

    Attributes:
        plan: its features.
        cut: the grooves and labels on the offcut, for the drawing modules.
        minutes: of carving, an estimate.
    """

    __test__ = False  # a name that tests are not looked for in

    plan: BoardPlan
    cut: Cut

    @cached_property
    def minutes(self) -> float:
        """Of carving, an estimate."""
        return carving_time(Scene(self.cut, study(self.cut.outline)), MultiPolygon()).minutes


def lay_out(blank: Blank, bit: Bit, allowances: Allowances) -> TestBoard:
    """The board for that offcut and bit.

    Raises:
        EngineError: ``offcut-too-small``, ``offcut-too-thin``, ``bit-too-wide``.
    """
    slat = _slat(blank)
    if blank.length < LEAST_LENGTH or blank.width < LEAST_WIDTH:
        raise EngineError(
            "offcut-too-small",
            f"The test board does not fit on {blank.length:g} by {blank.width:g} mm.",
            f"Take an offcut of at least {LEAST_LENGTH:g} mm along the grain and {LEAST_WIDTH:g} mm across it.",
        )
    limit = depth_limit(slat, bit, allowances)
    if limit < STEPS[5]:
        raise EngineError(
            "offcut-too-thin",
            f"On {blank.thickness:g} mm the depth limit is {limit:.1f} mm: too few grooves could be told apart.",
            "Take a thicker offcut.",
        )
    layout = _Layout(bit, limit)
    layout.draw()
    plan = BoardPlan(slat, bit, tuple(layout.features))
    outline = Outline(tuple(layout.contours()), stated_mm=1.0)
    x0, y0, x1, y1 = outline.bounds
    cut = Cut(outline, slat, Placement((x0 + x1) / 2, (y0 + y1) / 2, 1.0), bit, allowances)
    return TestBoard(plan, cut)


def _slat(blank: Blank) -> Slat:
    return Slat(
        "test-board",
        "Test board",
        box(0.0, 0.0, blank.length, blank.width),
        blank.thickness,
        grain_deg=0.0,
        round_over=0.0,
        species=blank.species,
    )


class _Layout:
    """Draws row by row; what is drawn is carved."""

    def __init__(self, bit: Bit, limit: float) -> None:
        self.bit, self.limit = bit, limit
        self.features: list[Feature] = []
        self.grooves: list[Polygon] = []
        self.rounded: list[Contour] = []
        self.labels: list[Contour] = []

    def draw(self) -> None:
        """The whole board."""
        narrowest = groove_width(STEPS[5], self.bit)
        if narrowest > WIDEST_STEP:
            raise EngineError(
                "bit-too-wide",
                f"A {self.bit.angle_deg:g}° bit cuts {narrowest:.1f} mm wide at {STEPS[5]:g} mm of depth.",
                "The test board is for bits of up to about 120°.",
            )
        self._edges(10.0)
        self._lines(54.0)
        self._steps(196.0)
        self._combs(0.0, "A", 16.0, 33.0)
        self._tapers(92.0, 36.0)
        self._islands(90.0, 69.0)
        self._combs(90.0, "C", 172.0, 33.0)
        self._combs(45.0, "B", 16.0, 80.5)
        self._write(self.bit.key.upper(), 232.0, 96.0, 5.0)
        self._write("GRAIN", 232.0, 86.0)
        self._arrow(222.0, 242.0, 81.0)
        for number, (x, y) in enumerate(PLACES, 1):
            self.features.append(Feature(f"P{number}", "place", 0, 0, 0, 0, (x - 4, y - 4, x + 4, y + 4)))
            self._write(f"P{number}", min(max(x, 6.0), 308.0), y - 1.6, 2.6)

    def contours(self) -> Iterator[Contour]:
        """Outer ones counter-clockwise, holes clockwise, none across another."""
        for part in shapely.get_parts(shapely.union_all(self.grooves)):
            whole = shapely.orient_polygons(part)
            for ring in (whole.exterior, *whole.interiors):
                yield _ring(np.asarray(ring.coords)[:-1])
        yield from self.rounded
        yield from self.labels

    def _groove(self, key: str, width: float, lying: tuple[float, float, float, float]) -> None:
        depth = groove_depth(width, self.bit)
        kind = {"L": "line", "D": "step", "E": "edge"}[key[0]]
        x0, y0, x1, y1 = lying
        self.features.append(Feature(key, kind, width, depth, 90.0, y1 - y0, lying))  # type: ignore[arg-type]
        if kind == "edge":  # it runs on over the edge
            self.grooves.append(box(x0, y0, x1, y1))
            return
        middle, reach = (x0 + x1) / 2, width / 2
        self.rounded.append(_round_ended((middle, y0 + reach), (middle, y1 - reach), width))

    def _row(self, letter: str, widths: Iterable[float], left: float, low: float, length: float) -> None:
        """Upright grooves side by side, each with its number; those that would have a flat bottom are left out."""
        label = low + length + 1.5 if letter == "E" else low - LABEL - 1.5
        for number, width in enumerate(widths, 1):
            if groove_depth(width, self.bit) > self.limit:
                continue
            x = left + (number - 1) * PITCH
            self._groove(f"{letter}{number}", width, (x - width / 2, low, x + width / 2, low + length))
            if number == 1 or number % 5 == 0:  # the others are counted: every letter takes its time to carve
                self._write(f"{letter}{number}" if number == 1 else f"{number}", x, label)

    def _edges(self, left: float) -> None:
        self._row("E", EDGES, left, 0.0, EDGE)

    def _lines(self, left: float) -> None:
        self._row("L", LINES, left, 9.0, LINE)

    def _steps(self, left: float) -> None:
        widths = (float(groove_width(depth, self.bit)) for depth in STEPS)
        self._row("D", [width for width in widths if width <= WIDEST_STEP], left, 12.0, STEP)

    def _tapers(self, left: float, low: float) -> None:
        for number, width in enumerate(TAPERS, 1):
            y = low + (number - 1) * 7.0 + 2.0
            key = f"T{number}"
            lying = (left, y - width / 2, left + TAPER, y + width / 2)
            depth = groove_depth(width, self.bit)
            self.features.append(Feature(key, "taper", width, depth, 0.0, TAPER, lying))
            self.grooves.append(Polygon([(left, y - width / 2), (left, y + width / 2), (left + TAPER, y)]))
            if number == 1:
                self._write(key, left - 4.5, y - LABEL / 2)

    def _islands(self, left: float, low: float) -> None:
        x = left
        for number, size in enumerate(ISLANDS, 1):
            reach = size / 2 + BESIDE
            middle = shapely.Point(x + reach, low + 4.0)
            ring = middle.buffer(reach, 32).difference(middle.buffer(size / 2, 32))
            lying = (x, low + 4.0 - reach, x + 2 * reach, low + 4.0 + reach)
            depth = groove_depth(BESIDE, self.bit)
            self.features.append(Feature(f"O{number}", "island", size, depth, 90.0, size, lying))
            self.grooves += areas(ring)
            if number == 1:
                self._write("O1", x + reach, low - 5.5)
            x += 2 * reach + GAP

    def _combs(self, across: float, letter: str, left: float, low: float) -> None:
        """Three combs of one direction, side by side."""
        x = left
        for number, length in enumerate(LENGTHS, 1):
            teeth = list(_comb(length))
            turn = np.radians(90.0 - across) * -1  # a comb is drawn with its teeth upright: across the grain
            size = _size(teeth, turn)
            shift = np.array([x, low + LABEL + 2.5]) - size[0]
            self._comb(f"{letter}{number}", across, length, [_turned(tooth, turn, shift) for tooth in teeth])
            width = float(size[1][0] - size[0][0])
            self._write(f"{letter}{number}", x + width / 2, low)
            x += width + GAP

    def _comb(self, key: str, across: float, length: float, teeth: list[Floats]) -> None:
        depth = groove_depth(BESIDE, self.bit)
        for tooth in teeth:  # rounded beyond the lands' length
            low, high = (tooth[0] + tooth[1]) / 2, (tooth[2] + tooth[3]) / 2
            self.rounded.append(_round_ended(low, high, BESIDE))
        for number, (before, after) in enumerate(pairwise(teeth), 1):
            land = np.vstack([before[[1, 2]], after[[0, 3]]])
            lying = (*land.min(axis=0), *land.max(axis=0))
            box_ = (float(lying[0]), float(lying[1]), float(lying[2]), float(lying[3]))
            width = LANDS[number - 1]
            self.features.append(Feature(f"{key}-{number}", "land", width, depth, across, length, box_))

    def _arrow(self, left: float, right: float, y: float) -> None:
        """Along the grain; its head is drawn apart from its shaft, so that no contour meets another."""
        self.rounded.append(_round_ended((left, y), (right - 3.0, y), ARROW))
        self.grooves.append(Polygon([(right - 2.0, y - 1.5), (right + 1.5, y), (right - 2.0, y + 1.5)]))

    def _write(self, text: str, x: float, y: float, height: float = LABEL) -> None:
        """A label, its middle at x, its baseline at y."""
        setting = set_lines([text], typeface("lato-bold"), tracking=0.06)
        face = typeface("lato-bold")
        scale = height / face.cap_height
        shift = np.array([x - setting.middle[0] * scale, y])
        self.labels += [contour.moved(np.eye(2) * scale, shift) for contour in setting.outline.contours]


def _comb(length: float) -> Iterator[Floats]:
    """The grooves of a comb with upright teeth, lower left at (0, 0): shape (4, 2) each, counter-clockwise."""
    x = 0.0
    for land in (*LANDS, 0.0):
        yield np.array([[x, 0.0], [x + BESIDE, 0.0], [x + BESIDE, length], [x, length]])
        x += BESIDE + land


def _turned(points: Floats, angle: float, shift: Floats) -> Floats:
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]) + shift)


def _size(teeth: list[Floats], angle: float) -> tuple[Floats, Floats]:
    """Lower left and upper right of the turned teeth."""
    points = np.vstack([_turned(tooth, angle, np.zeros(2)) for tooth in teeth])
    return points.min(axis=0), points.max(axis=0)


def _round_ended(start: Sequence[float] | Floats, end: Sequence[float] | Floats, width: float) -> Contour:
    """A groove with round ends about two points: the bit runs along it once, into no corners."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    along = (b - a) / np.hypot(*(b - a)) * width / 2
    left = np.array([-along[1], along[0]])
    knots = np.array([a - left, b - left, b + along, b + left, a + left, a - along])
    controls = np.full((6, 2, 2), np.nan)
    for at, leaving, arriving in ((1, along, -left), (2, left, along), (4, -along, left), (5, -left, -along)):
        following = knots[(at + 1) % 6]
        controls[at] = knots[at] + QUARTER * leaving, following + QUARTER * arriving
    return Contour(knots, controls)


def _ring(points: Floats) -> Contour:
    return Contour(points, np.full((len(points), 2, 2), np.nan))
