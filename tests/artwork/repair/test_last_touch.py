"""The last touch of a repair, rows that are no lettering, and what is shown of all that was found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box
from shapely.affinity import skew

from artwork.axis import study
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import typeface
from artwork.repair import Budget, foremost, repairs
from artwork.repair.clock import Clock
from artwork.repair.edits import specks
from artwork.repair.lettering import Lettering
from artwork.repair.likeness import size_of
from artwork.repair.state import Art, State, looked_at
from artwork.repair.tubes import touched_up
from tests.artwork.drawn import cut, rectangle, straight
from tests.repairing.pieces import outline_of


def state_of(outline) -> State:
    placed = cut(outline)
    return looked_at(placed, Art.new(placed.placed().contours))


class TestSpecks:
    def test_a_sliver_of_wood_is_one_whatever_little_it_asks_for_itself(self):
        """As narrow as a hair it would stand by its own figures; to be seen it would have to grow twenty times."""
        slivers = [rectangle(x, -12, 8, 0.12, hole=True) for x in (-40.0, -20.0, 20.0)]
        state = state_of(straight(rectangle(-50, -20, 100, 40), *slivers))
        assert state.lands.needs.max() < 0.05
        wanting = replace(state, lands=replace(state.lands, lost=np.array([1, 2, 3]), needs=np.full(4, 0.15)))
        assert [each.kind for each in specks(wanting)] == ["counter-filled"] * 3

    def test_what_could_be_enlarged_is_none(self):
        state = state_of(straight(rectangle(-50, -20, 100, 40), rectangle(-20, 0, 40, 1.5, hole=True)))
        assert state.lands.lost.tolist() == [1] and not specks(state)


class TestTubes:
    def test_a_line_and_a_land_that_miss_a_little_hold_afterwards(self):
        """Least line 1.89, least land along the grain 1.97 with the defaults (docs/how-it-decides.md)."""
        state = state_of(
            straight(rectangle(-9, 0, 1.8, 30), rectangle(0, 0, 6, 30), rectangle(7.9, 0, 6, 30))
        )
        assert len(state.lines.runs) == len(state.lands.runs) == 1
        after = touched_up(state, Clock(Budget()))
        assert after.holds
        assert size_of(after.art.contours) == pytest.approx(size_of(state.art.contours), abs=0.3)

    def test_what_misses_much_is_left_to_moving(self):
        state = state_of(straight(rectangle(0, 0, 0.9, 30), rectangle(10, 0, 6, 30)))
        assert touched_up(state, Clock(Budget())) is state


class TestFlecks:
    def test_what_nobody_misses_is_left_out_where_the_gap_is_wide_enough_without_it(self):
        """Bars 3 mm apart stand; dust in the gap leaves 1.35 on either side of it. Dust elsewhere stays."""
        bars = rectangle(-7.5, 0, 6, 40), rectangle(1.5, 0, 6, 40)
        dust, elsewhere = rectangle(-0.15, 20, 0.3, 0.3), rectangle(30, 30, 0.5, 0.5)
        outline = straight(*bars, dust, elsewhere)
        placed = cut(outline)
        state = state_of(outline)
        assert len(state.lines.flecks) == 2
        assert [edit.kind for edit in specks(state)] == ["left-out"]
        found = [r for r in repairs(placed, study(outline)).repairs if r.way == "as-placed"]
        assert len(found) == 1
        after = found[0].cut.outline.contours
        for kept in (outline.contours[0], outline.contours[1], outline.contours[3]):
            knots = {tuple(knot) for knot in kept.knots}
            assert any({tuple(knot) for knot in each.knots} == knots for each in after)
        assert len(after) == 3


class TestRowsThatAreNoLettering:
    def test_slanting_tiles_are_none_and_words_are(self):
        tiles = [skew(box(12 * k, 0, 12 * k + 10, 6), ys=40) for k in range(4)]
        assert not Lettering.of([c for tile in tiles for c in outline_of(tile).contours]).lines
        word = set_lines(["Rookery"], typeface("lato-regular")).outline
        assert len(Lettering.of(word.contours).letters) == len("Rookery")

    def test_strokes_among_others_are_none(self):
        """Three open shapes on one line are letters by themselves, and hatching where others run in between."""
        stems = [box(9 * k + at, 0, 9 * k + at + 1, 9) for k, at in enumerate((0, 2, 4))]
        strokes = [
            stem.union(box(9 * k, y, 9 * k + 5, y + 1))
            for k, (stem, y) in enumerate(zip(stems, (0, 8, 4), strict=True))
        ]
        other = [box(9 * k + 2.5, 2, 9 * k + 7, 30) for k in range(3)]
        assert Lettering.of([c for each in strokes for c in outline_of(each).contours]).lines
        assert not Lettering.of([c for each in strokes + other for c in outline_of(each).contours]).lines


class TestWhatIsShown:
    def test_what_leaves_the_art_as_it_lies_does_not_vanish(self):
        """It was shown before the others were known."""
        ranked = ["turned", "finer-bit", "stacked", "finer-bit-turned", "as-placed"]
        assert foremost(ranked, "as-placed".__eq__) == ("turned", "finer-bit", "as-placed")
        assert foremost(ranked[:4], "as-placed".__eq__) == ("turned", "finer-bit", "stacked")
