"""Drawings read back by other libraries: FontTools and resvg for SVG, ezdxf for DXF, PDFium for PDF."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pypdfium2
import pytest
import resvg_py
import shapely
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from PIL import Image
from shapely import Polygon

from artwork.curves import Contour
from artwork.cut import Cut
from artwork.drawings import MachineFrame
from artwork.drawings.dxf import dxf
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg
from artwork.outline import Outline, polygons
from artwork.placing import safe_area
from artwork.workpiece import Allowances
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle, ring

NS = {"s": "http://www.w3.org/2000/svg"}
SLAT = load().model("fernhollow-chair").slat("back-centre")
ART = (
    circle(0, 640, 40),
    circle(0, 640, 30, hole=True),
    rectangle(-8, 632, 8, 648),
    ring([(-30, 560), (30, 561), (0.3, 590)]),
)
LETTER_L = (ring([(0, 0), (30, 0), (30, 10), (10, 10), (10, 60), (0, 60)]),)


@pytest.fixture(scope="module")
def cut() -> Cut:
    return cut_of(*ART, slat=SLAT, allowances=Allowances(), rotation_deg=7.0)


def region(cut: Cut):
    return cut.placed().region(1e-4)


def farthest(one, other) -> float:
    return shapely.hausdorff_distance(one.boundary, other.boundary, densify=0.1)


def contours_of(data: str) -> list[Contour]:
    """SVG path data by FontTools → contours, y upwards."""
    pen = RecordingPen()
    parse_path(data, pen)
    found, knots, controls = [], [], []
    for verb, raw in pen.value:
        points = [np.array(p) * [1, -1] for p in raw]
        if verb == "moveTo":
            knots, controls = [points[0]], []
        elif verb == "lineTo":
            controls.append(np.full((2, 2), np.nan))
            knots.append(points[0])
        elif verb == "curveTo":
            controls.append(np.array(points[:2]))
            knots.append(points[2])
        elif np.allclose(knots[0], knots[-1]):
            found.append(Contour(np.array(knots[:-1]), np.array(controls)))
        else:
            found.append(Contour(np.array(knots), np.array([*controls, np.full((2, 2), np.nan)])))
    return found


def test_svg_states_its_size_in_millimetres_and_names_its_groups(cut) -> None:
    root = ET.fromstring(svg(cut))
    assert (root.get("width"), root.get("height")) == ("139.7mm", "860mm")
    assert root.get("viewBox") == "-69.85 -860 139.7 860"
    assert [g.get("id") for g in root.findall("s:g", NS)] == ["slat-outline", "keep-outs", "safe-area", "art"]


def test_svg_keeps_curves_and_gives_the_art_back(cut) -> None:
    data = ET.fromstring(svg(cut)).find("s:g[@id='art']/s:path", NS).get("d")
    read = contours_of(data)
    assert [len(c.knots) for c in read] == [len(c.knots) for c in cut.placed().contours]
    assert [c.straight.all() for c in read] == [False, False, True, True]
    assert farthest(Outline(tuple(read)).region(1e-4), region(cut)) < 0.001


def test_svg_is_drawn_at_its_true_size_by_another_renderer(cut) -> None:
    dots_per_mm = 4
    png = resvg_py.svg_to_bytes(svg_string=svg(cut).decode(), dpi=25.4 * dots_per_mm, background="white")
    picture = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L"))
    assert picture.shape == pytest.approx((860 * dots_per_mm, 139.7 * dots_per_mm), abs=1)
    # hairlines are grey at this density; only carved places are black
    rows, columns = np.nonzero(picture < 10)
    x0, y0, x1, y1 = region(cut).bounds
    seen = np.array([columns.min(), rows.max() + 1, columns.max() + 1, rows.min()]) / dots_per_mm
    assert np.allclose(seen, [x0 + 69.85, 860 - y0, x1 + 69.85, 860 - y1], atol=1.5 / dots_per_mm)
    assert (picture < 128).sum() / dots_per_mm**2 == pytest.approx(region(cut).area, rel=0.02)


@pytest.mark.parametrize("splines", [False, True])
def test_dxf_opens_and_audits_clean_with_named_layers_in_millimetres(cut, splines) -> None:
    drawing = ezdxf.read(io.StringIO(dxf(cut, splines=splines).decode()))
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.dxfversion == "AC1024"  # R2010
    assert drawing.units == ezdxf.units.MM
    assert {"ART", "SLAT_OUTLINE", "KEEP_OUTS", "SAFE_AREA", "ZERO"} <= {
        e.dxf.layer for e in drawing.modelspace()
    }


def test_dxf_polylines_are_closed_and_give_the_art_back_within_a_hundredth(cut) -> None:
    space = ezdxf.read(io.StringIO(dxf(cut).decode())).modelspace()
    art = space.query("LWPOLYLINE[layer=='ART']")
    assert len(art) == len(ART)
    assert all(line.closed for line in art)
    read = polygons([np.array(line.get_points("xy")) for line in art])
    assert farthest(read, region(cut)) < 0.01


def test_dxf_splines_are_the_curves_themselves(cut) -> None:
    space = ezdxf.read(io.StringIO(dxf(cut, splines=True).decode())).modelspace()
    lines = [np.array(line.get_points("xy")) for line in space.query("LWPOLYLINE[layer=='ART']")]
    curves = [
        np.array([(p.x, p.y) for p in s.flattening(1e-4)])[:-1] for s in space.query("SPLINE[layer=='ART']")
    ]
    assert (len(lines), len(curves)) == (2, 2)
    assert farthest(polygons([*lines, *curves]), region(cut)) < 0.002


def test_dxf_shows_slat_keep_outs_and_safe_area(cut) -> None:
    space = ezdxf.read(io.StringIO(dxf(cut).decode())).modelspace()

    def area(layer: str) -> float:
        return sum(
            Polygon(line.get_points("xy")).area for line in space.query(f"LWPOLYLINE[layer=='{layer}']")
        )

    assert area("SLAT_OUTLINE") == pytest.approx(SLAT.outline.area)
    assert area("KEEP_OUTS") == pytest.approx(sum(k.shape.area for k in SLAT.keep_outs))
    assert area("SAFE_AREA") == pytest.approx(safe_area(SLAT, cut.allowances).area)


def dark_run(row: np.ndarray) -> int:
    where = np.nonzero(row < 100)[0]
    return int(where.max() - where.min() + 1) if len(where) else 0


@pytest.mark.parametrize(("paper", "sheets"), [("whole", 1), ("A4", 4), ("Letter", 4)])
def test_pdf_is_true_to_size_and_its_check_bar_measures_100_mm(cut, paper, sheets) -> None:
    document = pypdfium2.PdfDocument(pdf(cut, paper=paper))
    assert len(document) == sheets
    scale = 8 * 25.4 / 72  # 8 px per mm
    picture = np.asarray(document[0].render(scale=scale).to_pil().convert("L"))
    foot = picture[-int(19.5 * 8) : -(15 * 8)]  # the bar's own height above the sheet's lower edge
    assert max(map(dark_run, foot)) / 8 == pytest.approx(100, abs=0.4)


def test_pdf_whole_sheet_shows_the_art_at_its_true_size(cut) -> None:
    page = pypdfium2.PdfDocument(pdf(cut))[0]
    width, height = (length / 72 * 25.4 for length in page.get_size())
    assert (width, height) == pytest.approx((159.7, 860 + 36), abs=0.01)
    picture = np.asarray(page.render(scale=4 * 25.4 / 72).to_pil().convert("L"))
    x0, y0, x1, y1 = region(cut).bounds
    top, low = round((height - 26 - y1) * 4), round((height - 26 - y0) * 4)
    left, right = round((x0 + 79.85) * 4), round((x1 + 79.85) * 4)
    inner = picture[top - 8 : low + 8, left - 8 : right + 8]
    rows, columns = np.nonzero(inner < 100)
    assert [rows.min(), rows.max(), columns.min(), columns.max()] == pytest.approx(
        [8, low - top + 8, 8, right - left + 8], abs=2
    )


def test_sheets_of_a4_cover_the_whole_slat(cut) -> None:
    """No part of the art falls between sheets: their black together is at least its area."""
    document = pypdfium2.PdfDocument(pdf(cut, paper="A4"))
    black = sum(
        (np.asarray(p.render(scale=4 * 25.4 / 72).to_pil().convert("L")) < 60).sum() for p in document
    )
    assert black / 16 >= region(cut).area


@pytest.mark.parametrize("turns", range(4))
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_machine_frame_moves_the_whole_drawing_as_one(turns, mirrored) -> None:
    cut = cut_of(*LETTER_L, x=10.0, y=600.0, slat=SLAT, allowances=Allowances())
    frame = MachineFrame(turns, mirrored, "lower-left")
    space = ezdxf.read(io.StringIO(dxf(cut, frame).decode())).modelspace()
    (slat,) = (Polygon(e.get_points("xy")) for e in space.query("LWPOLYLINE[layer=='SLAT_OUTLINE']"))
    (art,) = (Polygon(e.get_points("xy")) for e in space.query("LWPOLYLINE[layer=='ART']"))
    assert slat.bounds[:2] == pytest.approx((0, 0))
    assert art.exterior.is_ccw
    back = shapely.affinity.affine_transform(art, [-1 if mirrored else 1, 0, 0, 1, 0, 0])
    upright = shapely.affinity.rotate(back, -90 * turns if not mirrored else 90 * turns, origin=(0, 0))
    expected = region(cut)
    shift = np.array(expected.bounds[:2]) - np.array(upright.bounds[:2])
    assert shapely.affinity.translate(upright, *shift).symmetric_difference(expected).area < 1e-6
    # the distance from art to the slat's foot does not change
    assert art.distance(slat.boundary) == pytest.approx(expected.distance(SLAT.outline.boundary))


@pytest.mark.parametrize("draw", [svg, dxf, pdf], ids=["svg", "dxf", "pdf"])
def test_the_same_cut_gives_the_same_bytes(cut, draw) -> None:
    assert draw(cut) == draw(cut)


def test_a_slats_name_cannot_break_the_svg(cut) -> None:
    from dataclasses import replace

    odd = replace(cut, slat=replace(SLAT, name='<b>&"slat"'))
    assert ET.fromstring(svg(odd)).find("s:title", NS).text == '<b>&"slat"'
