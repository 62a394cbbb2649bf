"""The relief against a brute-force sweep: the bit's cone set down everywhere it may go, the deepest cut kept."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from artwork import tooling
from artwork.cut import Cut
from artwork.outline import Outline
from artwork.relief import relief
from artwork.workpiece import Bit
from tests.artwork.drawn import board, cut, ellipse, nothing_lost, rectangle, straight

PX = 8.0
SHAPES = {
    "bar": straight(rectangle(0, 0, 6, 2)),
    "corner": straight([(0, 0), (6, 0), (6, 1.6), (1.6, 1.6), (1.6, 6), (0, 6)]),
    "ring": Outline((ellipse(3.2, 3.2, arcs=16), ellipse(1.5, 1.2, arcs=16, hole=True))),
    "wedge": straight([(0, 0), (6, 1.5), (0, 3)]),
}
BITS = {
    "sharp": Bit("sharp", tip_flat=0.0),
    "flat": Bit("flat", tip_flat=0.4),
    "shallow": Bit("shallow", angle_deg=90.0, tip_flat=0.2, height=0.9),
}


def swept(placed: Cut, places: np.ndarray) -> np.ndarray:
    """Depth at each place, (n, 2): the bit stands at every place of a fine grid as deep as its sides allow."""
    art = placed.placed().region(1e-3)
    left, low, right, high = art.bounds
    grid = np.stack(np.meshgrid(np.arange(left, right, 0.05), np.arange(low, high, 0.05)), -1).reshape(-1, 2)
    grid = grid[shapely.contains_xy(art, grid)]
    room = shapely.distance(art.boundary, shapely.points(grid))
    bit, tan = placed.bit, tooling.slope(placed.bit)
    limit = tooling.depth_limit(placed.slat, bit, placed.allowances)
    stands = room >= bit.tip_flat / 2
    grid, depth = grid[stands], np.minimum((room[stands] - bit.tip_flat / 2) / tan, limit)
    off = np.hypot(*(places[:, None] - grid[None]).transpose(2, 0, 1))
    return np.maximum(depth - np.maximum(off - bit.tip_flat / 2, 0) / tan, 0).max(axis=1)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("bit", BITS)
def test_relief_is_what_a_swept_bit_leaves(shape, bit):
    """Within what a grid of 0.05 mm under the bit can tell."""
    slat = board(width=9.0, length=9.0, round_over=0.0)
    placed = cut(SHAPES[shape], slat, y=4.5, bit=BITS[bit], allowances=nothing_lost())
    made = relief(placed, PX)
    row, column = np.mgrid[0:72:2, 0:72:2]
    places = np.stack([-4.5 + (column + 0.5) / PX, 9.0 - (row + 0.5) / PX], axis=-1).reshape(-1, 2)
    expected = swept(placed, places)
    found = made.height[row, column].ravel()
    # between two stands of the bit its cone leaves up to half their distance, seen along its slope
    near = 0.05 * np.sqrt(0.5) / tooling.slope(placed.bit) + 0.03
    assert found == pytest.approx(expected, abs=near)
    assert np.abs(found - expected).mean() < near / 4
