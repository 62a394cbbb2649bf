"""Width, finish, cup and wood, brought into the figures that the judges look at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from artwork.as_judged import as_judged, as_read
from artwork.axis import study
from artwork.findings import check
from artwork.scene import Scene
from artwork.tooling import groove_width
from artwork.workpiece import Allowances, Bit
from tests.artwork.drawn import board, cut, rectangle, straight

SHOP = Allowances()
V30 = Bit("v30", angle_deg=30.0, height=20.0)


def needs(outline, **changes) -> float:
    return check(cut(outline, **changes), study(outline)).figures.least_line_required


LINE = straight(rectangle(0, 0, 60, 3))


class TestReading:
    def test_a_narrow_bit_must_cut_wide_enough(self):
        """30°: 0.8 of depth is 0.15 + 1.6 · tan 15° = 0.579 wide; 0.8 of width needs 1.213 of depth."""
        read = as_read(V30, SHOP)
        assert read.least_depth == pytest.approx((0.8 - 0.15) / (2 * np.tan(np.radians(15))))
        assert groove_width(read.least_depth, V30) == pytest.approx(0.8)
        assert needs(LINE, bit=V30) == pytest.approx(0.8 + 2 * 0.7 * np.tan(np.radians(15)), abs=0.011)

    def test_a_usual_bit_is_wide_before_it_is_deep(self):
        assert as_read(Bit("v60"), SHOP).least_depth == 0.8
        assert needs(LINE) == 1.89

    @pytest.mark.parametrize(("angle", "factor"), [(60.0, 1.0), (90.0, 2**0.5 - 1), (30.0, 2.8637)])
    def test_a_film_fills_a_groove(self, angle, factor):
        """f·(1 / sin φ − 1), against the profile drawn: every wall moved inwards by f, the face up by f."""
        film = 0.2
        found = as_read(Bit("v", angle_deg=angle), replace(SHOP, finish_film=film, least_width=0.0))
        assert found.least_depth - 0.8 == pytest.approx(factor * film, abs=1e-4)
        half, depth = np.radians(angle / 2), 3.0
        # the wall from (0, −d) to (d·tan φ, 0) moved by f towards the middle meets the middle at
        bottom = -depth + film / np.sin(half)
        assert depth - (film - bottom) == pytest.approx(factor * film, abs=1e-4)


class TestCup:
    def test_the_published_arc(self):
        """139.7 wide, 1/16 in of cup: 1.190779 high a quarter off the middle (a circle of radius 1537.494).

        Art over that quarter to the other: its zero is set in the middle, so it departs by 0.396721.
        """
        slat = board(width=139.7)
        half = 139.7 / 4
        art = straight(rectangle(0, 0, 2 * half, 20))
        placed = cut(art, slat, allowances=replace(SHOP, cup=1.5875))
        assert as_judged(placed, study(art)).allowances.unevenness == pytest.approx(
            0.4 + 1.5875 - 1.190779, abs=1e-5
        )

    def test_narrow_art_sees_little_of_it(self):
        """The law is ∝ width²: a third as wide, a ninth."""
        slat = board(width=139.7)
        loss = []
        for wide in (90.0, 30.0):
            art = straight(rectangle(0, 0, wide, 20))
            placed = cut(art, slat, allowances=replace(SHOP, cup=1.5))
            loss.append(as_judged(placed, study(art)).allowances.unevenness - 0.4)
        assert loss[0] / loss[1] == pytest.approx(9, rel=0.01)

    def test_off_the_middle_the_board_slopes(self):
        slat, art = board(width=139.7), straight(rectangle(0, 0, 30, 20))
        shop = replace(SHOP, cup=1.5)
        middle, side = (as_judged(cut(art, slat, x=x, allowances=shop), study(art)) for x in (0.0, 45.0))
        assert side.allowances.unevenness > middle.allowances.unevenness + 0.2

    def test_it_costs_lines_width(self):
        art = straight(rectangle(0, 0, 100, 3))
        slat = board(width=139.7)
        assert needs(art, slat=slat, allowances=replace(SHOP, cup=1.5)) > needs(art, slat=slat) + 0.5


def test_a_harder_wood_stands_thinner():
    """White oak keeps 0.7 of the lands: 0.7 · 1.5 + 0.462 = 1.512 along the grain."""
    bars = straight(rectangle(0, 0, 3, 40), rectangle(4.7, 0, 3, 40))
    oak = replace(board(), species="white-oak")
    assert check(cut(bars), study(bars)).verdict == "will-not-carve"
    judged = check(cut(bars, slat=oak), study(bars))
    assert judged.verdict != "will-not-carve"
    assert judged.figures.least_land_required == pytest.approx(1.52)


def test_a_scene_of_a_judged_cut_is_the_same():
    """Nothing is taken twice."""
    shop = replace(SHOP, cup=1.0, finish_film=0.1)
    once = Scene(cut(LINE, allowances=shop, slat=replace(board(), species="white-oak")), study(LINE))
    assert Scene(once.cut, study(LINE)).cut == once.cut
