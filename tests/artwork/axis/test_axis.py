"""The axis: necks, tapers, dead ends, regions, and what rounding does to it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from artwork.axis import diagrams, flattening, study
from artwork.axis.flattening import flattened
from artwork.axis.voronoi import TornDiagramError, voronoi
from artwork.errors import EngineError
from artwork.outline import Outline
from tests.artwork.drawn import ellipse, rectangle, straight


class TestNecks:
    def test_between_two_corners_the_neck_is_their_distance(self):
        """Point to point: two notches of a bar that face each other."""
        bar = straight(
            [(0, 0), (45, 0), (50, 8), (55, 0), (100, 0), (100, 20), (55, 20), (50, 12), (45, 20), (0, 20)]
        )
        axis = study(bar).lines
        assert 2 * axis.least.min() == pytest.approx(4, rel=1e-9)

    def test_between_a_corner_and_a_side_the_neck_is_at_the_parabolas_apex(self):
        bar = straight([(0, 0), (100, 0), (100, 20), (57, 20), (50, 6), (41, 20), (0, 20)])
        axis = study(bar).lines
        thinnest = axis.least.argmin()
        assert 2 * axis.least[thinnest] == pytest.approx(6, rel=1e-9)
        assert axis.places[thinnest, axis.clearance[thinnest].argmin()] == pytest.approx([50, 3], abs=1e-6)

    def test_off_its_apex_a_parabola_is_not_taken_for_a_neck(self):
        """A step in a bar's width has a corner, but the bar is nowhere narrower than its narrow half."""
        step = straight([(0, 0), (100, 0), (100, 20), (50, 20), (50, 14), (0, 14)])
        assert 2 * study(step).lines.least.min() == pytest.approx(14, rel=1e-9)


class TestLikeSquaresThatMeet:
    """Two squares that meet at a corner, one by a grid unit larger: from 2**27 on Boost loses the middle of one."""

    def squares(self, off):
        side = 45.35433054
        other = side * (1 + off)
        return straight(rectangle(0, -side, side, side), rectangle(-other, 0, other, other))

    @pytest.mark.parametrize("off", [0.0, 1e-8, 5e-9, 6e-8, -6e-8])
    def test_both_are_measured(self, off):
        assert study(self.squares(off)).lines.peak == pytest.approx([22.67716527] * 2, rel=1e-6)

    def test_a_diagram_with_a_hole_is_made_again_on_a_coarser_grid(self, monkeypatch):
        monkeypatch.setattr(flattening, "LARGEST_COORDINATE", 2**28)
        with pytest.raises(TornDiagramError):
            voronoi(flattened(self.squares(1e-8)))
        assert study(self.squares(1e-8)).lines.peak == pytest.approx([22.67716527] * 2, rel=1e-6)

    def test_art_that_no_grid_helps_is_refused_in_words(self, monkeypatch):
        monkeypatch.setitem(voronoi.__globals__, "HOLE", -1.0)
        with pytest.raises(EngineError, match="as a picture"):
            study(self.squares(0.0))


class TestTapers:
    @pytest.mark.parametrize("degrees", [8, 20, 45, 58])
    def test_a_wedge_is_one_taper(self, degrees):
        length = 60.0
        half = length * np.tan(np.radians(degrees / 2))
        tapers = study(straight([(0, 0), (length, -half), (length, half)])).lines.tapers
        assert len(tapers.length) == 1
        assert tapers.tip[0] == pytest.approx([0, 0], abs=1e-6)
        assert tapers.tip_clearance[0] == 0

    @pytest.mark.parametrize("degrees", [61, 75, 90, 120])
    def test_a_wide_corner_is_none(self, degrees):
        half = 60.0 * np.tan(np.radians(degrees / 2))
        house = straight([(0, 0), (60, -half), (160, -half), (160, half), (60, half)])
        assert len(study(house).lines.tapers.length) == 0

    def test_a_pointed_stroke_keeps_its_body(self):
        pencil = straight([(0, 0), (20, -4), (80, -4), (80, 4), (20, 4)])
        axis = study(pencil).lines
        assert len(axis.tapers.length) == 1
        assert axis.tapers.root_clearance[0] == pytest.approx(4, rel=0.05)
        assert axis.tapers.length[0] == pytest.approx(np.hypot(20, 4), rel=0.02)
        assert axis.least[axis.taper < 0].min() == pytest.approx(4, rel=1e-9)

    def test_a_rounded_point_as_tracing_leaves_it_is_still_one(self):
        length, tip = 60.0, 0.4
        side = shapely.Polygon([(0, 0), (length, -6), (length, 6)]).buffer(-tip).buffer(tip, quad_segs=4)
        outline = straight(shapely.get_coordinates(shapely.orient_polygons(side))[:-1])
        tapers = study(outline).lines.tapers
        assert len(tapers.length) == 1
        assert tapers.tip_clearance[0] == pytest.approx(tip, rel=0.1)

    def test_a_blunt_stroke_that_narrows_a_little_is_none(self):
        blunt = straight([(0, -1.5), (50, -2.5), (50, 2.5), (0, 1.5)])
        axis = study(blunt).lines
        assert len(axis.tapers.length) == 0
        assert 2 * axis.least.min() == pytest.approx(3, rel=0.05)

    def test_a_nearly_parallel_stroke_is_a_line_and_no_taper(self):
        hairline = straight([(0, 0), (200, -2), (200, 2)])  # 1.1° between its sides
        assert len(study(hairline).lines.tapers.length) == 0


class TestRegions:
    def test_each_piece_and_each_counter_is_its_own(self):
        letters = straight(
            rectangle(0, 0, 30, 30), rectangle(10, 10, 10, 10, hole=True), rectangle(40, 0, 10, 30),
            rectangle(13, 13, 3, 3),
        )  # fmt: skip
        anatomy = study(letters)
        frame, hole, bar, island = anatomy.ring_piece.tolist()
        assert frame == hole
        assert len({frame, bar, island}) == 3
        outside, counter, beside, inside = anatomy.ring_land.tolist()
        assert outside == beside == anatomy.outer_land
        assert counter == inside != outside

    def test_parts_far_apart_share_the_land_around_them(self):
        far = straight(rectangle(0, 0, 1, 1), rectangle(500, 0, 1, 1), rectangle(0, 700, 1, 1))
        assert set(study(far).ring_land.tolist()) == {study(far).outer_land}


class TestGrid:
    def test_whole_numbers_stay_where_they_are(self):
        assert study(straight(rectangle(0, 0, 37, 11), rectangle(3, 2, 5, 4, hole=True))).error == 0

    def test_tenths_move_by_less_than_a_grid_step(self):
        boundary = flattened(straight(rectangle(0.1, 0.2, 33.3, 7.7)))
        assert 0 < boundary.error == boundary.step < 1e-4
        moved = boundary.in_units(boundary.points) - np.array(rectangle(0.1, 0.2, 33.3, 7.7))
        assert np.abs(moved).max() <= boundary.step / 2 * (1 + 1e-9)

    @pytest.mark.parametrize("pixel", [None, 0.05, 0.5])
    def test_chords_stay_within_the_error_they_state(self, pixel):
        outline = Outline((ellipse(30, 7), ellipse(20, 3, hole=True)), pixel=pixel)
        boundary = flattened(outline)
        points = boundary.in_units(boundary.points)
        for number, contour in enumerate(outline.contours):
            chords = shapely.LinearRing(points[boundary.ring == number])
            curve = shapely.LineString(contour.polyline(1e-6))
            assert shapely.hausdorff_distance(curve, chords) <= boundary.error * (1 + 1e-6)

    def test_a_touch_becomes_a_common_vertex(self):
        """Two squares that share a corner, and one whose corner lies on another's side."""
        touching = straight(rectangle(0, 0, 10, 10), rectangle(10, 10, 10, 10), [(30, 5), (20, 0), (20, -10)])
        anatomy = study(touching)
        assert anatomy.lines.peak.max() == pytest.approx(5, abs=1e-3)
        t_touch = straight(rectangle(0, 0, 10, 10), [(10, 5), (20, 0), (20, 10)])
        assert len(study(t_touch).lines.peak) == 2

    def test_curves_whose_chords_would_cross_are_rebuilt(self):
        """A sliver of wood thinner than the flattening error between two arcs."""
        near = Outline((ellipse(100, 100, arcs=4), ellipse(99.99, 99.99, arcs=4, hole=True)), pixel=1.0)
        anatomy = study(near)
        assert anatomy.lines.peak.max() < 1.0


class TestBindings:
    """Our own extension and pyvoronoi bind the same library and must read it alike."""

    @pytest.fixture(
        params=[
            straight(rectangle(0, 0, 90, 50), rectangle(10, 10, 20, 30, hole=True)),
            straight(rectangle(0, 0, 10, 10), rectangle(10, 10, 10, 10), [(30, 5), (20, 0), (20, -10)]),
            Outline((ellipse(30, 12), ellipse(9, 4, hole=True))),
        ],
        ids=["frame", "touching", "curved"],
    )
    def segments(self, request):
        boundary = flattened(request.param)
        whole = boundary.points.astype(np.int32)
        return np.concatenate([whole, whole[boundary.following]], axis=1)

    def edges(self, halves):
        """Every edge as its two places and what lies on both sides, in an order of its own."""
        feature = np.minimum(halves.category[halves.cell], 3)  # two names for a segment's inside are one
        kind = np.stack([halves.segment[halves.cell], feature], axis=1).reshape(-1, 4)
        where = np.where(halves.start[:, None] < 0, np.inf, halves.vertices[halves.start]).reshape(-1, 4)
        return sorted(np.concatenate([kind, where.round(3)], axis=1).tolist())

    def test_equal_diagrams(self, segments):
        pytest.importorskip("artwork.axis._boost", reason="the extension has not been built here")
        assert self.edges(diagrams.by_boost(segments)) == self.edges(diagrams.by_pyvoronoi(segments))

    def test_twins_lie_side_by_side_and_share_their_segments_alike(self, segments):
        halves = diagrams.build(segments)
        assert len(halves.start) == len(halves.cell)
        left, right = halves.cell.reshape(-1, 2).T
        assert (left != right).all()

    def test_a_wrong_size_is_refused(self):
        extension = pytest.importorskip("artwork.axis._boost", reason="the extension has not been built here")
        with pytest.raises(ValueError, match="four int32"):
            extension.diagram(b"123")


def test_every_vertex_keeps_its_clearance():
    """Clearances of the diagram against shapely's distance to the boundary."""
    outline = Outline((ellipse(30, 12), ellipse(9, 4, hole=True)))
    boundary = flattened(outline)
    diagram = voronoi(boundary)
    rings = [boundary.points[boundary.ring == number] for number in range(2)]
    edge = shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in rings])
    used = np.unique([diagram.start, diagram.end])
    found = shapely.distance(edge, shapely.points(diagram.vertices[used]))
    assert diagram.clearance[used] == pytest.approx(found, abs=1e-3)  # grid units
    inside = shapely.Polygon(rings[0], [rings[1]])
    off = diagram.clearance[diagram.start] > 1
    carved = shapely.contains_xy(inside, diagram.vertices[diagram.start[off]])
    assert (diagram.carved[off] == carved).all()
