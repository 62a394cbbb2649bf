"""A signed carving to hold programs against: the garden's crest on a small board, off its middle."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path as File

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from artwork.cut import Cut
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.tooling import depth_limit
from artwork.workpiece import Allowances, Bit
from tests.artwork.drawn import board
from tests.artwork.program.toolpaths import Path, v_carving

SEEDS = File(__file__).parents[3] / "seeds" / "artwork"
SIZE = 0.55
"""Of the largest fit: a program of some ten thousand moves."""


@cache
def signed() -> Cut:
    """The cut."""
    slat = board(width=110.0, length=140.0)
    outline = read_artwork((SEEDS / "crest.svg").read_bytes(), "crest.svg").outline
    placement = largest_fit(outline, slat, Allowances())
    x = placement.x + 6.0  # off the middle, so that every turn and mirror shows
    return Cut(outline, slat, replace(placement, scale=placement.scale * SIZE, x=x), Bit("v60"), Allowances())


@cache
def art() -> BaseGeometry:
    """What is carved of it."""
    rings = [Polygon(contour.polyline(0.003)).buffer(0) for contour in signed().placed().contours]
    shape: BaseGeometry = rings[0]
    for ring in rings[1:]:
        shape = shape.symmetric_difference(ring)
    return shape


@cache
def paths(angle: float = 60.0, level: float = 0.1) -> list[Path]:
    """Its contours for a bit of that angle."""
    cut = signed()
    return v_carving(art(), angle, 0.15, depth_limit(cut.slat, cut.bit, cut.allowances), level=level)
