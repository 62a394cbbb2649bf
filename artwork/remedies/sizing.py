"""Sizes and places of art on slats, as they are told: what every proposal of a cure is built from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
import shapely

from artwork.axis import Anatomy
from artwork.curves import Floats
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings.lines import flat_requirement
from artwork.findings.wording import GRAIN, about
from artwork.outline import Outline
from artwork.placing import Hull, fit, safe_area
from artwork.remedies import resizing
from artwork.remedies.looking import Look, Looking
from artwork.remedies.resizing import DOUBT, Reach
from artwork.remedies.sizes import extent, finest
from artwork.remedies.told import ENTRY, Told, at_the_least, at_the_most, finer
from artwork.scene import Scene
from artwork.tooling import MM_PER_INCH
from artwork.workpiece import Slat

SPAN_TOLD = 1.02
"""The span of sizes is told where its end is more than this times its beginning."""


@dataclass(frozen=True, eq=False)
class Art:
    """The outline as it came, or with what is lost anyway left out."""

    outline: Outline
    anatomy: Anatomy
    hull: Hull
    words: str = ""
    dropped: int = 0
    thinnest: float = inf  # width of a line that more size alone can cure, outline units


@dataclass(frozen=True, eq=False)
class Sized:
    """A cut at a carving size.

    Attributes:
        cut: at that size.
        width: the size as it is told; ``None`` where it is the present one.
        widest: the larger end of the span of sizes that carve, where that is worth telling.
    """

    cut: Cut
    width: Told | None
    widest: Told | None = None


class Sizing:
    """Where, and how large, the art of one cut lies on its slat and on others.

    Attributes:
        ill_placed: whether another place is wanted anyway.
    """

    def __init__(self, cut: Cut, *, ill_placed: bool) -> None:
        self._cut, self.ill_placed = cut, ill_placed
        self._fits: dict[tuple[object, ...], Placement | None] = {}

    def cut_of(self, art: Art) -> Cut:
        """The present cut with that art, which stays where it was on the slat."""
        if art.outline is self._cut.outline:
            return self._cut
        return replace(self._cut, outline=art.outline, placement=self.kept(self._cut, art))

    @staticmethod
    def kept(cut: Cut, art: Art) -> Placement:
        """The placement under which what is left of an outline stays where it was on the slat."""
        x, y = cut.placement.place(art.anatomy.centre, cut.centre).tolist()
        return replace(cut.placement, x=x, y=y)

    def most(self, cut: Cut, art: Art) -> float:
        """Largest scale on the cut's slat, 0 without room."""
        largest = self._fit(cut, art)
        return 0.0 if largest is None else largest.scale

    def sized(self, cut: Cut, art: Art) -> Sized | None:
        """The cut at the carving size nearest its present one, told so that it may be typed in."""
        most, now = self.most(cut, art), cut.placement.scale
        if most <= 0 or self.hopeless(cut, art, most):
            return None
        at = Looking(cut, art.anatomy, lambda scale: self.at(cut, art, scale))
        pixels = min(most, finest(cut, art.anatomy))
        reach = resizing.nearest(at, now, pixels)
        if reach is None and pixels < most:  # coarse pixels only warn
            reach = resizing.nearest(at, now, most)
        if reach is None:
            return None
        sized = self.told_size(cut, art, reach)
        if sized is None or reach.most < reach.nearest * SPAN_TOLD or at(reach.most).stops:
            return sized
        across = extent(art.anatomy, cut)[0]
        return replace(sized, widest=at_the_most(reach.nearest * across, reach.most * across))

    def told_size(self, cut: Cut, art: Art, reach: Reach) -> Sized | None:
        """The nearest size of a span as it is told: both of its numbers carve."""
        if reach.nearest == cut.placement.scale:
            return Sized(replace(cut, placement=self.at(cut, art, reach.nearest)), None)
        across = extent(art.anatomy, cut)[0]
        low, high = reach.nearest * across, reach.most * across
        told = at_the_least(low + ENTRY, high) if low + ENTRY < high else at_the_most(0.0, high)
        if told is None:
            return None
        by_rule = replace(cut, placement=self.at(cut, art, told.inches * MM_PER_INCH / across))
        if Look(by_rule, art.anatomy).stops:
            told = finer(told)
        return Sized(replace(cut, placement=self.at(cut, art, told.mm / across)), told)

    def at(self, cut: Cut, art: Art, scale: float) -> Placement:
        """The present place if the art lies well there at that scale, else that of the largest fit."""
        here = replace(cut.placement, scale=scale)
        largest = self._fit(cut, art)
        if largest is None or self._stays(cut, art, here):
            return here
        return replace(here, x=largest.x, y=largest.y)

    def _stays(self, cut: Cut, art: Art, placement: Placement) -> bool:
        if cut.slat is not self._cut.slat or self.ill_placed:
            return False
        now = self._cut.placement
        if placement.scale <= now.scale and placement.rotation_deg == now.rotation_deg:
            return True
        hull = placement.place(art.anatomy.hull, art.anatomy.centre)
        return bool(self._area(cut.slat).contains(shapely.Polygon(hull)))

    def _area(self, slat: Slat) -> shapely.Polygon | shapely.MultiPolygon:
        return safe_area(slat, self._cut.allowances)

    def resized(self, width: Told, placed: Cut, art: Art) -> str:
        """The words for a size, and for the place where that is another."""
        now = self._cut.placement.scale * extent(art.anatomy, self._cut)[0]
        words = f"Make it {width.words} wide instead of {about(now)}"
        kept, there = self.kept(self._cut, art), placed.placement
        moved = np.hypot(there.x - kept.x, there.y - kept.y) > GRAIN
        return f"{words} and move it to the middle of the free area" if moved else words

    def hopeless(self, cut: Cut, art: Art, most: float) -> bool:
        """Whether the thinnest line of the art as it is would be too thin even at the largest scale."""
        return bool(art.thinnest * most * DOUBT < flat_requirement(Scene(cut, art.anatomy)))

    def _fit(self, cut: Cut, art: Art) -> Placement | None:
        """Largest fit on the cut's slat; looked for once for outlines of the same box."""
        turn, mirrored = cut.placement.rotation_deg, cut.placement.mirrored
        key = (cut.outline.bounds, turn, mirrored, *shape_of(cut.slat))
        if key not in self._fits:
            try:
                self._fits[key] = fit(art.hull, cut.slat, cut.allowances, turn, mirrored)
            except EngineError:
                self._fits[key] = None
        return self._fits[key]

    def widest_fit(self, art: Art) -> float:
        """Bound on the largest scale at any turn: the art's narrowest way across the slat's widest."""
        area = self._area(self._cut.slat)
        if area.is_empty:
            return 0.0
        widest = 2 * shapely.minimum_bounding_radius(area)
        narrow = shapely.minimum_rotated_rectangle(area)
        sides = np.hypot(*np.diff(shapely.get_coordinates(narrow)[:3], axis=0).T)
        art_sides = np.hypot(*np.diff(_rectangle_of(art.hull.points)[:3], axis=0).T)
        return float(min(sides.min() / art_sides.min(), widest / art_sides.max()))


def shape_of(slat: Slat) -> tuple[object, ...]:
    """All of a slat that a carving depends on."""
    keep_outs = tuple((each.shape.wkb, each.free_depth) for each in slat.keep_outs)
    size = (slat.thickness, slat.grain_deg, slat.round_over, slat.mill_radius)
    return slat.outline.wkb, keep_outs, size


def _rectangle_of(points: Floats) -> Floats:
    """Corners of the smallest rectangle around points."""
    return np.asarray(shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.multipoints(points))))
