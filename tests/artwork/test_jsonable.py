"""Engine values to JSON and back."""

from __future__ import annotations

import json

import pytest
import shapely
from shapely import Point

from artwork import jsonable
from artwork.axis import study
from artwork.cut import Placement
from artwork.findings import check
from artwork.workpiece import Allowances, Bit, KeepOut
from tests.artwork.drawn import board, cut, rectangle, straight


def through(value):
    return json.loads(json.dumps(value, allow_nan=False))


def test_slat():
    slat = board(keep_outs=(KeepOut(Point(1 / 3, 20).buffer(4), "screw hole", 3.5),), mill_radius=6.35)
    again = jsonable.slat_from_json(through(jsonable.slat_to_json(slat)))
    assert again == slat


@pytest.mark.parametrize(
    ("value", "there", "back"),
    [
        (Bit("v90", 90.0, 0.1, 6.35, 4.4), jsonable.bit_to_json, jsonable.bit_from_json),
        (Allowances(sanding=1 / 3), jsonable.allowances_to_json, jsonable.allowances_from_json),
        (Placement(1 / 7, -3.0, 0.1, 12.5, True), jsonable.placement_to_json, jsonable.placement_from_json),
    ],
)
def test_plain_values(value, there, back):
    assert back(through(there(value))) == value


def test_an_older_record_takes_the_defaults_for_what_it_lacks():
    old = jsonable.allowances_to_json(Allowances())
    del old["coarsest_pixel"]
    assert jsonable.allowances_from_json(old) == Allowances()


def test_a_slat_that_is_no_polygon_is_refused():
    data = jsonable.slat_to_json(board())
    data["outline"] = {"type": "Point", "coordinates": [0, 0]}
    with pytest.raises(ValueError, match="Polygon"):
        jsonable.slat_from_json(data)


def test_check():
    """All kinds of places: lines, points and areas."""
    outline = straight(
        rectangle(-30, 0, 60, 1.2), rectangle(-30, 10, 60, 30), rectangle(40, 0, 0.3, 0.3),
        [(70, 0), (90, 2), (90, -2)],
    )  # fmt: skip
    placed = cut(outline, x=-30.0)
    found = check(placed, study(outline))
    assert {f.place.geom_type for f in found.findings} >= {"MultiLineString", "MultiPolygon"}
    again = jsonable.check_from_json(through(jsonable.check_to_json(found)))
    assert (again.verdict, again.sentence, again.figures) == (found.verdict, found.sentence, found.figures)
    for one, other in zip(again.findings, found.findings, strict=True):
        assert shapely.hausdorff_distance(one.place, other.place) <= 10**-jsonable.PLACE_DECIMALS
        assert {**vars(one), "place": None} == {**vars(other), "place": None}


def test_figures_of_a_cut_that_is_all_lost_are_json_too():
    placed = cut(straight(rectangle(0, 0, 1, 1)), board(thickness=3.0))
    through(jsonable.check_to_json(check(placed, study(placed.outline))))
