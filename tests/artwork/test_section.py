"""Cross-sections against the V-bit's closed forms (docs/sources.md §3)."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.section import section
from artwork.workpiece import Allowances, Bit, Slat

ROOM = box(-100, 0, 100, 400)


def line(width: float, length: float = 100.0) -> Outline:
    """An upright stroke."""
    knots = np.array([[0, 0], [width, 0], [width, length], [0, length]], float)
    return Outline((Contour(knots, np.full((4, 2, 2), np.nan)),))


def cut(
    width: float, *, tip: float = 0.0, allowances: Allowances, round_over: float = 0.0, x: float = 0.0
) -> Cut:
    slat = Slat("s", "slat", ROOM, 25.4, round_over=round_over)
    bit = Bit("v60", 60.0, tip, 12.7, 11.0)
    return Cut(line(width), slat, Placement(x, 200.0, 1.0), bit, allowances)


FLAT = Allowances(sanding=0.0, unevenness=0.0)


@given(st.floats(min_value=0.5, max_value=8.0))
def test_a_line_is_as_deep_as_its_half_width_over_tan_30(width):
    found = section(cut(width, allowances=FLAT), (0.0, 200.0))
    assert max(found.even) == pytest.approx(width / 2 / tan(radians(30)), abs=0.05 / tan(radians(30)))
    assert found.turn_deg % 180 == pytest.approx(0, abs=1e-6)  # straight across an upright line


def test_the_tip_leaves_a_flat():
    found = section(cut(2.0, tip=0.25, allowances=FLAT), (0.0, 200.0))
    # docs/sources.md §3: depth = (w − T)·0.8660254
    assert max(found.even) == pytest.approx(1.515544, abs=0.002)
    assert sum(abs(depth - max(found.even)) < 1e-6 for depth in found.even) >= 0.25 / 0.05 - 1


def test_the_worst_boards_are_lower_and_deeper_by_the_unevenness():
    allowances = Allowances(sanding=0.3, unevenness=0.4)
    found = section(cut(4.0, allowances=allowances), (0.0, 200.0))
    middle = len(found.offsets) // 2
    assert found.even[middle] - found.low[middle] == pytest.approx(0.4, abs=1e-3)
    assert found.high[middle] - found.even[middle] == pytest.approx(0.4, abs=1e-3)
    assert found.face[0] == pytest.approx(0.3)
    # worst depth left = d − s − e (design §3.3)
    assert found.depth_left == pytest.approx(4.0 / 2 / tan(radians(30)) - 0.3 - 0.4, abs=0.1)
    assert found.least_depth == allowances.least_depth


def test_sanding_made_up_for_gives_the_depth_back():
    plain = section(cut(4.0, allowances=Allowances(sanding=0.3, unevenness=0.0)), (0.0, 200.0))
    made_up = section(
        cut(4.0, allowances=Allowances(sanding=0.3, sanding_made_up=True, unevenness=0.0)), (0.0, 200.0)
    )
    assert made_up.depth_left - plain.depth_left == pytest.approx(0.3, abs=2e-3)


def test_near_a_rounded_edge_the_face_itself_is_lower():
    radius = 9.525
    found = section(cut(2.0, allowances=FLAT, round_over=radius, x=95.0), (95.0, 200.0), turn_deg=0.0)
    at = int(np.argmin(np.abs(np.array(found.offsets) - 2.0)))  # 3 mm inside the edge
    inside = 100 - (95 + found.offsets[at])
    assert found.face[at] == pytest.approx(radius - (radius**2 - (radius - inside) ** 2) ** 0.5, abs=1e-3)


def test_beside_the_art_there_is_only_the_face():
    found = section(cut(2.0, allowances=FLAT), (50.0, 200.0))
    assert found.depth_left == 0
    assert found.even[len(found.even) // 2] == 0


def test_a_floor_has_the_ridges_that_its_picture_has():
    """Lines p = t + 2·h·tan φ apart leave ridges h high (the countersink rule turned round); a flat bit, none."""
    shop = Allowances(sanding=0.0, unevenness=0.0, floor_ridge=0.4)
    slat = Slat("s", "slat", ROOM, 25.4, grain_deg=90.0)
    bit = Bit("v60", 60.0, 0.15, 12.7, 11.0)
    wide = Cut(line(40.0), slat, Placement(0.0, 200.0, 1.0), bit, shop)
    found = section(wide, (0.0, 200.0), turn_deg=0.0)
    bottom = np.array(found.even)[np.abs(np.array(found.offsets)) < 10]
    assert bottom.max() == pytest.approx(25.4 / 3, abs=0.01)
    assert bottom.max() - bottom.min() == pytest.approx(0.4, abs=0.05 / 2 / tan(radians(30)))
    valleys = np.flatnonzero((bottom[1:-1] >= bottom[:-2]) & (bottom[1:-1] > bottom[2:]))
    apart = np.diff(valleys).mean() * 0.05
    assert apart == pytest.approx(0.15 + 2 * 0.4 * tan(radians(30)), abs=0.02)
    flat = section(replace(wide, allowances=replace(shop, flat_bit=6.0)), (0.0, 200.0), turn_deg=0.0)
    assert np.ptp(np.array(flat.even)[np.abs(np.array(flat.offsets)) < 10]) == 0
