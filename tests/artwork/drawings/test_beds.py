"""Bed layouts: everything on the bed, nothing on top of another, and the art as it was proved."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from itertools import combinations

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from artwork.drawings import Bed
from artwork.drawings.beds import Run, bed_layouts
from artwork.errors import EngineError
from artwork.outline import Outline
from artwork.workpiece import Allowances, Slat
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle

CHAIR, BENCH = (load().model(key) for key in ("fernhollow-chair", "longwalk-bench"))
CENTRE = cut_of(
    circle(0, 650, 40), rectangle(-9, 560, 9, 580), slat=CHAIR.slat("back-centre"), allowances=Allowances()
)
RAIL = cut_of(circle(100, 70, 40), slat=BENCH.slat("back-rail"), allowances=Allowances())
BED = Bed()


def test_a_run_is_laid_longest_first_and_loses_nothing() -> None:
    layouts = bed_layouts([Run(CENTRE, 12, "order 12"), Run(RAIL, 3, "rails")])
    labels = [laid.label for layout in layouts for laid in layout.laid]
    assert sorted(labels) == ["order 12"] * 12 + ["rails"] * 3
    assert labels[0] == "rails", "the longest blank is laid first"


def test_mixed_lengths_share_rows() -> None:
    """Rows are shared by what is shorter."""
    slats = [
        cut_of(rectangle(-5, 20, 5, 40), slat=Slat("s", "s", box(-60, 0, 60, h), 25.4))
        for h in (500.0, 1300.0, 700.0, 950.0)
    ]
    runs = [Run(cut, 8, f"{n}") for n, cut in enumerate(slats)]
    beds = sum(layout.times for layout in bed_layouts(runs))
    area = sum(8 * 139.7 * (cut.slat.outline.bounds[3] + 80) for cut in slats)
    assert beds <= 3, "eight to a row: 1380 and 1030; 780 and 580; one bed to spare"
    assert beds >= area / (BED.width * BED.length)


def test_equal_beds_are_drawn_once_and_say_how_often() -> None:
    full = len(bed_layouts([Run(CENTRE, 100, "a")])[0].laid)
    layouts = bed_layouts([Run(CENTRE, 7 * full + 3, "a")])
    assert [(len(layout.laid), layout.times) for layout in layouts] == [(full, 7), (3, 1)]
    assert b"bed layout 1, cut 7 times" in layouts[0].svg()
    assert b"bed layout 2, cut once" in layouts[1].dxf()


@settings(max_examples=20, deadline=None)
@given(
    counts=st.lists(st.integers(1, 9), min_size=1, max_size=4),
    sizes=st.lists(st.tuples(st.floats(40, 200), st.floats(100, 1500)), min_size=4, max_size=4),
    spacing=st.floats(0, 40),
)
def test_blanks_lie_on_the_bed_and_beside_each_other(counts, sizes, spacing) -> None:
    bed = Bed(spacing=spacing)
    runs = [
        Run(cut_of(rectangle(-5, 20, 5, 40), slat=Slat("s", "s", box(-w / 2, 0, w / 2, h), 25.4)), count, "x")
        for count, (w, h) in zip(counts, sizes, strict=False)
    ]
    layouts = bed_layouts(runs, bed)
    assert sum(len(layout.laid) * layout.times for layout in layouts) == sum(counts)
    room = box(0, 0, bed.width, bed.length).buffer(-bed.margin + 1e-6)
    for layout in layouts:
        for laid in layout.laid:
            assert room.covers(laid.blank)
            assert laid.blank.buffer(1e-6).covers(laid.slat)
        for one, other in combinations(layout.laid, 2):
            assert one.blank.distance(other.blank) >= bed.spacing - 1e-6
            assert one.blank.intersection(other.blank).area < 1e-6


def test_screws_stay_clear_of_every_cut() -> None:
    (layout,) = bed_layouts([Run(CENTRE, 3, "a"), Run(RAIL, 1, "b")])
    for laid in layout.laid:
        assert len(laid.screws) == 4
        for screw in laid.screws:
            assert laid.blank.covers(screw)
            assert screw.distance(laid.slat) >= BED.bit_diameter - 1e-6


def test_art_and_slat_are_the_proofs_own_turned_along_the_bed() -> None:
    (layout,) = bed_layouts([Run(RAIL, 1, "rail")])
    (laid,) = layout.laid
    art = Outline(laid.art).region(1e-4)
    assert art.area == pytest.approx(RAIL.placed().region(1e-4).area, rel=1e-6)
    assert art.distance(laid.slat.exterior) == pytest.approx(
        RAIL.placed().region(1e-4).distance(RAIL.slat.outline.exterior), abs=1e-6
    )
    x0, y0, x1, y1 = laid.slat.bounds
    assert y1 - y0 == pytest.approx(1500)  # the grain runs along the bed
    assert x1 - x0 == pytest.approx(139.7)


def test_a_blank_that_does_not_fit_is_refused() -> None:
    with pytest.raises(EngineError, match="does not fit the bed"):
        bed_layouts([Run(RAIL, 1, "rail")], Bed(length=1500))
    assert bed_layouts([]) == ()


def test_dxf_audits_clean_and_holds_the_art_within_a_hundredth() -> None:
    (layout,) = bed_layouts([Run(CENTRE, 2, "order 12 · <centre>")])
    drawing = ezdxf.read(io.StringIO(layout.dxf().decode()))
    assert not drawing.audit().errors
    assert drawing.units == ezdxf.units.MM
    space = drawing.modelspace()
    assert {e.dxf.layer for e in space} == {
        "BED",
        "BOARD",
        "SCREW_SAFE",
        "SLAT_OUTLINE",
        "KEEP_OUTS",
        "ART",
        "LABELS",
    }
    read = [shapely.Polygon(e.get_points("xy")) for e in space.query("LWPOLYLINE[layer=='ART']")]
    expected = [Outline((contour,)).region(1e-4) for laid in layout.laid for contour in laid.art]
    for one, other in zip(read, expected, strict=True):
        assert shapely.hausdorff_distance(one.boundary, other.boundary, densify=0.1) < 0.01
    assert layout.dxf() == layout.dxf()


def test_svg_is_at_true_size_and_its_labels_are_words_only() -> None:
    (layout,) = bed_layouts([Run(CENTRE, 2, "<b>&")])
    root = ET.fromstring(layout.svg())
    assert (root.get("width"), root.get("height")) == ("1219.2mm", "2438.4mm")
    texts = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == ["bed layout 1, cut once", "<b>&", "<b>&"]
    assert np.isclose(float(root.get("viewBox").split()[3]), 2438.4)
