"""The close picture: what it shows, and that it is the same wood as the whole."""

from __future__ import annotations

import io

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from artwork.close_up import close_up, whole
from artwork.preview import part_webp, preview
from artwork.workpiece import Allowances
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle

SLAT = load().model("longwalk-bench").slat("back-centre")
BOX = SLAT.outline.bounds


@given(st.floats(-60, 60), st.floats(10, 420), st.floats(5, 120), st.floats(5, 400))
def test_the_window_holds_the_art_and_the_art_fills_most_of_it(x, y, width, height):
    art = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    left, low, right, high = close_up(BOX, art)
    least, bottom, most, top = whole(BOX)
    assert least <= left < right <= most and bottom <= low < high <= top
    assert left <= max(art[0], least) and right >= min(art[2], most)
    assert low <= max(art[1], bottom) and high >= min(art[3], top)
    # Share of the width or of the height, the millimetre that is rounded out apart.
    assert width / (right - left - 2) >= 0.6 or height / (high - low - 2) >= 0.6


def test_it_is_the_whole_slats_picture_cut_out():
    cut = cut_of(circle(0, 215, 30), rectangle(-30, 150, 30, 154), slat=SLAT, allowances=Allowances())
    window = close_up(BOX, (-30.0, 150.0, 30.0, 245.0))
    close = np.asarray(Image.open(io.BytesIO(part_webp(cut, window, 4.0))).convert("RGBA")).astype(int)
    paper = preview(cut, None, 4.0, "fresh").astype(int)
    rows, columns = round((whole(BOX)[3] - window[3]) * 4), round((window[0] - whole(BOX)[0]) * 4)
    same = paper[rows : rows + close.shape[0], columns : columns + close.shape[1]]
    wood = close[..., 3] == 255
    assert wood.mean() > 0.9
    assert np.abs(close[..., :3] - same)[wood].mean() < 4  # what WebP loses


def test_a_wide_floor_is_darker_than_a_shallow_groove_and_clear_beside_the_slat():
    """A mark whose middle is cut to the depth limit reads as solid: its floor has half the face's light at most."""
    cut = cut_of(circle(0, 215, 30), slat=SLAT, allowances=Allowances())
    picture = np.asarray(Image.open(io.BytesIO(part_webp(cut, whole(BOX), 2.0)))).astype(float)
    row, column = (round((whole(BOX)[3] - 215) * 2), round(-whole(BOX)[0] * 2))
    floor = picture[row - 20 : row + 20, column - 20 : column + 20, :3].mean()
    face = picture[row - 160 : row - 120, column - 20 : column + 20, :3].mean()
    assert floor < 0.5 * face
    assert picture[2, 2, 3] == 0 and picture[row, column, 3] == 255
