"""Found places as short SVG paths: what a screen cannot show is not sent."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import shapely
from shapely import Point, Polygon
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

Json = Mapping[str, Any]
Points = Sequence[Sequence[float]]
_TENTHS = 10
_CROSS = "h2m-1-1v2"
"""From the left end of a small cross, 2 mm wide and high, in millimetres."""


def mark_path(geometry: Json | None, tolerance: float) -> str:
    """A GeoJSON geometry of slat millimetres as an SVG path in tenths of a millimetre, y flipped.

    Lines that go on from each other become one, and points that the line misses by less than ``tolerance``, mm, when
    they are left out are left out. Points become small crosses.
    """
    if not geometry:
        return ""
    return "".join(_drawn(each, tolerance) for each in _parts(shape(dict(geometry))))


def _parts(geometry: BaseGeometry) -> Iterator[BaseGeometry]:
    """The simple geometries that it is made of, lines joined where they meet."""
    if geometry.geom_type == "MultiLineString":
        geometry = shapely.line_merge(geometry)
    for part in getattr(geometry, "geoms", (geometry,)):
        if hasattr(part, "geoms"):
            yield from _parts(part)
        elif not part.is_empty:
            yield part


def _drawn(part: BaseGeometry, tolerance: float) -> str:
    if isinstance(part, Point):
        return f"M{_number(part.x - 1)} {_number(-part.y)}{_CROSS}"
    plain = shapely.simplify(part, tolerance)
    if isinstance(plain, Polygon):
        rings = (plain.exterior, *plain.interiors)
        return "".join(_line(list(ring.coords)[:-1]) + "z" for ring in rings)
    return _line(list(plain.coords))


def _line(points: Points) -> str:
    steps = [(round(p[0] * _TENTHS), round(-p[1] * _TENTHS)) for p in points]
    x, y = steps[0]
    moves = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(steps)]
    seen = [move for move in moves if move != (0, 0)] or [(0, 0)]  # a line that goes nowhere is seen as a dot
    numbers = [_tenths(number) for move in seen for number in move]
    return f"M{_tenths(x)}{_apart(_tenths(y))}l{numbers[0]}{''.join(map(_apart, numbers[1:]))}"


def _number(value: float) -> str:
    return _tenths(round(value * _TENTHS))


def _tenths(value: int) -> str:
    """A count of tenths as SVG takes it: no zero before the point, none behind it."""
    whole, tenth = divmod(abs(value), _TENTHS)
    text = f"{whole or ''}.{tenth}" if tenth else str(whole)
    return f"-{text}" if value < 0 else text


def _apart(number: str) -> str:
    """Set apart from the number before: a minus does it by itself."""
    return number if number.startswith("-") else f" {number}"
