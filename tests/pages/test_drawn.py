"""What the pages draw and say from the API's figures, without a browser."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, hausdorff_distance

from artwork.intake.svg_path import parse_path
from service.pages import lengths, words
from service.pages.bench import _COMPARED
from service.pages.carving_view import _spread, carving_view
from service.pages.drawing import Bounds, centre_of, piece_view
from service.pages.findings import remarks_of
from service.pages.lists import noted
from service.pages.mark_path import mark_path
from service.pages.order_steps import state_steps
from service.pages.rendering import local
from service.pages.section_view import section_view

SLAT = {
    "key": "back",
    "name": "back slat",
    "outline": [[[-50, 0], [50, 0], [50, 400], [-50, 400]]],
    "thickness": 25.4,
    "grain_deg": 90.0,
    "keep_outs": [],
    "x": 10.0,
    "y": 20.0,
    "turn_deg": 0.0,
    "carries_art": True,
}


# ASME-style rule fractions; 25.4 mm is one inch exactly (international inch, 1959).
@pytest.mark.parametrize(
    ("mm", "said"),
    [
        (25.4, "1 in"),
        (0.0, "0 in"),
        (3.175, "1/8 in"),
        (9.525, "3/8 in"),
        (139.7, "5 1/2 in"),
        (88.9, "3 1/2 in"),
        (19.05, "3/4 in"),
        (-12.7, "−1/2 in"),
        (117.5, "4 5/8 in"),
        (None, "–"),
    ],
)
def test_inches_read_like_a_rule(mm, said):
    assert lengths.inch(mm) == said


@pytest.mark.parametrize(
    ("mm", "said"),
    [
        (8.34, "8.34 mm (0.329 in)"),
        (25.4, "25.40 mm (1.000 in)"),
        (25.401, "25.41 mm (1.001 in)"),
        (None, "–"),
    ],
)
def test_a_depth_is_told_in_decimals_and_never_as_less(mm, said):
    assert lengths.up_both(mm) == said


@given(st.floats(min_value=0, max_value=1e4))
def test_inches_are_the_nearest_sixteenth(mm):
    found = re.fullmatch(r"(?:(\d+) )?(?:(\d+)/(\d+) )?in", lengths.inch(mm)) or re.fullmatch(
        r"(\d+)()() in", lengths.inch(mm)
    )
    assert found
    whole, part, common = (int(group or 0) for group in found.groups())
    value = whole + (part / common if common else 0)
    assert abs(value * 25.4 - mm) <= 25.4 / 32 + 1e-9


@given(st.floats(min_value=0, max_value=1e3))
def test_what_is_needed_is_never_understated(mm):
    assert float(lengths.up_mm(mm).removesuffix(" mm")) >= mm - 1e-8


def test_numbers_are_told_in_runs():
    assert words.numbers([2, 3, 4, 5, 9, 11, 12]) == "2–5, 9, 11–12"
    assert words.numbers([]) == ""


def test_minutes_are_rounded_up():
    assert words.minutes(4.2) == "5 min"
    assert words.minutes(125) == "2 h 05 min"


@pytest.mark.parametrize(
    ("to", "goes"),
    [
        ("/bench", "/bench"),
        ("/order/x?said=signed#a", "/order/x?said=signed#a"),
        ("//evil.example", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example", "/"),
        ("/a\nb", "/"),
        ("", "/"),
        ("bench", "/"),
    ],
)
def test_only_our_own_addresses_are_gone_to(to, goes):
    assert local(to) == goes


def test_a_slat_keeps_its_size_and_stands_upright_in_the_piece():
    view = piece_view({"slats": [SLAT], "surrounds": []})
    slat = view.slats[0]
    assert (slat.bounds.width, slat.bounds.height) == (100, 400)
    assert (slat.bounds.left, slat.bounds.low) == (-40, 20)
    assert slat.path == "M-40 -20L60 -20L60 -420L-40 -420Z"
    # of a picture 160 wide: 30 of margin on every side
    assert slat.box == "left:calc(18.75cqw - 3px);top:18.75cqw;width:calc(62.5cqw + 6px);height:250.0cqw"
    assert not slat.across


def test_a_turned_slat_is_turned_counter_clockwise():
    turned = SLAT | {"turn_deg": 90.0, "x": 0.0, "y": 0.0}
    view = piece_view({"slats": [turned], "surrounds": []})
    bounds = view.slats[0].bounds
    assert view.slats[0].across
    assert (round(bounds.left), round(bounds.low), round(bounds.right), round(bounds.high)) == (
        -400,
        -50,
        0,
        50,
    )


def test_geometries_of_every_kind_are_drawn_with_y_down():
    def drawn(kind, coordinates):
        return mark_path({"type": kind, "coordinates": coordinates}, 0.1)

    assert drawn("Point", [3, 4]) == "M2 -4h2m-1-1v2"
    assert drawn("LineString", [[0, 0], [1, 2]]) == "M0 0l1-2"
    assert drawn("Polygon", [[[0, 0], [1, 0], [1, 1], [0, 0]]]) == "M0 0l1 0 0-1z"
    both = {"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [3, 4]}] * 2}
    assert mark_path(both, 0.1) == 2 * "M2-4h2m-1-1v2".replace("2-4", "2 -4")
    assert drawn("MultiPolygon", []) == ""
    assert mark_path(None, 0.1) == ""
    assert drawn("LineString", [[1, 1], [1.01, 1.01]]) == "M1-1l0 0"  # seen as a dot
    joined = drawn("MultiLineString", [[[0, 0], [1, 0.01]], [[1, 0.01], [2, 0]]])
    assert joined == "M0 0l2 0"


@given(
    points=st.lists(
        st.tuples(*[st.floats(-900, 900, allow_nan=False)] * 2), min_size=2, max_size=40, unique=True
    ),
    tolerance=st.floats(0.05, 1.0),
)
def test_a_mark_lies_where_the_place_is(points, tolerance):
    path = mark_path({"type": "LineString", "coordinates": points}, tolerance)
    drawn = LineString(_points_of(path))
    place = LineString([(x, -y) for x, y in points])
    assert hausdorff_distance(drawn, place) <= tolerance + 0.1  # and what rounding to tenths adds


def _points_of(path):
    """The corners of a path of one line, as our own reader of SVG paths sees them."""
    read, sound = parse_path(path)
    assert sound
    return [tuple(point) for point in read.points]


def proof_of(findings, close_up=(-40.0, 60.0, 40.0, 320.0)):
    return {"close_up": close_up, "check": {"findings": findings}}


def test_eight_places_are_marked_the_worst_of_each_kind_first():
    findings = [
        {"severity": severity, "kind": kind, "place": {"type": "Point", "coordinates": [0, 10 * n]}}
        for severity, kind in (("stops", "land"), ("stops", "line"), ("warns", "tip"))
        for n in range(7)
    ]
    view = carving_view(SLAT, proof_of(findings))
    assert sorted(c.number for c in view.callouts) == [1, 2, 3, 8, 9, 10, 15, 16]
    assert len(carving_view(SLAT, proof_of(findings), marks=None).callouts) == 21
    assert carving_view(SLAT, proof_of(findings), marks=0).callouts == ()


def test_a_box_ends_where_its_points_end():
    assert centre_of({"type": "MultiPoint", "coordinates": [[0, 0], [4, 2]]}) == (2, 1)
    assert centre_of({"type": "MultiPolygon", "coordinates": []}) is None


points = st.lists(st.floats(min_value=0, max_value=400), min_size=1, max_size=30).map(sorted)


@given(points, st.floats(min_value=1, max_value=40))
def test_callouts_keep_their_order_and_their_distance(wanted, gap):
    spots = _spread(wanted, (0, 400), gap)
    room = min(gap, 400 / len(wanted))
    assert spots == sorted(spots)
    assert all(b - a >= room - 1e-6 for a, b in pairwise(spots))
    assert all(-1e-6 <= spot <= 400 + 1e-6 for spot in spots)


def test_marks_stand_along_the_sides_of_the_close_picture():
    findings = [
        {"severity": "stops", "kind": "line", "place": {"type": "Point", "coordinates": [x, y]}}
        for x in (-20, 20)
        for y in (100, 101, 102, 300)
    ]
    view = carving_view(SLAT, proof_of(findings))
    assert sorted(c.number for c in view.callouts) == list(range(1, 9))
    assert {abs(c.x) for c in view.callouts} == {view.callouts[0].x * -1}
    assert view.close.left < view.callouts[0].x < view.close.left + 0.1 * view.close.width
    badges = [(c.x, c.y) for c in view.callouts]
    assert len(set(badges)) == 8


def test_pictures_lie_where_the_api_drew_them_and_are_no_larger_than_they_are_looked_at():
    view = carving_view(SLAT, proof_of([], (-40.0, 60.0, 40.0, 320.0)))
    assert view.close == Bounds(-40, 60, 40, 320)
    assert view.slat == Bounds(-58, -8, 58, 408)  # 8 mm of paper around the slat
    assert view.density == 4
    small, wide = (
        carving_view(SLAT, proof_of([], close)) for close in ((-20, 0, 20, 40), (-700, 0, 700, 140))
    )
    assert (small.density, wide.density) == (8, 1)


def test_remarks_get_their_names_in_order_and_keep_their_numbers():
    proof = {
        "remarks": ["tip-1", "floor-1"],
        "waived": ["tip-1"],
        "check": {"findings": [{"severity": "stops"}, {"severity": "warns"}, {"severity": "warns"}]},
    }
    assert [(r["number"], r["name"], r["waived"]) for r in remarks_of(proof)] == [
        (1, None, False),
        (2, "tip-1", True),
        (3, "floor-1", False),
    ]


def test_what_is_noted_of_a_list_is_said_once_with_its_pieces_and_what_stops_comes_first():
    """However long the list: a piece that stops at its end must not be lost behind remarks."""
    sharp, small = "Sharp points end early.", "Capitals are 30 mm high instead of 36."
    parts = [{"place": n, "verdict": "carves-with-remarks", "notes": [sharp]} for n in range(1, 300)]
    parts[7]["notes"].append(small)
    parts.append({"place": 300, "verdict": None, "notes": ["It has no letter for “😀”."]})
    found = noted(parts)
    assert [(note["words"], note["stops"], len(note["parts"])) for note in found] == [
        ("It has no letter for “😀”.", True, 1),
        (sharp, False, 299),
        (small, False, 1),
    ]
    assert not any(note["everywhere"] for note in found)
    assert noted(parts[:2])[0]["everywhere"] and not noted(parts[:1])[0]["everywhere"]


SECTION = {
    "offsets": [-2.0, -1.0, 0.0, 1.0, 2.0],
    "face": [0.3] * 5,
    "even": [0.3, 0.3, 2.0, 0.3, 0.3],
    "low": [0.3, 0.3, 1.6, 0.3, 0.3],
    "high": [0.3, 0.3, 2.4, 0.3, 0.3],
    "depth_left": 1.3,
    "least_depth": 0.8,
    "thickness": 4.0,
}


def test_a_section_is_drawn_to_one_scale_and_says_whether_it_is_enough():
    view = section_view(SECTION)
    assert view.view_box == "-2 -1.5 4 6.5"
    assert view.wood == "M-2 0.3L-1 0.3L0 2L1 0.3L2 0.3L2 4H-2Z"
    assert view.enough and not view.broken
    assert not section_view(SECTION | {"depth_left": 0.5}).enough


def test_a_thick_board_is_broken_off_below_the_groove_and_its_rule_counts_from_the_finished_face():
    view = section_view(SECTION | {"thickness": 25.4})
    assert view.broken and "Z" in view.wood
    ticks = [float(y) for y in re.findall(r"M-2 ([0-9.]+)h", view.rule)]
    assert ticks == pytest.approx([0.3, 1.3, 2.3, 3.3, 4.3])
    deepest = max(SECTION["high"])
    assert view.height > deepest + 2  # the whole groove is in sight, with wood under it


ORDER = {"state": "draft", "lines": [{"carvings": [{"state": "checked", "proof": {"verdict": "carves"}}]}]}


def test_where_an_order_stands_is_said_in_the_words_of_whoever_looks():
    client = state_steps(ORDER)
    assert [step.done for step in client] == [True, True, False, False, False, False, False]
    assert client[2].words == "look at the proof and sign it off"
    assert state_steps(ORDER, at_bench=True)[2].done_words == "Client signed off"
    bad = {"lines": [{"carvings": [{"state": "checked", "proof": {"verdict": "will-not-carve"}}]}]}
    assert state_steps(ORDER | bad)[1] == ("It carves", "change something so that it carves", False)


def test_what_comes_next_where_a_proof_was_turned_back():
    for state, client, bench in (
        ("rejected", "change what the workshop said no to", "the client changes what you said no to"),
        ("change-asked", "the workshop looks at the change", "answer the change that the client asks for"),
        ("stale", "check it again", "check it again"),
    ):
        order = {
            "state": "submitted",
            "lines": [{"carvings": [ORDER["lines"][0]["carvings"][0] | {"state": state}]}],
        }
        for at_bench, words_of in ((False, client), (True, bench)):
            step = state_steps(order, at_bench=at_bench)[2]
            assert not step.done
            assert step.words.startswith(words_of)


def test_every_kind_of_finding_has_words():
    import artwork.findings

    sources = "".join(path.read_text() for path in Path(artwork.findings.__file__).parent.glob("*.py"))
    kinds = set(re.findall(r'kind="([a-z-]+)"', sources)) - {"stable"} | {"line"}  # numpy's word
    assert len(kinds) > 15
    for kind in kinds:
        assert words.finding_kind(kind) != kind, kind


def test_days_left_are_counted_from_today():
    from datetime import UTC, datetime, timedelta

    today = datetime.now(UTC).date()
    said = [words.days_left(str(today + timedelta(days=n))) for n in (-1, 0, 1, 5)]
    assert said == ["1 day late", "today", "tomorrow", "in 5 days"]
    assert words.days_left(None) == ""


def test_the_bench_hands_its_script_every_figure_that_it_compares():
    script = (Path(words.__file__).parent / "static" / "js" / "cuts.js").read_text(encoding="utf-8")
    table = script.partition("const FIGURES = [")[2].partition("];")[0]
    assert set(re.findall(r'\), "(\w+)"', table)) == set(_COMPARED)
