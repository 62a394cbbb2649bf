"""Open icons (npm bootstrap-icons 1.13.2, @tabler/icons 3.52.0, MIT): taken as vectors, and otherwise.

Round trip: the same icon drawn by resvg at 2000 pixels and traced. And picosvg (Apache-2.0), which turns shapes
into areas by other code. ``SLATPROOF_ICONS`` sets how many icons; 200 in the long run.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from picosvg.svg import SVG
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour
from artwork.intake import read_artwork
from tests.published.corpus import MODULES

COUNT = int(os.environ.get("SLATPROOF_ICONS", "24"))
SIDE = 2000
STEPS = 64
"""Chords that a curve is cut into: of a half turn they take away 0.04 % of the area (sixteen took 0.6 %)."""
NEAR = 1.5
"""Pixels that an edge may be off."""
SETS = {
    "bootstrap": (MODULES / "bootstrap-icons" / "icons", 16.0),
    "tabler-outline": (MODULES / "@tabler" / "icons" / "icons" / "outline", 24.0),
    "tabler-filled": (MODULES / "@tabler" / "icons" / "icons" / "filled", 24.0),
}


def chosen() -> list[tuple[Path, float]]:
    rng = random.Random(29)
    share = -(-COUNT // len(SETS))
    return [(p, s) for folder, s in SETS.values() for p in rng.sample(sorted(folder.glob("*.svg")), share)]


def names(value: object) -> str:
    return f"{value.parent.name}-{value.stem}" if isinstance(value, Path) else ""


def rings(contours: tuple[Contour, ...], scale: float, lift: float) -> shapely.MultiLineString:
    """All edges in pixels of the picture, y upwards from its lower edge."""
    lines = [c.polyline(0.05 / scale) * scale + (0.0, lift) for c in contours]
    return shapely.MultiLineString([np.vstack([line, line[:1]]) for line in lines])


@pytest.mark.parametrize(("path", "side"), chosen(), ids=names)
def test_vector_and_traced_agree(path: Path, side: float) -> None:
    source = path.read_text().replace("currentColor", "black")
    vector = read_artwork(source.encode(), path.name)
    assert vector.kind == "vector"
    png = bytes(resvg_py.svg_to_bytes(svg_string=source, width=SIDE, height=SIDE, dpi=96, background="white"))
    traced = read_artwork(png, "icon.png")
    assert not any(remark.code == "light-on-dark" for remark in traced.remarks)
    assert not any(remark.code == "cut-at-the-edge" for remark in vector.remarks)
    scale = SIDE / side
    areas = [sum(c.area for c in r.outline.contours) for r in (vector, traced)]
    assert areas[0] * scale**2 == pytest.approx(areas[1], rel=0.005)
    drawn, found = rings(vector.outline.contours, scale, SIDE), rings(traced.outline.contours, 1.0, 0.0)
    shown = shown_by_pixels(drawn)
    tips = shapely.difference(drawn, shown).buffer(2 * NEAR)
    assert farthest(shapely.difference(found, tips), drawn) < NEAR
    assert farthest(shown, found) < NEAR


def farthest(edges: BaseGeometry, other: BaseGeometry) -> float:
    """The greatest distance of a point on ``edges`` from ``other``."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(edges, 1.0)))
    return float(shapely.distance(points, other).max())


def shown_by_pixels(edges: BaseGeometry) -> BaseGeometry:
    """Edges without the ends of notches and tips that are narrower than three pixels: no pixel shows those."""
    region = shapely.build_area(edges)
    rounded = region.buffer(-NEAR).buffer(2 * NEAR).buffer(-NEAR)
    return shapely.intersection(edges, shapely.buffer(rounded.boundary, NEAR / 3))


@pytest.mark.parametrize("path", [path for path, _ in chosen() if "outline" not in str(path)], ids=names)
def test_areas_agree_with_picosvg(path: Path) -> None:
    """Filled icons: on strokes picosvg gives up on some overlaps and leaves them as they are."""
    source = path.read_text().replace("currentColor", "black")
    flat = SVG.fromstring(source).topicosvg(ndigits=9, allow_text=True)
    wanted = shapely.union_all([inside(rings_of(shape.as_cmd_seq())) for shape in flat.shapes()]).area
    reading = read_artwork(source.encode(), path.name)
    assert sum(c.area for c in reading.outline.contours) == pytest.approx(wanted, rel=0.005)


def rings_of(commands: object) -> list[np.ndarray]:
    """picosvg's absolute commands as closed rings, curves cut into ``STEPS``."""
    found: list[list[np.ndarray]] = []
    for command, numbers in commands:  # type: ignore[attr-defined]
        points = np.array(numbers, float).reshape(-1, 2)
        if command == "M":
            found.append([points[0]])
        elif command in "LCQ":
            start, t = found[-1][-1], np.linspace(0, 1, STEPS + 1)[1:, None]
            if command == "L":
                found[-1].append(points[0])
            elif command == "Q":
                found[-1] += list((1 - t) ** 2 * start + 2 * t * (1 - t) * points[0] + t**2 * points[1])
            else:
                a, b, c = points
                curve = (1 - t) ** 3 * start + 3 * t * (1 - t) ** 2 * a + 3 * t**2 * (1 - t) * b + t**3 * c
                found[-1] += list(curve)
    return [np.vstack([*ring, ring[0]]) for ring in found if len(ring) > 2]


def inside(rings: list[np.ndarray]) -> BaseGeometry:
    """What rings cover by the nonzero rule, the only one that picosvg leaves."""
    edges = shapely.union_all([shapely.LineString(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    return shapely.union_all([face for face in faces if winding(rings, face.representative_point()) != 0])


def winding(rings: list[np.ndarray], point: shapely.Point) -> int:
    """How often the rings go round a point: the angle they turn through as seen from it."""
    turned = 0.0
    for ring in rings:
        to = (ring - (point.x, point.y)) @ (1, 1j)
        turned += float(np.angle(to[1:] / to[:-1]).sum())
    return round(turned / (2 * np.pi))
