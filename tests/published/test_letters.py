"""Letters of three font families: known stems, and their axes against the exact distance field.

Fonts: npm @fontsource/inter, lobster, great-vibes 5.3.0 (OFL-1.1).
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy import ndimage

from artwork import tooling
from artwork.axis import study
from artwork.findings import check
from artwork.workpiece import Bit
from tests.artwork.drawn import board, cut, nothing_lost
from tests.published.corpus import ICONS, glyph

LETTERS = "agkoRS&8" if ICONS < 100 else "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789&?!"
SHARP = Bit("sharp", tip_flat=0.0, diameter=40.0, height=40.0)


def test_stem_of_inters_capital_i():
    """190 of 1490 units cap height (read from the font): 5.1007 wide and 4.4173 deep at caps of 40 mm."""
    outline = glyph("inter", "I")
    assert outline.size[1] == 1490
    placed = cut(outline, board(thickness=80.0), scale=40.0 / 1490, bit=SHARP, allowances=nothing_lost())
    figures = check(placed, study(outline)).figures
    assert figures.least_line == pytest.approx(5.1007, abs=0.01)
    assert figures.depth == pytest.approx(4.4173, abs=0.01)
    assert tooling.groove_depth(40 / 1490 * 190, SHARP) == pytest.approx(4.4173, abs=5e-5)


def test_stem_lies_within_the_range_for_signs():
    """ADA/ABA 703.5.7: strokes of 10 to 30 % of the height of the I."""
    outline = glyph("inter", "I")
    stem = 2 * study(outline).lines.least.min()
    assert 0.10 <= stem / outline.size[1] <= 0.30


def drawn(outline, side: int):
    """The letter filled by OpenCV with sub-pixel corners, and pixels per unit."""
    left, low, right, high = outline.bounds
    scale = (side - 20) / max(right - left, high - low)
    rings = [contour.polyline(0.05 / scale) for contour in outline.contours]
    fine = [np.rint(((ring - (left, low)) * scale + 10) * 256).astype(np.int32) for ring in rings]
    mask = np.zeros((side, side), np.uint8)
    cv2.fillPoly(mask, fine, 1, shift=8)
    return mask.astype(bool), scale


@pytest.mark.parametrize("font", ["inter", "lobster", "great-vibes"])
@pytest.mark.parametrize("letter", LETTERS)
def test_letters_have_the_clearances_of_the_exact_distance_field(font, letter):
    outline = glyph(font, letter)
    anatomy = study(outline)
    mask, scale = drawn(outline, 960)
    left, low, _, _ = outline.bounds
    for side, axis in ((mask, anatomy.lines), (~mask, anatomy.lands)):
        field = ndimage.distance_transform_edt(side)
        places = (axis.places.reshape(-1, 2) - (left, low)) * scale + 10
        inner = ((places > 0) & (places < 959)).all(axis=1)
        found = ndimage.map_coordinates(field, places[inner].T[::-1], order=1)
        # OpenCV fills every pixel that the shape touches: half a pixel more ink, half a pixel less paper
        expected = axis.clearance.ravel()[inner] * scale + (0.75 if axis is anatomy.lines else -0.25)
        assert found == pytest.approx(expected, abs=1.5)


def test_a_perfect_cut_of_a_plain_letter_has_no_findings():
    outline = glyph("inter", "H")
    placed = cut(outline, board(), scale=40.0 / 1490, allowances=nothing_lost())
    assert check(replace(placed, bit=SHARP), study(outline)).verdict == "carves"
