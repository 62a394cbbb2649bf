"""SVG text in a font that the file carries: npm @fontsource/inter and lobster (OFL-1.1), WOFF and WOFF2."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
import resvg_py
import shapely
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image

from artwork.lettering.typefaces import typeface
from tests.artwork.intake.made import area, codes, read, refused, svg
from tests.published.corpus import FONTS, MODULES

WOFF2 = MODULES / "@fontsource" / "inter" / "files" / "inter-latin-400-normal.woff2"


def face(data: bytes, family: str = "Inter", more: str = "") -> str:
    source = f"url(data:font/woff2;base64,{base64.b64encode(data).decode()}) format('woff2')"
    return f"<style>@font-face{{font-family:'{family}';{more}src:{source}}}</style>"


def plain() -> bytes:
    font = TTFont(FONTS["inter"])
    font.flavor = None
    stream = io.BytesIO()
    font.save(stream)
    return stream.getvalue()


@pytest.mark.parametrize("kind", ["woff2", "woff", "ttf"])
def test_letters_stand_where_the_font_says(kind: str) -> None:
    data = {"woff2": WOFF2.read_bytes(), "woff": FONTS["inter"].read_bytes(), "ttf": plain()}[kind]
    reading = read(svg(face(data) + '<text x="10" y="80" font-family="Inter" font-size="50">H</text>'))
    font = TTFont(FONTS["inter"])
    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord("H")]].draw(pen)
    scale = 50 / font["head"].unitsPerEm
    left, low, right, high = (v * scale for v in pen.bounds)
    assert reading.outline.bounds == pytest.approx((10 + left, -80 + low, 10 + right, -80 + high), abs=1e-3)
    assert codes(reading) == set()
    assert reading.kind == "vector"


@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchors(anchor: str, share: float) -> None:
    text = f'<text x="50" y="60" font-family="Inter" font-size="20" text-anchor="{anchor}">HH</text>'
    reading = read(svg(face(plain()) + text))
    font = TTFont(FONTS["inter"])
    advance = 2 * font["hmtx"][font.getBestCmap()[ord("H")]][0] * 20 / font["head"].unitsPerEm
    bearing = font["hmtx"][font.getBestCmap()[ord("H")]][1] * 20 / font["head"].unitsPerEm
    assert reading.outline.bounds[0] == pytest.approx(50 - share * advance + bearing, abs=1e-3)


def test_spans_follow_each_other_and_may_move() -> None:
    text = (
        '<text x="5" y="30" font-family="Inter" font-size="20">H<tspan fill="#060" dy="10">H</tspan>'
        '<tspan x="60" y="80">H</tspan></text>'
    )
    reading = read(svg(face(plain()) + text))
    boxes = sorted(contour.bounds for contour in reading.outline.contours)
    assert len(boxes) == 3
    assert boxes[1][1] == pytest.approx(boxes[0][1] - 10, abs=1e-3)
    assert boxes[2][1] == pytest.approx(-80, abs=1e-3)


def test_text_in_a_font_that_is_not_there_is_left_out_and_said() -> None:
    body = face(plain()) + '<rect width="9" height="9"/><text y="50" font-family="Times">H</text>'
    reading = read(svg(body))
    assert "text-left-out" in codes(reading)
    assert area(reading) == pytest.approx(81)


@pytest.mark.parametrize("source", [b"not a font", b"wOF2" + b"\0" * 60, b""])
def test_a_broken_font_is_no_font(source: bytes) -> None:
    body = face(source) + '<rect width="9" height="9"/><text y="50" font-family="Inter">H</text>'
    assert "text-left-out" in codes(read(svg(body)))


def test_a_font_elsewhere_is_not_fetched() -> None:
    style = "<style>@font-face{font-family:Inter;src:url(file:///usr/share/fonts/inter.ttf)}</style>"
    assert refused(svg(style + '<text y="50" font-family="Inter">H</text>')).code == "text-without-font"


def test_a_drawing_of_nothing_but_text_says_that_it_can_be_set() -> None:
    refusal = refused(svg('<text y="50" font-family="Times">Quillfern</text>'))
    assert refusal.code == "text-without-font"
    assert "Quillfern" in refusal.message
    assert "typeface" in refusal.cure
    long = refused(svg(f'<text y="50" font-family="Times">{"fern " * 90}</text>'))
    assert len(long.message) < 160


def test_text_in_a_typeface_of_our_own_set_is_outlined_and_told() -> None:
    text = '<text x="5" y="50" font-family="{}" font-weight="{}" font-size="20">Fern</text>'
    reading = read(svg(text.format("Lato, sans-serif", "bold")))
    assert {"text-set"} == codes(reading)
    assert "Lato Bold" in next(r.message for r in reading.remarks if r.code == "text-set")
    lato = typeface("lato-bold")
    embedded = read(svg(face(lato.data) + text.format("Inter", "400")))
    assert area(reading) == pytest.approx(area(embedded), rel=1e-6)
    italic = text.replace("<text", '<text font-style="italic"')
    for other in (text.format("Lato", "300"), italic.format("Lato", "bold")):  # never another font
        assert refused(svg(other)).code == "text-without-font"


@pytest.mark.parametrize(
    "text",
    [
        '<text {} x="10 20 30" y="50">H<tspan>HH</tspan></text>', '<text {} x="10 1em" y="50">HH</text>',
        '<text {} y="50" rotate="30">H<tspan>H</tspan></text>', '<text {} y="50" dx="5"><tspan>H</tspan></text>',
        '<text {} x="10 20" y="50">He\u0301</text>', '<text {} x="10 20" y="50">\u05d0\u05d1</text>',
        '<text {} x="10" y="50" textLength="80">HHH</text>',
        '<text {} x="10" y="50" writing-mode="tb">HHH</text>', '<text {} y="50" word-spacing="20">H H</text>',
        '<text {} y="50" style="dominant-baseline:middle">H</text>', '<text {} x="50%" y="2em">H</text>',
        '<text {} y="50"><tspan baseline-shift="super">H</tspan></text>', '<text {} y="50" direction="rtl">H</text>',
        '<text {} y="50" font-variant="small-caps">h</text>', '<text {} y="50" text-decoration="underline">H</text>',
        '<text {} y="50" style="text-transform:uppercase">h</text>',
        '<text {}><textPath href="#p">HHH</textPath></text>',
    ],
)  # fmt: skip
def test_text_that_is_not_laid_out_here_is_left_out_and_said(text: str) -> None:
    """Never placed, stretched, turned or marked otherwise than its sender saw it."""
    guide = '<path id="p" fill="none" d="M10 60 C30 10 70 10 90 60"/><rect width="9" height="9"/>'
    reading = read(svg(face(plain()) + guide + text.format('font-family="Inter" font-size="20"')))
    assert "text-left-out" in codes(reading)
    assert area(reading) == pytest.approx(81)


def test_defaults_that_drawing_programs_write_out_change_nothing() -> None:
    style = (
        "word-spacing:0px;writing-mode:lr-tb;font-variant:normal;text-decoration:none;baseline-shift:baseline"
    )
    body = '<text {} x="10px" y="50" font-family="Inter" font-size="20">H</text>'
    bare, spelt = (read(svg(face(plain()) + body.format(more))) for more in ("", f'style="{style}"'))
    assert codes(spelt) == set()
    assert spelt.outline.bounds == bare.outline.bounds


PLACED = [
    '<text {} x="5 25 60 70" y="30 40 50">AVer</text>', '<text {} x="10" y="50" dx="0 5 9" dy="3 -8 4">HAVe</text>',
    '<text {} x="20" y="50" rotate="30">AVon</text>', '<text {} x="20" y="60" rotate="0 20 -45 90">AVon</text>',
    '<text {} x="10 40 60" y="50" rotate="15 -15" dy="0 5">Qui</text>',
    '<text {} y="40"><tspan x="10 35 55">Fer</tspan><tspan x="12" dy="30">nery</tspan></text>',
    '<text {} x="50" y="30" text-anchor="middle">AV<tspan y="70">er</tspan></text>',
    '<text {} x="90 90" y="30 70" text-anchor="end">Fe</text>',
    '<text {} x="8" y="50" dx="4">Fe<tspan dy="20">rn</tspan></text>',
]  # fmt: skip


@pytest.mark.parametrize("text", PLACED)
def test_letters_placed_and_turned_one_by_one_stand_where_resvg_draws_them(text: str, tmp_path) -> None:
    """resvg does not read fonts in the file; it is given the same one beside it."""
    (tmp_path / "inter.ttf").write_bytes(plain())
    body = text.format('font-family="Inter" font-size="24"')
    reading = read(svg(face(plain()) + body))
    assert (reading.kind, codes(reading)) == ("vector", set())
    png = resvg_py.svg_to_bytes(
        svg_string=svg(body, 'viewBox="0 0 100 100" width="100" height="100"').decode(),
        width=600,
        height=600,
        skip_system_fonts=True,
        font_files=[str(tmp_path / "inter.ttf")],
    )
    seen = np.asarray(Image.open(io.BytesIO(bytes(png))))[:, :, 3] > 127
    x, y = np.meshgrid((np.arange(600) + 0.5) / 6, -(np.arange(600) + 0.5) / 6)
    got = shapely.contains_xy(reading.outline.region(0.01), x, y)
    assert seen.sum() > 3000
    assert (got & seen).sum() / (got | seen).sum() > 0.98


def test_more_places_than_letters_and_more_letters_than_places() -> None:
    read_ = [
        read(
            svg(face(plain()) + f'<text x="{xs}" y="50" font-family="Inter" font-size="20">HH</text>')
        ).outline.bounds
        for xs in ("10 40", "10 40 70 90")
    ]
    assert read_[0] == read_[1]
    flowing = read(
        svg(face(plain()) + '<text x="10 40" y="50" font-family="Inter" font-size="20">HHH</text>')
    )
    assert len(flowing.outline.contours) == 3
