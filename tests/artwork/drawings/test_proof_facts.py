"""A proof's facts are enough to draw it again."""

import numpy as np
import pytest
from shapely import hausdorff_distance

from artwork.digest import facts
from artwork.outline import polygons
from artwork.proof_facts import allowances_of, art_lines, bit_of, slat_of
from artwork.workpiece import Allowances, Bit
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle, ring

SLAT = load().model("fernhollow-chair").slat("back-inner-left")
ART = (
    circle(0, 500, 20),
    circle(0, 500, 12, hole=True),
    rectangle(-3, 497, 3, 503),
    ring([(5, 440), (25, 450), (8, 470)]),
)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turn", [0.0, 33.0, -140.0])
def test_the_drawing_comes_back_to_the_micrometre(mirrored, turn) -> None:
    cut = cut_of(
        *ART,
        slat=SLAT,
        bit=Bit("v60"),
        allowances=Allowances(),
        rotation_deg=turn,
        mirrored=mirrored,
        scale=0.7,
    )
    told = facts(cut)
    lines = art_lines(told, 1e-3)
    assert hausdorff_distance(polygons(lines), cut.placed().region(1e-3)) < 0.004
    assert [len(line) > 4 for line in lines] == [True, True, False, False]
    slat = slat_of(told)
    assert hausdorff_distance(slat.outline, SLAT.outline) < 0.001
    assert [k.reason for k in slat.keep_outs] == [k.reason for k in SLAT.keep_outs]
    assert (bit_of(told), allowances_of(told)) == (cut.bit, cut.allowances)
    assert np.isclose(slat.thickness, SLAT.thickness)
