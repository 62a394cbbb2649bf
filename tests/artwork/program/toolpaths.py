"""Programs for carvings made without the engine: erosions of the art by GEOS, a contour a level.

The V-bit's tip at depth d stands ``t/2 + d·tan φ`` inside the art's edge: the erosion by that much is the tip's way.
Floors are cleared by further contours at the depth limit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import cos, radians, sin, tan

import numpy as np
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

LEVEL = 0.06
"""mm of depth between contours."""
FLOOR_STEP = 0.3
CHORD = 0.01
"""How far a contour's chords may lie off it, mm."""


@dataclass(frozen=True)
class Path:
    """One run of the tip: shape (n, 3), mm."""

    points: np.ndarray


def polygons(shape: BaseGeometry) -> Iterator[Polygon]:
    if isinstance(shape, Polygon):
        if not shape.is_empty:
            yield shape
    elif isinstance(shape, MultiPolygon):
        yield from shape.geoms
    else:
        for part in getattr(shape, "geoms", ()):
            yield from polygons(part)


def contours(shape: BaseGeometry, depth: float) -> Iterator[Path]:
    for polygon in polygons(shape.simplify(CHORD)):
        for ring in (polygon.exterior, *polygon.interiors):
            xy = np.asarray(ring.coords)
            yield Path(np.column_stack([xy, np.full(len(xy), -depth)]))


def v_carving(
    art: BaseGeometry, angle_deg: float, tip_flat: float, limit: float, level: float = LEVEL
) -> list[Path]:
    """Every level from the face down to the limit or the end of the art, then the floor."""
    slope = tan(radians(angle_deg) / 2)
    paths: list[Path] = []
    depth = level
    while depth < limit:
        shape = art.buffer(-(tip_flat / 2 + depth * slope), quad_segs=12)
        if shape.is_empty:
            break
        paths += contours(shape, depth)
        depth += level
    inset = tip_flat / 2 + limit * slope
    while not (floor := art.buffer(-inset, quad_segs=12)).is_empty:
        paths += contours(floor, limit)
        inset += max(min(FLOOR_STEP, tip_flat), 0.1)
    return paths


@dataclass(frozen=True)
class Words:
    """How a control wants its program written."""

    decimals: int = 3
    inches: bool = False
    numbers: bool = False
    comments: bool = False
    spaces: bool = True
    modal: bool = True
    percent: bool = False
    relative: bool = False
    safe: float = 5.0
    feed: float = 2000.0
    plunge: float = 700.0
    offset: str = "G54"


def written(
    paths: Sequence[Path], words: Words = Words(), change: Callable[[np.ndarray], np.ndarray] | None = None
) -> list[str]:
    """The program's lines; ``change`` moves every point first."""
    unit = 25.4 if words.inches else 1.0
    decimals = words.decimals + (1 if words.inches else 0)
    lines: list[str] = []
    last: list[float | None] = [None, None, None]
    motion = ""

    def number(value: float) -> str:
        return f"{value:.{decimals}f}"

    def go(g: str, target: Sequence[float | None], feed: float | None = None) -> None:
        nonlocal motion
        parts = [] if words.modal and motion == g else [g]
        motion = g
        for letter, index in (("X", 0), ("Y", 1), ("Z", 2)):
            value = target[index]
            if value is None or (last[index] is not None and number(value) == number(last[index])):
                continue
            known = last[index]
            parts.append(letter + number(value - known if words.relative and known is not None else value))
            last[index] = round(value, decimals)
        if feed is not None:
            parts.append(f"F{feed / unit:.{1 if words.inches else 0}f}")
        if len(parts) > (0 if words.modal and parts and not parts[0].startswith("G") else 1):
            lines.append((" " if words.spaces else "").join(parts))

    head = ["G17", "G20" if words.inches else "G21", "G90", "G40", "G49", "G80", words.offset]
    lines.append(" ".join(head))
    if words.comments:
        lines.append("(V bit 60 deg)")
    lines += ["T1 M6", "S16000 M3"]
    safe = words.safe / unit
    go("G0", (None, None, safe))
    for path in paths:
        points = path.points if change is None else change(path.points)
        points = points / unit
        go("G0", (points[0][0], points[0][1], None))
        if words.relative and "G91" not in lines and last[2] is not None and last[0] is not None:
            lines.append("G91")
        go("G1", (None, None, points[0][2]), words.plunge)
        first = True
        for x, y, z in points[1:]:
            go("G1", (x, y, z), words.feed if first else None)
            first = False
        go("G0", (None, None, safe))
    lines += ["M5", "M30"]
    if words.numbers:
        lines = [f"N{10 * n % 100000} {line}" for n, line in enumerate(lines, 1)]
    return ["%", *lines, "%"] if words.percent else lines


def turned(degrees: float) -> Callable[[np.ndarray], np.ndarray]:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return lambda points: points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
