"""Safe area and the largest fit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from artwork.errors import EngineError
from artwork.outline import Outline
from artwork.placing import largest_fit, safe_area
from artwork.workpiece import Allowances, KeepOut
from tests.artwork.drawn import board, cut, ellipse, rectangle, straight

SQUARE = straight(rectangle(0, 0, 10, 10))
SHOP = Allowances()


class TestSafeArea:
    def test_of_a_plain_board(self):
        """9.525 of round-over and 1.5 of margin at the sides, 25 at the ends."""
        left, low, right, high = safe_area(board(), SHOP).bounds
        assert (left, right) == pytest.approx((-88.975, 88.975))
        assert low == pytest.approx(25, abs=0.02)
        assert low >= 25
        assert high <= 375

    def test_a_rail_has_its_ends_left_and_right(self):
        left, low, _, _ = safe_area(board(grain_deg=0.0), SHOP).bounds
        assert left == pytest.approx(-75, abs=0.02)
        assert low == pytest.approx(11.025)

    def test_keep_outs_are_never_nearer_than_their_margin(self):
        hole = Point(0, 200).buffer(4)
        area = safe_area(board(keep_outs=(KeepOut(hole, "screw hole"),)), SHOP)
        assert area.distance(hole) >= 20 - 1e-9
        assert area.distance(hole) == pytest.approx(20, abs=0.02)

    def test_what_lies_below_the_face_takes_no_room(self):
        screw = KeepOut(Point(0, 200).buffer(4), "screw", free_depth=6.0)
        assert safe_area(board(keep_outs=(screw,)), SHOP).area == safe_area(board(), SHOP).area


class TestLargestFit:
    def test_fills_the_width_and_sits_in_the_middle(self):
        found = largest_fit(SQUARE, board(), SHOP)
        assert found.scale * 10 == pytest.approx(177.95, rel=1e-3)
        assert found.scale * 10 <= 177.95
        assert (found.x, found.y) == (0.0, pytest.approx(200, abs=9))

    def test_turned(self):
        """A square on its corner is √2 as wide."""
        found = largest_fit(SQUARE, board(), SHOP, rotation_deg=45)
        assert found.scale * 10 * np.sqrt(2) == pytest.approx(177.95, rel=1e-3)

    def test_on_a_tapered_slat_it_sits_where_the_slat_is_wide(self):
        slat = board(outline=Polygon([(-30, 0), (30, 0), (60, 400), (-60, 400)]))
        assert largest_fit(SQUARE, slat, SHOP).y > 280

    def test_beside_a_screw_in_the_middle(self):
        slat = board(keep_outs=(KeepOut(Point(0, 200).buffer(150), "joint"),), width=200)
        found = largest_fit(SQUARE, slat, SHOP)
        assert found.scale > 0
        placed = cut(SQUARE, slat, found.scale, found.x, found.y).placed().region()
        assert safe_area(slat, SHOP).contains(placed)

    def test_no_room(self):
        with pytest.raises(EngineError, match="no room") as caught:
            largest_fit(SQUARE, board(width=20), SHOP)
        assert caught.value.code == "no-room"
        with pytest.raises(EngineError):
            largest_fit(SQUARE, board(keep_outs=(KeepOut(box(-99, 0, 99, 400), "joint"),)), SHOP)

    @given(st.floats(0.1, 10), st.floats(0, 360), st.floats(30, 200), st.floats(0.3, 3), st.booleans())
    @settings(max_examples=25)
    def test_it_fits_and_nothing_much_larger_would(self, aspect, turn, width, taper, mirrored):
        slat = board(outline=Polygon([(-width, 0), (width, 0), (width * taper, 400), (-width * taper, 400)]))
        outline = Outline((ellipse(10, 10 * aspect, arcs=8),))
        try:
            found = largest_fit(outline, slat, SHOP, turn, mirrored)
        except EngineError:
            assert width * taper < 40
            return
        area = safe_area(slat, SHOP)

        def at(factor: float):
            return cut(
                outline, slat, found.scale * factor, found.x, found.y, rotation_deg=turn, mirrored=mirrored
            ).placed().region()  # fmt: skip

        assert area.contains(at(1.0))
        assert not area.contains(at(1.01))
