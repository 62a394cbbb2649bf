"""Line widths of shapes with exact answers (docs/sources.md §5: computed there, confirmed by shapely)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from artwork.axis import study
from artwork.outline import Outline
from tests.artwork.drawn import ellipse, rectangle, straight


def widest(outline: Outline) -> float:
    """Largest inscribed radius: depth at the junctions is read from it."""
    return float(study(outline).lines.peak.max())


def narrowest(outline: Outline) -> float:
    """Least clearance along the strokes (branches that end in a point left out)."""
    axis = study(outline).lines
    return float(axis.least[axis.taper < 0].min())


@pytest.mark.parametrize("width", [1, 2.5, 10, 40])
def test_bar_is_as_wide_as_drawn(width):
    bar = straight(rectangle(0, 0, 100, width))
    assert widest(bar) == pytest.approx(width / 2, rel=1e-9)
    assert narrowest(bar) == pytest.approx(width / 2, rel=1e-9)


def test_annulus():
    ring = Outline((ellipse(140, 140, arcs=32), ellipse(100, 100, arcs=32, hole=True)))
    anatomy = study(ring)
    assert anatomy.lines.least.min() == pytest.approx(20, abs=2 * anatomy.error)
    assert anatomy.lines.peak.max() == pytest.approx(20, abs=2 * anatomy.error)
    radii = np.hypot(*anatomy.lines.places.reshape(-1, 2).T)
    assert radii == pytest.approx(120, abs=0.3)  # the axis' facets swing about the circle (R1 + R2)/2
    assert anatomy.lines.lengths.sum() == pytest.approx(2 * np.pi * 120, rel=1e-3)


def test_rectangle_axis_and_corner_branches():
    """Segment a − b and four 45° branches: 221 × 101 gives 120 + 4 · 50.5√2, total a − b + 2√2·b."""
    anatomy = study(straight(rectangle(0, 0, 221, 101)))
    assert anatomy.lines.lengths.sum() == pytest.approx(120, rel=1e-9)
    assert anatomy.lines.corner_lengths == pytest.approx([50.5 * np.sqrt(2)] * 4, rel=1e-9)


def test_equilateral_triangle_is_all_corners():
    triangle = straight([(0, 0), (10, 0), (5, 5 * np.sqrt(3))])
    assert widest(triangle) == pytest.approx(2.886751, abs=1e-6)
    assert len(study(triangle).lines.region) == 0


@pytest.mark.parametrize(("degrees", "radius"), [(30, 7.943954), (60, 6.666667), (90, 5.857864)])
def test_bent_stroke_is_deepest_at_its_corner(degrees, radius):
    """Two arms 10 wide with a sharp outer corner: r = w/(1 + sin(θ/2))."""
    arm = 100.0
    half = np.radians(degrees / 2)
    middle = shapely.LineString(
        [(arm * np.cos(half), arm * np.sin(half)), (0, 0), (arm * np.cos(half), -arm * np.sin(half))]
    )
    bent = middle.buffer(5, cap_style="flat", join_style="mitre", mitre_limit=20)
    outline = straight(shapely.get_coordinates(shapely.orient_polygons(bent))[:-1])
    assert widest(outline) == pytest.approx(radius, abs=2e-5)


def test_t_junction_is_a_quarter_deeper():
    tee = straight([(0, 0), (100, 0), (100, 10), (55, 10), (55, 100), (45, 100), (45, 10), (0, 10)])
    assert widest(tee) == pytest.approx(6.25, rel=1e-9)
    assert narrowest(tee) == pytest.approx(5, rel=1e-9)


def test_cross_is_41_percent_deeper():
    cross = straight(
        [(0, 45), (45, 45), (45, 0), (55, 0), (55, 45), (100, 45), (100, 55), (55, 55), (55, 100), (45, 100),
         (45, 55), (0, 55)]
    )  # fmt: skip
    assert widest(cross) == pytest.approx(7.071068, abs=1e-6)


def test_ellipse():
    """a 30, b 12: the axis ends at 25.2 with r 4.8; at x = 15 it is 10.056981."""
    anatomy = study(Outline((ellipse(30, 12, arcs=64),)))
    axis = anatomy.lines
    assert axis.peak.max() == pytest.approx(12, abs=2 * anatomy.error)
    x, clearance = axis.places.reshape(-1, 2)[:, 0], axis.clearance.ravel()
    order = np.argsort(x)
    assert np.interp(15, x[order], clearance[order]) == pytest.approx(10.056981, abs=0.01)
    # where the feet come to be seen under less than 120° the axis counts as a corner branch; the exact axis
    # r = b·√(1 − x²/(a² − b²)) holds up to there
    exact = 12 * np.sqrt(1 - x**2 / (30**2 - 12**2))
    assert clearance == pytest.approx(exact, abs=0.02)


def test_counter_and_gap_are_read_from_the_land_side():
    """Two bars 3 apart, and a frame around a hole of 10 by 30: the wood left is as wide as drawn."""
    pair = straight(rectangle(0, 0, 10, 40), rectangle(13, 0, 10, 40))
    lands = study(pair).lands
    assert 2 * lands.least.min() == pytest.approx(3, rel=1e-9)
    frame = study(straight(rectangle(0, 0, 30, 50), rectangle(10, 10, 10, 30, hole=True)))
    assert 2 * frame.lands.least.min() == pytest.approx(10, rel=1e-9)
    assert sorted(frame.lands.peak.tolist()) == pytest.approx([5, np.inf])
