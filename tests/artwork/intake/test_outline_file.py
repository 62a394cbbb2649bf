"""Outlines as bytes: exact, deterministic, and nothing else is taken for one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.outline import Outline
from artwork.outline_file import pack, unpack
from tests.artwork.intake.test_curves import contours


@given(st.lists(contours(), max_size=4), st.none() | st.floats(1e-3, 1e3), st.none() | st.floats(1e-3, 1e3))
def test_round_trip_is_exact(made: list, pixel: float | None, stated: float | None) -> None:
    outline = Outline(tuple(made), pixel, stated)
    data = pack(outline)
    again = unpack(data)
    assert (again.pixel, again.stated_mm) == (pixel, stated)
    assert len(again.contours) == len(made)
    for a, b in zip(again.contours, made, strict=True):
        assert np.array_equal(a.knots, b.knots)
        assert np.array_equal(a.controls, b.controls, equal_nan=True)
    assert pack(again) == data


@given(st.binary(max_size=200))
def test_other_bytes_are_not_an_outline(data: bytes) -> None:
    with pytest.raises(ValueError, match="not an outline file"):
        unpack(data)


def test_a_cut_file_is_not_an_outline() -> None:
    from tests.artwork.intake.made import polygon_contour

    data = pack(Outline((polygon_contour([(0, 0), (1, 0), (0, 1)]),)))
    for length in range(len(data)):
        with pytest.raises(ValueError, match="not an outline file"):
            unpack(data[:length])
    with pytest.raises(ValueError, match="not an outline file"):
        unpack(data + b"x")
