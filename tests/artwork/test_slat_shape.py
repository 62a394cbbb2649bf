"""Slat outlines from figures, against circle geometry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point

from artwork.errors import EngineError
from artwork.slat_shape import SlatFigures, slat_outline


@given(
    width=st.floats(40, 300),
    length=st.floats(200, 1500),
    foot=st.floats(20, 300),
    rise=st.floats(0, 19),
    slope=st.floats(-30, 30),
)
def test_a_slat_has_the_figures_it_was_given(width, length, foot, rise, slope) -> None:
    shape = slat_outline(SlatFigures(width, length, foot_width=foot, top_rise=rise, top_slope=slope))
    assert shape.is_valid
    assert shape.exterior.is_ccw
    assert (shape.bounds[1], shape.bounds[3]) == pytest.approx((0, length))
    at_foot = [x for x, y in shape.exterior.coords if y == 0]
    assert max(at_foot) - min(at_foot) == pytest.approx(foot)


def test_an_arched_top_is_a_circular_arc_through_its_shoulders() -> None:
    # Circle of a segment of chord c and height h: r = (c²/4 + h²) / (2h); area r² acos(1 - h/r) - (r - h) c/2.
    shape = slat_outline(SlatFigures(139.7, 860, top_rise=26))
    radius = (139.7**2 / 4 + 26**2) / (2 * 26)
    segment = radius**2 * np.arccos(1 - 26 / radius) - (radius - 26) * 139.7 / 2
    assert shape.area == pytest.approx(139.7 * 834 + segment, abs=139.7 * 0.005)
    arc = [p for p in shape.exterior.coords if p[1] > 834 - 1e-9]
    assert np.ptp([Point(0, 860 - radius).distance(Point(p)) for p in arc]) < 1e-9


@pytest.mark.parametrize("figures", [(0, 100), (100, -1), (float("nan"), 100)])
def test_it_refuses_figures_that_make_no_slat(figures) -> None:
    with pytest.raises(EngineError, match="make no slat"):
        slat_outline(SlatFigures(*figures))


def test_it_refuses_a_top_higher_than_the_slat() -> None:
    with pytest.raises(EngineError, match="make no slat"):
        slat_outline(SlatFigures(100, 40, top_slope=50))
