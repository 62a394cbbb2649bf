"""A version refined by hand: what is put back or changed, and that nothing else is.

Widths are measured by shapely on the flattened outline, which knows nothing of axes; areas by their formulas.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from artwork import versions
from artwork.axis import study
from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings import check
from artwork.findings.wording import at_most
from artwork.outline import Outline
from artwork.repair import AS_PLACED, Budget, repairs
from artwork.repair.places import laid_alike, places_of
from artwork.repair.refining import Refinement, refined
from artwork.repair.splicing import NoSeamError, spliced
from artwork.repair.spots import Sight
from artwork.versions import STRONGER, sturdier_of
from seeds.shop import load

SHOP = load()
SLAT = SHOP.model("fernhollow-chair").slat("back-centre")
K = 0.5522847498  # control points of a quarter of a circle: the usual approximation, within 0.03 % of the radius


def ring(points: list[tuple[float, float]]) -> Contour:
    return Contour(np.array(points, float), np.full((len(points), 2, 2), np.nan))


def bar(left: float, low: float, right: float, high: float) -> Contour:
    return ring([(left, low), (right, low), (right, high), (left, high)])


def disc(x: float, y: float, r: float) -> Contour:
    knots = np.array([(x + r, y), (x, y + r), (x - r, y), (x, y - r)])
    k = K * r
    controls = [
        [(x + r, y + k), (x + k, y + r)], [(x - k, y + r), (x - r, y + k)],
        [(x - r, y - k), (x - k, y - r)], [(x + k, y - r), (x + r, y - k)],
    ]  # fmt: skip
    return Contour(knots, np.array(controls))


def laid(*contours: Contour) -> Cut:
    """In mm, where it was drawn: the middle of the box at (0, 300)."""
    outline = Outline(contours)
    return Cut(outline, SLAT, Placement(0.0, 300.0, 1.0), SHOP.bits[0], SHOP.allowances)


BARS = laid(
    bar(-30, -20, 30, -18.8),
    bar(-30, -5, 30, -3.8),
    bar(-30, 10, 30, 16),
    disc(20, 25, 4),
    bar(-30, 18.2, 0, 22),
)
"""Two bars too thin to carve, a good one with a tight gap above it, a disc."""


@pytest.fixture(scope="module")
def version() -> Cut:
    (found,) = repairs(BARS, study(BARS.outline), (), None, AS_PLACED).repairs
    return found.cut


def width(cut: Cut, x: float, y: float, *, carved: bool = True) -> float:
    """How high what is carved (or left) is at a place, mm."""
    art = cut.placed().region(0.002)
    through = LineString([(x, y - 30), (x, y + 30)])
    shape = through.intersection(art) if carved else through.difference(art)
    return float(next(p.length for p in shapely.get_parts(shape) if p.distance(Point(x, y)) < 1e-6))


def knots(cut: Cut) -> set[tuple[float, float]]:
    return {tuple(knot) for contour in cut.outline.contours for knot in contour.knots.tolist()}


def middle(cut: Cut, number: int) -> tuple[float, float]:
    """Middle of one of the drawn rings, slat mm."""
    points = BARS.outline.contours[number].knots
    x, y = cut.placement.place(points, BARS.centre).mean(axis=0)
    return float(x), float(y)


def test_one_change_goes_back_and_the_others_stay_exactly(version):
    places = places_of(laid_alike(BARS, version), version)
    assert [place.change.kind for place in places].count("thickened") >= 2
    x, y = middle(version, 0)
    back = refined(version, BARS, Refinement("as-drawn", x, y))
    assert width(back.cut, x, y) == pytest.approx(1.2, abs=0.002)  # as drawn
    other = middle(version, 1)
    assert width(back.cut, *other) == pytest.approx(width(version, *other), abs=1e-9)
    assert len(places_of(laid_alike(BARS, back.cut), back.cut)) == len(places) - 1
    edges = shapely.union(
        *(cut.placed().region(0.001).boundary for cut in (version, laid_alike(BARS, version)))
    )
    assert (
        edges.hausdorff_distance(edges.union(back.cut.placed().region(0.001).boundary)) < 1e-6
    )  # nothing new
    assert len(knots(back.cut) & knots(version)) >= len(knots(version)) - 4
    judged = check(back.cut, study(back.cut.outline))
    assert judged.verdict == "will-not-carve"
    assert any(each.place.distance(Point(x, y)) < 31 for each in judged.findings if each.severity == "stops")


@pytest.mark.parametrize("by", [0.05, 0.1, -0.05, 0.4])
def test_a_stroke_gets_wider_by_what_was_asked(version, by):
    x, y = middle(version, 1)
    before = width(version, x, y)
    after = refined(version, BARS, Refinement("thicken", x, y, by))
    assert width(after.cut, x, y) - before == pytest.approx(by, abs=0.012)
    assert after.change.kind == ("thickened" if by > 0 else "thinned")
    far = [middle(version, number) for number in (0, 2, 3)]
    for place in far:
        assert width(after.cut, *place) == pytest.approx(width(version, *place), abs=1e-9)
    assert len(knots(after.cut) & knots(version)) >= len(knots(version)) - 4


def test_what_is_too_thin_gets_as_wide_as_the_check_needs():
    x, y = middle(BARS, 0)
    needed = Sight.of(BARS).stroke_at(x, y).needed
    after = refined(BARS, BARS, Refinement("thicken", x, y))
    assert needed < width(after.cut, x, y) < needed + 0.08
    stops = [f for f in check(after.cut, study(after.cut.outline)).findings if f.severity == "stops"]
    assert all(f.place.distance(Point(x, y)) > 5 for f in stops)
    with pytest.raises(EngineError) as refusal:
        refined(after.cut, BARS, Refinement("thicken", x, y))
    assert refusal.value.code == "wide-enough"


def test_a_gap_is_opened_and_what_lies_beyond_stays(version):
    left, low = BARS.placement.place(np.array([(-15.0, 17.1)]), BARS.centre)[0]
    before = width(BARS, left, low, carved=False)
    assert before == pytest.approx(2.2, abs=1e-6)
    after = refined(BARS, BARS, Refinement("open", left, low, 0.3))
    assert width(after.cut, left, low, carved=False) == pytest.approx(2.5, abs=0.02)
    assert width(after.cut, *middle(BARS, 1)) == pytest.approx(1.2, abs=1e-9)


def test_all_of_it_gets_sturdier_while_it_is_still_the_drawing(version):
    """A board that may be 0.15 mm more uneven asks lines to be 2 · 0.15 · tan 30° wider."""
    strict = replace(BARS.allowances, unevenness=BARS.allowances.unevenness + 0.15)
    after = refined(version, BARS, Refinement("sturdier", 0.0, 0.0, 0.15)).cut
    assert after.allowances == version.allowances
    for cut, verdict in ((version, False), (after, True)):
        judged = check(replace(cut, allowances=strict), study(cut.outline))
        assert (judged.verdict != "will-not-carve") is verdict
    x, y = middle(version, 1)
    assert 0.13 < width(after, x, y) - width(version, x, y) < 0.3
    with pytest.raises(EngineError) as refusal:
        refined(after, BARS, Refinement("sturdier", 0.0, 0.0, 0.1))
    assert refusal.value.code == "wide-enough"


@pytest.mark.parametrize("by", STRONGER)
def test_a_sturdier_version_carves_on_a_rougher_board_and_is_told_from_what_was_drawn(
    version, monkeypatch, by
):
    monkeypatch.setattr(versions, "STRONGER", (by,))
    found = sturdier_of(version, laid_alike(BARS, version), Budget(6.0))
    rough = replace(BARS.allowances, unevenness=BARS.allowances.unevenness + by)
    for cut, allowances, stops in (
        (found.cut, BARS.allowances, False),
        (found.cut, rough, False),
        (version, rough, True),
    ):
        judged = check(replace(cut, allowances=allowances), study(cut.outline))
        assert (judged.verdict == "will-not-carve") is stops
    assert found.likeness.is_enough and found.check.verdict != "will-not-carve"
    thick = next(change for change in found.changes if change.kind == "thickened")
    grown = [width(found.cut, *middle(version, number)) - 1.2 for number in (0, 1)]
    assert thick.amount_mm >= max(grown) / 2 - 0.03
    assert min(grown) > max(width(version, *middle(version, number)) - 1.2 for number in (0, 1)) + 0.8 * by
    assert at_most(by) in found.sentence


def test_where_more_would_no_longer_be_the_drawing_no_sturdier_version_is_made(version):
    """Held against another drawing, the version keeps too little from the start."""
    other = laid(*(disc(x, y, 3.0) for x in range(-28, 29, 8) for y in range(-18, 25, 8)))
    assert sturdier_of(version, laid_alike(other, version), Budget(6.0)) is None


def test_wood_or_a_groove_takes_the_place():
    x, y = middle(BARS, 3)
    out = refined(BARS, BARS, Refinement("leave-out", x, y))
    assert "plain wood" in out.sentence and out.change.amount_mm == pytest.approx(8.0, abs=0.05)
    lost = BARS.placed().region(0.001).area - out.cut.placed().region(0.001).area
    assert lost == pytest.approx(pi * 16, rel=1e-3)
    left, low = BARS.placement.place(np.array([(-15.0, 17.1)]), BARS.centre)[0]
    filled = refined(BARS, BARS, Refinement("fill", left, low))
    assert "carved" in filled.sentence
    gained = filled.cut.placed().region(0.001).area - BARS.placed().region(0.001).area
    assert gained == pytest.approx(30 * 2.2, rel=0.15)  # the gap between the bar and the short one above it


def test_what_is_not_there_is_refused():
    for kind in ("as-drawn", "thicken", "open", "fill", "leave-out"):
        with pytest.raises(EngineError) as refusal:
            refined(BARS, BARS, Refinement(kind, 55.0, 330.0, 0.1))
        assert refusal.value.code == "nothing-there"
    with pytest.raises(EngineError) as refusal:
        refined(BARS, BARS, Refinement("thicken", *middle(BARS, 0), -1.15))
    assert refusal.value.code == "not-possible"


def test_curves_are_taken_apart_at_the_edge_of_a_place_and_joined_again():
    """Half of one disc and half of another that is the same but for a bulge far from the seam."""
    plain = disc(0, 0, 10)
    bulge = replace(plain, knots=plain.knots + np.array([(0, 0), (0, 0), (-1.5, 0), (0, 0)]))
    (whole,) = spliced((bulge,), (plain,), box(-20, -9, -3, 9))
    region = Outline((whole,)).region(0.001)
    assert region.area == pytest.approx(pi * 100, rel=2e-3)
    assert {tuple(knot) for knot in whole.knots.tolist()} >= {(10.0, 0.0), (0.0, 10.0), (0.0, -10.0)}
    with pytest.raises(NoSeamError):
        spliced((disc(0, 0, 12),), (plain,), box(-20, -9, -3, 9))
