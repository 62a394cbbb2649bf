"""What a 3/8 in round-over takes from grooves near the edge: rows of docs/sources.md §7 (computed there)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from artwork import tooling
from artwork.axis import study
from artwork.findings import Finding, check
from artwork.placing import safe_area
from artwork.workpiece import Bit
from tests.artwork.drawn import board, cut, nothing_lost, rectangle, straight

R = 9.525
DROPS = [
    (0, 9.525), (0.5, 6.479512), (1, 5.276471), (2, 3.685479), (3, 2.585980), (4, 1.766134), (5, 1.143473),
    (6, 0.676271), (7, 0.340774), (8, 0.122873), (9, 0.014480), (9.525, 0),
]  # fmt: skip


@pytest.mark.parametrize(("inside", "lowered"), DROPS)
def test_drop_of_the_face(inside, lowered):
    assert tooling.drop(float(inside), R) == pytest.approx(lowered, abs=5e-7)


def test_drop_is_its_own_inverse():
    inside = np.linspace(0, R, 50)
    assert tooling.drop(tooling.drop(inside, R), R) == pytest.approx(inside, abs=1e-9)
    assert tooling.reach_of(2.789808, R) == pytest.approx(2.789808, abs=1e-6)


def test_no_drop_beyond_the_radius_and_all_of_it_outside():
    assert tooling.drop(20.0, R) == 0
    assert tooling.drop(-3.0, R) == R
    assert tooling.drop(np.array([0.0, 5.0]), 0.0).tolist() == [0.0, 0.0]


SHARP = Bit("sharp", tip_flat=0.0, diameter=40.0, height=40.0)
GROOVES = [
    (12, 4, 3.46410, 3.46410), (6, 4, 3.46410, 2.78783), (4, 4, 3.46410, 1.69797), (6, 1.5, 1.29904, 0.62277),
]  # fmt: skip


def stopping(centre: float, width: float, least_depth: float) -> list[Finding]:
    """What stops an upright groove with its centre line so far inside the edge, if so much must be left."""
    outline = straight(rectangle(0, 0, width, 60))
    allowances = replace(nothing_lost(), least_depth=least_depth)
    placed = cut(outline, board(), x=-100.0 + centre, y=200.0, bit=SHARP, allowances=allowances)
    return [found for found in check(placed, study(outline)).findings if found.severity == "stops"]


@pytest.mark.parametrize(("centre", "width", "before", "left"), GROOVES)
def test_depth_left_of_a_groove_beside_the_edge(centre, width, before, left):
    """The check stops a hair above the depth that the table says is left, and not a hair below it."""
    lowered = tooling.drop(float(centre), R)
    worst = tooling.worst_depth(float(width), 99.0, SHARP, nothing_lost(), lowered)
    assert worst == pytest.approx(left, abs=6e-6)
    assert tooling.groove_depth(float(width), SHARP) == pytest.approx(before, abs=6e-6)
    assert stopping(centre, width, left + 0.01)
    assert not stopping(centre, width, left - 0.01)


def test_a_groove_that_the_round_over_takes_altogether():
    assert tooling.worst_depth(1.3, 99.0, SHARP, nothing_lost(), tooling.drop(5.0, R)) == 0
    assert "vanishing" in {found.kind for found in stopping(5, 1.3, 0.01)}


ERASED = [(1, 5.55665), (1.5, 4.72300), (2, 4.04818), (3, 2.98716), (4, 2.17713), (6, 1.04050)]
HALF_LEFT = [(1, 6.90989), (1.5, 5.70620), (2, 4.83964), (3, 3.56124), (4, 2.61991), (6, 1.31477)]


@pytest.mark.parametrize(("width", "centre"), ERASED)
def test_centre_at_which_a_groove_is_just_erased(width, centre):
    assert tooling.reach_of(tooling.groove_depth(float(width), SHARP), R) == pytest.approx(centre, abs=6e-6)


@pytest.mark.parametrize(("width", "centre"), HALF_LEFT)
def test_centre_that_leaves_half_a_millimetre(width, centre):
    assert tooling.reach_of(tooling.groove_depth(float(width), SHARP) - 0.5, R) == pytest.approx(
        centre, abs=6e-6
    )


@pytest.mark.parametrize(("width", "flat"), [(139.7, 120.65), (88.9, 69.85)])
def test_flat_left_between_two_round_overs(width, flat):
    """The safe area of a board without any margins is as wide as the flat."""
    area = safe_area(board(width=width), nothing_lost())
    left, _, right, _ = area.bounds
    assert right - left == pytest.approx(flat, abs=1e-9)
