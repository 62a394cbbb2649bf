"""Rows of slats by figures, slats out of closed curves, and where art is laid at first."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point, box

from artwork.errors import EngineError
from artwork.furniture import ModelLayout
from artwork.placing import largest_fit, largest_fit_at
from artwork.slat_row import RowFigures, slat_row, slats_of_curves
from artwork.workpiece import Allowances
from tests.artwork.drawn import board, rectangle, straight

SHOP = Allowances()


def test_a_row_is_as_wide_as_its_slats_and_gaps_and_its_screws_lie_at_the_ends():
    row = slat_row(RowFigures(3, 140, 860, 10, foot=300, screw_from_end=35, screws_across=2))
    boxes = [slat.outline.bounds for slat in row]
    assert boxes[0] == (-220, 300, -80, 1160)
    assert boxes[1] == (-70, 300, 70, 1160)
    assert boxes[2] == (80, 300, 220, 1160)
    centres = {(round(k.shape.centroid.x), round(k.shape.centroid.y)) for k in row[0].slat.keep_outs}
    assert centres == {(-23, 35), (23, 35), (-23, 825), (23, 825)}


def test_lying_slats_are_stacked_with_their_grain_across():
    top, low = slat_row(RowFigures(2, 90, 1200, 10, lying=True, foot=0))
    assert (top.outline.bounds, low.outline.bounds) == ((-600, 100, 600, 190), (-600, 0, 600, 90))
    assert top.slat.grain_deg == 0


@pytest.mark.parametrize("bad", [{"count": 0}, {"gap": -1}, {"screw_from_end": 430}])
def test_figures_that_make_no_row(bad):
    with pytest.raises(EngineError, match="no row"):
        slat_row(replace(RowFigures(3, 140, 860), **bad))


def test_slats_out_of_curves_keep_their_places_and_holes():
    curves = [box(200, 50, 340, 900), box(0, 50, 140, 900), Point(70, 100).buffer(4)]
    left, right = slats_of_curves(curves)
    assert left.outline.bounds == (-170, 0, -30, 850)
    assert right.outline.bounds == (30, 0, 170, 850)
    assert left.slat.keep_outs[0].shape.centroid.coords[0] == pytest.approx((0, 50))
    with pytest.raises(EngineError, match="as large as a slat"):
        slats_of_curves([Point(0, 0).buffer(4)])


def test_mirrored_slats_lay_art_alike_unless_one_says_otherwise():
    row = slat_row(RowFigures(3, 140, 860))
    layout = ModelLayout("m", "m", "", (replace(row[0], art_y=600.0), *row[1:]))
    assert [layout.art_y(f"slat-{n}") for n in (1, 2, 3)] == [600, None, 600]
    own = replace(layout, slats=(layout.slats[0], row[1], replace(row[2], art_y=500.0)))
    assert own.art_y("slat-3") == 500


def test_art_is_as_large_as_it_can_be_around_that_place():
    """A square in a board 200 wide: 177.95 fits across, ends keep 25 free: 150 mm up, 2 × 125 are left."""
    square = straight(rectangle(0, 0, 10, 10))
    found = largest_fit_at(square, board(), SHOP, 100.0)
    assert found is not None
    assert (found.x, found.y) == (0, 100)
    assert found.scale * 10 == pytest.approx(150, rel=1e-3)
    assert found.scale < largest_fit(square, board(), SHOP).scale
    assert largest_fit_at(square, board(), SHOP, 5.0) is None
