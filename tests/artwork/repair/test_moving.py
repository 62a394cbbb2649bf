"""The parts of the flow: feet of the axis, curves as points that move, the least-squares step, mended outlines."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from artwork.axis import study
from artwork.curves import areas_of
from artwork.repair.crossings import crossing
from artwork.repair.demands import feet_of
from artwork.repair.flow import not_too_far
from artwork.repair.net import Net
from artwork.repair.shifting import Asks, shifts
from artwork.repair.tracing_back import traced_back
from artwork.repair.uniting import followed, joined, less, mended
from tests.artwork.drawn import ellipse, rectangle, ring, straight
from tests.repairing.pieces import faces, pieces


class TestFeet:
    def test_feet_are_as_far_off_as_the_clearance(self):
        """On a word, both sides: the distance from each place of the axis to both of its feet."""
        outline = next(piece for piece in pieces(3, 0, 0, 0, 0)).make()
        anatomy = study(outline)
        for axis in (anatomy.lines, anatomy.lands):
            for end in (0, 1):
                feet = feet_of(anatomy, axis.places[:, end], axis.feet)
                off = np.hypot(*np.moveaxis(feet - axis.places[:, end, None], 2, 0))
                assert off == pytest.approx(np.repeat(axis.clearance[:, end, None], 2, axis=1), abs=0.02)
        assert faces()  # the set that wordmarks are drawn from

    def test_boundary_points_are_on_the_segments_they_name(self):
        outline = straight(rectangle(0, 0, 20, 10))
        round_one = ellipse(4.0, 4.0, 40.0, 5.0)
        whole = type(outline)((*outline.contours, round_one))
        anatomy = study(whole)
        net = Net.of(whole.contours)
        assert net.places(anatomy.segment, anatomy.share) == pytest.approx(anatomy.points, abs=0.005)

    def test_points_of_rebuilt_regions_are_found_again(self):
        """Two rings that cross by a hair: their regions are rebuilt, and the segments found by place and way."""
        outline = straight(rectangle(0, 0, 10, 10), rectangle(9.999, 2, 10, 6))
        anatomy = study(outline)
        assert (anatomy.segment < 0).all()
        again = traced_back(anatomy, outline.contours)
        net = Net.of(outline.contours)
        assert np.abs(net.places(again.segment, again.share) - anatomy.points).max() < 0.3


class TestNotTooFar:
    def test_a_ring_moves_as_a_whole_as_far_as_it_likes(self):
        net = Net.of((ellipse(9.0, 5.0), ring(rectangle(20, 0, 5, 5))))
        aside = np.tile([4.0, 1.0], (net.movable, 1))
        assert not_too_far(net, aside, aside, 2.0) == pytest.approx(aside)

    def test_a_point_is_bent_no_farther_than_may_be_shown(self):
        net = Net.of((ring(rectangle(0, 0, 30, 30)), ellipse(3.0, 3.0, 60.0)))
        before, shift = np.zeros((net.movable, 2)), np.zeros((net.movable, 2))
        before[0], shift[0] = (2.4, 0.0), (1.6, 0.0)
        after = before + not_too_far(net, before, shift, 2.0)
        whole = np.array([1.0, 0.0])  # of four knots one was to be moved by 4 mm
        assert after[0] - whole == pytest.approx([2.0, 0.0])
        assert np.delete(after, 0, axis=0) == pytest.approx(0.0)


class TestNet:
    def test_halving_changes_no_curve(self):
        contours = (ellipse(9.0, 5.0), ring(rectangle(20, 0, 5, 5)))
        halves = Net.of(contours).halved(np.array([1, 3, 4])).contours()
        assert [len(each.knots) for each in halves] == [6, 5]
        assert areas_of(halves) == pytest.approx(areas_of(contours))

    def test_a_collapsed_step_leaves_the_rest(self):
        points = [(0, 0), (10, 0), (10, 5), (10.2, 5.1), (10.2, 10), (0, 10)]
        net = Net.of((ring(points),))
        assert net.collapsible(np.array([2])).tolist() == [2]
        left = net.collapsed(np.array([2])).contours()[0].knots
        assert left.tolist() == [[0, 0], [10, 0], pytest.approx([10.1, 5.05]), [10.2, 10], [0, 10]]

    def test_a_point_that_is_cut_off_has_two_corners(self):
        """A third of the way to the tip of a triangle is cut off: the rest lies on the same lines."""
        net = Net.of((ring([(0.0, 0.0), (12.0, 1.0), (0.0, 2.0)]),))
        found = net.blunted(np.array([1]), np.array([2 / 3]), np.array([1 / 3])).contours()[0]
        assert found.knots == pytest.approx(np.array([[0, 0], [8, 2 / 3], [8, 4 / 3], [0, 2]]))
        assert np.isnan(found.controls).all()

    def test_curves_on_both_sides_of_a_point_stay_the_same_curves(self):
        net = Net.of((ellipse(5.0, 3.0),))
        found = Net.of(net.blunted(np.array([2]), np.array([0.75]), np.array([0.25])).contours())
        share = np.linspace(0, 1, 7)
        one = np.ones(7, np.int64)
        assert found.places(one, share) == pytest.approx(net.places(one, 0.75 * share))
        assert found.places(3 * one, share) == pytest.approx(net.places(2 * one, 0.25 + 0.75 * share))
        assert not found.is_bent[2] and found.lengths.tolist() == [len(net.knots) + 1]


NOTHING = Asks(
    np.zeros((1, 2), np.int64), np.full((1, 2), 0.5), np.zeros((1, 2, 2)), np.array([-1.0]), np.ones(1)
)


class TestStep:
    def test_a_wall_that_is_asked_to_move_moves_parallel_and_by_what_is_asked(self):
        net = Net.of((ring(rectangle(0, 0, 40, 2)),))
        t = np.linspace(0.1, 0.9, 9)
        asks = Asks(
            segment=np.tile([0, 2], (9, 1)),
            t=np.stack([t, 1 - t], axis=1),
            normal=np.tile([[0.0, -1.0], [0.0, 1.0]], (9, 1, 1)),
            lack=np.full(9, 0.5),
            weight=np.full(9, 4.0),
        )
        still = np.zeros((net.movable, 2))
        moved = shifts(net, asks, still, still)
        assert moved[:, 1] == pytest.approx([-0.25, -0.25, 0.25, 0.25], abs=0.005)
        assert np.abs(moved[:, 0]).max() < 0.01

    def test_curves_that_wait_come_to_the_same_step_by_step(self):
        """A side that is asked to lie 1 mm farther right is there in no more than twelve steps."""
        net = Net.of((ring(rectangle(0, 0, 4, 4)),))
        drawn, there = net.points, net.points
        first = None
        for _ in range(12):
            lack = float(1.0 - (there - drawn)[1, 0])
            asks = Asks(
                segment=np.array([[1, 1]]),
                t=np.array([[0.5, 0.5]]),
                normal=np.array([[[1.0, 0.0], [0.0, 0.0]]]),
                lack=np.array([lack]),
                weight=np.array([1.0]),
            )
            moved = shifts(net.moved(there - drawn), asks, there - drawn, there - drawn, wait=60.0)
            first = float(moved[1, 0]) if first is None else first
            there = there + moved
        assert 0.1 < first < 0.7  # by far not all at once
        assert (there - drawn)[1:3, 0] == pytest.approx([1.0, 1.0], abs=0.03)

    def test_no_control_point_passes_its_knot(self):
        """The sharp ends of a lens are asked to draw back by 1 mm: more than its curvature there has room for."""
        net = Net.of((ellipse(6.0, 0.8),))
        segment, t = net.along(0.3)
        velocity = net.velocities(segment, t)
        inwards = np.stack([-velocity[:, 1], velocity[:, 0]], axis=1)
        inwards /= np.hypot(*inwards.T)[:, None]
        count = len(segment)
        asks = Asks(
            segment=np.repeat(segment[:, None], 2, axis=1),
            t=np.repeat(t[:, None], 2, axis=1),
            normal=np.stack([inwards, 0 * inwards], axis=1),
            lack=np.where(np.abs(net.places(segment, t)[:, 0]) > 5.0, 1.0, 0.0),
            weight=np.full(count, 0.3),
        )
        still = np.zeros((net.movable, 2))
        moved = net.moved(shifts(net, asks, still, still))
        before, after = (np.diff(each.beziers, axis=1) for each in (net, moved))
        kept = (before * after).sum(axis=2) / (before**2).sum(axis=2)
        assert kept.min() > 0.3

    def test_nothing_asked_moves_nothing(self):
        net = Net.of((ellipse(5.0, 5.0),))
        still = np.zeros((net.movable, 2))
        assert np.abs(shifts(net, NOTHING, still, still)).max() < 1e-9

    def test_what_was_joined_from_parts_drawn_apart_is_not_torn(self):
        net = Net.of((ring(rectangle(0, 0, 2, 2)),))
        still = np.zeros((net.movable, 2))
        apart = np.array([[0.0, 1.0], [0.0, -1.0], [0.0, 1.0], [0.0, -1.0]])
        assert np.abs(shifts(net, NOTHING, apart, still)).max() < 0.1
        assert shifts(net, NOTHING, apart, apart) == pytest.approx(-apart, abs=1e-3)  # as it was before


class TestUniting:
    def test_crossings_are_named(self):
        assert not len(crossing((ring(rectangle(0, 0, 5, 5)), ring(rectangle(6, 0, 5, 5)))))
        found = crossing((ring(rectangle(0, 0, 5, 5)), ring(rectangle(4, 1, 5, 3))))
        assert set(found.tolist()) == {1, 4, 6}

    def test_operations_keep_areas_and_points(self):
        contours = (ellipse(10.0, 10.0),)
        area = float(areas_of(contours)[0])
        assert areas_of(joined(contours, box(9, -1, 14, 1))).sum() > area
        assert areas_of(less(contours, box(-1, -20, 1, 20))).sum() == pytest.approx(area - 39.9, abs=0.2)
        overlapping = (ring(rectangle(0, 0, 5, 5)), ring(rectangle(4, 1, 5, 3)))
        whole = mended(overlapping)
        assert areas_of(whole).sum() == pytest.approx(25 + 15 - 3, abs=1e-4)
        drawn = tuple(type(each)(each.knots - (0.0, 0.5), each.controls) for each in overlapping)
        origin = followed(whole, overlapping, drawn)
        assert np.concatenate(
            [a.knots - b.knots for a, b in zip(whole, origin, strict=True)]
        ) == pytest.approx(np.tile([0.0, 0.5], (sum(len(each.knots) for each in whole), 1)), abs=1e-3)
