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


SLIVERS = {
    **SHAPES,
    "needle": straight([(0, 0), (8, 0.5), (0, 1)]),
    "star": straight(
        [
            (4 + r * np.cos(a), 4 + r * np.sin(a))
            for a, r in zip(np.arange(18) * np.pi / 9, [4, 1.2] * 9, strict=True)
        ]
    ),
    "two almost touching": straight(rectangle(0, 0, 3, 3), [(3.02, 1.5), (6, 0), (6, 3)]),
}
CLOSE_BITS = {
    "sharp": BITS["sharp"],
    "usual": Bit("usual", tip_flat=0.15),
    "flat": BITS["flat"],
    "steep": Bit("steep", angle_deg=30.0, tip_flat=0.1, height=20.0),
}


def swept_closely(placed: Cut, places: np.ndarray) -> np.ndarray:
    """As :func:`swept`, the stands a sixteenth of the tip apart wherever they can decide: within the tip's flat.

    Farther off none can: a stand 1 mm nearer the middle is at most 1 / tan φ deeper, which is what its cone
    loses on that way.
    """
    art = placed.placed().region(1e-4)
    shapely.prepare(art)
    half, tan = placed.bit.tip_flat / 2, tooling.slope(placed.bit)
    around = np.arange(-half, half + 1e-9, max(half / 16, 0.006)) if half else np.zeros(1)
    off = np.stack(np.meshgrid(around, around), -1).reshape(-1, 2)
    off = np.concatenate([off[np.hypot(*off.T) <= half], [[0.0, 0.0]]])
    stands = places[:, None] + off[None]
    room = np.where(
        shapely.contains_xy(art, stands[..., 0], stands[..., 1]),
        shapely.distance(art.boundary, shapely.points(stands)),
        0.0,
    )
    limit = tooling.depth_limit(placed.slat, placed.bit, placed.allowances)
    depth = np.minimum(np.maximum(room - half, 0).max(axis=1) / tan, limit)
    return np.where(shapely.contains_xy(art, *places.T), depth, 0.0)


@pytest.mark.parametrize("turn", [0.0, 17.0])
@pytest.mark.parametrize("shape", SLIVERS)
def test_relief_is_within_a_twentieth_of_a_swept_cone_everywhere(shape, turn):
    """At every pixel's centre, narrow wedges and points among them; ``scripts/bench`` looks at all."""
    slat = board(width=14.0, length=14.0, round_over=0.0)
    for bit in CLOSE_BITS.values():
        placed = cut(SLIVERS[shape], slat, y=7.0, bit=bit, allowances=nothing_lost(), rotation_deg=turn)
        made = relief(placed, 4.0)
        row, column = np.nonzero(made.height > 0)
        some = np.random.default_rng(len(shape)).permutation(len(row))[:60]
        row, column = row[some], column[some]
        places = np.stack([made.left + (column + 0.5) / 4, made.top - (row + 0.5) / 4], axis=1)
        expected = swept_closely(placed, places)
        assert np.abs(made.height[row, column] - expected).max() < 0.05
