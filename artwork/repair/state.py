"""Art on a slat as repair looks at it: its curves, where they were drawn, and what the check says of both sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from artwork.axis import study
from artwork.axis.anatomy import Anatomy
from artwork.curves import Contour, Floats, sampled
from artwork.cut import Cut, Placement
from artwork.findings.checking import checked
from artwork.findings.lands import Lands, judge_lands
from artwork.findings.lines import Lines, judge_lines
from artwork.placing import largest_fit, safe_area
from artwork.repair.crossings import crossing
from artwork.repair.demands import Side, side_of
from artwork.repair.folds import Folds
from artwork.repair.likeness import size_of
from artwork.repair.net import Ints, Net
from artwork.repair.tracing_back import traced_back
from artwork.repair.uniting import followed
from artwork.scene import Scene
from artwork.shapes import areas, convex_hull, filled, ring_shapes
from artwork.workpiece import Allowances, Slat

MOST_BENT, OF_SIZE, MOST_OF_LARGE = 3.0, 0.04, 4.5
"""No repair is shown that bent a boundary farther than this, mm; of a large drawing, than this share of its size, but
no more than so many mm."""
FINE = 0.01
"""Chords for looking whether art lies within its room, mm."""


@dataclass(frozen=True, eq=False)
class Art:
    """Contours in mm of the original placement, and where each of their points was drawn.

    Attributes:
        contours: as they are now.
        drawn: the same contours, point by point, before anything moved them.
        rest: the same after the last operation on them: its shape is what they keep to. What an operation has joined
            was drawn in different places; pulled back to the directions it had there it would be torn.
    """

    contours: tuple[Contour, ...]
    drawn: tuple[Contour, ...]
    rest: tuple[Contour, ...]

    @classmethod
    def new(cls, contours: Sequence[Contour]) -> Art:
        """Art that nothing has moved yet."""
        return cls(tuple(contours), tuple(contours), tuple(contours))

    def remade(self, contours: Sequence[Contour]) -> Art:
        """The art after an operation on its contours: points that are where they were keep their origin."""
        drawn = followed(contours, self.contours, self.drawn)
        return Art(tuple(contours), drawn, tuple(contours))

    def moved(self, shift: Floats) -> Art:
        """With every movable point shifted."""
        return Art(Net.of(self.contours).moved(shift).contours(), self.drawn, self.rest)

    def collapsed(self, segments: Ints) -> Art:
        """Without the chosen segments."""
        return Art(*(Net.of(each).collapsed(segments).contours() for each in self._all))

    def halved(self, segments: Ints) -> Art:
        """With the chosen segments cut in two."""
        return Art(*(Net.of(each).halved(segments).contours() for each in self._all))

    def blunted(self, knots: Ints, before: Floats, after: Floats) -> Art:
        """With the chosen corners cut off straight."""
        return Art(*(Net.of(each).blunted(knots, before, after).contours() for each in self._all))

    def trimmed(self, folds: Folds) -> Art:
        """With folds at joints cut off."""
        return Art(*(Net.of(each).trimmed(folds.start, folds.end).contours() for each in self._all))

    @property
    def _all(self) -> tuple[tuple[Contour, ...], ...]:
        return self.contours, self.drawn, self.rest

    @cached_property
    def most_bent(self) -> float:
        """How far an edge may be bent, mm: what is bent farther is not shown."""
        return float(np.clip(OF_SIZE * size_of(self.drawn), MOST_BENT, MOST_OF_LARGE))

    @property
    def edited(self) -> bool:
        """Whether more has been done to it than to move its points."""
        drawn = zip(self.rest, self.drawn, strict=True)
        return not all(np.array_equal(rest.knots, drawn.knots) for rest, drawn in drawn)

    @cached_property
    def crossing(self) -> Ints:
        """Numbers of the segments that meet others between joints."""
        return crossing(self.contours)

    def since(self, before: tuple[Contour, ...]) -> Floats:
        """Shape (movable, 2): how far each point is from where it was."""
        return Net.of(self.contours).points - Net.of(before).points


@dataclass(frozen=True, eq=False)
class State:
    """Art on a slat, studied.

    Attributes:
        art: what is looked at.
        cut: its outline is in mm of the original placement; the placement's scale is at most 1.
        anatomy, scene: of it.
        judged: what the check says of its lines and lands.
        lines, lands: the same, place by place.
    """

    art: Art
    cut: Cut
    anatomy: Anatomy
    scene: Scene
    judged: tuple[Lines, Lands]
    lines: Side
    lands: Side

    @cached_property
    def lack(self) -> float:
        """mm² by which lines and lands are too narrow: 0 where nothing stops."""
        total = 0.0
        scale, slack = self.scene.scale, self.scene.slack
        for side in (self.lines, self.lands):
            strip = side.strip
            for run in side.runs:
                asked = run.members[~side.let_be[run.members]]
                width = 2 * scale * (strip.clearance[asked].mean(axis=1) - slack)
                short = np.maximum(strip.required[asked] - width, 0.0)
                total += (
                    float((short * (strip.lengths[asked] * scale)).sum() + 0.5 * short.max(initial=0.0))
                    + 0.01
                )
            for region in side.lost:
                total += float(side.needs[region] - 2 * scale * (side.axis.peak[region] - slack))
        return total

    @cached_property
    def shortest(self) -> float:
        """mm by which the narrowest place misses its need; infinite where a part is lost altogether."""
        if len(self.lines.lost) or len(self.lands.lost):
            return float("inf")
        scale, slack = self.scene.scale, self.scene.slack
        short = [
            float(side.strip.required[run.stretch]) - 2 * scale * (run.clearance - slack)
            for side in (self.lines, self.lands)
            for run in side.runs
        ]
        return max(short, default=0.0)

    @property
    def holds(self) -> bool:
        """Whether nothing stops."""
        return not (self.lines.runs or self.lands.runs or len(self.lines.lost) or len(self.lands.lost))

    @cached_property
    def carves(self) -> bool:
        """Whether the full check lets it go."""
        return self.holds and checked(self.scene, *self.judged).verdict != "will-not-carve"

    @cached_property
    def _loops(self) -> list[Polygon]:
        return filled(ring_shapes(self.anatomy.points, self.anatomy.ring))

    def region(self, side: Side, number: int) -> MultiPolygon:
        """A piece of art, or an enclosed piece of land, in the contours' own mm."""
        owner = self.anatomy.ring_piece if side is self.lines else self.anatomy.ring_land
        loops = sorted(
            (self._loops[ring] for ring in np.flatnonzero(owner == number)), key=lambda loop: -loop.area
        )
        whole = Polygon(loops[0].exterior, [loop.exterior for loop in loops[1:]])
        return MultiPolygon(areas(whole if whole.is_valid else whole.buffer(0)))


@lru_cache(maxsize=4)
def _room(slat: Slat, allowances: Allowances) -> BaseGeometry:
    """Where art may lie, a hair wider."""
    return safe_area(slat, allowances).buffer(1e-3)


def placed(cut: Cut, contours: tuple[Contour, ...]) -> Cut:
    """Contours in mm of the slat as a cut: where they are if they lie well there, else at the largest fit."""
    outline = replace(cut.outline, contours=contours)
    left, low, right, high = outline.bounds
    here = Placement((left + right) / 2, (low + high) / 2, 1.0)
    area = _room(cut.slat, cut.allowances)
    outside = np.concatenate(
        [np.concatenate([each.knots, each.controls.reshape(-1, 2)]) for each in contours]
    )
    if area.contains(convex_hull(outside[~np.isnan(outside[:, 0])])):
        return replace(cut, outline=outline, placement=here)  # curves stay within their control points
    if area.contains(convex_hull(sampled(contours, FINE).points)):
        return replace(cut, outline=outline, placement=here)
    fit = largest_fit(outline, cut.slat, cut.allowances)
    return replace(cut, outline=outline, placement=replace(fit, scale=min(fit.scale, 1.0)))


def looked_at(cut: Cut, art: Art) -> State:
    """Art placed and studied."""
    there = placed(cut, art.contours)
    anatomy = traced_back(study(there.outline), art.contours)
    scene = Scene(there, anatomy)
    lines, lands = judge_lines(scene), judge_lands(scene)
    sides = side_of(anatomy.lines, lines), side_of(anatomy.lands, lands)
    return State(art, there, anatomy, scene, (lines, lands), *sides)
