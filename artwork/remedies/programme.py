"""Makeable sizes: a linear programme in the size k and the outward offset δ, solved in closed form.

    k·w + 2δ ≥ w_req          the thinnest line
    k·g − 2δ ≥ g_req          every land, by its direction to the grain
    k·m + 2δ ≤ k_fit·m        the slat (m: the art's smaller side), k ≤ k_resolution

Two variables and one-sided slopes: for a given k the feasible δ is an interval, and the feasible k for some δ
is one too. The programme proposes; the full check decides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from artwork import tooling
from artwork.curves import Floats
from artwork.findings.flecks import are_flecks
from artwork.findings.lands import counter_requirements, land_requirements
from artwork.findings.lines import flat_requirement, judged_stretches
from artwork.findings.runs import strip_of, thin_runs
from artwork.scene import Scene

MARGIN = 1e-6
"""Share by which a proposed size or offset stays clear of its bound, against rounding."""


@dataclass(frozen=True, eq=False)
class Programme:
    """The constraints of one outline on one slat with one bit.

    Attributes:
        line: width of the thinnest line at scale 1, outline units.
        line_required: mm; infinite where the depth limit lets no line survive.
        lands: shape (n,), width of the narrowest land for each requirement, outline units.
        lands_required: shape (n,), mm.
        side: the art's smaller side, outline units.
        fit: largest scale at which it fits the slat, mm per unit; 0 where it has no room.
        resolution: largest scale that the picture's pixels allow.
        floor: scale up to which the bit's depth limit leaves no flat bottom.
    """

    line: float
    line_required: float
    lands: Floats
    lands_required: Floats
    side: float
    fit: float
    resolution: float
    floor: float

    @property
    def most(self) -> float:
        """Largest scale."""
        return min(self.fit, self.resolution)

    @property
    def least(self) -> float:
        """Smallest scale at which lines and lands hold without any offset."""
        return max(_ratio(self.line_required, self.line), self.least_for_lands)

    @property
    def least_for_lands(self) -> float:
        """Smallest scale at which the lands hold."""
        return max((_ratio(r, g) for r, g in zip(self.lands_required, self.lands, strict=True)), default=0.0)

    def offsets(self, scale: float) -> tuple[float, float]:
        """Least and greatest offset at a scale, mm; the least is above the greatest where none will do."""
        least = (self.line_required - scale * self.line) / 2
        greatest = float(((scale * self.lands - self.lands_required) / 2).min(initial=inf))
        return least, min(greatest, (self.fit - scale) * self.side / 2)

    def with_offset(self) -> tuple[float, float]:
        """Smallest and largest scale at which some offset will do."""
        least = float(self._together().max(initial=0.0))
        most = self.most
        if self.side > self.line:
            # where the offset that the line needs still fits the slat
            most = min(most, max((self.fit * self.side - self.line_required) / (self.side - self.line), 0.0))
        return least, min(most, self.most)

    def tightest_land(self) -> int:
        """Index of the land that asks for the largest scale together with the thinnest line."""
        return int(np.argmax(self._together()))

    def _together(self) -> Floats:
        """For each land the scale at which it and the thinnest line have as much as both need."""
        width = self.line + self.lands
        needed = self.line_required + self.lands_required
        return np.where(width > 0, needed / np.where(width > 0, width, 1.0), inf)


def programme(scene: Scene, fit: float) -> Programme:
    """Reads the constraints off an outline's anatomy for the scene's slat, bit, allowances and turn.

    Flecks, points and dead ends that are no loss at the largest size are none of them. Coarse pixels only
    warn: where no size within their bound carves, that bound is let go.
    """
    pixel = scene.anatomy.pixel
    resolution = inf if pixel is None else scene.cut.allowances.coarsest_pixel / pixel
    within = _within(scene, fit, resolution)
    return within if within.least <= within.most or resolution >= fit else _within(scene, fit, inf)


def _within(scene: Scene, fit: float, resolution: float) -> Programme:
    anatomy = scene.anatomy
    largest = min(fit, resolution) or scene.scale
    reach = tooling.groove_width(scene.limit, scene.cut.bit)
    at_most = Scene(replace(scene.cut, placement=replace(scene.cut.placement, scale=largest)), anatomy)
    required = flat_requirement(scene)
    lands, lands_required = _lands(at_most)
    return Programme(
        line=_thinnest(at_most, required),
        line_required=required,
        lands=lands,
        lands_required=lands_required,
        side=min(anatomy.size),
        fit=fit,
        resolution=resolution,
        floor=reach / (2 * (float(anatomy.lines.peak.max()) + anatomy.error)),
    )


def _thinnest(scene: Scene, required: float) -> float:
    """Width of the thinnest line that counts at the scene's size, outline units."""
    axis, anatomy = scene.anatomy.lines, scene.anatomy
    strip = strip_of(axis, np.full(len(axis.region), required), np.zeros(len(axis.region)))
    vanishing = np.flatnonzero(2 * scene.scale * (axis.peak - scene.slack) < required)
    needed = np.full(len(vanishing), required)
    flecks = vanishing[are_flecks(scene, anatomy.piece_span[vanishing], needed)]
    stroke = judged_stretches(strip, thin_runs(strip, scene.scale, scene.slack), flecks)
    widths = [
        np.delete(axis.peak, flecks).min(initial=inf),
        axis.least[stroke].min(initial=inf),
    ]
    return max(2 * (float(min(widths)) - scene.slack), 0.0)


def _lands(scene: Scene) -> tuple[Floats, Floats]:
    """The narrowest land for each requirement (given to 0.01 mm, so there are few) at the scene's size."""
    axis, anatomy = scene.anatomy.lands, scene.anatomy
    required = land_requirements(scene, axis)
    counters = counter_requirements(scene, axis, required)
    broken = np.flatnonzero(2 * scene.scale * (axis.peak - scene.slack) < counters)
    flecks = broken[are_flecks(scene, anatomy.land_span[broken], counters[broken])]
    strip = strip_of(axis, required, np.zeros(len(required)))
    stroke = judged_stretches(strip, thin_runs(strip, scene.scale, scene.slack), flecks)
    inner = np.delete(np.arange(len(axis.peak)), [*flecks, anatomy.outer_land])
    clearance = np.concatenate([axis.least[stroke], axis.peak[inner]])
    needed, which = np.unique(np.concatenate([required[stroke], counters[inner]]), return_inverse=True)
    narrowest = np.full(len(needed), inf)
    np.minimum.at(narrowest, which, clearance)
    return np.maximum(2 * (narrowest - scene.slack), 0.0), needed


def _ratio(required: float, width: float) -> float:
    return inf if width <= 0 else float(required / width)
