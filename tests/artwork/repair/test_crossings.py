"""Which curves meet where they should not: the extension against shapely's tree, and both against what is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from artwork.curves import Contour
from artwork.repair import crossings
from artwork.repair.crossings import by_extension, by_shapely
from tests.artwork.drawn import ring

BOTH = pytest.mark.parametrize("crossing", [by_extension, by_shapely])


@pytest.fixture(autouse=True)
def extension(request):
    if "by_shapely" not in request.node.name:
        pytest.importorskip("artwork.repair._crossing", reason="the extension has not been built here")


def wild(rings: int, seed: int, spread: float) -> list[Contour]:
    """Rings of lines and cubics that cross themselves and each other, on whole and on any coordinates."""
    random = np.random.default_rng(seed)
    found = []
    for _ in range(rings):
        count = int(random.integers(3, 14))
        knots = random.uniform(0, 60, 2) + random.uniform(-spread, spread, (count, 2))
        controls = knots[:, None] + random.uniform(-spread, spread, (count, 2, 2))
        controls[random.random(count) < 0.5] = np.nan
        # Lines that touch, or lie on each other. Points on cubics are rounded differently by the two.
        on_a_grid = random.random() < 0.4
        found.append(ring(np.rint(knots)) if on_a_grid else Contour(knots, controls))
    return found


@pytest.mark.parametrize("spread", [0.5, 3.0, 20.0])
@pytest.mark.parametrize("seed", range(40))
def test_both_find_the_same(seed, spread):
    contours = wild(1 + seed, seed, spread)
    assert by_extension(contours).tolist() == by_shapely(contours).tolist()


@BOTH
def test_joints_may_be_shared_and_nothing_else(crossing):
    square = ring([(0, 0), (10, 0), (10, 10), (0, 10)])
    assert crossing([square]).tolist() == []
    bow = ring([(0, 0), (10, 10), (10, 0), (0, 10)])
    assert crossing([bow]).tolist() == [0, 2]
    touching = ring([(10, 5), (14, 3), (14, 7)])
    assert crossing([square, touching]).tolist() == [1, 4, 6]
    apart = ring([(10.001, 5), (14, 3), (14, 7)])
    assert crossing([square, apart]).tolist() == []


@BOTH
def test_a_cubic_that_crosses_itself_is_told(crossing):
    loop = Contour(
        np.array([(0.0, 0.0), (10.0, 0.0), (5.0, -8.0)]),
        np.array([[(25.0, 20.0), (-15.0, 20.0)], *np.full((2, 2, 2), np.nan)]),
    )
    assert crossing([loop]).tolist() == [0]


def test_arrays_that_do_not_fit_are_refused():
    knots, controls = np.zeros((3, 2)), np.full((3, 2, 2), np.nan)
    for lengths in ([2], [4], [-1, 4], [2**62, 2**62]):
        with pytest.raises(ValueError, match="do not fit"):
            crossings._crossing.crossing(knots.data, controls.data, np.array(lengths, np.int64).data, 0.02)
    with pytest.raises(ValueError, match="do not fit"):
        crossings._crossing.crossing(knots.data, controls.data, np.array([3], np.int64).data, 0.0)


@BOTH
def test_a_ring_of_one_point_and_points_on_each_other_are_no_harm(crossing):
    dot = ring([(1, 1)])
    assert crossing([dot]).tolist() == []
    assert crossing([dot, dot]).tolist() == [0, 1]
