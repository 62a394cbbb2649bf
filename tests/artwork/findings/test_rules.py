"""The rules that once were unsafe or needlessly strict, each with figures worked by hand.

With the defaults a line needs 1.89 mm, a land 1.97 along and 2.97 across the grain. All shares and lengths at
which a rule turns are common practice, no source; they are written in docs/how-it-decides.md.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from artwork import tooling
from artwork.across import Tools, lay_across
from artwork.axis import study
from artwork.curves import Contour
from artwork.cut import Placement
from artwork.findings import Check, check
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit
from tests.artwork.drawn import board, cut, ellipse, rectangle, ring, straight
from tests.artwork.findings.random_art import of_area
from tests.artwork.test_across import BENCH, ROW, SHOP

BIT, SHOP_ALLOWANCES = Bit("v60"), Allowances()


def judged(outline: Outline, **changes: object) -> Check:
    placed = cut(outline, **changes)
    return check(placed, study(outline))


def stopping(found: Check) -> set[str]:
    return {finding.kind for finding in found.findings if finding.severity == "stops"}


def polygon(radius: float, corners: int, start: float) -> Contour:
    """A circle as a polygon of its own area, run clockwise: a hole."""
    angles = start - np.linspace(0, 2 * np.pi, corners, endpoint=False)
    reach = radius * np.sqrt(2 * np.pi / corners / np.sin(2 * np.pi / corners))
    return ring(np.stack([reach * np.cos(angles), reach * np.sin(angles)], axis=1))


drawings = st.one_of(
    st.sampled_from([4, 8, 16]).map(
        lambda arcs: lambda radius: ellipse(radius, radius, hole=True, arcs=arcs)
    ),
    st.tuples(st.integers(90, 400), st.floats(0, 6.3)).map(
        lambda drawn: lambda radius: polygon(radius, *drawn)
    ),
)


@settings(max_examples=30, deadline=None)
@given(drawings, st.floats(0, 360), st.booleans(), st.sampled_from([2.04, 2.5, 2.88, 2.98, 3.3]))
def test_a_round_island_needs_the_same_however_it_is_turned_and_drawn(draw, turn, mirrored, diameter):
    """(2.5 + 0.462): 2.97 and no direction. An island of 2.04 was told to carve at a turn of 170°."""
    letter = Outline((ellipse(9, 9, arcs=16), draw(diameter / 2)))
    stops = stopping(judged(letter, rotation_deg=turn, mirrored=mirrored))
    assert stops == ({"counter"} if diameter < 2.97 * 0.98 else set())


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 180), st.floats(1.6, 3.4))
def test_half_a_turn_and_a_mirror_change_no_verdict(turn, width):
    """Two bars and a bent wall between them: turned by 180° the grain runs the same way."""
    pair = straight(
        rectangle(-4 - width, -9, 4, 18), rectangle(0, -9, 4, 18), rectangle(4 + width, -4, 4, 13)
    )
    here = judged(pair, rotation_deg=turn)
    there = judged(pair, rotation_deg=turn + 180)
    assert here.verdict == there.verdict
    assert [(f.kind, f.severity, f.count) for f in here.findings] == [
        (f.kind, f.severity, f.count) for f in there.findings
    ]
    mirrored = judged(pair, rotation_deg=-turn, mirrored=True)
    assert stopping(mirrored) == stopping(here)


class TestPoints:
    """A wedge of the angle β is narrower than 1.89 over 0.945 / sin(β/2)."""

    def wedge(self, degrees: float, length: float) -> Outline:
        half = length * np.tan(np.radians(degrees / 2))
        return straight([(-length / 2, 0), (length / 2, -half), (length / 2, half)])

    def test_a_spike_that_loses_most_of_itself_stops(self):
        """2.4 wide at its foot and 25 long: 0.945 / sin 2.75° = 19.7 of 25 are lost."""
        spike = straight([(-30, -5), (-20, -5), (-20, -1.2), (5, 0), (-20, 1.2), (-20, 5), (-30, 5)])
        found = judged(spike)
        assert stopping(found) == {"tip"}
        (tip,) = [finding for finding in found.findings if finding.kind == "tip"]
        assert tip.length == pytest.approx(19.7, abs=0.2)
        assert "19.7" in tip.message
        assert "% of its length" in tip.message

    @pytest.mark.parametrize("degrees", [3.0, 4.0, 4.9, 5.1, 6.0, 8.0])
    @pytest.mark.parametrize(("share", "stops"), [(0.20, False), (0.60, True)])
    def test_the_share_decides_and_no_angle(self, degrees, share, stops):
        """Nothing turns between 4° and 6°: only how much of the wedge is lost, and at most 15 mm of more
        than a quarter."""
        lost = 0.945 / np.sin(np.radians(degrees / 2))
        found = judged(self.wedge(degrees, lost / share), slat=board(width=600.0))
        assert bool(stopping(found) & {"tip", "line"}) == stops
        if not stops:
            (tip,) = [finding for finding in found.findings if finding.kind == "tip"]
            assert tip.length == pytest.approx(lost, rel=0.02)

    def test_what_a_v_bit_does_to_every_corner_is_no_remark(self):
        """A point of 40° loses 2.76 mm of 30."""
        assert judged(self.wedge(40.0, 30.0)).verdict == "carves"


class TestEdges:
    @pytest.mark.parametrize(("wood", "stops"), [(1.8, True), (2.6, True), (2.8, False)])
    def test_wood_at_a_square_end_is_short_grain(self, wood, stops):
        """2.5 and half of 0.462: 2.74; at a side of the slat 1.74."""
        bare = replace(SHOP_ALLOWANCES, edge_margin=0.0, end_margin=0.0)
        bar = straight(rectangle(-10, 0, 20, 6))
        found = judged(bar, slat=board(round_over=0.0), y=3.0 + wood, allowances=bare)
        assert stopping(found) == ({"edge-land"} if stops else set())

    def test_a_round_over_that_takes_the_strip_asks_for_none(self):
        bare = replace(SHOP_ALLOWANCES, edge_margin=0.0, end_margin=0.0)
        found = judged(straight(rectangle(-3, -10, 6, 20)), x=-100 + 3 + 1.0, allowances=bare)
        assert "edge-land" not in {finding.kind for finding in found.findings}
        (told,) = [finding for finding in found.findings if finding.kind == "round-over"]
        assert "further in" in told.message

    def test_what_the_round_over_takes_of_a_flank(self):
        """At 1 mm from the edge: d / tan 30° = 0.7 + drop(1 + d) gives d = 1.93 (drop(2.93) = 2.652)."""
        assert tooling.drop(2.93, 9.525) == pytest.approx(2.652, abs=0.001)
        assert 1.933 / np.tan(np.radians(30)) == pytest.approx(0.7 + 2.65, abs=0.005)
        bare = replace(SHOP_ALLOWANCES, edge_margin=0.0)
        found = judged(straight(rectangle(-3, -10, 6, 20)), x=-96.0, allowances=bare)
        assert "shows 1.94 mm" in " ".join(finding.message for finding in found.findings)


class TestNearlyEnough:
    def test_short_by_a_hair_over_a_short_way_is_a_remark(self):
        """A waist of 1.87 (1.1 % short) between discs: over 1.1 mm."""
        x = np.linspace(-10, 10, 401)
        half = 1.87 / 2 + 0.05 * np.abs(x) ** 2
        waist = straight([*zip(x, -half, strict=True), *zip(x[::-1], half[::-1], strict=True)])
        found = judged(waist)
        (line,) = [finding for finding in found.findings if finding.kind == "line"]
        assert line.severity == "warns"
        assert "1.1 % larger" in line.cure

    def test_over_a_long_way_it_stops(self):
        assert stopping(judged(straight(rectangle(-20, -0.935, 40, 1.87), rectangle(-20, 5, 40, 5)))) == {
            "line"
        }

    def test_a_short_neck_of_wood_stands_with_four_fifths(self):
        """Two discs 2.5 apart across the grain: a wall would need 2.97, a neck 0.8 of it."""
        discs = Outline((ellipse(1.3, 1.3, 0, 2.55, arcs=16), ellipse(1.3, 1.3, 0, -2.55, arcs=16)))
        found = judged(discs)
        (neck,) = [finding for finding in found.findings if finding.kind == "land"]
        assert (neck.severity, neck.measured) == ("warns", pytest.approx(2.5, abs=0.011))
        assert "short neck" in neck.message

    def test_a_long_wall_needs_all(self):
        bars = straight(rectangle(-10, 1.25, 20, 6), rectangle(-10, -7.25, 20, 6))
        assert stopping(judged(bars)) == {"land"}


class TestTouching:
    def test_squares_that_overlap_by_a_hair_carve_as_two(self):
        pair = of_area(box(-9.99, -9.99, 0.01, 0.01).union(box(0, 0, 10, 10)))
        found = judged(pair)
        assert stopping(found) == set()
        (told,) = [finding for finding in found.findings if finding.kind == "touching"]
        assert "as two shapes" in told.message

    def test_a_hairline_is_no_contact(self):
        joined = straight(
            [(-20, -5), (-10, -5), (-10, -0.02), (10, -0.02), (10, -5), (20, -5),
             (20, 5), (10, 5), (10, 0.02), (-10, 0.02), (-10, 5), (-20, 5)]
        )  # fmt: skip
        assert stopping(judged(joined)) == {"line"}

    def test_points_that_all_but_touch_are_carved_as_one(self):
        pair = straight([(-12, -6), (-0.01, 0), (-12, 6)], [(12, -6), (12, 6), (0.01, 0)])
        found = judged(pair)
        assert stopping(found) == set()
        assert "as one" in " ".join(
            finding.message for finding in found.findings if finding.kind == "touching"
        )

    @pytest.mark.parametrize("overlap", [1e-4, 0.004, 0.02, 0.1])
    def test_rings_of_a_chain_that_overlap_by_little_are_told_and_do_not_stop(self, overlap):
        """Two discs of 16 that overlap by 0.004 have a waist of 2 · √(8² − 7.998²) = 0.36: each carves by itself."""
        half = np.arccos(1 - overlap / 16)
        bow = np.linspace(half, 2 * np.pi - half, 400)
        left = np.stack([8 * np.cos(bow) - 8 + overlap / 2, 8 * np.sin(bow)], axis=1)
        found = judged(straight(np.concatenate([left, -left])))
        assert stopping(found) == set()
        assert "as two shapes" in " ".join(f.message for f in found.findings if f.kind == "touching")

    @pytest.mark.parametrize(
        "touching",
        [
            [(0, 0), (12, 0), (12, 12), (0, 12)],
            [(0, 0), (12, -12), (24, 0), (12, 12)],
            [(0, -6), (9, -15), (18, -6), (9, 3)],
        ],
    )
    def test_shapes_that_meet_in_exactly_one_point_are_told(self, touching):
        """A corner at a corner, at another that is turned, on a side: each carves, and somebody should know."""
        found = judged(straight([(-12, -12), (0, -12), (0, 0), (-12, 0)], touching))
        assert stopping(found) == set()
        (told,) = [finding for finding in found.findings if finding.kind == "touching"]
        assert told.count == 1

    def test_a_stroke_that_narrows_smoothly_is_no_contact(self):
        """Its waist is no wider than that of two discs, but nothing shows that two shapes meet."""
        along = np.linspace(-20, 20, 200)
        half = 0.4 + 0.02 * along**2
        pinched = straight(
            np.concatenate([np.stack([along, -half], 1), np.stack([along[::-1], half[::-1]], 1)])
        )
        assert "line" in stopping(judged(pinched))

    def test_a_seam_that_nobody_drew_is_carved_as_one_and_told(self):
        """Squares 0.005 apart over 20: a seam. 0.3 apart is wood, and stops."""
        for gap, stops in ((0.005, set()), (0.3, {"land"})):
            found = judged(straight(rectangle(-20, -10, 20, 20), rectangle(gap, -10, 20, 20)))
            assert stopping(found) == stops
            told = [finding.message for finding in found.findings if finding.kind == "touching"]
            assert ["as one" in words for words in told] == ([] if stops else [True])

    def test_wood_that_ends_in_a_point_is_no_seam(self):
        """A slot of 1.2 that ends in a point: as narrow there as a seam, and yet wood that will not stand."""
        slot = straight(
            rectangle(-20, -20, 40, 40), [(-0.6, 15), (0.6, 15), (0.6, -10), (0, -19.99), (-0.6, -10)]
        )
        assert stopping(judged(slot)) & {"land", "counter"}
        open_slot = straight(
            [(-20, -20), (20, -20), (20, 20), (0.6, 20), (0.6, 4), (0, -6), (-0.6, 4), (-0.6, 20), (-20, 20)]
        )
        found = judged(open_slot)
        assert "land" in stopping(found)
        assert not [finding for finding in found.findings if finding.kind == "touching"]


class TestEnds:
    def test_an_end_cut_off_askew_is_measured_to_its_farther_corner(self):
        """Two widths of 1.89 are never missed: 3.78. The stub is 1.6 wide, and its middle line wide enough up to
        √(0.945² − 0.8²) = 0.5 before it: cut off square it loses 0.5 + 2.6, at 45° 0.8 more.
        """
        for reach, stops in ((0.8, {"tip"}), (0.0, set())):
            stub = straight(
                [(-12, -6), (0, -6), (0, -0.8), (2.6 - reach, -0.8), (2.6 + reach, 0.8), (0, 0.8), (0, 6), (-12, 6)]
            )  # fmt: skip
            assert stopping(judged(stub)) == stops


class TestBoards:
    def test_a_flat_board_is_offered_where_it_is_enough(self):
        """With ±0.2 a line needs 1.89 − 2·0.2·tan 30° = 1.66."""
        assert tooling.least_line(BIT, replace(SHOP_ALLOWANCES, unevenness=0.2), 0.0) == pytest.approx(
            1.651, abs=1e-3
        )
        for width, offered in ((1.7, True), (1.6, False)):
            found = judged(straight(rectangle(-20, -width / 2, 40, width), rectangle(-20, 5, 40, 5)))
            (line,) = [finding for finding in found.findings if finding.kind == "line"]
            assert ("flatten or probe the board to ±0.20 mm" in line.cure) == offered

    def test_a_shop_with_one_zero_a_bed_is_offered_the_next_better_way_that_is_enough(self):
        """With ±0.6 a line needs 1.882 + 2·0.2·tan 30° = 2.113, with ±0.4 1.882, with ±0.2 1.651."""
        bed = replace(SHOP_ALLOWANCES, unevenness=tooling.HOLDING["one zero a bed"])
        for width, offered in (
            (1.95, "or set the zero on each board to ±0.40 mm"),
            (1.7, "or flatten or probe the board to ±0.20 mm"),
            (1.6, ""),
        ):
            art = straight(rectangle(-20, -width / 2, 40, width), rectangle(-20, 5, 40, 5))
            (line,) = [each for each in judged(art, allowances=bed).findings if each.kind == "line"]
            ways = [way for way in ("set the zero", "flatten or probe") if way in line.cure]
            assert offered in line.cure and len(ways) == bool(offered)

    def test_what_a_land_needs_is_taken_apart(self):
        parts = tooling.land_costs(BIT, SHOP_ALLOWANCES, 1.0)
        assert [round(part.width, 3) for part in parts] == [1.5, 1.0, 0.462, 0.0]
        assert judged(straight(rectangle(-5, -5, 10, 10))).figures.land_costs == parts


def test_the_width_of_a_fleck_of_wood_is_told_where_there_is_no_other_land():
    """An island of Ø 1.1 is a fleck (no more than half of 2.97); the figure says so."""
    found = judged(Outline((ellipse(9, 9, arcs=16), ellipse(0.55, 0.55, arcs=16, hole=True))))
    assert stopping(found) == set()
    assert found.figures.least_land == pytest.approx(1.1, abs=0.011)


def test_a_picture_ruined_by_gaps_is_accepted_by_name_or_not_at_all():
    """Three bars of letters' size, one of them on a gap: it is a remark of every slice, so that nobody can sign
    for it unasked."""
    tools = Tools(SHOP.bits[0], SHOP.allowances)
    bars = straight(*(rectangle(x, 0, 12, 60) for x in (-60.0, -30.0, 66.0)))
    at = Placement(3.0 + 6.0, 645.0, 1.0)
    across = lay_across(bars, BENCH, ROW, at, tools)
    assert across.slices
    for each in across.slices:
        (told,) = [finding for finding in each.check.findings if finding.kind == "gaps"]
        assert told.severity == "warns"
        assert "part of it loses more than a third" in told.message
        assert each.check.verdict != "carves"
    away = lay_across(bars, BENCH, ["back-centre"], replace(at, x=0.0, scale=0.5), tools)
    assert all(finding.kind != "gaps" for each in away.slices for finding in each.check.findings)
