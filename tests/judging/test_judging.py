"""The judge against figures worked by hand: bars, walls at angles to the grain, islands, wedges, edges.

With the defaults a line needs 0.15 + 2·1.5·tan 30° = 1.8821 mm; a land 1.5 along and 2.5 across the grain and
0.4619 more, which a high board takes while it is carved.
"""

from __future__ import annotations

import numpy as np
import pytest

from artwork.outline import Outline
from artwork.workpiece import Allowances
from tests.artwork.drawn import board, cut, ellipse, rectangle, straight
from tests.judging import Ground, judge

LINE = 0.15 + 2 * 1.5 * np.tan(np.radians(30))
TAKEN = 2 * 0.4 * np.tan(np.radians(30))


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0])
@pytest.mark.parametrize(("share", "whole"), [(1.004, True), (0.996, False)])
def test_a_line_of_what_is_needed_is_left_at_any_angle(turn, share, whole):
    width = LINE * share
    bar = straight(rectangle(-6, -width / 2, 12, width))
    assert Ground(cut(bar, rotation_deg=turn)).whole() == whole


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 90.0])
@pytest.mark.parametrize(("share", "whole"), [(1.006, True), (0.994, False)])
def test_a_wall_needs_what_its_direction_asks(turn, share, whole):
    """Two upright bars on upright grain, turned: 1.5 + sin² of the turn."""
    width = (1.5 + np.sin(np.radians(turn)) ** 2 + TAKEN) * share
    pair = straight(rectangle(-4 - width, -6, 4, 12), rectangle(0, -6, 4, 12))
    ground = Ground(cut(pair, rotation_deg=turn))
    assert ground.whole() == whole
    thin = [] if whole else [loss for loss in ground.lands() if loss.what != "shortened"]
    assert all(loss.width == pytest.approx(share, abs=0.025) for loss in thin)
    assert bool(thin) != whole


@pytest.mark.parametrize(("radius", "whole"), [(1.49, True), (1.44, False)])
def test_a_round_island_needs_what_short_grain_needs(radius, whole):
    """(2.5 + 0.462) / 2 = 1.481."""
    letter = Outline((ellipse(7, 7, arcs=16), ellipse(radius, radius, arcs=16, hole=True)))
    ground = Ground(cut(letter))
    assert ground.whole() == whole
    assert [loss.what for loss in ground.lands()] == ([] if whole else ["vanished"])


def test_a_wedge_is_short_of_its_point_and_by_how_much():
    """20 long, 4 wide at its foot: 0.941 wide each way at 9.457 from the point, of a middle of 18.2."""
    found = judge(cut(straight([(-10, 0), (10, -2), (10, 2)])))
    (end,) = found.lines
    assert found.whole
    assert end.place[0] == pytest.approx(-10, abs=0.4)
    assert end.length == pytest.approx(9.457, abs=0.6)
    assert end.share == pytest.approx(end.length / 18.2, abs=0.04)


def test_square_corners_and_round_ends_are_whole():
    assert judge(cut(straight(rectangle(-6, -2, 12, 4)))).lines == ()
    assert judge(cut(Outline((ellipse(8, 3, arcs=16),)))).lines == ()


def test_a_neck_is_found_where_it_is():
    necked = straight([(-8, -2), (-1, -2), (-1, -0.7), (1, -0.7), (1, -2), (8, -2),
                       (8, 2), (1, 2), (1, 0.7), (-1, 0.7), (-1, 2), (-8, 2)])  # fmt: skip
    found = judge(cut(necked))
    (neck,) = [loss for loss in found.lines if loss.what == "interrupted"]
    assert np.hypot(neck.place[0], neck.place[1] - 200) < 1.2
    assert neck.width == pytest.approx(1.4 / LINE, abs=0.02)
    assert found.margin == pytest.approx(1.4 / LINE - 1, abs=0.02)


def test_the_round_over_takes_a_line_beside_the_edge():
    """At 5 mm from the edge 9.525 − √(9.525² − 4.525²) = 1.143 deeper, so 1.32 wider."""
    assert 9.525 - np.sqrt(9.525**2 - 4.525**2) == pytest.approx(1.1435, abs=1e-4)
    need = LINE + 2 * 1.1435 * np.tan(np.radians(30))
    for share, whole in ((1.01, True), (0.98, False)):
        bar = straight(rectangle(-need * share / 2, -5, need * share, 10))
        assert Ground(cut(bar, x=-95.0)).whole() == whole


def test_a_square_end_needs_what_short_grain_needs():
    """2.5 and half of 0.462 at an end, 1.5 and as much at a side."""
    bare = board(round_over=0.0)
    bar = straight(rectangle(-4, -2, 8, 4))
    for where, stands in (
        ({"y": 4.6}, False),
        ({"y": 4.8}, True),
        ({"x": -94.2}, True),
        ({"x": -94.4}, False),
    ):
        strip, needed = Ground(cut(bar, bare, **where)).strip
        assert (strip >= needed) == stands


def test_depth_is_read_at_the_widest_circle():
    cross = straight([(-8, -2), (-2, -2), (-2, -8), (2, -8), (2, -2), (8, -2),
                      (8, 2), (2, 2), (2, 8), (-2, 8), (-2, 2), (-8, 2)])  # fmt: skip
    depth = (2 * np.sqrt(2) - 0.075) / np.tan(np.radians(30))
    assert judge(cut(cross)).depth == pytest.approx(depth, abs=0.02)


def test_the_size_at_which_it_becomes_whole():
    bar = straight(rectangle(-6, -0.9, 12, 1.8))
    assert Ground(cut(bar)).flip(steps=6) == pytest.approx(LINE / 1.8, rel=0.01)


def test_a_shop_that_asks_nothing_loses_nothing():
    """The judge is no engine of remarks: with no allowance at all every shape is whole."""
    easy = Allowances(sanding=0.0, unevenness=0.0, least_depth=0.05, land_along=0.1, land_across=0.1)
    found = judge(cut(straight(rectangle(-6, -0.3, 12, 0.6)), allowances=easy))
    assert found.whole
    assert found.margin == 0.3
