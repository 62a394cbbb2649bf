"""A quick look at a cut: its tightest line and land, and the size at which both would have enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from math import inf

from artwork.axis import Anatomy
from artwork.cut import Cut, Placement
from artwork.findings.lands import Lands, judge_lands
from artwork.findings.lines import judge_lines
from artwork.scene import Scene


class Look:
    """The line and the land with the least to spare of one cut; mm.

    Lines are judged at once; lands, which cost more, only where somebody asks for them.
    """

    def __init__(self, cut: Cut, anatomy: Anatomy) -> None:
        """What the full check does besides is left to it."""
        self.scale = cut.placement.scale
        self._scene = Scene(cut, anatomy)
        self._lines = judge_lines(self._scene)

    @cached_property
    def _lands(self) -> Lands:
        return judge_lands(self._scene)

    @property
    def line(self) -> float:
        """Width of that line."""
        return self._lines.least

    @property
    def line_required(self) -> float:
        """What it needs; infinite where no line survives on that slat."""
        return self._lines.required

    @property
    def land(self) -> float:
        """Width of that land; infinite where the art leaves none."""
        return self._lands.least

    @property
    def land_required(self) -> float:
        """What it needs."""
        return self._lands.required

    @cached_property
    def _lines_stop(self) -> bool:
        return any(each.severity == "stops" for each in self._lines.findings)

    @property
    def stops(self) -> bool:
        """Whether any line or land stops the cut."""
        return self._lines_stop or any(each.severity == "stops" for each in self._lands.findings)

    @property
    def needed(self) -> float:
        """Scale at which the tightest line has what it needs; where it has, the tightest land."""
        for_lines = self.scale * _ratio(self.line_required, self.line)
        if self._lines_stop and for_lines > self.scale:
            return for_lines
        return max(for_lines, self.scale * _ratio(self.land_required, self.land))

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
            self._seen[scale] = Look(replace(self._cut, placement=self._place(scale)), self._anatomy)
        return self._seen[scale]
