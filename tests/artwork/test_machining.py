"""Carving time: an estimate whose every assumption is told."""

from __future__ import annotations

from dataclasses import replace

import pytest

import seeds.shop
from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.workpiece import Allowances
from tests.artwork.drawn import cut, rectangle, straight

BAR = straight(rectangle(0, 0, 100, 4))


def minutes(outline=BAR, **changes) -> float:
    return check(cut(outline, **changes), study(outline)).figures.minutes


def test_a_bar_by_hand():
    """96 mm of axis and four corner branches of 2√2, there and back, one pass: see how-it-decides.md.

    Along the axis at 0.6 · 2000 mm/min; into each corner 3.334 mm down at 700 mm/min; one plunge of 5 mm and
    the mean depth. A sharp look at the sum, rounded up to a tenth of a minute.
    """
    figures = check(cut(BAR), study(BAR)).figures
    assert figures.path_length == pytest.approx(96 + 4 * 2 * 2**0.5, abs=1.0)
    depth = (4 - 0.15) / 2 / 0.57735
    axis, corners = 2 * 96 / 1200, 2 * 4 * depth / 700
    assert figures.minutes == pytest.approx(axis + corners + (5 + depth) / 700, abs=0.1)


def test_slower_feeds_and_thinner_passes_take_longer():
    shop = Allowances()
    assert minutes(allowances=replace(shop, feed=500.0)) > minutes()
    assert minutes(allowances=replace(shop, pass_depth=1.0)) > 2 * minutes()


def test_floors_are_cleared_line_by_line():
    square = straight(rectangle(0, 0, 40, 40))
    figures = check(cut(square), study(square)).figures
    assert figures.floor_area / 0.5 < figures.path_length
    assert any("lines 0.50 mm apart" in sentence for sentence in figures.assumptions)


def test_every_figure_it_takes_is_among_the_assumptions():
    told = " ".join(check(cut(BAR), study(BAR)).figures.assumptions)
    for figure in ("2000 mm/min", "700 mm/min", "60%", "4.0 mm", "5 mm"):
        assert figure in told


def test_a_whole_chair_takes_tens_of_minutes():
    """The demo chair with the crest on every slat that carries art, against the trade's 'about 20 minutes for
    the marks, logo and motifs of one chair' (common practice, no source): the same order of magnitude."""
    shop = seeds.shop.load()
    (chair,) = [model for model in shop.models if model.key == "fernhollow-chair"]
    crest = read_artwork((seeds.shop.HERE / "artwork" / "crest.svg").read_bytes(), "crest.svg").outline
    anatomy = study(crest)
    total = 0.0
    for placed in chair.slats:
        if placed.carries_art:
            where = largest_fit(crest, placed.slat, shop.allowances)
            whole = Cut(crest, placed.slat, where, shop.bits[0], shop.allowances)
            total += check(whole, anatomy).figures.minutes
    assert 7 <= total <= 60
