"""A bed's program: two carvings on one board, written by GEOS erosions laid where the bed's drawing lays the parts."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from artwork.drawings.bed import FOUR_BY_EIGHT
from artwork.drawings.beds import BedBoard, BedLayout, BedPart, bed_layouts
from artwork.program import Cutter, compare_bed, read_program
from tests.artwork.program.signed import paths, signed
from tests.artwork.program.toolpaths import Path, written

STRAIGHT = 3


@cache
def layout() -> BedLayout:
    """The crest on two parts of one board, a plain part beside them."""
    parts = [BedPart(f"7 · {n}", 140.0, 110.0, 20.0 + 150.0 * n, 4.0, cut=signed()) for n in (0, 1)]
    parts.append(BedPart("7 · plain", 100.0, 110.0, 320.0, 4.0))
    (found,) = bed_layouts([BedBoard(1, "cedar", 600.0, 139.7, tuple(parts))])
    return found


def on_bed(number: int, shift: tuple[float, float] = (0.0, 0.0), level: float = 0.1) -> list[Path]:
    """The way of the tip over one part, bed mm: a slat without a round frame stands upright on its board."""
    part = layout().boards[0].parts[number]
    left, low, _, _ = signed().slat.outline.bounds
    x0, y0, _, _ = part.outline.bounds
    off = np.array([x0 - left + shift[0], y0 - low + shift[1], 0.0])
    return [Path(path.points + off) for path in paths(level=level)]


def held(made: list[Path]):
    return compare_bed(read_program(written(made)), layout(), cutting_out=(STRAIGHT,))


def test_every_carving_of_a_good_program_is_as_signed():
    found = held([*on_bed(0), *on_bed(1)])
    assert found.outcome == "cuts-what-was-signed" and not found.dangers
    assert found.sentence == "Bed 1: 2 of 2 carvings are cut as signed."
    assert [each.outcome for _, each in found.parts] == ["cuts-what-was-signed"] * 2


def test_one_carving_beside_its_place_is_named():
    found = held([*on_bed(0), *on_bed(1, shift=(0.5, 0.0))])
    assert found.outcome == "differs"
    assert found.sentence.startswith("Bed 1: 1 of 2 carvings are cut as signed. 7 · 1: this program differs")


def test_one_carving_left_out_or_cut_twice_is_found():
    assert held(on_bed(0)).outcome == "differs"
    astray = [Path(path.points + np.array([0.0, 150.0, 0.0])) for path in on_bed(1)]
    found = held([*on_bed(0), *on_bed(1), *astray])
    assert found.outcome == "differs"
    assert [each.kind for each in found.dangers] == ["beside-carvings"]


def test_a_program_of_one_slat_is_not_the_bed():
    found = held(paths())
    assert found.outcome == "is-not-this-carving"
    assert "another zero" in found.sentence


WIDTH = FOUR_BY_EIGHT.width
QUARTER = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


@pytest.mark.parametrize(
    ("change", "cause"),
    [
        (lambda p: p - [WIDTH, 0.0, 0.0], "with the zero at the bed's lower right corner"),
        (lambda p: p - [-3.0, 2.0, 0.0], "with its zero -3.0 mm in x and +2.0 mm in y from"),
        (lambda p: p @ QUARTER.T, "the bed lies a quarter turn to the right"),
        (lambda p: p * [-1.0, 1.0, 1.0], "it is mirrored"),
        (lambda p: p / 25.4, "inches and millimetres were exchanged"),
    ],
)
def test_another_zero_turn_side_or_unit_is_told(change, cause: str):
    found = held([Path(change(path.points)) for path in (*on_bed(0), *on_bed(1))])
    assert found.outcome == "differs"
    assert found.sentence.startswith("Bed 1: 0 of 2 carvings are cut as signed: ")
    assert cause in found.sentence


def test_cutting_out_is_left_to_its_tool():
    """The straight bit goes round the part: its moves are told, not compared."""
    ring = np.array(layout().boards[0].parts[0].outline.buffer(3.175).exterior.coords)
    around = written([Path(np.column_stack([ring, np.full(len(ring), -26.0)]))])
    tooled = [*written([*on_bed(0), *on_bed(1)])[:-1], f"T{STRAIGHT} M6", *around[3:]]
    found = compare_bed(read_program(tooled), layout(), cutting_out=(STRAIGHT,))
    assert found.outcome == "cuts-what-was-signed" and found.left_out >= len(ring) - 1
    assert compare_bed(read_program(tooled), layout(), {STRAIGHT: Cutter.straight(6.35)}).left_out == 0


@pytest.mark.parametrize("at", [0, 1])
def test_a_move_through_a_screw_is_told(at: int):
    x, y = layout().boards[0].screws[at]
    stray = Path(np.array([[x - 3, y, -1.0], [x + 3, y, -1.0]]))
    assert "screw" in {each.kind for each in held([*on_bed(0), *on_bed(1), stray]).dangers}
