"""Loops at joints: where curves that moved past their own curvature cross, they are cut off."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from artwork.curves import Contour
from artwork.repair.crossings import crossing
from artwork.repair.folds import folds_of
from artwork.repair.net import Net

FAR = (9.0, -12.0)


def looped(reach: float, high: float, deep: float) -> Contour:
    """Two curves, mirror images of each other across x = 0, that meet at (0, −deep) and cross before; closed below."""
    left, right, joint = (-6.0, 2.0), (6.0, 2.0), (0.0, -deep)
    knots = np.array([left, joint, right, FAR, (-FAR[0], FAR[1])])
    straight = [[np.nan] * 2] * 2
    first = [[-2.0, high], [reach, 0.5]]
    return Contour(knots, np.array([first, [[-reach, 0.5], [2.0, high]], straight, straight, straight]))


def crossing_share(contour: Contour) -> float:
    """Where the first curve comes to x = 0 before its end, by the roots of its polynomial: an independent way."""
    a, d = contour.knots[0, 0], contour.knots[1, 0]
    b, c = contour.controls[0, :, 0]
    roots = np.roots([d - 3 * c + 3 * b - a, 3 * (c - 2 * b + a), 3 * (b - a), a])
    real = roots[np.abs(roots.imag) < 1e-9].real
    return float(real[(real > 1e-6) & (real < 1 - 1e-3)].min(initial=1.0))


@given(reach=st.floats(1.0, 8.0), high=st.floats(2.0, 4.0), deep=st.floats(0.2, 3.0))
def test_loops_are_cut_off_where_the_curves_cross(reach, high, deep):
    contour = looped(reach, high, deep)
    share = crossing_share(contour)
    assume(0.2 < share < 0.98)
    assert {0, 1} <= set(crossing((contour,)).tolist())
    net = Net.of((contour,))
    folds = folds_of(net, crossing((contour,)))
    assert folds.end[0] == pytest.approx(share, abs=1e-6)
    assert folds.start[1] == pytest.approx(1 - share, abs=1e-6)
    assert folds.end[1:] == pytest.approx(1.0)
    left = net.trimmed(folds.start, folds.end)
    assert not len(crossing(left.contours()))
    along = np.linspace(0, 1, 9)
    first = np.zeros(9, np.int64)
    assert left.places(first, along) == pytest.approx(net.places(first, share * along))
    assert left.places(first + 1, along) == pytest.approx(net.places(first + 1, 1 - share + share * along))
    assert left.knots[2:] == pytest.approx(net.knots[2:])


def test_what_does_not_loop_stays():
    contour = looped(-0.5, 2.0, 1.0)
    assert not len(crossing((contour,)))
    assert not folds_of(Net.of((contour,)), np.arange(5)).there


def test_nothing_is_left_of_no_segment():
    """A loop that would take nearly all of a curve is left to other means."""
    contour = looped(8.0, 3.0, 0.3)
    turned = Contour(
        contour.knots, contour.controls + np.where(np.arange(5)[:, None, None] == 0, [3.9, 0.0], 0.0)
    )
    folds = folds_of(Net.of((turned,)), crossing((turned,)))
    assert (folds.end - folds.start > 0.14).all()


def test_ends_that_were_drawn_apart_meet_half_way():
    """Where the same shares are cut off the curves as they were drawn, their ends do not meet."""
    net = Net.of((looped(-0.5, 2.0, 1.0),))
    start, end = np.zeros(5), np.ones(5)
    end[0], start[1] = 0.75, 0.4
    left = net.trimmed(start, end)
    one, other = net.places(np.array([0]), np.array([0.75])), net.places(np.array([1]), np.array([0.4]))
    assert left.knots[1] == pytest.approx((one + other)[0] / 2)
    assert left.knots[[0, 2, 3, 4]] == pytest.approx(net.knots[[0, 2, 3, 4]])
    assert left.is_bent.tolist() == net.is_bent.tolist()
