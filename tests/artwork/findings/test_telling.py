"""What is told of what was found: the first cause alone, and the same sentence once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, MultiPolygon, Point, box

from artwork.axis import study
from artwork.cut import Cut, Placement
from artwork.findings import check
from artwork.findings.telling import told
from artwork.findings.values import Finding
from artwork.workpiece import Allowances, Bit
from tests.service.usecases.world import DIAMOND, slat

SLAT = box(-70, 0, 70, 600)
LINE = Finding("line", "stops", box(0, 0, 1, 1), 1.0, 2.0, None, None, "Too thin.", "Make it wider.", 1, 10.0)


def test_the_same_sentence_is_told_once_with_every_place():
    three = [replace(LINE, place=box(x, 0, x + 1, 1), length=x) for x in (0.0, 10.0, 20.0)]
    (one,) = told(three, SLAT)
    assert (one.message, one.count, one.length) == ("At 3 places: Too thin.", 3, 30.0)
    assert isinstance(one.place, MultiPolygon) and one.place.area == pytest.approx(3)


@pytest.mark.parametrize(
    "change",
    [{"message": "Far too thin."}, {"cure": "Turn it."}, {"severity": "warns"}, {"kind": "tip"}],
)
def test_what_differs_is_told_apart(change):
    assert len(told([LINE, replace(LINE, **change)], SLAT)) == 2


def test_what_stops_comes_first_and_places_of_several_kinds_stay_together():
    warns = replace(LINE, severity="warns")
    mixed = told(
        [warns, LINE, replace(LINE, place=LineString([(0, 0), (1, 1)])), replace(LINE, place=Point(1, 1))],
        SLAT,
    )
    assert [each.severity for each in mixed] == ["stops", "warns"]
    assert len(mixed[0].place.geoms) == 3


@pytest.mark.parametrize("y", [300.0, 610.0, 900.0])
def test_art_beyond_the_slat_is_told_as_that_and_not_as_vanishing_too(y):
    """Wholly off the slat nothing can be said of its lines there: the first cause is told alone."""
    board = slat("back-wide", 139.7, 600)
    cut = Cut(DIAMOND, board, Placement(0.0, y, 1.0), Bit("v60"), Allowances())
    found = check(cut, study(DIAMOND)).findings
    assert any(finding.kind == "off-slat" for finding in found) == (y > 600)
    if y > 626:
        assert [finding.kind for finding in found] == ["off-slat"]
    assert all(finding.kind == "off-slat" or finding.place.intersects(board.outline) for finding in found)
