"""Repair: what is offered carves, keeps the drawing, and leaves alone what needs no change."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from artwork.axis import study
from artwork.curves import Contour
from artwork.cut import Cut
from artwork.findings import check
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import typeface
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.repair import OTHERWISE, Answer, Budget, Repair, mending, much_larger_turned, repairs
from artwork.repair.clock import Clock
from artwork.repair.state import Art, looked_at
from artwork.workpiece import Bit
from seeds.shop import load
from tests.artwork.drawn import board, cut, ellipse, rectangle, straight
from tests.judging import judge

NEED_LINE = 1.89
"""Least line with the defaults: 0.15 + 2 (0.8 + 0.3 + 0.4) tan 30°, rounded up."""
SHOP = load()


def answer(placed: Cut, bits=(), budget: Budget | None = None) -> Answer:
    return repairs(placed, study(placed.outline), bits, budget)


def only(placed: Cut) -> Repair:
    """The repair that leaves the art where it is."""
    found = [each for each in answer(placed).repairs if each.way == "as-placed"]
    assert len(found) == 1
    return found[0]


def thin_frame() -> Outline:
    """A frame 0.9 wide, and far from it a bar that carves."""
    frame = [rectangle(-40, -20, 80, 40), rectangle(-39.1, -19.1, 78.2, 38.2, hole=True)]
    return straight(*frame, rectangle(-15, -4, 30, 8))


def word(text: str, face: str = "lato-regular") -> Cut:
    outline = set_lines([text], typeface(face)).outline
    slat = SHOP.model("fernhollow-chair").slat("back-centre")
    return Cut(outline, slat, largest_fit(outline, slat, SHOP.allowances), SHOP.bits[0], SHOP.allowances)


class TestWhatIsOffered:
    def test_a_thin_frame_is_thickened_to_what_a_line_needs_and_no_more(self):
        repair = only(cut(thin_frame()))
        assert repair.check.verdict != "will-not-carve"
        assert NEED_LINE <= repair.check.figures.least_line < NEED_LINE + 0.15
        assert {change.kind for change in repair.changes} == {"thickened"}
        assert "thickened by up to" in repair.sentence

    def test_straight_lines_stay_straight_and_nodes_stay(self):
        repair = only(cut(thin_frame()))
        assert repair.cut.outline.nodes == thin_frame().nodes
        assert all(contour.straight.all() for contour in repair.cut.outline.contours)
        for contour in repair.cut.outline.contours:  # and upright: no side leans by 0.05 over its length
            way = np.roll(contour.knots, -1, axis=0) - contour.knots
            assert np.abs(way).min(axis=1).max() < 0.05

    def test_what_needs_no_change_keeps_its_exact_curves(self):
        outline = Outline((*thin_frame().contours[:2], ellipse(9.0, 6.0)))
        repair = only(cut(outline))
        kept = [each for each in repair.cut.outline.contours if not each.straight.all()]
        assert len(kept) == 1
        assert np.array_equal(kept[0].knots, outline.contours[2].knots)
        assert np.array_equal(kept[0].controls, outline.contours[2].controls)

    def test_both_walls_of_a_gap_give_way_alike(self):
        """Two equal bars, the gap short by 0.8: by symmetry each wall goes back by half."""
        outline = straight(rectangle(-10.6, 0, 10, 40), rectangle(0.6, 0, 10, 40))
        repair = only(cut(outline))
        inner = sorted(np.concatenate([each.knots[:, 0] for each in repair.cut.outline.contours]))[2:6]
        assert inner[:2] == pytest.approx([-x for x in inner[2:][::-1]], abs=0.02)
        assert inner[2] - inner[1] >= repair.check.figures.least_land_required

    def test_a_stroke_between_two_tight_gaps_keeps_its_width_and_its_place(self):
        bars = [rectangle(x, 0, w, 40) for x, w in ((-14.0, 12), (-1.0, 2.0), (2.0, 12))]
        repair = only(cut(straight(*bars)))
        middle = min(repair.cut.outline.contours, key=lambda each: np.abs(each.knots[:, 0]).max())
        assert np.ptp(middle.knots[:, 0]) >= NEED_LINE
        assert abs(middle.knots[:, 0].mean()) < 0.1

    @pytest.mark.parametrize("text", ["Heron Lake", "Juniper"])
    def test_words_stay_words(self, text):
        found = answer(word(text), SHOP.bits)
        assert found.repairs
        for repair in found.repairs:
            assert repair.likeness.letters_kept
            assert repair.likeness.least >= 0.9
            assert check(repair.cut, study(repair.cut.outline)).verdict != "will-not-carve"

    def test_the_independent_judge_finds_nothing_lost(self):
        """Fields of distances on a fine grid, which know nothing of the engine."""
        outline = straight(rectangle(0, 0, 1.2, 9), rectangle(2.8, 0, 4, 9))
        placed = cut(outline, board(width=44.0, length=80.0))
        assert not judge(placed).whole
        assert judge(only(placed).cut).whole

    def test_a_point_too_thin_to_be_seen_becomes_a_bar(self):
        """A wedge 12 long and 1.2 at its root, beside bars that carve: its tip cannot part, cut off square it can."""
        wedges = [[(x, 20.0), (x + 0.5, 8.0), (x + 1.0, 20.0)] for x in (-40.0, -13.0, 14.0, 40.0)]
        found = only(cut(straight(rectangle(-60, -20, 120, 12), *wedges)))
        assert found.likeness.least > 0.99
        parts = sorted(found.cut.placed().region(0.01).geoms, key=lambda part: part.area)[:4]
        for part in parts:
            left, low, right, high = part.bounds
            assert high - low > 11 and right - left >= NEED_LINE - 0.01

    def test_no_edge_is_moved_that_could_stay(self):
        """Putting any one moved ring back where it was drawn makes the cut stop again."""
        outline = straight(rectangle(0, 0, 1.2, 30), rectangle(3.0, 0, 4, 30), rectangle(8.9, 0, 12, 30))
        placed = cut(outline)
        repaired = only(placed).cut
        moved = 0
        for number, (now, drawn) in enumerate(zip(repaired.outline.contours, outline.contours, strict=True)):
            if np.array_equal(now.knots, drawn.knots):
                continue
            moved += 1
            contours = [*repaired.outline.contours]
            contours[number] = drawn
            left, low, right, high = Outline(tuple(contours)).bounds
            where = repaired.placement.place(
                np.array([(left + right) / 2, (low + high) / 2]), repaired.centre
            )
            back = replace(
                repaired,
                outline=Outline(tuple(contours)),
                placement=replace(repaired.placement, x=float(where[0]), y=float(where[1])),
            )
            assert check(back, study(back.outline)).verdict == "will-not-carve"
        assert moved

    def test_the_answer_is_the_same_every_time(self):
        first, second = (answer(cut(thin_frame())).repairs for _ in range(2))
        for one, other in zip(first, second, strict=True):
            assert one.sentence == other.sentence
            for a, b in zip(one.cut.outline.contours, other.cut.outline.contours, strict=True):
                assert np.array_equal(a.knots, b.knots)

    def test_a_mirrored_and_turned_placement_is_kept(self):
        placed = cut(thin_frame())
        placed = replace(placed, placement=replace(placed.placement, mirrored=True, rotation_deg=30.0))
        repair = only(placed)
        assert repair.cut.placement.mirrored
        assert repair.cut.placement.rotation_deg == 30.0
        assert check(repair.cut, study(repair.cut.outline)).verdict != "will-not-carve"

    def test_what_carves_needs_no_repair(self):
        found = answer(cut(straight(rectangle(-20, -20, 40, 40))))
        assert found == Answer((), None) or (not found.repairs and found.reason is None)


class TestWhatIsNot:
    def test_hairlines_close_together_are_refused_with_figures_and_ways_out(self):
        lines = [rectangle(i * 0.6, 0, 0.2, 30) for i in range(40)]
        found = answer(cut(straight(*lines), board(width=60.0, length=160.0)))
        assert not found.repairs
        assert "mm" in found.reason.sentence
        assert len(found.reason.helps) >= 2

    def test_one_dot(self):
        found = answer(cut(Outline((ellipse(0.8, 0.8),))))
        assert all(repair.check.verdict != "will-not-carve" for repair in found.repairs)
        assert found.repairs or found.reason.sentence

    def test_a_bit_that_cannot_cut_deep_enough_is_told(self):
        thin = board(thickness=11.4)
        found = answer(cut(thin_frame(), thin))
        assert not found.repairs
        assert "at any width" in found.reason.sentence

    def test_rings_that_touch_themselves(self):
        """A figure of eight whose ring meets itself in one point, and a hairline through it."""
        eight = [(0, 0), (10, 0), (5, 5), (10, 10), (0, 10), (5, 5)]
        found = answer(cut(straight(eight, rectangle(-20, 4.9, 50, 0.2))))
        assert found.repairs or found.reason.sentence

    def test_thousands_of_tiny_parts_have_an_answer(self):
        at = np.stack(np.meshgrid(np.arange(50), np.arange(40)), axis=-1).reshape(-1, 2)
        square = np.array([(0, 0), (0.3, 0), (0.3, 0.3), (0, 0.3)])
        outline = Outline(tuple(Contour(square + place, np.full((4, 2, 2), np.nan)) for place in at))
        placed, anatomy = cut(outline), study(outline)
        found = repairs(placed, anatomy, (), Budget(5.0))
        assert not found.repairs
        assert "part" in found.reason.sentence

    def test_twenty_thousand_parts_have_an_answer_at_once(self):
        at = np.stack(np.meshgrid(np.arange(200), np.arange(100)), axis=-1).reshape(-1, 2)
        square = np.array([(0, 0), (0.3, 0), (0.3, 0.3), (0, 0.3)])
        outline = Outline(tuple(Contour(square + place, np.full((4, 2, 2), np.nan)) for place in at))
        few = Outline(outline.contours[:2000])
        found = repairs(
            cut(outline), study(few), (), Budget(5.0)
        )  # refused by its nodes, before it is studied
        assert not found.repairs and found.enough
        assert "80,000 points" in found.reason.sentence

    @pytest.mark.parametrize("text", ["I", "@"])
    def test_one_letter_on_a_slat_too_small_for_it(self, text):
        outline = set_lines([text], typeface("lato-regular")).outline
        scale = 4.0 / outline.size[1]
        placed = cut(outline, board(width=24.0, length=30.0, round_over=1.0))
        placed = replace(placed, placement=replace(placed.placement, x=0.0, y=15.0, scale=scale))
        found = answer(placed, SHOP.bits, Budget(5.0))
        assert found.repairs or found.reason.sentence
        for repair in found.repairs:
            assert check(repair.cut, study(repair.cut.outline)).verdict != "will-not-carve"

    def test_cancelled_work_ends_with_a_reason(self):
        found = answer(cut(thin_frame()), (), Budget(10.0, cancelled=lambda: True))
        assert not found.repairs
        assert found.reason is not None


class TestWays:
    def test_a_word_along_a_narrow_slat_is_found_before_a_finer_bit_has_taken_the_time(self):
        """Across the slat its letters are 3 mm high, along it four times as large."""
        outline = set_lines(["Kestrel Point"], typeface("lato-bold")).outline
        slat = SHOP.model("fernhollow-chair").slat("back-outer-left")
        placed = Cut(
            outline, slat, largest_fit(outline, slat, SHOP.allowances), SHOP.bits[0], SHOP.allowances
        )
        found = repairs(placed, study(outline), SHOP.bits, Budget(12.0), OTHERWISE).repairs
        assert found[0].way == "turned" and found[0].likeness.letters_kept
        assert found[0].cut.placement.scale > 3 * placed.placement.scale

    def test_a_finer_bit_is_used_where_it_helps_more(self):
        """A word far too small for the 60° bit on its slat; the shop owns a 30° one."""
        placed = word("HARROW LODGE")
        found = answer(placed, (Bit("v30", 30.0, 0.15, 6.35, 11.0),))
        assert found.repairs
        assert all(repair.check.verdict != "will-not-carve" for repair in found.repairs)
        assert len({repair.way for repair in found.repairs}) == len(found.repairs) <= 3


def test_what_the_time_would_not_do_for_is_not_begun(monkeypatch):
    """A look that takes a quarter of the time: the drawing is looked at once, and nothing is moved."""
    looks = []

    class Slow(Clock):
        @property
        def left(self) -> float:
            return 4.0 - len(looks)

    def looked(*asked):
        looks.append(looked_at(*asked))
        return looks[-1]

    monkeypatch.setattr(mending, "looked_at", looked)
    placed = cut(thin_frame())
    assert mending.mend(placed, Art.new(placed.placed().contours), Slow(Budget())) is None
    assert len(looks) == 1


class TestTurned:
    @pytest.mark.parametrize(
        ("width", "height", "larger"),
        [
            pytest.param(60.0, 12.0, True, id="a word across a slat that stands"),
            pytest.param(12.0, 60.0, False, id="a word along it"),
            pytest.param(50.0, 50.0, False, id="a square"),
            pytest.param(2.0, 2.0, False, id="what is small, and could be larger as it lies"),
            pytest.param(8.0, 2.0, True, id="a small word that could be larger, and turned larger still"),
        ],
    )
    def test_what_is_much_larger_turned_is_told_from_its_box(self, width, height, larger):
        assert much_larger_turned(width, height, board(64.0, 300.0)) is larger

    def test_what_other_ways_have_spent_is_not_spent_again(self):
        placed = word("Quillfern")
        spent = Budget(17.0, spent=17.0)
        assert repairs(placed, study(placed.outline), (), spent, OTHERWISE).repairs == ()
