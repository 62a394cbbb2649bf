"""Hints: none asks for what the slat or another finding rules out."""

from __future__ import annotations

import pytest

from artwork.axis import study
from artwork.findings import check
from artwork.placing import largest_fit
from artwork.workpiece import Allowances
from tests.artwork.drawn import board, cut, rectangle, straight


def bars(width: float, gap: float, number: int = 6, length: float = 30.0):
    return straight(*(rectangle(i * (width + gap), 0, width, length) for i in range(number)))


def hints(placed) -> dict[str, str]:
    return {each.kind: each.cure for each in check(placed, study(placed.outline)).findings}


def at_its_largest(outline, slat):
    place = largest_fit(outline, slat, Allowances())
    return cut(outline, slat, place.scale, place.x, place.y)


def test_larger_is_said_where_there_is_room():
    assert "larger" in hints(cut(bars(1.0, 4.0)))["line"]


def test_larger_is_not_said_at_the_largest_fit():
    said = hints(at_its_largest(bars(1.0, 4.0), board(width=50.0)))
    assert "larger" not in said["line"]
    assert said["line"].startswith("Thicken")


@pytest.mark.parametrize("width", [60.0, 200.0])
def test_neither_thicken_nor_thin_is_said_where_both_are_short(width):
    said = hints(cut(bars(1.0, 1.0), board(width=width), scale=1.0))
    told = [hint for kind, hint in said.items() if kind in ("line", "vanishing", "land", "counter")]
    assert told
    for hint in told:
        assert "hicken" not in hint
        assert "hin its" not in hint
        assert hint[0].isupper()
        assert hint.endswith(".")


def test_thicken_is_said_where_the_wood_bears_it():
    assert "hicken" in hints(cut(bars(1.0, 6.0)))["line"]


def test_thin_is_said_where_the_lines_bear_it():
    assert "hin its lines" in hints(cut(bars(5.0, 1.2)))["land"]
