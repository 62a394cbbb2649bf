"""Tracing: both bindings of libpotrace give the same curves, the right way round."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.curves import Contour
from artwork.outline import Outline
from artwork.tracing import TraceSettings, trace, trace_by_pypotrace
from tests.artwork.intake.made import CLOSE, emblem_truth, overlap, sound


def equal(first: tuple[Contour, ...], second: tuple[Contour, ...]) -> bool:
    return len(first) == len(second) and all(
        np.array_equal(a.knots, b.knots) and np.array_equal(a.controls, b.controls, equal_nan=True)
        for a, b in zip(first, second, strict=True)
    )


@given(st.integers(1, 150), st.integers(1, 40), st.integers(0, 2**32 - 1), st.floats(0.02, 0.9))
def test_both_bindings_give_equal_curves(width: int, height: int, seed: int, share: float) -> None:
    mask = np.random.default_rng(seed).random((height, width)) < share
    for settings in (TraceSettings(), TraceSettings(speck=0, corner=0.5, tolerance=0.4)):
        assert equal(trace(mask, settings), trace_by_pypotrace(mask, settings))


def test_bindings_agree_on_real_art() -> None:
    mask = emblem_truth(501)
    assert equal(trace(mask), trace_by_pypotrace(mask))


def test_outer_curves_run_counter_clockwise_and_holes_clockwise() -> None:
    mask = np.zeros((40, 60), bool)
    mask[5:35, 5:55] = True
    mask[12:28, 15:45] = False
    outer, hole = sorted(trace(mask), key=lambda contour: -contour.area)
    assert outer.area == pytest.approx(30 * 50, rel=0.01)
    assert hole.area == pytest.approx(-16 * 30, rel=0.02)
    assert np.allclose(outer.bounds, (5, 5, 55, 35))


def test_y_runs_upwards() -> None:
    mask = np.zeros((50, 50), np.uint8)
    mask[:10] = 1  # the top of the picture
    (band,) = trace(mask)
    assert np.allclose(band.bounds, (0, 40, 50, 50))


def test_traced_art_covers_its_pixels() -> None:
    truth = emblem_truth()
    outline = Outline(trace(truth), 1.0)
    sound(outline)
    assert overlap(outline, truth) > CLOSE


def test_nothing_set_gives_nothing() -> None:
    assert trace(np.zeros((10, 10), bool)) == ()
    assert trace_by_pypotrace(np.zeros((10, 10), bool)) == ()


def test_specks_are_left_out() -> None:
    mask = np.zeros((60, 60), bool)
    mask[10:50, 10:30] = True
    mask[20:23, 40:43] = True
    assert len(trace(mask, TraceSettings(speck=9))) == 1
    assert len(trace(mask, TraceSettings(speck=8))) == 2
