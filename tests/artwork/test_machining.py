"""Carving time: an estimate whose every assumption is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon

import seeds.shop
from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.findings.depth import judge_depth
from artwork.floors import step_of
from artwork.intake import read_artwork
from artwork.machining import carving_time
from artwork.placing import largest_fit
from artwork.scene import Scene
from artwork.workpiece import Allowances, Bit
from tests.artwork import program_run
from tests.artwork.drawn import cut, rectangle, straight
from tests.published.corpus import glyph

BAR = straight(rectangle(0, 0, 100, 4))


def minutes(outline=BAR, **changes) -> float:
    return check(cut(outline, **changes), study(outline)).figures.minutes


def test_a_bar_by_hand():
    """96 mm of axis and four branches into corners of 2√2: four ends, so three trails; see how-it-decides.md.

    Along the axis at 2000 mm/min; into each corner √(2.83² + 3.33²), half of them downwards at 700 mm/min;
    three times and a twelfth down and up again. What starting and stopping adds is left out.
    """
    figures = check(cut(BAR), study(BAR)).figures
    assert figures.path_length == pytest.approx(96 + 4 * 2 * 2**0.5, abs=1.0)
    depth = (4 - 0.15) / 2 / 0.57735
    way = (96 + 4 * (8 + depth**2) ** 0.5) / 2000 + 2 * depth / 700
    lifts = 3 * 13 / 12 * (5 / 700 + 5 / 5000)
    exact = carving_time(Scene(cut(BAR), study(BAR)), MultiPolygon()).minutes
    assert way + lifts <= exact <= 1.4 * (way + lifts)
    assert exact <= figures.minutes <= exact + 0.1


def test_slower_feeds_and_thinner_passes_take_longer():
    shop = Allowances()
    assert minutes(allowances=replace(shop, feed=500.0)) > minutes()
    assert minutes(allowances=replace(shop, pass_depth=1.0)) > 2 * minutes()


def test_floors_are_cleared_line_by_line():
    square = straight(rectangle(0, 0, 40, 40))
    figures = check(cut(square), study(square)).figures
    assert figures.floor_area / 0.38 < figures.path_length
    assert any("lines 0.38 mm apart" in sentence for sentence in figures.assumptions)


def test_ridges_decide_how_close_the_lines_lie():
    """``t + 2·h·tan φ``: 0.15 and 0.2 give 0.381; half of that height takes longer."""
    shop, square = Allowances(), straight(rectangle(0, 0, 40, 40))
    assert step_of(Bit("v60"), shop) == pytest.approx(0.15 + 0.4 * np.tan(np.radians(30)))
    assert minutes(square, allowances=replace(shop, floor_ridge=0.1)) > 1.3 * minutes(square)


def test_a_flat_bit_clears_what_it_reaches_and_a_change_of_tools_is_counted():
    shop, square = Allowances(), straight(rectangle(0, 0, 100, 100))
    flat = replace(shop, flat_bit=6.0)
    figures = check(cut(square, allowances=flat), study(square)).figures
    assert any("flat bit 6.00 mm across" in sentence for sentence in figures.assumptions)
    assert figures.minutes < minutes(square)
    assert figures.minutes == pytest.approx(
        minutes(square, allowances=replace(flat, tool_change=8.0)) - 5.0, abs=0.11
    )


def test_a_measured_time_scales_the_estimate():
    shop = Allowances()
    scaled = minutes(allowances=replace(shop, pass_depth=0.2, time_scale=1.4))
    assert scaled == pytest.approx(1.4 * minutes(allowances=replace(shop, pass_depth=0.2)), abs=0.15)


@pytest.mark.parametrize(
    "shop",
    [
        Allowances(),
        Allowances(flat_bit=6.0),
        Allowances(last_pass=0.3, pass_depth=2.0),
        Allowances(acceleration=150.0),
    ],
    ids=["usual", "flat bit", "light last pass", "slow to start"],
)
@pytest.mark.parametrize("art", ["bar", "square", "crest", "letter"])
def test_it_is_what_a_program_takes_event_by_event(art, shop):
    """Within 15 % of a program laid out move by move and driven with looked-ahead trapezoid profiles."""
    crest = read_artwork((seeds.shop.HERE / "artwork" / "crest.svg").read_bytes(), "crest.svg").outline
    arts = {
        "bar": (BAR, 1.0), "square": (straight(rectangle(0, 0, 40, 40)), 1.0),
        "crest": (crest, 100 / crest.size[0]), "letter": (glyph("lobster", "B"), 0.05),
    }  # fmt: skip
    outline, scale = arts[art]
    placed = cut(outline, scale=scale, allowances=shop)
    scene = Scene(placed, study(outline))
    floor = judge_depth(scene).floor
    assert carving_time(scene, floor).minutes == pytest.approx(program_run.minutes(placed, floor), rel=0.15)


def test_every_figure_it_takes_is_among_the_assumptions():
    told = " ".join(check(cut(BAR), study(BAR)).figures.assumptions)
    for figure in ("2000 mm/min", "700 mm/min", "400 mm/s²", "4.0 mm", "5 mm"):
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
