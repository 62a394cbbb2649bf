"""What rings surround, where the geometry library's own way gives up."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LinearRing, Polygon, box
from shapely.errors import GEOSException

from artwork import shapes
from artwork.intake.flat import _joined


def parity_at(rings: list[LinearRing], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Independent way: how many rings each point is inside of."""
    return sum(shapely.contains_xy(Polygon(ring), x, y).astype(int) for ring in rings) % 2 == 1


NESTS = st.lists(
    st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=12, unique=True
).flatmap(lambda at: st.tuples(st.just(at), st.lists(st.integers(0, 4), min_size=len(at), max_size=len(at))))


@pytest.mark.parametrize("gives_up", [False, True])
@given(nests=NESTS)
def test_an_odd_number_of_rings_is_inside(gives_up, nests):
    """Squares within squares, with corners that touch those of their neighbours."""
    rings = [
        box(10 * x + deep, 10 * y + deep, 10 * x + 10 - deep, 10 * y + 10 - deep).exterior
        for (x, y), levels in zip(*nests, strict=True)
        for deep in range(levels + 1)
        if deep < 5 and (gives_up or (x + y) % 2 == 0)  # else squares share whole edges
    ]
    if not rings:
        return
    with pytest.MonkeyPatch.context() as patch:
        if gives_up:

            def fail(_lines: object) -> None:
                raise GEOSException("side location conflict")

            patch.setattr(shapes.shapely, "build_area", fail)
        found = shapes.surrounded(rings)
    assert found.is_valid
    x, y = (each.ravel() for each in np.meshgrid(np.arange(0.25, 40, 0.5), np.arange(0.25, 40, 0.5)))
    assert (shapely.contains_xy(found, x, y) == parity_at(rings, x, y)).all()


@pytest.mark.parametrize(
    ("faces", "area"),
    [
        ([box(0, 0, 10, 10), box(5, 5, 15, 15)], 175),  # it gives an invalid region
        ([box(0, 0, 10, 10), box(0, 0, 10, 5)], 100),  # it gives up
        ([box(0, 0, 10, 10), box(0, 0, 10, 10), box(10, 0, 20, 10)], 200),
        ([box(0, 0, 10, 10), box(10, 0, 20, 10)], 200),
    ],
)
def test_faces_that_overlap_are_joined(faces, area):
    """What ended the reading of flat drawings: ``coverage_union_all`` takes no faces that overlap."""
    joined = _joined(np.array(faces))
    assert joined.is_valid
    assert joined.area == pytest.approx(area)


POINTS = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=4, max_size=9, unique=True)


@given(crossed=st.lists(POINTS, min_size=1, max_size=4))
def test_edges_that_cross_themselves_are_united(crossed):
    """What ended the search for versions: the geometry library takes no such shape for a union."""
    rings = [Polygon(points) for points in crossed]
    found = shapes.united(list(rings))
    x, y = (each.ravel() for each in np.meshgrid(np.arange(0.13, 20, 0.7), np.arange(0.17, 20, 0.7)))
    inside = np.any([parity_at([ring.exterior], x, y) for ring in rings], axis=0)
    near = shapely.distance(shapely.MultiLineString([ring.exterior for ring in rings]), shapely.points(x, y))
    clear = near > 1e-6
    assert (shapely.contains_xy(found, x, y) == inside)[clear].all()


def test_a_union_of_nothing_is_empty():
    assert shapes.united([]).is_empty
