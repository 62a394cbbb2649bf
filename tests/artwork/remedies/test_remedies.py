"""Remedies: each, once applied, carves; and the two requirements where nothing helps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box
from shapely.errors import GEOSException

from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.outline import Outline
from artwork.remedies import Remedy, remedies, sizes
from artwork.remedies.reshaping import background
from artwork.workpiece import Allowances, Bit, KeepOut
from tests.artwork.drawn import board, cut, ellipse, rectangle, ring, straight
from tests.published.corpus import MODULES, Icon, mask_of, outline_of

NEED_LINE, NEED_LAND = 1.89, 1.97
"""With the defaults, and a land along the grain."""


def offered(placed: Cut, slats=(), bits=()) -> dict[str, Remedy]:
    """The first remedy of each code."""
    found: dict[str, Remedy] = {}
    for remedy in remedies(placed, study(placed.outline), slats, bits):
        found.setdefault(remedy.code, remedy)
    return found


def lines(width: float, gap: float, number: int = 4, length: float = 30.0) -> Outline:
    """Upright bars side by side: lines and lands of one width each."""
    pitch = width + gap
    return straight(*(rectangle(i * pitch, 0, width, length) for i in range(number)))


class TestSizes:
    def test_the_span_is_that_of_the_requirements(self):
        """Lines of 2 and lands of 3 units: 1.89 / 2 decides; the slat ends it."""
        found = sizes(cut(lines(2.0, 3.0)), study(lines(2.0, 3.0)))
        assert found.carves
        assert found.least == pytest.approx(NEED_LINE / 2)
        assert "carves as it is from" in found.sentence
        assert (
            check(cut(lines(2.0, 3.0), scale=found.least * 1.0001), study(lines(2.0, 3.0))).verdict
            == "carves"
        )
        small = cut(lines(2.0, 3.0), scale=found.least * 0.999)
        assert check(small, study(small.outline)).verdict == "will-not-carve"

    def test_lands_can_decide(self):
        found = sizes(cut(lines(3.0, 1.0)), study(lines(3.0, 1.0)))
        assert found.least == pytest.approx(NEED_LAND)

    def test_pixels_can_end_the_span(self):
        outline = replace(lines(2.0, 3.0), pixel=0.1)
        assert sizes(cut(outline), study(outline)).most == pytest.approx(4.0)

    def test_two_requirements_that_contradict_each_other(self):
        """At the largest size that fits, line and land together have less than both need."""
        narrow = board(width=60.0)
        tight = cut(lines(1.0, 1.0, number=12), slat=narrow, scale=1.0)
        found = sizes(tight, study(tight.outline))
        assert not found.carves
        assert "thicker lines leave too little wood, thinner lines do not last" in found.sentence
        assert "1.89 mm (0.075 in)" in found.sentence
        assert offered(tight) == {}

    def test_a_slat_without_room(self):
        tiny = cut(lines(2.0, 3.0), slat=board(width=20.0))
        assert "no room" in sizes(tiny, study(tiny.outline)).sentence


class TestSameArt:
    def test_larger(self):
        found = offered(cut(lines(1.0, 2.0)))
        larger = found["resize"]
        assert larger.check.verdict == "carves"
        assert larger.change.size_factor == pytest.approx(NEED_LINE, rel=0.006)
        assert "Make it 19.0 mm (3/4 in) wide instead of 10.0 mm (25/64 in)" in larger.sentence

    def test_smaller_where_it_does_not_fit(self):
        wide = cut(lines(40.0, 40.0, number=3, length=100.0), scale=1.2)
        found = offered(wide)["resize"]
        assert found.change.size_factor < 1
        assert found.check.verdict != "will-not-carve"

    def test_moved(self):
        found = offered(cut(lines(3.0, 3.0), x=90.0))
        assert found["move"].change.size_factor == 1
        assert found["move"].check.verdict == "carves"
        assert next(iter(found)) == "move"

    def test_thicker(self):
        thick = offered(cut(lines(1.5, 4.0)))["thicken"]
        assert thick.change.thickening == pytest.approx((NEED_LINE - 1.5) / 2, abs=1e-3)
        assert thick.check.figures.least_line >= NEED_LINE
        assert thick.cut.placement.scale == 1.0

    def test_thinner(self):
        thin = offered(cut(lines(4.0, 1.5)))["thin"]
        assert thin.change.thickening == pytest.approx((1.5 - NEED_LAND) / 2, abs=1e-3)
        assert thin.check.figures.least_land >= NEED_LAND

    def test_both_together_where_neither_will_do(self):
        """Lines of 1 and lands of 2.6 that can grow by 1.3: together 3.6 units need 3.86 mm."""
        slat = board(width=22.05 + 15.4 * 1.3)
        placed = cut(lines(1.0, 2.6, number=5), slat=slat)
        found = offered(placed)
        assert "resize" not in found
        assert "thicken" not in found
        assert found["resize-and-thicken"].check.verdict != "will-not-carve"
        assert found["resize-and-thicken"].change.size_factor > 1
        assert found["resize-and-thicken"].change.thickening > 0

    def test_a_little_smaller_where_thicker_lines_find_no_room(self):
        """Three bars of 1.5 fill the slat: thickened by 0.39 the art must go smaller."""
        art = lines(1.5, 6.0, number=3)
        room = 2 * (9.525 + Allowances().edge_margin) + 16.5
        found = offered(cut(art, slat=board(width=room + 0.1)))
        assert "thicken" not in found
        both = found["resize-and-thicken"]
        assert 0.9 < both.change.size_factor < 1 and both.change.thickening > 0
        assert both.check.verdict != "will-not-carve"
        assert "instead of" in both.sentence and "thicken all its lines by" in both.sentence

    def test_neither_where_neither_line_nor_land_is_short(self):
        """A needle of wood crumbles, though every line is wide enough: no offset cures that."""
        needle = straight(rectangle(0, 0, 60, 40), [(10, 18.5), (50, 20), (10, 21.5)][::-1])
        for remedy in remedies(cut(needle), study(needle)):
            assert "by -" not in remedy.sentence

    def test_thickened_art_keeps_its_corners(self):
        thick = offered(cut(lines(1.5, 4.0)))["thicken"]
        assert [len(contour.knots) for contour in thick.cut.outline.contours] == [4, 4, 4, 4]


class TestLosses:
    def test_what_vanishes_is_left_out_and_the_rest_stays_where_it_was(self):
        outline = straight(rectangle(0, 0, 40, 8), rectangle(60, 3, 1.2, 1.2))
        placed = cut(outline)
        dropped = offered(placed)["drop-parts"]
        assert dropped.change.dropped == 1
        assert dropped.check.verdict == "carves"
        assert dropped.sentence.startswith("Leave out the part that is lost (plain wood takes its place):")
        assert len(dropped.cut.outline.contours) == 1
        before = placed.placed().contours[0].knots
        assert dropped.cut.placed().contours[0].knots == pytest.approx(before)

    def test_left_out_and_resized_where_one_is_not_enough(self):
        outline = straight(rectangle(0, 0, 40, 1.5), rectangle(0, 10, 40, 3), rectangle(60, 3, 0.3, 0.3))
        found = offered(cut(outline))
        assert found["resize"].check.verdict != "will-not-carve"  # a fleck stays one
        outline = straight(
            [(0, 0), (40, 0), (40, 3), (25, 3), (25, 1.5), (15, 1.5), (15, 3), (0, 3)], rectangle(50, 0, 1, 1)
        )
        both = offered(cut(outline, slat=board(width=100.0)))["drop-parts"]
        assert both.change.dropped == 1
        assert both.change.size_factor > 1

    def test_islands_that_break_out_are_carved_as_well(self):
        disc = Outline((ellipse(4, 4, arcs=16), ellipse(0.9, 0.9, arcs=16, hole=True)))
        filled = offered(cut(disc, slat=board(width=34.0)))["drop-parts"]
        assert len(filled.cut.outline.contours) == 1
        assert filled.sentence.startswith(
            "Carve the island of wood that breaks out as well (a groove takes its"
        )

    def test_most_of_the_art_is_never_left_out(self):
        thin = straight(rectangle(0, 0, 50, 1.2), rectangle(0, 10, 50, 1.2), rectangle(60, 0, 3, 3))
        assert "drop-parts" not in offered(cut(thin, slat=board(width=90.0)))


class TestTurned:
    def test_a_quarter_turn_where_the_land_then_runs_with_the_grain(self):
        """Lands of 2.2 across the grain need 2.97; along it 1.97."""
        across = straight(*(rectangle(0, 5.2 * i, 30, 3) for i in range(4)))
        found = offered(cut(across))["turn"]
        assert found.change.turn_deg == 90.0
        assert found.change.size_factor == 1
        assert found.cut.placement.rotation_deg == 90.0
        assert "Turn it by 90° to the left" in found.sentence

    def test_the_least_turn_that_keeps_the_size_where_a_quarter_turn_does_not(self):
        """80 long, with the grain across and room for 80 less a little: at 45° lands need 2.47, at 30° 2.22."""
        along = straight(*(rectangle(0, 5.4 * i, 80, 3) for i in range(3)))
        placed = cut(along, slat=board(width=130.0, grain_deg=0.0), rotation_deg=90.0)
        turns = [each.change for each in remedies(placed, study(along)) if each.code == "turn"]
        assert [(each.turn_deg, each.size_factor == 1) for each in turns] == [(90.0, False), (60.0, True)]


class TestElsewhere:
    def test_another_slat_at_the_present_size_where_it_carves_there(self):
        """With the grain along its lands it carves as it is: no need to make it larger."""
        upright = replace(board(width=160.0), key="upright", name="upright slat")
        placed = cut(lines(3.0, 2.2), slat=board(width=160.0, grain_deg=0.0))
        found = offered(placed, slats=[upright])["other-slat"]
        assert found.change.size_factor == 1
        assert "at its present size, or up to" in found.sentence

    def test_the_nearest_size_there_not_the_largest(self):
        wide = replace(board(width=160.0), key="wide", name="wide slat")
        found = offered(cut(lines(1.0, 2.0), slat=board(width=50.0)), slats=[wide])["other-slat"]
        assert found.change.size_factor == pytest.approx(NEED_LINE, rel=0.01)

    def test_another_slat(self):
        wide = replace(board(width=160.0), key="wide", name="wide slat")
        placed = cut(lines(1.0, 1.5, number=10), slat=board(width=50.0))
        found = offered(placed, slats=[wide, placed.slat])
        assert found["other-slat"].change.slat == "wide"
        assert found["other-slat"].check.verdict == "carves"

    def test_slats_of_one_shape_are_offered_once(self):
        wide = [replace(board(width=160.0), key=f"wide-{i}", name=f"wide slat {i}") for i in range(4)]
        placed = cut(lines(1.0, 1.5, number=10), slat=board(width=50.0))
        found = [
            remedy for remedy in remedies(placed, study(placed.outline), wide) if remedy.code == "other-slat"
        ]
        assert len(found) == 1
        assert "or on any of 3 of the same shape" in found[0].sentence

    def test_another_bit(self):
        """A 30° bit needs 0.15 + 3·tan 15° = 0.96 mm."""
        fine = Bit("v30", angle_deg=30.0)
        found = offered(cut(lines(1.2, 3.0), slat=board(width=40.0)), bits=[fine])
        assert found["other-bit"].change.bit == "v30"
        assert found["other-bit"].check.verdict == "carves"


class TestFloors:
    def test_choices_for_art_that_is_too_wide(self):
        wide = cut(straight(rectangle(0, 0, 30, 30)))
        found = offered(wide)
        assert set(found) == {"outline-only", "carve-background"}
        assert found["outline-only"].check.figures.floor_area == 0
        assert found["outline-only"].check.figures.least_line >= NEED_LINE
        assert found["carve-background"].check.verdict == "carves"

    def test_a_little_smaller_without_a_floor_comes_last(self):
        """The bit reaches 9.92 at its deepest; a square of 12 would keep 83 % of its size, one of 30 a third."""
        found = list(offered(cut(straight(rectangle(0, 0, 12, 12)))))
        assert found[-1] == "no-floor"

    def test_a_wider_bit_reaches_everywhere(self):
        broad = Bit("broad", angle_deg=90.0, diameter=40.0, height=25.0)
        found = offered(cut(straight(rectangle(0, 0, 30, 12))), bits=[broad])
        assert found["other-bit"].check.figures.floor_area == 0

    def test_the_background_leaves_the_art_standing(self):
        ground = offered(cut(straight(rectangle(0, 0, 30, 30))))["carve-background"]
        placed = ground.cut.placed().region()
        assert not placed.contains(Point(0, 200))
        assert placed.contains(Point(18, 200))
        assert placed.area == pytest.approx(42 * 42 - 30 * 30)


class TestWhole:
    def test_nothing_is_offered_for_what_carves(self):
        assert offered(cut(lines(3.0, 3.0))) == {}

    @pytest.mark.parametrize("seed", range(6))
    def test_every_remedy_carves_once_applied(self, seed):
        """Judged anew, from the proposed cut alone."""
        random = np.random.default_rng(seed)
        outline = lines(*random.uniform(0.6, 3, 2), number=int(random.integers(2, 9)))
        slat = board(width=random.uniform(50, 160), keep_outs=(KeepOut(box(-5, 0, 5, 20), "joint"),))
        other = replace(board(width=200.0), key="other")
        placed = cut(outline, slat=slat, scale=random.uniform(0.4, 1.5))
        for remedy in remedies(placed, study(outline), [other], [Bit("v30", 30.0), Bit("v90", 90.0)]):
            fresh = check(remedy.cut, study(remedy.cut.outline))
            assert fresh.verdict == remedy.check.verdict != "will-not-carve"
            assert fresh.figures == remedy.check.figures

    def test_nothing_is_offered_where_the_slat_is_too_thin_for_any_line(self):
        thin = cut(lines(2.0, 3.0), slat=board(thickness=3.0))
        assert offered(thin) == {}
        assert "cannot be carved deep enough" in sizes(thin, study(thin.outline)).sentence

    def test_lines_and_lands_of_no_width_at_all_are_judged_without_fuss(self):
        """Two wedges that touch in a point: where they meet, line and land have no width."""
        touching = straight([(0, 0), (20, -8), (20, 8)], [(0, 0), (-20, 8), (-20, -8)])
        placed = cut(touching, scale=0.5)
        assert check(placed, study(touching)).verdict != "carves"
        sizes(placed, study(touching))
        offered(placed)

    def test_art_from_a_picture(self):
        outline = Outline((ring(rectangle(0, 0, 400, 12)), ring(rectangle(0, 60, 400, 30))), pixel=1.0)
        found = offered(cut(outline, scale=0.12, allowances=Allowances()))
        assert found["thicken"].cut.outline.pixel == 1.0
        assert found["thicken"].check.verdict != "will-not-carve"


class TestProposalsThatFail:
    def test_one_is_left_out_and_told_and_the_others_are_given(self, monkeypatch):
        """GEOS gives up on some geometry: that proposal is not worth the order."""
        placed = cut(straight(rectangle(0, 0, 60, 60)))
        before = offered(placed)
        assert {"outline-only", "carve-background"} <= set(before)

        def fail(*_asked: object) -> None:
            raise GEOSException("TopologyException: side location conflict")

        monkeypatch.setattr("artwork.remedies.search.outline_only", fail)
        failed: list[tuple[str, str]] = []
        found = remedies(
            placed,
            study(placed.outline),
            failed=lambda name, error: failed.append((name, type(error).__name__)),
        )
        assert failed == [("outline-only", "GEOSException")]
        assert {remedy.code for remedy in found} == set(before) - {"outline-only"}

    def test_too_little_memory_is_no_failure_of_a_proposal(self, monkeypatch):
        def fail(*_asked: object) -> None:
            raise MemoryError

        monkeypatch.setattr("artwork.remedies.search.background", fail)
        placed = cut(straight(rectangle(0, 0, 60, 60)))
        with pytest.raises(MemoryError):
            remedies(placed, study(placed.outline))

    def test_the_ground_around_art_whose_parts_touch(self):
        """npm @tabler/icons (MIT), filled/blender.svg: parts that touch at points; drawn by resvg beside it.

        GEOS left two thirds of such a region out, or gave up on it.
        """
        icon = Icon(MODULES / "@tabler" / "icons" / "icons" / "filled" / "blender.svg", 24.0)
        outline = outline_of(icon)
        drawn = mask_of(icon, 960).mean() * icon.side**2
        assert outline.region().area == pytest.approx(drawn, rel=2e-3)
        left, low, right, high = outline.bounds
        ground = background(outline, study(outline), 1.0)
        panel = (right - left + 2) * (high - low + 2)
        assert ground.region().area == pytest.approx(panel - drawn, rel=4e-3)
        check(cut(ground, scale=5.0), study(ground))
