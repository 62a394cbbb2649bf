"""Contours: area, bounds, sampling and cutting against independent computations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.curves import Contour, areas_of, sampled, stretches
from artwork.intake.paths import Builder

coordinates = st.floats(-1000, 1000, allow_nan=False)


@st.composite
def contours(draw: st.DrawFn) -> Contour:
    n = draw(st.integers(2, 7))
    knots = np.array(draw(st.lists(st.tuples(coordinates, coordinates), min_size=n, max_size=n)))
    controls = np.array(draw(st.lists(coordinates, min_size=4 * n, max_size=4 * n))).reshape(n, 2, 2)
    straight = np.array(draw(st.lists(st.booleans(), min_size=n, max_size=n)))
    controls[straight] = np.nan
    return Contour(knots, controls)


def dense(contour: Contour, steps: int = 4000) -> np.ndarray:
    """Points along the curve from the Bernstein form, written out once more here."""
    t = np.arange(steps)[:, None] / steps
    found = []
    for i, a in enumerate(contour.knots):
        d = contour.knots[(i + 1) % len(contour.knots)]
        b, c = contour.controls[i]
        if np.isnan(b[0]):
            found.append(a + t * (d - a))
        else:
            found.append(a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3)
    return np.concatenate(found)


def shoelace(points: np.ndarray) -> float:
    following = np.roll(points, -1, axis=0)
    return float((points[:, 0] * following[:, 1] - following[:, 0] * points[:, 1]).sum() / 2)


@given(contours())
def test_area_is_that_of_a_fine_polygon(contour: Contour) -> None:
    fine = dense(contour)
    assert contour.area == pytest.approx(shoelace(fine - fine[0]), rel=1e-5, abs=1.0)


@given(contours())
def test_bounds_hold_all_points_and_are_touched(contour: Contour) -> None:
    left, low, right, high = contour.bounds
    points = dense(contour)
    assert np.allclose([left, low], points.min(axis=0), atol=1e-2)
    assert np.allclose([right, high], points.max(axis=0), atol=1e-2)
    assert (points.min(axis=0) >= np.array([left, low]) - 1e-9).all()
    assert (points.max(axis=0) <= np.array([right, high]) + 1e-9).all()


@given(contours(), st.floats(0.05, 20))
def test_no_curve_leaves_its_polyline_by_more_than_the_tolerance(contour: Contour, tolerance: float) -> None:
    line = contour.polyline(tolerance)
    end = np.roll(line, -1, axis=0)
    points = dense(contour, 60)
    along = end - line
    share = ((points[:, None] - line) * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-12)
    foot = line + np.clip(share, 0, 1)[:, :, None] * along
    off = np.hypot(*np.moveaxis(points[:, None] - foot, 2, 0)).min(axis=1)
    assert off.max() <= tolerance * (1 + 1e-6)


@given(contours())
def test_reversing_turns_the_area_round_and_twice_is_nothing(contour: Contour) -> None:
    assert contour.reversed().area == pytest.approx(-contour.area, abs=1e-6)
    again = contour.reversed().reversed()
    assert np.array_equal(again.knots, contour.knots)
    assert np.array_equal(again.controls, contour.controls, equal_nan=True)


@given(contours(), st.floats(0.1, 3), st.floats(-3, 3))
def test_moving_scales_area_by_the_determinant(contour: Contour, factor: float, angle: float) -> None:
    turn = factor * np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    moved = contour.moved(turn, np.array([5.0, -7.0]))
    assert moved.area == pytest.approx(contour.area * factor**2, rel=1e-6, abs=1e-3)


@given(contours(), st.floats(0, 1), st.floats(0, 1))
def test_a_stretch_lies_on_its_curve(contour: Contour, start: float, end: float) -> None:
    bent = contour.beziers[~contour.straight]
    if not len(bent):
        return
    n = len(bent)
    a, b, c, d = stretches(bent, np.full(n, start), np.full(n, end))
    for t in (0.0, 0.3, 1.0):
        on_stretch = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3
        u = start + t * (end - start)
        p, q, r, s = (bent[:, i] for i in range(4))
        on_curve = p * (1 - u) ** 3 + 3 * q * u * (1 - u) ** 2 + 3 * r * u**2 * (1 - u) + s * u**3
        assert np.allclose(on_stretch, on_curve, atol=1e-6)


def test_many_contours_at_once_are_as_one_by_one() -> None:
    rng = np.random.default_rng(3)
    several = []
    for n in (2, 5, 3):
        controls = rng.normal(size=(n, 2, 2))
        controls[0] = np.nan
        several.append(Contour(rng.normal(size=(n, 2)), controls))
    together = sampled(several, 0.01)
    apart = np.concatenate([contour.polyline(0.01) for contour in several])
    assert np.array_equal(together.points, apart)
    assert areas_of(several) == pytest.approx([contour.area for contour in several])
    assert together.starts[-1] == len(apart)


def test_a_circle_has_its_area_and_is_round() -> None:
    builder = Builder()
    builder.ellipse(3, -2, 50, 50)
    (circle,) = builder.path().contours()
    assert circle.area == pytest.approx(math.pi * 2500, rel=1e-5)
    radii = np.hypot(*(circle.polyline(1e-6) - (3, -2)).T)
    assert abs(radii - 50).max() < 50 * 4.3e-6
