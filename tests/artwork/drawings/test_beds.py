"""Boards on the bed: everything on it, nothing on top of another, holes, tabs and screws where they may be."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations

import ezdxf
import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from artwork.drawings import Bed
from artwork.drawings.bed_writing import bed_dxf, bed_svg
from artwork.drawings.beds import BedBoard, BedPart, bed_layouts
from artwork.drawings.part_shape import LEAST_SEGMENT, as_circle, part_shape, without_short
from artwork.errors import EngineError
from artwork.furniture import DrilledHole
from artwork.outline import Outline
from artwork.workpiece import Allowances
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle

CHAIR = load().model("fernhollow-chair")
SLAT = CHAIR.slat("back-centre")
SEAT = CHAIR.slat("seat-front")
CUT = cut_of(circle(0, 650, 40), rectangle(-9, 560, 9, 580), slat=SLAT, allowances=Allowances())
BED = Bed()


def board(number: int, *parts: BedPart, length: float = 2438.4, width: float = 139.7) -> BedBoard:
    return BedBoard(number, "board", length, width, parts)


def carved(along: float, label: str = "12 · 1-1-1-back-centre") -> BedPart:
    return BedPart(label, 860.0, 139.7, along, 0.0, SLAT, CUT)


FULL = board(1, carved(20.0), carved(900.0), BedPart("leg", 520.0, 90.0, 1800.0, 0.0))


def test_boards_lie_in_their_order_eight_to_a_bed() -> None:
    layouts = bed_layouts([board(number, carved(20.0)) for number in range(1, 20)], BED, "order 12")
    assert [[laid.board.number for laid in layout.boards] for layout in layouts] == [
        list(range(1, 9)),
        list(range(9, 17)),
        [17, 18, 19],
    ]
    assert layouts[0].title == "order 12 · bed 1 · boards 1 to 8"


@settings(max_examples=20, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(40, 400), st.floats(100, 2438.4)), min_size=1, max_size=12),
    spacing=st.floats(0, 40),
    margin=st.floats(0, 60),
)
def test_boards_lie_on_the_bed_and_beside_each_other(sizes, spacing, margin) -> None:
    bed = Bed(spacing=spacing, margin=margin)
    boards = [board(n, length=length, width=width) for n, (width, length) in enumerate(sizes)]
    layouts = bed_layouts(boards, bed)
    assert sorted(laid.board.number for layout in layouts for laid in layout.boards) == list(
        range(len(sizes))
    )
    room = box(margin, 0, bed.width - margin, bed.length).buffer(1e-6)
    for layout in layouts:
        assert all(room.covers(laid.outline) for laid in layout.boards)
        for one, other in combinations(layout.boards, 2):
            assert one.outline.distance(other.outline) >= spacing - 1e-6
            assert one.outline.intersection(other.outline).area < 1e-6


def test_screws_are_clear_of_every_cut_and_far_apart() -> None:
    (layout,) = bed_layouts([FULL, board(2, BedPart("stick", 600.0, 40.0, 13.0, 0.0))])
    for laid in layout.boards:
        assert laid.screws
        for screw in laid.screws:
            place = Point(screw).buffer(BED.screw_radius - 1e-3)
            assert laid.outline.covers(place)
            assert all(place.distance(part.outline) >= BED.bit_diameter - 1e-3 for part in laid.parts)
        for one, other in combinations(laid.screws, 2):
            assert np.hypot(*np.subtract(one, other)) >= 250
        assert laid.held


def test_a_board_without_room_for_screws_says_so() -> None:
    (layout,) = bed_layouts([board(1, BedPart("plank", 2413.0, 139.7, 12.7, 0.0))])
    assert not layout.boards[0].held
    (holed,) = bed_layouts([board(1, BedPart("seat", 560.0, 135.0, 12.7, 0.0, SEAT), length=590.0)])
    assert holed.boards[0].held, "its four screw holes hold it"


def test_the_slat_is_turned_along_the_grain_and_its_art_with_it() -> None:
    shape = part_shape(560.0, 135.0, BED, SEAT)
    assert shape.outline.bounds == pytest.approx((0, 0, 135, 560))
    assert len(shape.holes) == 4
    assert all(hole.radius == pytest.approx(4.5) for hole in shape.holes)
    made = part_shape(860.0, 139.7, BED, None, CUT)
    art = Outline(made.art).region(1e-4)
    assert art.area == pytest.approx(CUT.placed().region(1e-4).area, rel=1e-6)
    assert art.distance(made.outline.exterior) == pytest.approx(
        CUT.placed().region(1e-4).distance(SLAT.outline.exterior), abs=1e-6
    )


def test_tabs_lie_on_the_edge_and_not_farther_apart_than_wished() -> None:
    shape = part_shape(860.0, 139.7, BED, SLAT)
    edge = shape.outline.exterior.buffer(1e-6)
    assert all(edge.covers(LineString(tab)) for tab in shape.tabs)
    assert {round(float(LineString(tab).length), 6) for tab in shape.tabs} == {BED.tab_width}
    assert len(shape.tabs) == 2 + 2 * 3  # both ends; 860 mm by at most 400 mm on both sides
    sides = sorted(tab[:, 1].mean() for tab in shape.tabs if tab[:, 0].mean() < 1)
    assert max(np.diff(sides)) <= BED.tab_every
    assert part_shape(860.0, 139.7, Bed(tab_width=0), SLAT).tabs == ()


def test_a_bed_smaller_than_a_board_is_refused_with_what_to_do() -> None:
    with pytest.raises(EngineError, match=r"does not lie on a bed of 1500 × 1219\.2 mm") as refused:
        bed_layouts([FULL], Bed(length=1500))
    assert "Crosscut your boards first" in refused.value.cure
    with pytest.raises(EngineError, match="does not lie on a bed"):
        bed_layouts([FULL], Bed(width=150, margin=6))
    with pytest.raises(EngineError, match="would leave it"):
        bed_layouts([board(1, BedPart("plank", 2438.4, 100.0, 0.0, 0.0))])
    assert bed_layouts([]) == ()


def read(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(data.decode()))


def test_dxf_has_a_layer_for_each_tool_and_act_and_circles_are_circles() -> None:
    (layout,) = bed_layouts([FULL], BED, "order 12")
    drawing = read(bed_dxf(layout))
    assert not drawing.audit().errors
    assert drawing.units == ezdxf.units.MM
    space = drawing.modelspace()
    assert {e.dxf.layer for e in space} == {
        "BED", "BOARD", "SCREW_SAFE", "KEEP_OUTS", "LABELS", "SHARP_CARVE", "V_MARK", "DRILL",
        "STRAIGHT_CUT_THROUGH", "STRAIGHT_TABS",
    }  # fmt: skip
    holes = [e for e in space if e.dxf.layer == "DRILL"]
    assert {e.dxftype() for e in holes} == {"CIRCLE"}
    assert len(holes) == len([e for e in space if e.dxf.layer == "V_MARK"]) == 2 * 4
    assert tuple(drawing.header["$EXTMIN"])[:2] == (0.0, 0.0)
    assert drawing.header["$EXTMAX"][1] == BED.length
    for line in space.query("LWPOLYLINE"):
        points = np.array(line.get_points("xy"))
        ends = np.roll(points, -1, axis=0) if line.closed else points[1:]
        assert np.hypot(*(ends - points[: len(ends)]).T).min() >= LEAST_SEGMENT - 1e-6
    assert bed_dxf(layout) == bed_dxf(layout)


def test_dxf_holds_the_art_within_a_tenth() -> None:
    (layout,) = bed_layouts([FULL])
    read_back = [
        shapely.Polygon(e.get_points("xy"))
        for e in read(bed_dxf(layout)).modelspace().query("LWPOLYLINE[layer=='SHARP_CARVE']")
    ]
    expected = [
        shapely.affinity.translate(Outline((contour,)).region(1e-4), part.x, part.y)
        for laid in layout.boards
        for part in laid.parts
        for contour in part.shape.art
    ]
    for one, other in zip(read_back, expected, strict=True):
        assert shapely.hausdorff_distance(one.boundary, other.boundary, densify=0.1) < LEAST_SEGMENT + 0.01


def test_svg_is_at_true_size_and_its_labels_are_words_only() -> None:
    (layout,) = bed_layouts([board(1, carved(20.0, "<b>&"))], BED, "order 12")
    root = ET.fromstring(bed_svg(layout))
    assert root.get("height") == "2438.4mm"
    texts = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == ["order 12 · bed 1 · board 1", "board 1", "<b>&"]


def test_short_pieces_are_left_out_of_a_ring() -> None:
    ring = np.array([[0, 0], [10, 0], [10, 0.01], [10, 10], [0, 10], [0, 0.02]], float)
    assert without_short(ring).tolist() == [[0, 0], [10, 0], [10, 10], [0, 10]]


def test_what_is_no_circle_is_not_drilled() -> None:
    assert as_circle(box(0, 0, 9, 9)) is None
    assert as_circle(shapely.affinity.scale(Point(0, 0).buffer(4.5), 1.2)) is None
    found = as_circle(Point(3, 4).buffer(4.5))
    assert found is not None
    assert (found.x, found.y, found.radius) == pytest.approx((3, 4, 4.5))


def test_holes_of_plain_parts_are_drilled_and_hold_the_board() -> None:
    holes = (DrilledHole(20.0, 30.0, 5.0), DrilledHole(2380.0, 30.0, 5.0))
    full = BedPart("bare", 2413.0, 139.7, 12.7, 0.0)
    (without,), (bed,) = bed_layouts([board(1, full)]), bed_layouts([board(1, replace(full, drilled=holes))])
    assert "clamp its ends" in without.boards[0].label
    laid = bed.boards[0]
    assert laid.label == "board 1"
    found = [hole for part in laid.parts for hole in part.holes]
    x, y = laid.parts[0].x, laid.parts[0].y
    assert np.array([(hole.x - x, hole.y - y, hole.radius) for hole in found]) == pytest.approx(
        np.array([(30.0, 20.0, 2.5), (30.0, 2380.0, 2.5)])
    )
    circles = read(bed_dxf(bed)).query("CIRCLE[layer=='DRILL']")
    assert [circle.dxf.radius for circle in circles] == [2.5, 2.5]


@pytest.mark.skipif(shutil.which("librecad") is None, reason="LibreCAD (a Debian package) is not installed")
def test_librecad_opens_a_bed_at_true_size(tmp_path) -> None:
    """Printed by it at 1:1; its sheet is smaller than the bed, so widths are measured where the sheet has them."""
    (bed,) = bed_layouts([board(number, carved(12.7)) for number in range(1, 9)])
    (tmp_path / "bed.dxf").write_bytes(bed_dxf(bed))
    ask = ["librecad", "dxf2pdf", "-c", "-m", "-s", "1", "-f", "0,0,0,0", "bed.dxf"]
    subprocess.run(
        ask, cwd=tmp_path, env=os.environ | {"QT_QPA_PLATFORM": "offscreen"}, check=True, timeout=60
    )
    page = pypdfium2.PdfDocument(tmp_path / "bed.pdf")[0]
    dots = 4.0
    dark = np.asarray(page.render(scale=dots).to_pil().convert("L")) < 200
    lines = np.flatnonzero(dark.mean(axis=0) > 0.5)
    edges = np.array([run.mean() for run in np.split(lines, np.flatnonzero(np.diff(lines) > 1) + 1)])
    apart = np.diff(edges) * 25.4 / 72 / dots
    assert len(edges) >= 4
    assert {round(float(each)) for each in apart} == {round(BED.spacing), 140}
    assert apart[apart > 100] == pytest.approx(139.7, abs=0.1)
