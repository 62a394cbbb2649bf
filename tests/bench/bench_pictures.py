"""Pictures people sign: how long one takes."""

from __future__ import annotations

from itertools import product

import numpy as np

from artwork.cut import Cut
from artwork.intake import read_artwork
from artwork.piece_picture import piece_png
from artwork.placing import largest_fit
from artwork.preview import preview_png
from artwork.relief import relief
from seeds.shop import load
from tests.artwork.drawn import board, cut, nothing_lost
from tests.artwork.relief.test_cone_sweep import CLOSE_BITS, SLIVERS, swept_closely
from tests.bench.harness import Measured, alone, case

SHOP = load()


def _crest_on_the_wide_slat() -> Cut:
    outline = read_artwork(SHOP.artwork("crest.svg").data, "crest.svg").outline
    slat = SHOP.model("fernhollow-chair").slat("back-centre")
    return Cut(outline, slat, largest_fit(outline, slat, SHOP.allowances), SHOP.bits[0], SHOP.allowances)


@case(issue=6, name="preview of a carved slat, relief to PNG", n="140 × 860 mm at 4 px/mm", target=0.3)
def preview_of_a_slat() -> Measured:
    cut = _crest_on_the_wide_slat()
    return alone(lambda: preview_png(cut, None, 4.0))


@case(issue=15, name="relief against a swept cone, worst place", n="7 shapes × 3 turns × 4 bits", target=0.05)
def relief_against_a_sweep() -> Measured:
    """Every pixel's centre, wedges and slivers among them."""
    slat, worst, seen = board(width=14.0, length=14.0, round_over=0.0), 0.0, 0
    for shape, turn, bit in product(SLIVERS.values(), (0.0, 17.0, 45.0), CLOSE_BITS.values()):
        placed = cut(shape, slat, y=7.0, bit=bit, allowances=nothing_lost(), rotation_deg=turn)
        made = relief(placed, 4.0)
        row, column = np.nonzero(made.height > 0)
        places = np.stack([made.left + (column + 0.5) / 4, made.top - (row + 0.5) / 4], axis=1)
        for some in np.array_split(np.arange(len(row)), len(row) // 200 + 1):
            off = made.height[row[some], column[some]] - swept_closely(placed, places[some])
            worst, seen = max(worst, float(np.abs(off).max())), seen + len(some)
    return Measured(0.0, figure=worst, unit="mm", note=f"{seen} places")


@case(issue=6, name="picture of the whole piece", n="chair, 1600 px", target=1.5)
def picture_of_the_piece() -> Measured:
    cut = _crest_on_the_wide_slat()
    return alone(lambda: piece_png(SHOP.model("fernhollow-chair"), [cut]), rounds=3)
