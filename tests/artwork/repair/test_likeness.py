"""Likeness: what people call the same drawing, and what they call lost."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
from numpy import arange
from shapely import LineString, Point, Polygon, box, union_all

from artwork.axis import study
from artwork.outline import Outline, polygons
from artwork.repair.aside import Aside
from artwork.repair.groups import groups
from artwork.repair.legible import Middles, letters_kept
from artwork.repair.lettering import Lettering, gaps_between, stacked, word_spaces
from artwork.repair.likeness import likeness
from artwork.repair.uniting import joined
from tests.artwork.drawn import rectangle, straight
from tests.repairing.pieces import faces, outline_of


def held(before, after, aside=None):
    return likeness(before.contours, study(before), after.contours, study(after), aside)


def ring(radius: float, width: float):
    return Point(0, 0).buffer(radius + width / 2, 64).difference(Point(0, 0).buffer(radius - width / 2, 64))


def lines(*texts: str):
    from artwork.lettering.setting import set_lines

    outline = set_lines(list(texts), faces()["lato-bold"]).outline
    scale = 100 / max(outline.size)
    import numpy as np

    return tuple(each.moved(np.eye(2) * scale, np.zeros(2)) for each in outline.contours)


def middles(contours) -> Middles:
    axis = study(Outline(tuple(contours))).lines
    return Middles(axis.places.mean(axis=1), axis.lengths)


class TestLengths:
    def test_a_thickened_line_drawing_is_the_same(self):
        """It overlaps itself by a third only."""
        assert held(outline_of(ring(20, 0.8)), outline_of(ring(20, 2.4))).least > 0.99

    def test_an_emblem_left_out_is_a_loss(self):
        """The frame alone overlaps the crest by nearly all its area."""
        frame = box(-60, -60, 60, 60).difference(box(-50, -50, 50, 50))
        emblem = ring(8, 1.2)
        assert held(outline_of(frame.union(emblem)), outline_of(frame)).lines_kept < 0.93

    def test_a_filled_ring_is_a_loss(self):
        assert held(outline_of(ring(2.4, 1.0)), outline_of(Point(0, 0).buffer(2.9))).least < 0.5

    def test_a_part_moved_aside_as_a_whole_is_looked_for_where_it_is(self):
        drawn = straight(rectangle(0, 0, 30, 2), rectangle(0, 6, 30, 2))
        now = straight(rectangle(0, 0, 30, 2), rectangle(0, 8, 30, 2))
        aside = Aside.of(drawn.contours, now.contours)
        assert held(drawn, now).lines_kept < 0.6
        assert held(drawn, now, aside).least > 0.99

    def test_a_frame_that_grew_all_around_is_the_same(self):
        drawn = straight(rectangle(0, 0, 60, 40), rectangle(1, 1, 58, 38, hole=True))
        now = straight(rectangle(-3, -3, 66, 46), rectangle(-1, -1, 62, 42, hole=True))
        assert held(drawn, now).least < 0.6
        assert held(drawn, now, Aside.of(drawn.contours, now.contours)).least > 0.99

    def test_one_side_moved_aside_is_the_same_and_a_dent_is_not(self):
        def bar(*steps: tuple[float, float]):
            top = [(x, 2 + y) for x, y in steps]
            return straight([*[(x, y) for x, y in steps], *reversed(top)])

        drawn = bar(*((x, 0.0) for x in range(0, 101, 2)))
        aside = bar(*((x, 3.0 * min(max((x - 30) / 30, 0.0), 1.0)) for x in range(0, 101, 2)))
        dents = bar(*((x, 3.0 * (x % 8 == 4)) for x in range(0, 101, 2)))
        for now, same in ((aside, True), (dents, False)):
            kept = held(drawn, now, Aside.of(drawn.contours, now.contours))
            assert (kept.least > 0.95) is same

    def test_what_hardly_anybody_sees_counts_less(self):
        """A slit of 0.1 mm beside a gap of 3 mm of the same length."""
        body = box(0, 0, 60, 40)
        gap, slit = box(10, 10, 50, 13), box(10, 30, 50, 30.1)
        drawn = outline_of(body.difference(gap).difference(slit))
        assert held(drawn, outline_of(body.difference(gap))).lands_kept > 0.75
        assert held(drawn, outline_of(body.difference(slit))).lands_kept < 0.3

    def test_a_wheel_that_loses_its_gaps_is_a_loss_within_any_crest(self):
        """Of the whole crest's lands they are little."""
        frame = box(-90, -90, 90, 90).difference(box(-84, -84, 84, 84))
        frame = frame.union(box(-81, -81, 81, 81).difference(box(-79, -79, 79, 79)))
        spokes = union_all(
            [LineString([(0, 0), (12 * cos(a), 12 * sin(a))]).buffer(0.6) for a in arange(12) * pi / 6]
        )
        wheel = ring(12, 1.5).union(spokes)
        gaps = [Polygon(hole) for hole in wheel.interiors]
        assert len(gaps) == 12
        drawn = outline_of(frame.union(wheel))
        for filled, enough in ((2, True), (5, False)):
            kept = held(drawn, outline_of(frame.union(union_all([wheel, *gaps[:filled]]))))
            assert kept.is_enough is enough and kept.least > 0.9

    def test_a_small_side_is_no_small_loss_where_an_island_goes(self):
        """The only eye of a solid figure: of all the land that there is, a large part."""
        body = box(0, 0, 60, 40)
        eyes = [Point(x, 30).buffer(1.5) for x in (20, 40)]
        drawn, now = outline_of(body.difference(eyes[0].union(eyes[1]))), outline_of(body.difference(eyes[1]))
        assert held(drawn, now).lands_kept < 0.6

    def test_neither_of_two_eyes_may_be_closed(self):
        """Beside a mane of many gaps, which are no eyes, and of whose length an eye is little."""
        head = box(0, 0, 60, 40)
        mane = [box(4 + 5 * k, 4, 6.5 + 5 * k, 18) for k in range(11)]
        eyes = [Point(x, 30).buffer(1.2) for x in (25, 35)]
        drawn = outline_of(head.difference(union_all([*mane, *eyes])))
        one_eye = held(drawn, outline_of(head.difference(union_all([*mane, eyes[0]]))))
        assert one_eye.least > 0.9 and not one_eye.groups_kept and not one_eye.is_enough
        fewer_gaps = held(drawn, outline_of(head.difference(union_all([*mane[1:], *eyes]))))
        assert fewer_gaps.groups_kept
        assert (groups(study(drawn)) >= 0).sum() == 2

    def test_specks_that_nobody_sees_many_alike_and_unlike_ones_are_no_group(self):
        head = box(0, 0, 60, 40)
        for sizes, together in ((2 * [0.2], 0), (7 * [1.2], 0), ([0.8, 3.0], 0), (3 * [1.2], 3)):
            dots = [Point(10 + 7 * k, 30).buffer(size) for k, size in enumerate(sizes)]
            assert (groups(study(outline_of(head.difference(union_all(dots))))) >= 0).sum() == together

    def test_a_line_more_than_was_drawn_is_told(self):
        bars = straight(rectangle(0, 0, 30, 2))
        more = straight(rectangle(0, 0, 30, 2), rectangle(0, 6, 30, 2))
        assert held(bars, more).lines_true < 0.6


class TestLetters:
    def test_a_word_is_found_as_one_line(self):
        found = Lettering.of(lines("Harrow"))
        assert len(found.lines) == 1
        assert len(found.letters) == 6

    def test_a_row_of_bricks_is_no_lettering(self):
        assert not Lettering.of(straight(*(rectangle(12 * i, 0, 10, 6) for i in range(5))).contours).lines

    def test_a_pattern_is_no_lettering(self):
        """One mark again and again in a row; marks that differ, in columns below each other."""
        mark = [(0, 0), (6, 0), (6, 1), (1, 1), (1, 8), (0, 8)]
        row = [[(12 * k + x, y) for x, y in mark] for k in range(5)]
        assert not Lettering.of(straight(*row).contours).lines
        slanted = [
            [(12 * k + x * (1 - 0.12 * k) + 0.1 * k * y, 20 * n + y) for x, y in mark]
            for k in range(5)
            for n in range(3)
        ]
        assert not Lettering.of(straight(*slanted).contours).lines

    def test_two_lines_of_as_many_letters_are_words(self):
        assert len(Lettering.of(lines("HERON", "LAKES")).lines) == 2

    def test_a_closed_counter_is_no_letter_any_more(self):
        word = lines("Harrow")
        counter = next(at for at, each in enumerate(word) if each.area < 0)
        assert letters_kept(word, word)
        assert not letters_kept(word, word[:counter] + word[counter + 1 :])

    def test_a_letter_left_out_or_joined_to_its_neighbour_is_lost(self):
        word = lines("Harrow")
        assert not letters_kept(word, word[1:])
        whole = outline_of(box(0, 0, 1, 1)).contours
        left = min(each.knots[:, 0].min() for each in word)
        bridge = tuple(
            type(each)(each.knots * (60, 3) + (left, 8), each.controls * (60, 3) + (left, 8))
            for each in whole
        )
        assert not letters_kept(word, joined(word, polygons([each.polyline(0.05) for each in bridge])))

    def test_a_letter_that_grows_more_than_its_neighbours_stands_out(self):
        word = lines("Harrow")
        last = max(range(len(word)), key=lambda at: word[at].knots[:, 0].max())
        middle = np.array([0.0, float(word[last].knots[:, 1].mean())])

        def higher(at: int, by: float):
            return word[at].moved(np.diag([1.0, by]), middle * (1 - by))

        for by, kept in ((1.1, True), (1.3, False), (0.75, False)):
            assert letters_kept(word, (*word[:last], higher(last, by), *word[last + 1 :])) is kept
            assert letters_kept(word, tuple(higher(at, by) for at in range(len(word))))

    def test_a_letter_of_another_shape_is_another_letter(self):
        """The last letter upside down: as many pieces and counters, in the same box."""
        word = lines("Harrow")
        last = max(range(len(word)), key=lambda at: word[at].knots[:, 0].max())
        low, high = word[last].knots[:, 1].min(), word[last].knots[:, 1].max()
        turned = word[last].moved(np.diag([1.0, -1.0]), np.array([0.0, low + high])).reversed()
        other = (*word[:last], turned, *word[last + 1 :])
        assert letters_kept(word, other)  # by its pieces alone
        assert letters_kept(word, word, middles=(middles(word), middles(word)))
        assert not letters_kept(word, other, middles=(middles(word), middles(other)))

    def test_bolder_letters_are_the_same_letters(self):
        word = lines("Harrow")
        bolder = joined(word, polygons([each.polyline(0.05) for each in word]).boundary.buffer(0.35))
        assert letters_kept(word, bolder, middles=(middles(word), middles(bolder)))

    def test_words_that_ran_together_are_one_word(self):
        two = lines("Heron Lake")
        found = Lettering.of(two)
        boxes = found.boxes[found.lines[0]]
        (space,) = word_spaces(boxes)
        starts, wide = boxes[space + 1, 0] - 0.01, gaps_between(boxes)[space]

        def nearer(by: float):
            return tuple(
                each.moved(np.eye(2), np.array([-by if each.knots[:, 0].min() >= starts else 0.0, 0.0]))
                for each in two
            )

        assert letters_kept(two, nearer(0.2 * wide))
        assert not letters_kept(two, nearer(0.8 * wide))

    def test_words_are_set_on_two_lines_letter_by_letter(self):
        one = lines("Heron Lake")
        two = stacked(one)
        assert two is not None
        assert len(Lettering.of(two).lines) == 2
        assert len(two) == len(one)
        assert stacked(lines("Heron")) is None
