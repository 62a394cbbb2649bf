"""Painted areas cut on curves: against polygons cut by GEOS, and against windings at random points."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from artwork.curves import Contour
from artwork.intake.compacting import compacted
from artwork.intake.composing import FLATNESS, compose
from artwork.intake.marks import Area, Mark
from artwork.intake.paths import Builder, Path
from artwork.intake.stroking import Stroke, stroked
from artwork.outline import Outline

BLACK = (0.0, 0.0, 0.0)


@st.composite
def paths(draw: st.DrawFn) -> Path:
    """A path of one to three subpaths of lines and cubics within a square of 100, crossing as they like."""
    place = st.integers(0, 100).map(float)
    builder = Builder()
    for _ in range(draw(st.integers(1, 3))):
        builder.move(draw(place), draw(place))
        for _ in range(draw(st.integers(2, 5))):
            if draw(st.booleans()):
                builder.line(draw(place), draw(place))
            else:
                builder.cubic(*(draw(place) for _ in range(6)))
        builder.close()
    return builder.path()


marks = st.lists(
    st.builds(lambda path, rule, carves: (Mark(Area(path, rule), BLACK), carves),
              paths(), st.sampled_from(["nonzero", "evenodd"]), st.booleans()),
    min_size=1, max_size=4,
)  # fmt: skip


def windings(contours: list[Contour], points: np.ndarray) -> np.ndarray:
    """How often contours wind around points: the angle swept as seen from each, over a full turn."""
    total = np.zeros(len(points))
    for contour in contours:
        ring = contour.polyline(1e-3)
        seen = ring[None] - points[:, None]
        angle = np.arctan2(seen[:, :, 1], seen[:, :, 0])
        step = np.roll(angle, -1, axis=1) - angle
        total += ((step + np.pi) % (2 * np.pi) - np.pi).sum(axis=1) / (2 * np.pi)
    return np.round(total).astype(int)


@settings(max_examples=40)
@given(marks, st.integers(0, 2**32 - 1))
def test_each_point_is_carved_as_the_last_mark_on_it_says(
    painted: list[tuple[Mark, bool]], seed: int
) -> None:
    points = np.random.default_rng(seed).uniform(0, 100, (200, 2))
    wanted = np.zeros(len(points), bool)
    near = np.zeros(len(points), bool)
    for mark, carves in painted:
        contours = mark.area.path.contours()
        turns = windings(contours, points)
        covered = turns % 2 == 1 if mark.area.rule == "evenodd" else turns != 0
        wanted[covered] = carves
        edges = [
            shapely.LineString(np.vstack([r, r[:1]])) for c in contours if len(r := c.polyline(1e-3)) > 1
        ]
        if edges:
            near |= shapely.distance(shapely.union_all(edges), shapely.points(points)) < 0.02
    found = compose([mark for mark, _ in painted], [carves for _, carves in painted])
    got = windings(list(found), points) > 0
    assert (got == wanted)[~near].all()


@settings(max_examples=40)
@given(marks)
def test_the_outline_keeps_its_promises(painted: list[tuple[Mark, bool]]) -> None:
    found = compose([mark for mark, _ in painted], [carves for _, carves in painted])
    if not found:
        return
    outline = Outline(found)
    region = outline.region(1e-3)
    assert shapely.is_valid(region)
    slack = 0.05 * region.length + 0.05
    assert abs(region.area - sum(contour.area for contour in found)) < slack


def circle(x: float, y: float, r: float) -> Path:
    builder = Builder()
    builder.ellipse(x, y, r, r)
    return builder.path()


@pytest.mark.parametrize("count", [2, 5, 40])
def test_curves_stay_on_their_circles_however_many_overlap(count: int) -> None:
    rng = np.random.default_rng(count)
    middles, radii = rng.uniform(0, 100, (count, 2)), rng.uniform(5, 20, count)
    painted = [Mark(Area(circle(x, y, r)), BLACK) for (x, y), r in zip(middles, radii, strict=True)]
    found = compose(painted, [True] * count)
    side = max(Outline(found).size)
    points = np.concatenate([contour.polyline(1e-4) for contour in found])
    off = np.abs(np.hypot(*(points[:, None] - middles).transpose(2, 0, 1)) - radii).min(axis=1)
    assert off.max() < 2 * FLATNESS * side
    disks = shapely.union_all([shapely.Point(m).buffer(r, 256) for m, r in zip(middles, radii, strict=True)])
    assert Outline(found).region(1e-3).area == pytest.approx(disks.area, rel=1e-4)
    # each circle is at most cut where it meets others: no more nodes than 8 an arc and 2 a meeting
    assert sum(len(contour.knots) for contour in found) <= 8 * count + 4 * count**2


def test_knocking_out_all_leaves_nothing() -> None:
    whole = Mark(Area(circle(50, 50, 20)), BLACK)
    assert compose([whole, Mark(Area(circle(50, 50, 30)), BLACK)], [True, False]) == ()
    assert compose([whole], [False]) == ()
    assert compose([], []) == ()


def test_shared_edges_vanish() -> None:
    squares = []
    for i in range(3):
        builder = Builder()
        builder.rectangle(10 * i, 0, 10, 10)
        squares.append(Mark(Area(builder.path()), BLACK))
    (strip,) = compose(squares, [True] * 3)
    assert strip.area == pytest.approx(300)


@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
def test_a_stroke_lies_half_its_width_to_both_sides(cap: str, join: str) -> None:
    """Against GEOS's buffer of the finely flattened line, which knows nothing of curves."""
    builder = Builder()
    builder.move(10, 10)
    builder.cubic(60, 0, 20, 80, 70, 60)
    builder.line(90, 90)
    area = stroked(builder.path(), Stroke(6, cap, join, 10.0))
    found = compose([Mark(area, BLACK)], [True])
    line = builder.path().contours()[0].polyline(1e-4)
    styles = {"butt": "flat", "round": "round", "square": "square"}
    joins = {"miter": "mitre", "round": "round", "bevel": "bevel"}
    wanted = shapely.LineString(line).buffer(
        3, quad_segs=64, cap_style=styles[cap], join_style=joins[join], mitre_limit=10.0
    )
    differing = shapely.symmetric_difference(Outline(found).region(1e-3), wanted)
    assert differing.buffer(-0.006).is_empty
    assert sum(len(contour.knots) for contour in found) < 40


def test_compacting_keeps_within_its_tolerance() -> None:
    area = stroked(circle(50, 50, 40), Stroke(10))
    rough = area.path.contours()
    fewer = compacted(rough, [area.rough] * len(rough))
    assert sum(len(c.knots) for c in fewer) <= sum(len(c.knots) for c in rough) / 3
    for before, after in zip(rough, fewer, strict=True):
        a = shapely.LinearRing(before.polyline(1e-5))
        b = shapely.LinearRing(after.polyline(1e-5))
        assert shapely.hausdorff_distance(a, b) < area.rough + 1e-3
