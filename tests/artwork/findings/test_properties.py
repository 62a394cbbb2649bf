"""What must hold for any art: sizes, turns, thickness, stricter shops, merging."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from artwork.axis import study
from artwork.cut import Placement
from artwork.findings import Check, check
from artwork.outline import Outline
from artwork.workpiece import Allowances
from tests.artwork.drawn import board, cut, rectangle, straight
from tests.artwork.findings.random_art import blob, of_area, strokes

seeds = st.integers(0, 10_000)
WIDE = board(width=400.0, length=800.0)


def art(seed: int) -> Outline:
    """Strokes or wavy rings; some 20 units across."""
    random = np.random.default_rng(seed)
    return (strokes, blob)[seed % 2](random)


def scaled(outline: Outline, factor: float) -> Outline:
    matrix, shift = np.eye(2) * factor, np.zeros(2)
    return Outline(tuple(contour.moved(matrix, shift) for contour in outline.contours))


@given(seeds, st.floats(0.05, 20))
@settings(max_examples=25)
def test_scaling_by_k_scales_widths_by_k(seed, factor):
    small, large = study(art(seed)), study(scaled(art(seed), factor))
    near = 4 * max(small.error * factor, large.error)
    for one, other in ((small.lines, large.lines), (small.lands, large.lands)):
        assert other.least.min(initial=99) == pytest.approx(
            one.least.min(initial=99 / factor) * factor, abs=near
        )
        finite = np.isfinite(one.peak)
        assert np.sort(other.peak[np.isfinite(other.peak)]) == pytest.approx(
            np.sort(one.peak[finite]) * factor, abs=near
        )


@given(seeds, st.floats(-60, 60), st.floats(-100, 100), st.booleans())
@settings(max_examples=25)
def test_shifting_and_mirroring_change_nothing(seed, x, y, mirrored):
    outline = art(seed)
    anatomy = study(outline)
    here = check(cut(outline, WIDE, y=400.0), anatomy)
    there = check(cut(outline, WIDE, x=x, y=400.0 + y, mirrored=mirrored), anatomy)
    assert [(f.kind, f.measured, f.required, f.count) for f in there.findings] == [
        (f.kind, f.measured, f.required, f.count) for f in here.findings
    ]
    assert there.figures == replace(here.figures, minutes=there.figures.minutes)


@given(seeds, st.floats(0, 360))
@settings(max_examples=25)
def test_turning_changes_nothing_but_lands_under_the_grain(seed, degrees):
    outline = art(seed)
    anatomy = study(outline)
    alike = replace(Allowances(), land_across=Allowances().land_along)
    here = check(cut(outline, WIDE, y=400.0, allowances=alike), anatomy)
    there = check(cut(outline, WIDE, y=400.0, allowances=alike, rotation_deg=degrees), anatomy)
    assert there.verdict == here.verdict
    assert there.figures.least_line == here.figures.least_line
    assert there.figures.least_land == here.figures.least_land
    assert Counter(f.kind for f in there.findings) == Counter(f.kind for f in here.findings)


@given(seeds, st.floats(0.02, 0.8))
@settings(max_examples=25)
def test_thickening_never_narrows_a_part(seed, offset):
    area = shapely.union_all([shapely.Polygon(c.polyline(0.01)) for c in art(seed).contours[:1]])
    before, after = study(of_area(area)), study(of_area(area.buffer(offset, quad_segs=32)))
    # the buffer's round corners are chords up to a thousandth of the offset inside the true circle
    assert after.lines.peak.max() >= before.lines.peak.max() + offset * 0.999 - 2 * after.error


@given(st.floats(0.8, 4), st.floats(10, 60), st.floats(0.02, 0.8))
@settings(max_examples=25)
def test_thickening_widens_a_stroke_by_what_is_added(width, length, offset):
    line = shapely.LineString([(0, 0), (length, length / 3), (2 * length, 0)])
    before, after = (
        study(of_area(line.buffer(width / 2 + extra, quad_segs=64))).lines for extra in (0, offset)
    )
    assert after.least.min() == pytest.approx(before.least.min() + offset, rel=1e-3)


STRICTER = {
    "sanding": 0.2, "unevenness": 0.3, "least_depth": 0.4, "land_along": 0.5, "land_across": 0.7,
    "depth_limit_share": -0.1, "least_wood": 8.0, "edge_margin": 20.0, "keep_out_margin": 5.0,
    "end_margin": 40.0, "coarsest_pixel": -0.2,
}  # fmt: skip


@given(seeds, st.floats(0.5, 3), st.sampled_from(sorted(STRICTER)), st.floats(0, 1))
def test_a_stricter_shop_never_lets_more_carve(seed, scale, name, share):
    outline = art(seed)
    anatomy = study(outline)
    mild = Allowances(unevenness=0.2, least_depth=0.5, land_along=1.0, land_across=1.5)
    strict = replace(mild, **{name: getattr(mild, name) + share * STRICTER[name]})
    order = ["will-not-carve", "carves-with-remarks", "carves"]
    placement = Placement(0.0, 200.0, scale)
    before = check(replace(cut(outline, allowances=mild), placement=placement), anatomy)
    after = check(replace(cut(outline, allowances=strict), placement=placement), anatomy)
    if before.verdict == "will-not-carve":
        assert after.verdict != "carves"
    if after.verdict == "carves":
        assert before.verdict != "will-not-carve"
    assert order.index(after.verdict) <= order.index(before.verdict) or before.verdict == "will-not-carve"


@given(seeds, seeds)
@settings(max_examples=25)
def test_no_finding_is_lost_when_pieces_are_merged(first, second):
    """Two drawings far apart on one slat have the findings that each has alone."""
    one, other = art(first), art(second)
    shift = np.array([150.0, 0.0])
    both = Outline(one.contours + tuple(each.moved(np.eye(2), shift) for each in other.contours))
    alone = [check(cut(each, WIDE, y=400.0), study(each)) for each in (one, other)]
    merged = check(cut(both, WIDE, y=400.0), study(both))

    def weights(found):
        counts = Counter()
        for finding in found.findings:
            counts[finding.kind] += finding.count
        return counts

    expected = weights(alone[0]) + weights(alone[1])
    for kind, count in expected.items():
        assert weights(merged)[kind] >= count, kind
    assert merged.figures.least_line == pytest.approx(
        min(each.figures.least_line for each in alone), abs=0.0101
    )


@given(seeds)
@settings(max_examples=10)
def test_the_same_cut_is_judged_the_same(seed):
    placed = cut(art(seed))
    first, second = check(placed, study(placed.outline)), check(placed, study(placed.outline))
    assert first.figures == second.figures
    assert [f.message for f in first.findings] == [f.message for f in second.findings]
    assert all(
        shapely.equals_exact(a.place, b.place) for a, b in zip(first.findings, second.findings, strict=True)
    )


@given(seeds, st.floats(0.8, 3), st.floats(6, 26))
@example(755, 3.0, 6.0)  # a point of its loses too much before its lines do
@example(38, 1.421875, 6.0)  # its limit lies within a hundredth's rounding of a line's need
@settings(max_examples=40)
def test_its_lines_and_lands_hold_up_to_the_unevenness_it_states(seed, scale, thickness):
    """The figure is of lines and lands: a point may lose more than half of itself before that."""
    outline = art(seed)
    anatomy = study(outline)
    slat = board(width=400.0, length=800.0, thickness=thickness)
    shop = Allowances(least_depth=0.3, land_along=0.6, land_across=0.6, least_wood=3.0)

    def at(unevenness: float) -> tuple[float | None, set[str]]:
        placed = cut(outline, slat, scale=scale, y=400.0, allowances=replace(shop, unevenness=unevenness))
        found = check(placed, anatomy)
        return found.figures.unevenness_limit, {f.kind for f in found.findings if f.severity == "stops"}

    limit, stops = at(shop.unevenness)
    if limit is None:
        assert stops
    elif not stops:
        assert not at(limit)[1] - {"tip", "land-tip"}


@given(st.floats(1.95, 4.0))
def test_a_bar_holds_up_to_the_unevenness_it_states_and_no_further(width):
    """The stated figure is rounded down to 0.01 mm, requirements up: two hundredths lie between."""
    bar = straight(rectangle(-20, -width / 2, 40, width))
    anatomy = study(bar)

    def at(unevenness: float) -> Check:
        return check(cut(bar, allowances=replace(Allowances(), unevenness=unevenness)), anatomy)

    limit = at(Allowances().unevenness).figures.unevenness_limit
    assert "line" not in {f.kind for f in at(limit).findings}
    assert "line" in {f.kind for f in at(limit + 0.03).findings}
