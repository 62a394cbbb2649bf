"""Each kind of finding: where it is made, what it says, and where it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiLineString, Point, Polygon, box

from artwork import tooling
from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import Check, Finding, check
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, KeepOut
from tests.artwork.drawn import board, cut, ellipse, nothing_lost, rectangle, ring, straight

PLAIN = Allowances()
BIT = Bit("v60")
NEED = 1.89
"""With the defaults a line needs 0.15 + 2·(0.8 + 0.3 + 0.4)·tan 30° = 1.882 mm, given as 1.89."""


def judged(outline: Outline, **changes: object) -> Check:
    placed = cut(outline, **changes)
    return check(placed, study(outline))


def kinds(found: Check) -> set[str]:
    return {finding.kind for finding in found.findings}


def only(found: Check, kind: str) -> Finding:
    (finding,) = [each for each in found.findings if each.kind == kind]
    return finding


def bar(width: float, length: float = 60.0) -> list[tuple[float, float]]:
    return rectangle(-length / 2, -width / 2, length, width)


class TestLines:
    def test_a_wide_line_carves(self):
        found = judged(straight(bar(3.0)))
        assert found.verdict == "carves"
        assert found.findings == ()
        assert found.figures.least_line == 3.0
        assert found.figures.least_line_required == NEED

    def test_a_thin_line_stops_with_its_place_length_and_depths(self):
        """A bar of 4 mm that narrows to 1.5 mm over 20 mm of its length."""
        necked = straight(
            [(-40, -2), (-10, -2), (-10, -0.75), (10, -0.75), (10, -2), (40, -2),
             (40, 2), (10, 2), (10, 0.75), (-10, 0.75), (-10, 2), (-40, 2)]
        )  # fmt: skip
        found = judged(necked)
        line = only(found, "line")
        assert found.verdict == "will-not-carve"
        assert (line.severity, line.measured, line.required) == ("stops", 1.5, NEED)
        assert line.nominal == 1.16  # (1.5 − 0.15)/2 · cot 30° = 1.169
        assert line.worst == 0.46  # less 0.3 of sanding and 0.4 of unevenness
        assert line.length == pytest.approx(20, abs=1.5)
        assert isinstance(line.place, MultiLineString)
        assert line.place.distance(Point(0, 200)) < 1e-9
        assert "1.50 mm (0.059 in)" in line.message
        assert "1.89 mm (0.075 in)" in line.message

    @pytest.mark.parametrize(("width", "carves"), [(1.90, True), (1.89, True), (1.88, False)])
    def test_the_requirement_is_sharp(self, width, carves):
        long = straight(bar(width, 50.0), rectangle(-25, 10, 50, 20))
        assert ("line" not in kinds(judged(long))) == carves

    def test_thin_stretches_of_one_stroke_are_told_together(self):
        """A stroke whose width swings about the requirement, between ends that are thick."""
        x = np.linspace(-30, 30, 241)
        half = 0.93 + 0.03 * np.sin(x) + 2.5 * np.clip(np.abs(x) - 25, 0, None)
        wavy = straight([*zip(x, -half, strict=True), *zip(x[::-1], half[::-1], strict=True)])
        assert len([f for f in judged(wavy).findings if f.kind == "line"]) == 1

    def test_two_thin_places_far_apart_are_two_findings(self):
        dumbbells = [
            (-40, -3), (-30, -3), (-30, -0.8), (-20, -0.8), (-20, -3),
            (20, -3), (20, -0.7), (30, -0.7), (30, -3), (40, -3),
            (40, 3), (30, 3), (30, 0.7), (20, 0.7), (20, 3),
            (-20, 3), (-20, 0.8), (-30, 0.8), (-30, 3), (-40, 3),
        ]  # fmt: skip
        found = [f for f in judged(straight(dumbbells)).findings if f.kind == "line"]
        assert [f.measured for f in found] == [1.4, 1.6]

    def test_square_corners_and_round_ends_are_not_thin_lines(self):
        assert judged(straight(bar(4.0))).findings == ()
        slot = Outline((ellipse(20, 4, arcs=16),))
        assert judged(slot).verdict == "carves"

    def test_a_taper_is_a_tip_with_the_length_that_is_lost(self):
        """A wedge of 40 mm to a width of 8: it is 1.89 wide at 9.45 mm from its point."""
        found = judged(straight([(-20, 0), (20, -4), (20, 4)]))
        tip = only(found, "tip")
        assert found.verdict == "carves-with-remarks"
        assert tip.severity == "warns"
        assert tip.length == pytest.approx(9.45, abs=0.15)
        assert found.figures.tips == 1
        # the wedge is as wide as the circle where its sides and its end meet: nothing about its point counts
        assert found.figures.least_line == pytest.approx(7.2, abs=0.1)

    def test_parts_that_vanish_are_counted_and_shown(self):
        dots = straight(
            rectangle(-20, -10, 40, 8), rectangle(-15, 5, 0.95, 0.95), rectangle(0, 5, 0.95, 0.95)
        )
        found = judged(dots)
        gone = only(found, "vanishing")
        assert (gone.severity, gone.count, gone.measured) == ("stops", 2, 0.95)
        assert found.figures.vanishing == 2
        assert gone.place.area == pytest.approx(2 * 0.95**2)

    def test_what_is_left_too_shallow_is_not_said_to_vanish(self):
        """A line of 1.80 keeps (1.80 − 0.15)/1.1547 − 0.7 = 0.729 mm at worst; 0.8 is wanted."""
        found = judged(straight(bar(1.8, 50.0), rectangle(-25, 10, 50, 8)))
        line = only(found, "line")
        assert (line.severity, line.worst) == ("stops", 0.72)
        assert "0.72 mm (0.028 in) deep at worst, we want 0.80 mm" in line.message
        assert "vanish" not in found.sentence + line.message
        assert found.figures.vanishing == 0

    def test_dust_is_no_reason_to_stop(self):
        dusty = straight(rectangle(-20, -10, 40, 8), rectangle(-15, 5, 0.4, 0.4), rectangle(3, 5, 0.3, 0.5))
        found = judged(dusty)
        assert found.verdict == "carves-with-remarks"
        assert only(found, "fleck").count == 2
        assert found.figures.least_line == 8.0

    def test_a_burr_is_told_apart_from_a_thin_line(self):
        """A spike 0.4 long and 0.2 wide on the side of a bar, and one 4 long."""

        def spiked(length):
            side = [(0.1, 4), (0.1, 4 + length), (-0.1, 4 + length), (-0.1, 4)]
            return straight([(-20, -4), (20, -4), (20, 4), *side, (-20, 4)])

        assert kinds(judged(spiked(0.4))) == set()
        assert "line" in kinds(judged(spiked(4.0)))

    def test_made_up_sanding_needs_thinner_lines_and_thicker_lands(self):
        made_up = replace(PLAIN, sanding_made_up=True)
        plain, better = judged(straight(bar(3.0))), judged(straight(bar(3.0)), allowances=made_up)
        saved = 2 * 0.3 * tooling.slope(BIT)
        assert plain.figures.least_line_required - better.figures.least_line_required == pytest.approx(
            saved, abs=0.011
        )
        assert tooling.land_loss(BIT, made_up) > tooling.land_loss(BIT, PLAIN)


class TestLands:
    @pytest.mark.parametrize(
        ("grain", "required"), [(90.0, 1.97), (0.0, 2.97), (45.0, 2.47)]
    )  # 1.5 along, 2.5 across, 2.0 between, and 2·0.4·tan 30° that a high board takes
    def test_the_requirement_follows_the_grain(self, grain, required):
        """Two upright bars: the land between them runs along y."""
        pair = straight(rectangle(-7.5, -20, 6, 40), rectangle(0, -20, 6, 40))
        found = judged(pair, slat=board(grain_deg=grain))
        land = [f for f in found.findings if f.kind == "land"]
        assert bool(land) == (required > 1.5)
        assert found.figures.least_land == 1.5
        assert found.figures.least_land_required == required
        assert land[0].worst == 1.03  # 1.5 − 0.462

    def test_turning_the_art_turns_its_lands(self):
        pair = straight(rectangle(-8.25, -20, 6, 40), rectangle(0, -20, 6, 40))
        assert judged(pair).verdict == "carves"  # 2.25 mm along the grain
        assert judged(pair, rotation_deg=90).verdict == "will-not-carve"
        assert judged(pair, rotation_deg=180, mirrored=True).verdict == "carves"

    def test_a_counter_breaks_out(self):
        letter = Outline((ellipse(10, 10, arcs=16), ellipse(1.2, 1.2, arcs=16, hole=True)))
        found = judged(letter)
        counter = only(found, "counter")
        assert counter.severity == "stops"
        assert counter.measured == pytest.approx(2.4, abs=0.011)
        assert counter.required == 2.97
        assert counter.place.area == pytest.approx(np.pi * 1.2**2, rel=0.01)

    def test_a_pinhole_is_no_counter(self):
        found = judged(Outline((ellipse(10, 10, arcs=16), ellipse(0.3, 0.3, arcs=16, hole=True, x=5.0))))
        assert "counter" not in kinds(found)
        assert only(found, "fleck").count == 1

    def test_a_sliver_between_two_strokes_crumbles_at_its_point(self):
        """A V of two strokes: the wood inside it ends in a point."""
        vee = straight([(0, 0), (13, 40), (5, 40), (0, 14), (-5, 40), (-13, 40)])
        tip = only(judged(vee), "land-tip")
        assert tip.severity == "warns"
        assert tip.length == pytest.approx(1.97 / 2 / np.sin(np.arctan(5 / 26)), abs=0.02)

    def test_hair_cracks_that_are_thin_all_along_are_judged(self):
        cracks = [rectangle(x, -1, 0.06, 3.0, hole=True) for x in (-12, 0, 12)]
        found = judged(straight(rectangle(-25, -15, 50, 30), *cracks, rectangle(-25, 20, 50, 1.2)))
        assert [each.count for each in found.findings if each.kind == "land-tip"] == [3]

    def test_art_without_lands_has_none(self):
        figures = judged(straight(bar(4.0))).figures
        assert figures.least_land is None


class TestDepth:
    def test_a_junction_is_deeper_than_its_arms(self):
        cross = straight([(-20, -3), (-3, -3), (-3, -20), (3, -20), (3, -3), (20, -3),
                          (20, 3), (3, 3), (3, 20), (-3, 20), (-3, 3), (-20, 3)])  # fmt: skip
        sharp = Bit("sharp", tip_flat=0.0)
        arms = judged(straight(bar(6.0)), bit=sharp).figures.depth
        assert judged(cross, bit=sharp).figures.depth == pytest.approx(arms * np.sqrt(2), rel=0.002)

    def test_figures_of_the_deepest_cut(self):
        figures = judged(straight(bar(6.0)), bit=Bit("sharp", tip_flat=0.0)).figures
        assert figures.depth == 5.2  # 3 · cot 30° = 5.196
        assert figures.deepest_cut == 5.6  # 0.4 deeper on a high board
        assert figures.wood_left == 19.8
        assert figures.depth_limit == 8.46

    def test_wide_art_gets_a_floor_with_its_area(self):
        """The bit reaches 9.926 at 8.4667 deep, so a square of 20 keeps a floor of 10.074²."""
        found = judged(straight(rectangle(-10, -10, 20, 20)))
        reach = tooling.groove_width(25.4 / 3, BIT)
        assert found.figures.floor_area == pytest.approx((20 - reach) ** 2, rel=0.001)
        assert found.verdict == "carves"  # a flat bottom is no risk, and the picture shows it

    def test_each_limit_can_be_the_one(self):
        limit = tooling.depth_limit
        generous = replace(PLAIN, depth_limit_share=1.0, least_wood=0.0)
        deep = Bit("deep", diameter=50, height=50)
        assert limit(board(thickness=18), deep, PLAIN) == pytest.approx(6.0)
        assert limit(board(), BIT, generous) == pytest.approx((12.7 - 0.15) / 2 / tooling.slope(BIT) - 0.4)
        assert limit(board(), replace(deep, height=5), generous) == pytest.approx(4.6)
        assert limit(board(), deep, replace(generous, least_wood=20)) == pytest.approx(5.0)
        made_up = replace(PLAIN, sanding_made_up=True)
        assert limit(board(thickness=18), deep, made_up) == pytest.approx(5.7)

    def test_a_slat_too_thin_for_any_line(self):
        found = judged(
            straight(bar(5.0)), slat=board(thickness=4.0), allowances=replace(PLAIN, least_wood=2.0)
        )
        assert found.verdict == "will-not-carve"
        assert "depth" in kinds(found)
        assert "too thin" in found.sentence

    def test_a_screw_below_the_face_limits_the_depth(self):
        screw = KeepOut(Point(0, 200).buffer(3), "screw from behind", free_depth=4.0)
        found = judged(straight(bar(6.0)), slat=board(keep_outs=(screw,)))
        assert "hidden" in kinds(found)
        assert judged(straight(bar(3.0)), slat=board(keep_outs=(screw,))).verdict == "carves"


class TestEdges:
    def test_off_the_slat(self):
        off = only(judged(straight(bar(6.0)), x=80.0), "off-slat")
        assert off.severity == "stops"
        assert off.place.area == pytest.approx(10 * 6)

    def test_in_the_round_over_and_in_its_margin(self):
        assert "edge-margin" in kinds(judged(straight(bar(6.0)), x=60.0))  # 10 mm from the edge
        found = judged(straight(bar(6.0)), x=64.0)  # 6 mm from the edge
        assert [f.severity for f in found.findings if f.kind == "round-over"] == ["warns"]
        assert judged(straight(bar(6.0)), x=58.9).findings == ()

    def test_a_line_that_the_round_over_takes(self):
        upright = straight(rectangle(-1.2, -20, 2.4, 40))
        assert judged(upright).verdict == "carves"
        found = judged(upright, x=-95.0)
        assert {f.kind for f in found.findings if f.severity == "stops"} == {
            "round-over"
        } or "vanishing" in kinds(found)
        assert found.verdict == "will-not-carve"

    def test_a_point_that_ends_where_no_line_can_survive(self):
        """A wedge that runs out over the edge's foot, on a slat whose depth limit the rounding exceeds."""
        wedge = straight([(-20, 0), (20, -6), (20, 6)])
        found = judged(wedge, slat=board(thickness=9.0), x=-79.0, allowances=replace(PLAIN, least_wood=2.0))
        assert "there no line can survive" in " ".join(f.message for f in found.findings)

    def test_the_mills_own_edge_counts_where_it_is_the_larger(self):
        slat = board(round_over=0.0, mill_radius=12.0)
        found = only(judged(straight(bar(6.0)), slat=slat, x=62.0), "round-over")
        assert "board's own rounded edge" in found.message

    def test_near_an_end(self):
        found = only(judged(straight(bar(6.0)), y=20.0), "end-margin")
        assert (found.measured, found.required) == (17.0, 25.0)

    def test_near_a_screw(self):
        hole = KeepOut(Point(0, 225).buffer(4.0), "screw hole")
        found = only(judged(straight(bar(6.0)), slat=board(keep_outs=(hole,))), "keep-out")
        assert found.severity == "stops"
        assert found.measured == pytest.approx(25 - 4 - 3, abs=0.03)
        assert "screw hole" in found.message

    def test_wood_between_art_and_a_square_edge(self):
        bare = replace(PLAIN, edge_margin=0.0)
        found = judged(straight(bar(6.0)), slat=board(round_over=0.0), allowances=bare, x=69.0)
        assert only(found, "edge-land").measured == 1.0

    def test_a_tapered_slat_with_a_curved_top(self):
        angles = np.linspace(0, np.pi, 60)
        top = np.stack([40 * np.cos(angles), 300 + 20 * np.sin(angles)], axis=1)
        slat = board(outline=Polygon([(-60, 0), (60, 0), *top]))
        assert judged(straight(bar(6.0)), slat=slat, y=150.0).verdict == "carves"
        assert "edge-margin" in kinds(judged(straight(bar(6.0)), slat=slat, y=285.0)) | {"edge-margin"}
        assert judged(straight(bar(6.0)), slat=slat, y=312.0).findings != ()

    def test_a_concave_edge_counts_as_well(self):
        waisted = board(outline=box(-50, 0, 50, 400).difference(Point(80, 200).buffer(50, quad_segs=64)))
        found = judged(straight(rectangle(-1.5, -30, 3.0, 60)), slat=waisted, x=25.0)
        assert "round-over" in kinds(found)


class TestResolution:
    def picture(self, width: float, pixel: float) -> Outline:
        return Outline((ring(bar(width)),), pixel=pixel)

    def test_a_coarse_picture(self):
        found = only(judged(self.picture(12.0, 1.0)), "resolution")
        assert found.severity == "warns"
        assert "at least 150 pixels" in found.cure  # 60 mm at 0.4

    def test_a_picture_coarser_than_what_its_lines_have_to_spare(self):
        found = only(judged(self.picture(2.1, 0.3)), "resolution")
        assert "to spare" in found.message
        assert "resolution" not in kinds(judged(self.picture(2.6, 0.3)))

    def test_drawings_have_no_pixels(self):
        assert judged(straight(bar(2.0))).figures.pixel is None


class TestWhole:
    def test_sentence_names_the_most_basic_reason_first(self):
        found = judged(straight(bar(1.0), rectangle(60, -3, 60, 6)), x=60.0)
        assert found.sentence.startswith("This will not carve well as it is: part of it lies beyond the edge")

    def test_unevenness_up_to_which_it_passes(self):
        found = judged(straight(bar(3.0)))
        limit = found.figures.unevenness_limit
        assert limit == pytest.approx(0.4 + (3.0 - NEED) / 2 / tooling.slope(BIT), abs=0.011)
        worse = replace(PLAIN, unevenness=limit)
        assert judged(straight(bar(3.0)), allowances=worse).verdict == "carves"
        worse = replace(PLAIN, unevenness=limit + 0.02)
        assert judged(straight(bar(3.0)), allowances=worse).verdict == "will-not-carve"

    def test_sensitivity_in_a_sentence(self):
        assert "hold up to 1.36 mm (0.053 in)" in judged(straight(bar(3.0))).figures.sensitivity
        assert (
            "even within 0.32 mm" in judged(straight(bar(1.8), rectangle(-30, 9, 60, 8))).figures.sensitivity
        )
        assert "not hold even" in judged(straight(bar(0.5), rectangle(-30, 9, 60, 8))).figures.sensitivity

    def test_what_each_allowance_costs(self):
        costs = judged(straight(bar(3.0))).figures.line_costs
        assert sum(cost.width for cost in costs) == pytest.approx(1.882, abs=5e-4)
        assert {cost.name: round(cost.width, 3) for cost in costs}["uneven board"] == 0.462

    def test_stops_come_first(self):
        mixed = judged(straight(bar(1.0), [(30, 20), (-10, 18), (-10, 22)]))
        severities = [finding.severity for finding in mixed.findings]
        assert severities == sorted(severities)

    def test_size_as_placed(self):
        figures = judged(straight(bar(6.0)), scale=0.5, rotation_deg=90).figures
        assert (figures.width, figures.height) == (3.0, 30.0)

    def test_a_perfect_world_has_nothing_to_find(self):
        assert (
            judged(straight(bar(0.4)), allowances=nothing_lost(), bit=replace(BIT, tip_flat=0.0)).findings
            == ()
        )

    def test_nothing_placed_is_changed_by_judging_it(self):
        placed: Cut = cut(straight(bar(3.0)))
        before = placed.outline.contours[0].knots.copy()
        check(placed, study(placed.outline))
        assert (placed.outline.contours[0].knots == before).all()
