"""The axis of real drawings against independent methods.

Oracles: SciPy's exact Euclidean distance field of resvg's rendering at two resolutions; GEOS' largest
inscribed circle; the stroke width that lucide's icons are drawn with (2 units on a grid of 24).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy import ndimage

from artwork.axis import Anatomy, study
from artwork.axis.anatomy import Axis
from artwork.findings import check
from artwork.findings.wording import GRAIN
from tests.artwork.drawn import board, cut, nothing_lost
from tests.published.corpus import SETS, Icon, icons, mask_of, outline_of

CORPUS = icons()
RESOLUTIONS = (240, 480)


def drawn_width(name: str) -> float:
    """Least line of a lucide icon in its own units, as the check tells it."""
    outline = outline_of(Icon(SETS["lucide"] / f"{name}.svg", 24.0))
    placed = cut(outline, board(), scale=4.0, allowances=nothing_lost())
    return check(placed, study(outline)).figures.least_line / 4.0


@pytest.mark.parametrize("name", ["minus", "plus", "circle", "square", "x", "sun", "heart", "leaf", "anchor"])
def test_lucide_strokes_are_two_units(name):
    assert drawn_width(name) == pytest.approx(2.0, rel=0.005)


@pytest.mark.parametrize("across", [0.0, 2.5])
def test_wood_that_may_be_of_any_width_along_the_grain_is_judged(across: float):
    outline = outline_of(Icon(SETS["lucide"] / "heart.svg", 24.0))
    allowances = replace(nothing_lost(), land_across=across)
    required = check(
        cut(outline, board(), scale=4.0, allowances=allowances), study(outline)
    ).figures.least_land_required
    assert required is not None and 0 <= required <= across + GRAIN


def test_junction_of_a_plus_is_41_percent_wider():
    outline = outline_of(Icon(SETS["lucide"] / "plus.svg", 24.0))
    assert 2 * study(outline).lines.peak.max() == pytest.approx(2 * np.sqrt(2), rel=0.001)


@pytest.fixture(scope="module", params=CORPUS, ids=lambda icon: icon.name)
def studied(request) -> tuple[Icon, Anatomy]:
    outline = outline_of(request.param)
    if outline is None:
        pytest.skip("refused by the intake")
    return request.param, study(outline)


def sampled(axis: Axis) -> tuple[np.ndarray, np.ndarray]:
    """Points of an axis and the clearance there: ends of all stretches longer than nothing."""
    long = axis.lengths > 0
    return axis.places[long].reshape(-1, 2), axis.clearance[long].ravel()


def pixels(icon: Icon, side: int, points: np.ndarray) -> np.ndarray:
    """Row and column of outline points in resvg's rendering."""
    scale = side / icon.side
    return np.stack([-points[:, 1] * scale - 0.5, points[:, 0] * scale - 0.5])


def deviation(icon: Icon, anatomy: Anatomy, side: int) -> float:
    """Largest difference between a clearance and the exact distance field, pixels of ``side`` to the icon.

    The field is drawn twice as fine as the pixel that is allowed, since it is off by up to half of its own:
    it measures to the middle of the first pixel outside, and its ridge is cut off between two pixels.
    """
    ink = np.pad(mask_of(icon, 2 * side), 1)
    worst = 0.0
    for mask, axis in ((ink, anatomy.lines), (~ink, anatomy.lands)):
        points, clearance = sampled(axis)
        field = ndimage.distance_transform_edt(mask)
        row, column = pixels(icon, 2 * side, points) + 1
        inner = (row >= 1) & (column >= 1) & (row < 2 * side) & (column < 2 * side)
        found = ndimage.map_coordinates(field, [row[inner], column[inner]], order=1) - 0.25
        off = np.abs(found / 2 - clearance[inner] * side / icon.side)
        worst = max(worst, float(off.max(initial=0.0)))
    return worst


@pytest.mark.parametrize("side", RESOLUTIONS)
def test_clearances_equal_the_exact_distance_field(studied, side):
    """Within one pixel: of lines in the ink, of lands in the paper, everywhere along both axes."""
    assert deviation(*studied, side) <= 1.0


def circles(shape: shapely.Geometry, tolerance: float) -> list[tuple[shapely.Geometry, float]]:
    """Each part of a shape with GEOS' largest inscribed radius."""
    parts = [part for part in shapely.get_parts(shape) if part.area > 1e-3]
    return [(part, shapely.maximum_inscribed_circle(part, tolerance=tolerance).length) for part in parts]


def largest_inside(axis: Axis, part: shapely.Geometry, tolerance: float) -> float:
    """Largest clearance that the axis knows within a part."""
    inside = shapely.contains_xy(part.buffer(tolerance), axis.peak_place)
    return float(axis.peak[inside & np.isfinite(axis.peak)].max())


def test_widest_places_are_the_largest_inscribed_circles(studied):
    icon, anatomy = studied
    tolerance = 1e-3 * icon.side / 24
    region = outline_of(icon).region(1e-4)
    for part, radius in circles(region, tolerance):
        assert largest_inside(anatomy.lines, part, tolerance) == pytest.approx(radius, abs=3 * tolerance)
    holes = shapely.union_all([shapely.Polygon(ring) for ring in shapely.get_rings(region)]).difference(
        region
    )
    for part, radius in circles(holes, tolerance):
        assert largest_inside(anatomy.lands, part, tolerance) == pytest.approx(radius, abs=3 * tolerance)
