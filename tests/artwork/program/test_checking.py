"""A program is told from what was signed: good ones pass however they are written, spoiled ones are found.

The programs are made by erosion (``toolpaths.py``), not by the engine's axis; the sweep is held against brute force.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from artwork.drawings.frame import SLAT_FRAME, MachineFrame
from artwork.program import Cutter, compare, read_program
from artwork.program.sweeping import Grid, sweep
from artwork.workpiece import KeepOut
from tests.artwork.program.signed import art, paths, signed
from tests.artwork.program.toolpaths import Words, turned, written


def held(lines, frame=SLAT_FRAME):
    return compare(read_program(lines), signed(), frame)


def moved(x: float = 0.0, y: float = 0.0, z: float = 0.0):
    return lambda points: points + np.array([x, y, z])


GOOD = {
    "as usual": Words(),
    "two decimals": Words(decimals=2),
    "four decimals": Words(decimals=4),
    "inches": Words(inches=True),
    "relative": Words(relative=True),
    "line numbers, no blanks, percent": Words(numbers=True, spaces=False, percent=True),
    "every word on every line": Words(modal=False, comments=True),
    "another offset": Words(offset="G55"),
}


@pytest.mark.parametrize("words", GOOD.values(), ids=GOOD)
def test_a_good_program_cuts_what_was_signed_however_it_is_written(words):
    found = held(written(paths(), words))
    assert found.outcome == "cuts-what-was-signed", found.sentence
    assert found.overlap > 0.97 and abs(found.depth_median) < 0.06
    assert not found.dangers and found.fit is None


def test_passes_by_depth_and_another_order_come_to_the_same():
    shuffled = [paths()[i] for i in np.random.default_rng(3).permutation(len(paths()))]
    assert held(written(shuffled)).outcome == "cuts-what-was-signed"


@pytest.mark.parametrize("zero", ["lower-left", "upper-right", "centre"])
def test_it_is_read_in_the_frame_of_the_job_sheet(zero):
    frame = MachineFrame(quarter_turns=1, zero=zero)
    matrix, shift = frame.affine(signed().slat.outline)
    lay = lambda points: np.column_stack([points[:, :2] @ matrix.T + shift, points[:, 2]])  # noqa: E731
    assert held(written(paths(), change=lay), frame).outcome == "cuts-what-was-signed"


def middle():
    x0, y0, x1, y1 = art().bounds
    return np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0])


SPOILED = {
    "mirrored": (lambda p: p * [-1, 1, 1], "mirrored"),
    "2 % small": (lambda p: (p - middle()) * [0.98, 0.98, 1] + middle(), "% too small"),
    "3 % large": (lambda p: (p - middle()) * [1.03, 1.03, 1] + middle(), "% too large"),
    "0.4 mm aside": (moved(x=0.4), "+0.4 mm in x"),
    "3 mm up": (moved(y=3.0), "+3.0 mm in y"),
    "0.25 mm shallow": (moved(z=0.25), "too shallow"),
    "0.25 mm deep": (moved(z=-0.25), "too deep"),
    "a quarter turned": (turned(90), "turned a quarter to the left"),
    "zero at the lower left corner": (moved(x=110.0 / 2), "lower-left corner"),
}


@pytest.mark.parametrize(("change", "words"), SPOILED.values(), ids=SPOILED)
def test_a_spoiled_program_is_found_and_its_cause_told(change, words):
    found = held(written(paths(), change=change))
    assert found.outcome == "differs"
    assert words in found.sentence
    assert found.differences or found.places


def test_another_bit_inches_for_mm_a_cut_short_file_and_another_file_are_found():
    assert held(written(paths(90.0))).outcome == "differs"
    inches = [line.replace("G20", "G21") for line in written(paths(), Words(inches=True))]
    assert "25.4" in held(inches).sentence
    whole = written(paths())
    short = held(whole[: len(whole) // 2])
    assert short.outcome == "differs" and short.missing + short.places > 0
    star = [replace_points(path, np.array([0.3, 0.2, 1.0])) for path in paths()[:40]]
    assert held(written(star)).outcome == "is-not-this-carving"


def replace_points(path, share):
    return replace(path, points=path.points * share)


@settings(max_examples=5, deadline=None)
@given(
    x=st.floats(-1.5, 1.5), y=st.floats(-1.5, 1.5), z=st.floats(-0.6, 0.6)
)  # fmt: skip
def test_whatever_moves_it_beyond_the_bounds_is_found(x, y, z):
    """The bounds that are promised: 0.3 mm aside, 0.2 mm of depth."""
    beyond = max(abs(x), abs(y)) >= 0.3 or abs(z) >= 0.2
    # aside and deep can make up for each other on one wall, never on the opposite one
    if beyond:
        assert held(written(paths(), change=moved(x, y, z))).outcome != "cuts-what-was-signed"


def test_harmful_moves_are_told_with_their_line():
    lines = written(paths())
    low = [line.replace("Z5.000", "Z-1.000") for line in lines]
    kinds = {danger.kind: danger for danger in held(low).dangers}
    assert kinds["rapid-in-wood"].line > 1 and "1.00 mm below" in kinds["rapid-in-wood"].words
    deep = held(written(paths(), change=moved(z=-7.0)))
    assert "too-deep" in {danger.kind for danger in deep.dangers}
    aside = held(written(paths(), change=moved(x=90.0)))
    assert "outside-blank" in {danger.kind for danger in aside.dangers}
    x0, y0, _, y1 = art().bounds
    screw = KeepOut(Polygon([(x0, y0), (x0 + 30, y0), (x0 + 30, y1), (x0, y1)]), "screw hole")
    cut = replace(signed(), slat=replace(signed().slat, keep_outs=(screw,)))
    over = compare(read_program(lines), cut)
    assert "screw hole" in next(d.words for d in over.dangers if d.kind == "keep-out")


CUTTERS = [
    Cutter(0.075, tan(radians(30)), 6.35),
    Cutter(0.0, 1.0, 6.35),
    Cutter(0.6, tan(radians(15)), 3.0),
    Cutter(1.5, 0.0, 1.5),
]


@pytest.mark.parametrize("cutter", CUTTERS, ids=str)
@pytest.mark.parametrize("seed", range(3))
def test_the_sweep_is_that_of_a_bit_stood_at_very_many_places(cutter, seed):
    rng = np.random.default_rng(seed)
    grid = Grid(150, 100, 0.2, -10.0, 10.0)
    ends = [np.array([*rng.uniform(-4, 12, 2) * [1, 0.4], -rng.uniform(0, 4)]) for _ in range(2)]
    move = np.concatenate(ends)
    x = grid.left + (np.arange(grid.columns) + 0.5) * grid.cell
    y = grid.top - (np.arange(grid.rows) + 0.5) * grid.cell
    deepest = np.zeros((grid.rows, grid.columns))
    for share in np.linspace(0, 1, 1500):
        tip = move[:3] + (move[3:] - move[:3]) * share
        r = np.hypot(x[None, :] - tip[0], y[:, None] - tip[1])
        cone = np.maximum(r - cutter.tip_radius, 0) / cutter.slope if cutter.slope else 0.0
        reach = cutter.radius if cutter.slope else cutter.tip_radius
        deepest = np.maximum(deepest, np.where(r <= reach, -tip[2] - cone, 0))
    found = sweep(move[None, :], cutter, grid)
    apart = np.abs(found - deepest)
    assert (
        np.quantile(apart, 0.999) < 0.005
    )  # places on the very rim of a tip or cylinder fall to either side


def test_time_speeds_up_and_slows_down_as_the_trapezoid_says():
    """t = d/v + v/a where there is room, 2·√(d/a) where there is none (rows computed from the formula)."""
    from artwork.program.sweeping import minutes

    for distance, seconds in ((100, 2.1), (10, 0.3), (5, 0.2), (2, 0.126491)):
        moves = read_program(["g0 x0 y0 z0", f"g1 x{distance} f3000", "m2"]).moves
        assert minutes(moves, acceleration=500) * 60 == pytest.approx(seconds, abs=1e-5)
