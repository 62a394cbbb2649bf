"""The gaps between slats that a picture runs over, and how they move between dry and wet wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from artwork import wood
from artwork.furniture import PlacedSlat
from artwork.workpiece import Slat

CLOSED_GAP = 2.0
"""Slats with a smaller gap when wet may touch and hold water, mm (common practice, no source)."""


@dataclass(frozen=True)
class Gap:
    """The gap between two neighbouring slats where the picture runs over it, mm, as drawn, dry and wet."""

    left: str
    right: str
    drawn: float
    dry: float
    wet: float

    @property
    def sentence(self) -> str:
        """For people; says so when the gap closes."""
        told = (
            f"Between {self.left} and {self.right}: {self.drawn:.1f} mm as drawn, {self.dry:.1f} mm dry, "
            f"{self.wet:.1f} mm wet."
        )
        return f"{told} Wet, they may touch and hold water." if self.wet < CLOSED_GAP else told


@dataclass(frozen=True)
class Weather:
    """Moisture contents (%) between which the piece lives: how it was built, driest, wettest.

    The defaults are common practice, no source: kiln-dried boards, outdoors under cover and in rain.
    """

    built: float = 12.0
    dry: float = 8.0
    wet: float = 19.0


TEMPERATE = Weather()


def gaps_under(picture: BaseGeometry, chosen: Sequence[PlacedSlat], weather: Weather) -> list[Gap]:
    """Every gap between the chosen slats, measured at the picture's height; all in the piece's frame."""
    _, low, _, high = picture.bounds
    bands = [shapely.clip_by_rect(placed.outline, -1e6, low, 1e6, high) for placed in chosen]
    found = []
    for (left, one), (right, other) in pairwise(zip(chosen, bands, strict=True)):
        if one.is_empty or other.is_empty:
            continue
        drawn = float(one.distance(other))
        dry, wet = (
            drawn + _gap_change(left.slat, right.slat, weather.built, to) for to in (weather.dry, weather.wet)
        )
        found.append(Gap(left.slat.name, right.slat.name, drawn, dry, max(wet, 0.0)))
    return found


def _gap_change(left: Slat, right: Slat, before: float, after: float) -> float:
    """Slats screwed at their middles swell half into either gap."""
    return -sum(
        wood.change(_width(slat), wood.species(slat.species), before, after) / 2 for slat in (left, right)
    )


def _width(slat: Slat) -> float:
    """Across the grain, mm."""
    x0, y0, x1, y1 = slat.outline.bounds
    return float(x1 - x0 if slat.grain_deg % 180 == 90 else y1 - y0)
