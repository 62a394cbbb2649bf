"""Pixel centres and distances, against Shapely's own answers."""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from artwork.raster import inside, near_edge


def star(seed: int, corners: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    return 20 + (rng.uniform(3, 19, corners) * np.array([np.cos(turns), np.sin(turns)])).T


def centres(width: int, height: int) -> np.ndarray:
    return np.stack(np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5), axis=-1)


@given(seed=st.integers(0, 10**6), corners=st.integers(3, 25))
def test_a_pixel_is_inside_where_its_centre_is(seed, corners) -> None:
    ring, hole = star(seed, corners), np.array([[17, 17], [17, 23], [23, 23], [23, 17]], float)
    polygon = shapely.Polygon(ring)
    if not polygon.is_valid:
        return
    ours = inside([ring, hole], 40, 40)
    at = centres(40, 40)
    theirs = shapely.contains_xy(polygon, at[..., 0], at[..., 1])
    theirs ^= shapely.contains_xy(shapely.Polygon(hole), at[..., 0], at[..., 1])
    assert np.array_equal(ours.astype(bool), theirs)


@given(seed=st.integers(0, 10**6), corners=st.integers(3, 25), reach=st.floats(1, 15))
def test_distance_to_the_edge_is_exact_up_to_the_reach(seed, corners, reach) -> None:
    ring = star(seed, corners)
    ours = near_edge(ring, 40, 40, reach)
    theirs = shapely.distance(shapely.LinearRing(ring), shapely.points(centres(40, 40)))
    assert np.allclose(ours, np.minimum(theirs, reach), atol=2e-3)


def test_art_that_runs_off_the_grid_is_clipped() -> None:
    big = np.array([[-10, -10], [50, -10], [50, 50], [-10, 50]], float)
    assert inside([big], 20, 30).all()
    assert not inside([big + 100], 20, 30).any()
    assert inside([], 3, 2).shape == (2, 3)
