"""A quick look at a cut: its tightest line and land, and the size at which both would have enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf

from artwork.axis import Anatomy
from artwork.cut import Cut, Placement
from artwork.findings.lands import judge_lands
from artwork.findings.lines import judge_lines
from artwork.scene import Scene


@dataclass(frozen=True)
class Look:
    """The line and the land with the least to spare; mm.

    Attributes:
        scale: of the cut, mm per outline unit.
        line, line_required: width, and what it needs; infinite where no line survives on that slat.
        land, land_required: the same; the width is infinite where the art leaves no land.
        stops: whether any line or land stops the cut.
    """

    scale: float
    line: float
    line_required: float
    land: float
    land_required: float
    stops: bool

    @property
    def scale_for_lines(self) -> float:
        """Scale at which that line has what it needs."""
        return self.scale * _ratio(self.line_required, self.line)

    @property
    def scale_for_lands(self) -> float:
        """Scale at which that land has what it needs; 0 without lands."""
        return self.scale * _ratio(self.land_required, self.land)

    @property
    def needed(self) -> float:
        """Scale at which both have."""
        return max(self.scale_for_lines, self.scale_for_lands)

    def needed_with_offset(self, spare: float) -> float:
        """Scale at which both together have ``spare`` mm more than both need: an offset then shares it out."""
        return self.scale * _ratio(self.line_required + self.land_required + spare, self.line + self.land)

    def offsets(self, scale: float) -> tuple[float, float]:
        """Least offset for the line and greatest for the land at another scale, mm."""
        factor = scale / self.scale
        return (
            (self.line_required - factor * self.line) / 2,
            (factor * self.land - self.land_required) / 2,
        )


def look(cut: Cut, anatomy: Anatomy) -> Look:
    """Judges lines and lands alone: what the full check does besides is left to it."""
    scene = Scene(cut, anatomy)
    lines, lands = judge_lines(scene), judge_lands(scene)
    stops = any(each.severity == "stops" for each in (*lines.findings, *lands.findings))
    return Look(cut.placement.scale, lines.least, lines.required, lands.least, lands.required, stops)


def _ratio(required: float, width: float) -> float:
    if width == inf:
        return 0.0
    return inf if width <= 0 else required / width


class Looking:
    """Looks at one cut at size after size, each size once."""

    def __init__(self, cut: Cut, anatomy: Anatomy, place: Callable[[float], Placement] | None = None) -> None:
        """``place`` lays the art at a scale; without it the art stays where the cut has it."""
        self._cut, self._anatomy = cut, anatomy
        self._place = place or (lambda scale: replace(cut.placement, scale=scale))
        self._seen: dict[float, Look] = {}

    def __call__(self, scale: float) -> Look:
        """The look at that scale."""
        if scale not in self._seen:
            self._seen[scale] = look(replace(self._cut, placement=self._place(scale)), self._anatomy)
        return self._seen[scale]
