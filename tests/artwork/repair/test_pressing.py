"""Which requirements press: the extension against scipy's solver, and both against what is least."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.sparse import csr_array

from artwork.repair import pressing
from artwork.repair.pressing import Pressing, by_extension, by_scipy

ENOUGH = 60


def asked(points: int, rows: int, seed: int, most: float = np.inf) -> Pressing:
    """Springs between neighbours on a ring, and rows that push some of them apart."""
    random = np.random.default_rng(seed)
    size = 2 * points
    ring = np.zeros((size, size))
    for axis in (0, points):
        for at in range(points):
            spring = np.zeros(size)
            spring[axis + at], spring[axis + (at + 1) % points] = 1, -1
            ring += np.outer(spring, spring)
    form = np.zeros((rows, size))
    for row in form:
        two = random.choice(points, 2, replace=False)
        turn = random.uniform(0, 2 * np.pi)
        for sign, point in zip((1, -1), two, strict=True):
            row[[point, points + point]] = sign * np.cos(turn), sign * np.sin(turn)
    return Pressing(
        csr_array(ring + 0.05 * np.eye(size)),
        csr_array(form),
        random.uniform(-0.4, 0.6, rows),
        random.uniform(5, 50, rows),
        random.uniform(-0.1, 0.1, size),
        most,
        30.0,
    )


@pytest.fixture
def extension():
    pytest.importorskip("artwork.repair._pressing", reason="the extension has not been built here")


@pytest.mark.usefixtures("extension")
@pytest.mark.parametrize(("points", "rows"), [(3, 2), (12, 30), (80, 200), (400, 300), (50, 0)])
@pytest.mark.parametrize("rounds", [1, 4, ENOUGH])
@pytest.mark.parametrize("most", [np.inf, 0.15])
def test_both_find_the_same(points, rows, rounds, most):
    problem = asked(points, rows, points + rows, most)
    assert by_extension(problem, rounds) == pytest.approx(by_scipy(problem, rounds), abs=1e-5)


@pytest.mark.parametrize("most", [np.inf, 0.15])
@pytest.mark.parametrize("solver", [by_extension, by_scipy])
def test_what_is_found_is_least(solver, most, request):
    """Against a general minimiser."""
    if solver is by_extension:
        request.getfixturevalue("extension")
    problem = asked(6, 9, 5, most)

    def missed(x):
        return np.maximum(problem.lack - problem.rows @ x, 0.0)

    def beyond(x):
        return np.maximum(np.hypot(*x.reshape(2, -1)) - most, 0.0)

    def worth(x):
        curves = x @ (problem.resistance @ x) / 2 - problem.pull @ x
        pressed = (problem.weight * missed(x) ** 2).sum() + problem.held * (beyond(x) ** 2).sum()
        return float(curves + pressed / 2)

    def slope(x):
        far = np.maximum(np.hypot(*x.reshape(2, -1)), 1e-12)
        back = problem.held * np.tile(beyond(x) / far, 2) * x
        pressed = problem.rows.T @ (problem.weight * missed(x))
        return problem.resistance @ x - problem.pull - pressed + back

    least = minimize(worth, np.zeros(12), jac=slope, method="BFGS", options={"gtol": 1e-10}).x
    found = solver(problem, ENOUGH)
    assert found == pytest.approx(least, abs=pressing.CLEAR)
    assert worth(found) <= worth(least) + 1e-6
    assert missed(least).any()
    assert beyond(least).any() == np.isfinite(most)


def test_a_point_held_back_is_made_up_for_by_others():
    """Two points that are to part by 1 mm, the first of which is held by nothing, the other by a spring."""
    rows = csr_array(np.array([[1.0, -1.0, 0.0, 0.0]]))
    springs = csr_array(np.diag([0.001, 0.1, 1.0, 1.0]))
    free, held = (
        by_scipy(Pressing(springs, rows, np.ones(1), np.full(1, 20.0), np.zeros(4), most, 1e4), ENOUGH)
        for most in (np.inf, 0.8)
    )
    assert free == pytest.approx([0.99, -0.01, 0, 0], abs=0.002)
    assert held == pytest.approx([0.8, -0.2, 0, 0], abs=0.002)


@pytest.mark.usefixtures("extension")
def test_arrays_that_do_not_fit_are_refused():
    problem = asked(4, 3, 1)
    wrong = replace(problem, lack=problem.lack[:2])
    with pytest.raises(ValueError, match="do not fit"):
        by_extension(wrong, 1)
