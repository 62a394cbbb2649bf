"""Shapes drawn in office documents, laid out as ECMA-376-1 (§20.1, annex D) and ISO/IEC 26300-1 (§10) have them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from artwork.intake.office import drawings
from artwork.intake.values import Limits
from tests.artwork.intake.made import area, codes, read
from tests.artwork.intake.test_inside import PICTURE, packed

EMU, PX = 36_000, 96 / 25.4
"""English metric units, and units of a drawing read as SVG, to the millimetre."""
MAIN = 'xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"'
OPEN = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{full}:1.0"'
    for short, full in (("draw", "drawing"), ("svg", "svg-compatible"), ("style", "style"))
)


def shape(geometry: str, box: tuple[int, int, int, int], colour: str = "204060", frame: str = "") -> str:
    x, y, w, h = (EMU * each for each in box)
    return (
        f'<p:sp><p:spPr><a:xfrm {frame}><a:off x="{x}" y="{y}"/><a:ext cx="{w}" cy="{h}"/></a:xfrm>{geometry}'
        f'<a:solidFill><a:srgbClr val="{colour}"/></a:solidFill><a:ln><a:noFill/></a:ln></p:spPr></p:sp>'
    )


def preset(name: str) -> str:
    return f'<a:prstGeom prst="{name}"><a:avLst/></a:prstGeom>'


def slide(body: str) -> bytes:
    return packed({"ppt/slides/slide1.xml": f'<p:sld xmlns:p="p" {MAIN}>{body}</p:sld>'.encode()})


def open_page(body: str) -> bytes:
    style = (
        '<style:style style:name="s"><style:graphic-properties draw:fill="solid" draw:fill-color="#204060" '
        'draw:stroke="none"/></style:style>'
    )
    return packed({"content.xml": f"<office {OPEN}>{style}{body}</office>".encode()})


def mm2(document: bytes) -> float:
    return area(read(document)) / PX**2


PATH = (
    '<a:custGeom><a:pathLst><a:path w="100" h="100"><a:moveTo><a:pt x="100" y="50"/></a:moveTo>'
    '<a:arcTo wR="50" hR="50" stAng="0" swAng="10800000"/><a:close/></a:path></a:pathLst></a:custGeom>'
)


@pytest.mark.parametrize(
    ("geometry", "share"),
    [
        (preset("ellipse"), math.pi / 4),
        (preset("triangle"), 1 / 2),
        (preset("diamond"), 1 / 2),
        (preset("hexagon"), 1 - 0.25 * 20 / 40),
        (preset("plus"), 1 - 4 * 5 * 5 / 800),
        (PATH, math.pi / 8),
    ],
    ids=["ellipse", "triangle", "diamond", "hexagon", "plus", "own outline"],
)
def test_a_shape_covers_what_its_outline_does(geometry: str, share: float) -> None:
    reading = read(slide(shape(geometry, (10, 10, 40, 20))))
    assert reading.kind == "vector"
    assert area(reading) / PX**2 == pytest.approx(share * 800, rel=2e-3)


def test_a_white_shape_is_left_in_the_one_below_and_a_turned_one_turns() -> None:
    both = shape(preset("ellipse"), (0, 0, 40, 40)) + shape(
        preset("rect"), (10, 15, 20, 10), "FFFFFF", 'rot="5400000"'
    )
    reading = read(slide(both))
    assert area(reading) / PX**2 == pytest.approx(math.pi * 400 - 200, rel=1e-3)
    assert len(reading.outline.contours) == 2
    hole = min(np.ptp(each.knots, axis=0).tolist() for each in reading.outline.contours)
    assert hole == pytest.approx([10 * PX, 20 * PX], rel=1e-3)


def test_a_group_brings_its_own_measures() -> None:
    group = (
        f'<p:grpSp><p:grpSpPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="{40 * EMU}" cy="{40 * EMU}"/>'
        f'<a:chOff x="0" y="0"/><a:chExt cx="{20 * EMU}" cy="{20 * EMU}"/></a:xfrm></p:grpSpPr>'
        f"{shape(preset('ellipse'), (5, 5, 10, 10))}</p:grpSp>"
    )
    assert mm2(slide(group)) == pytest.approx(math.pi * 100, rel=1e-3)


def test_shapes_of_open_documents() -> None:
    cases = {
        '<draw:circle draw:style-name="s" svg:x="2cm" svg:y="2cm" svg:width="4cm" svg:height="4cm"/>': math.pi * 400,
        '<draw:polygon draw:style-name="s" svg:width="40mm" svg:height="20mm" svg:viewBox="0 0 400 200" '
        'draw:points="200,0 400,200 0,200"/>': 400.0,
        '<draw:path draw:style-name="s" svg:width="20mm" svg:height="20mm" svg:viewBox="0 0 2 2" '
        'svg:d="M0 0h2v2h-2z"/>': 400.0,
        '<draw:rect draw:style-name="s" svg:width="4cm" svg:height="2cm" draw:transform="rotate (0.5) '
        'translate (8cm 10cm)"/>': 800.0,
    }  # fmt: skip
    for body, true in cases.items():
        assert mm2(open_page(body)) == pytest.approx(true, rel=1e-3)


def test_a_box_or_two_of_a_page_stand_behind_its_picture_and_other_shapes_before() -> None:
    for name, first in (("rect", "png"), ("ellipse", "svg")):
        drawn = f'<p:sld xmlns:p="p" {MAIN}>{shape(preset(name), (0, 0, 40, 20))}</p:sld>'.encode()
        reading = read(packed({"ppt/slides/slide1.xml": drawn, "ppt/media/image1.png": PICTURE}))
        assert reading.format == first
        assert len(reading.choices) == 2


def test_words_in_a_shape_are_told_and_what_cannot_be_followed_is_left() -> None:
    words = shape(preset("ellipse"), (0, 0, 40, 40)).replace(
        "</p:sp>", "<p:txBody><a:p><a:r><a:t>Quillfern</a:t></a:r></a:p></p:txBody></p:sp>"
    )
    assert "text-left-out" in codes(read(slide(words)))
    for words in ("0.0.1mm", "9" * 400 + "mm", "nan", "1e308cm"):
        odd = f'<draw:circle draw:transform="scale ({words}) translate ({words})" svg:x="{words}" svg:width="4cm" '
        assert mm2(open_page(f'{odd} draw:style-name="s" svg:height="4cm"/>')) == pytest.approx(
            math.pi * 400, rel=1e-3
        )
    bomb = b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'
    assert not list(drawings({"content.xml": bomb, "ppt/slides/slide1.xml": b"<broken"}, Limits()))
