"""SVG taken as vectors: every feature by the area and place that must come out."""

# ruff: noqa: E501 - a drawing reads best on one line

from __future__ import annotations

import base64
import math

import numpy as np
import pytest
import shapely
from PIL import Image

from artwork.intake.svg_picture import LOOK_SIDE
from tests.artwork.intake.made import area, codes, encoded, read, refused, sound, svg

RECT = '<rect x="10" y="20" width="40" height="30"/>'
NESTED = '<path d="M10 10h60v60h-60zM20 20h40v40h-40z" fill-rule="{rule}"/>'


def the_area(body: str, attributes: str = 'viewBox="0 0 100 100"') -> float:
    reading = read(svg(body, attributes), "art.svg")
    assert reading.kind == "vector"
    assert reading.format == "svg"
    sound(reading.outline)
    return area(reading)


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        (RECT, 1200),
        ('<rect width="40" height="30" rx="5"/>', 1200 - (4 - math.pi) * 25),
        ('<rect width="40" height="30" rx="5" ry="99"/>', 1200 - (4 - math.pi) * 75),
        ('<circle cx="50" cy="50" r="30"/>', math.pi * 900),
        ('<ellipse cx="50" cy="50" rx="30" ry="10"/>', math.pi * 300),
        ('<polygon points="0,0 40,0 40,30"/>', 600),
        ('<polyline points="0,0 40,0 40,30"/>', 600),
        ('<path d="M0 0L40 0 40 30"/>', 600),
        ('<path d="m10,10h20v20h-20zm30 0h10v10h-10z"/>', 500),
        ('<path d="M0 0 10 0 10 10 0 10z"/>', 100),
        ('<path d="M0,50a50,50 0 1,0 100,0a50 50 0 10-100 0z"/>', math.pi * 2500),
        ('<path d="M10 50Q50 0 90 50z"/>', 2 / 3 * 80 * 25),
        ('<path d="M10 50Q30 0 50 50T90 50V100H10z"/>', 4000),
        ('<path d="M10 50C10 20 50 20 50 50S90 80 90 50V100H10z"/>', 4000),
        ('<path d="M1e1 1.e1h.5e2v50.h-50z"/>', 2500),
        ('<path d="M10-10l20+0 0 20-20-.0z"/>', 400 / 2),  # the upper half lies outside the view
        (NESTED.format(rule="evenodd"), 3600 - 1600),
        (NESTED.format(rule="nonzero"), 3600),
        ('<line x1="10" y1="10" x2="60" y2="10" stroke="black" stroke-width="4"/>', 200),
        (
            '<line x1="20" y1="20" x2="60" y2="20" stroke="#000" stroke-width="4" stroke-linecap="square"/>',
            44 * 4,
        ),
        (
            '<path d="M20 20h40" stroke="#000" stroke-width="4" stroke-linecap="round"/>',
            160 + math.pi * 4,
        ),
        ('<path d="M20 20h40v40" fill="none" stroke="#000" stroke-width="4"/>', 80 * 4),
        (
            '<path d="M20 20h40v40" fill="none" stroke="#000" stroke-width="4" stroke-linejoin="bevel"/>',
            80 * 4 - 2,
        ),
        (
            '<path d="M20 20h40v40" fill="none" stroke="#000" stroke-width="4" stroke-linejoin="round"/>',
            80 * 4 - 4 + math.pi,
        ),
        (
            '<path d="M10 10h80" stroke="#000" stroke-width="2" stroke-dasharray="10 5"/>',
            (5 * 10 + 5) * 2,
        ),
        ('<path d="M10 10h80" stroke="#000" stroke-width="2" stroke-dasharray="10"/>', 4 * 20),
        ('<circle cx="50" cy="50" r="20" fill="none" stroke="#000" stroke-width="6"/>', math.pi * (23**2 - 17**2)),
        ('<rect x="20" y="20" width="20" height="20" stroke="#000" stroke-width="2"/>', 22 * 22),
        ('<g transform="translate(10 5) scale(2)"><rect width="10" height="10"/></g>', 400),
        ('<rect width="10" height="10" transform="rotate(30 20 20) translate(20,20)"/>', 100),
        ('<rect x="30" y="30" width="10" height="10" transform="skewX(20)"/>', 100),
        ('<rect width="10" height="10" transform="matrix(1 0 0 2 30 30)"/>', 200),
        (
            '<g transform="scale(4 1)"><path d="M5 50h10" stroke="#000" stroke-width="2" fill="none"/></g>',
            80,
        ),
        (
            '<g transform="scale(4)"><path d="M5 5h10" stroke="#000" stroke-width="2" '
            'vector-effect="non-scaling-stroke"/></g>',
            80,
        ),
        ('<defs><rect id="a" width="10" height="10"/></defs><use href="#a" x="5"/><use xlink:href="#a" y="50"/>', 200),
        (
            '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
            '<use href="#s" width="30" height="30"/>',
            900,
        ),
        ('<svg x="10" y="10" width="50" height="50" viewBox="0 0 5 5"><rect width="9" height="9"/></svg>', 2500),
        (
            '<svg width="50" height="50" viewBox="0 0 5 5" overflow="visible"><rect width="9" height="9"/></svg>',
            8100,
        ),
        (
            '<clipPath id="c"><circle cx="50" cy="50" r="20"/></clipPath>'
            '<rect width="100" height="100" clip-path="url(#c)"/>',
            math.pi * 400,
        ),
        (
            '<clipPath id="c"><path d="M0 0h50v50h-50zM10 10h30v30h-30z" clip-rule="evenodd"/></clipPath>'
            '<rect width="100" height="100" clip-path="url(#c)"/>',
            2500 - 900,
        ),
        (
            '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height="1"/></clipPath>'
            '<rect x="20" y="20" width="40" height="20" clip-path="url(#c)"/>',
            400,
        ),
        (
            '<clipPath id="c"><rect width="30" height="100" fill="none" display="inline"/></clipPath>'
            '<g clip-path="url(#c)"><rect width="60" height="10"/><rect y="50" width="60" height="10"/></g>',
            600,
        ),
        ('<clipPath id="c"/><rect width="5" height="5" clip-path="url(#c)"/><rect x="50" width="9" height="9"/>', 81),
        ('<style>.a{fill:none} rect.b{fill:#000!important}</style><rect class="a b" width="9" height="9"/>', 81),
        ('<style>g &gt; *{fill:white}</style><g><rect width="9" height="9"/></g><rect x="50" width="9" height="9"/>', 81),
        ('<style>#r{display:none}</style><rect id="r" width="9" height="9"/><rect x="50" width="4" height="4"/>', 16),
        ('<rect width="9" height="9" style="fill:#123456;fill-opacity:.9"/>', 81),
        ('<g fill="currentColor" color="red"><rect width="9" height="9"/></g>', 81),
        ('<g color="red"><g color="currentColor"><rect width="9" height="9" fill="currentColor"/></g></g>', 81),
        ('<rect width="9" height="9" opacity="0"/><rect x="50" width="4" height="4"/>', 16),
        ('<rect width="9" height="9" visibility="hidden"/><rect x="50" width="4" height="4"/>', 16),
        ('<switch><foreignObject/><rect width="9" height="9"/><rect width="50" height="50"/></switch>', 81),
        ('<rect width="50%" height="10%"/>', 500),
        ('<circle cx="50%" cy="50%" r="10%"/>', math.pi * 100),
        # painter's order: white on top knocks out, black on that again carves
        (RECT + '<rect x="20" y="30" width="10" height="10" fill="#fff"/>', 1100),
        (
            RECT + '<rect x="20" y="30" width="10" height="10" fill="white"/>'
            '<rect x="22" y="32" width="4" height="4" fill="#222"/>',
            1116,
        ),
        (RECT + '<rect x="0" y="40" width="100" height="50" fill="white"/>', 800),
        ('<rect width="100" height="100" fill="white"/>' + RECT, 1200),
        # overlapping fills become one area
        (RECT + '<rect x="30" y="30" width="40" height="30"/>', 1200 + 1200 - 20 * 20),
        (RECT + RECT, 1200),
        # shapes that share an edge become one
        ('<rect width="10" height="10"/><rect x="10" width="10" height="10"/>', 200),
        # a figure of eight by both rules
        ('<path d="M0 0L40 40V0L0 40z"/>', 800),
        ('<path d="M0 0L40 40V0L0 40z" fill-rule="evenodd"/>', 800),
    ],
)  # fmt: skip
def test_what_is_painted_is_what_is_carved(body: str, wanted: float) -> None:
    assert the_area(body) == pytest.approx(wanted, rel=2e-4, abs=0.02)


def test_a_star_winds_twice_around_its_middle() -> None:
    points = [(50, 5), (76, 86), (7, 36), (93, 36), (24, 86)]
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(shapely.LinearRing(points))]))
    assert len(faces) == 6
    middle = max(faces, key=lambda face: len(face.exterior.coords))  # five corners; the points have three
    star = '<path d="M50 5L76 86 7 36 93 36 24 86z" fill-rule="{}"/>'
    whole = shapely.area(faces).sum()
    assert the_area(star.format("nonzero")) == pytest.approx(whole, rel=1e-6)
    assert the_area(star.format("evenodd")) == pytest.approx(whole - middle.area, rel=1e-6)


@pytest.mark.parametrize("radius", [5.0, 60.0, 400.0])
def test_a_circle_stays_a_circle(radius: float) -> None:
    """Within 0.01 mm at a carving size of up to 800 mm across: as an element, as arcs, as a stroke."""
    r = radius
    shapes = [
        f'<circle cx="{r}" cy="{r}" r="{r}"/>',
        f'<path d="M0 {r}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z"/>',
    ]
    for shape in shapes:
        reading = read(svg(shape, f'width="{2 * r}mm" height="{2 * r}mm" viewBox="0 0 {2 * r} {2 * r}"'))
        (circle,) = reading.outline.contours
        assert reading.outline.stated_mm is not None
        points = circle.polyline(1e-6 * r) * reading.outline.stated_mm
        left, low, right, high = reading.outline.bounds
        centre = np.array([left + right, low + high]) / 2 * reading.outline.stated_mm
        assert np.abs(np.hypot(*(points - centre).T) - r).max() < 0.01
        assert len(circle.knots) <= 8


def test_a_stroked_circle_stays_a_ring_of_circles() -> None:
    """Art 130 mm across, the width of a board: both edges of the ring within 0.01 mm, few nodes."""
    body = '<circle cx="65" cy="65" r="60" fill="none" stroke="#000" stroke-width="10"/>'
    reading = read(svg(body, 'viewBox="0 0 130 130"'))
    outer, inner = sorted(reading.outline.contours, key=lambda contour: -contour.area)
    for contour, radius in ((outer, 65), (inner, 55)):
        points = contour.polyline(1e-4) - (65, -65)
        assert np.abs(np.hypot(*points.T) - radius).max() < 0.01
        assert len(contour.knots) <= 16


def test_curves_are_kept_where_shapes_overlap() -> None:
    """Two circles that overlap: what is left of each is still its own arc."""
    reading = read(svg('<circle cx="40" cy="50" r="20"/><circle cx="60" cy="50" r="20"/>'))
    (outline,) = reading.outline.contours
    lens = 2 * 400 * math.acos(0.5) - 10 * math.sqrt(1600 - 400)
    assert outline.area == pytest.approx(2 * math.pi * 400 - lens, rel=1e-4)
    points = outline.polyline(1e-3)
    off = [np.abs(np.hypot(points[:, 0] - x, points[:, 1] + 50) - 20) for x in (40, 60)]
    assert np.minimum(*off).max() < 80 * 2e-5
    assert len(outline.knots) <= 16


def test_untouched_shapes_keep_their_own_points() -> None:
    body = '<path d="M10 10C20 5 30 5 40 10L40 40z"/><path d="M60 10C70 5 80 5 90 10L90 40z"/>'
    reading = read(svg(body, 'width="100" height="100" viewBox="0 0 100 100"'))
    assert reading.counts["nodes"] == 6
    knots = {(round(x, 9), round(-y, 9)) for c in reading.outline.contours for x, y in c.knots.tolist()}
    assert knots == {(10, 10), (40, 10), (40, 40), (60, 10), (90, 10), (90, 40)}


@pytest.mark.parametrize(
    ("attributes", "mm"),
    [
        ('width="50mm" height="50mm" viewBox="0 0 100 100"', 50),
        ('width="5cm" height="5cm" viewBox="0 0 100 100"', 50),
        ('width="2in" height="2in" viewBox="0 0 10 10"', 50.8),
        ('width="72pt" height="72pt" viewBox="0 0 10 10"', 25.4),
        ('width="6pc" height="6pc"', 25.4),
        ('width="100" height="100" viewBox="0 0 10 10"', None),
        ('width="100px" height="100px" viewBox="0 0 10 10"', None),
        ('width="100%" viewBox="0 0 10 10"', None),
        ('viewBox="0 0 10 10"', None),
    ],
)
def test_a_stated_size_is_carried(attributes: str, mm: float | None) -> None:
    reading = read(svg('<rect width="100%" height="100%"/>', attributes))
    if mm is None:
        assert reading.outline.stated_mm is None
    else:
        assert reading.outline.stated_mm is not None
        assert reading.outline.size[0] * reading.outline.stated_mm == pytest.approx(mm)


@pytest.mark.parametrize(
    ("ratio", "bounds"),
    [
        ("none", (0, 0, 200, 100)),
        ("xMidYMid", (50, 0, 150, 100)),
        ("xMinYMin meet", (0, 0, 100, 100)),
        ("xMaxYMax", (100, 0, 200, 100)),
        ("xMidYMid slice", (0, 0, 200, 100)),
    ],
)
def test_a_view_keeps_its_shape_as_asked(ratio: str, bounds: tuple[float, ...]) -> None:
    attributes = f'width="200" height="100" viewBox="0 0 10 10" preserveAspectRatio="{ratio}"'
    reading = read(svg('<rect width="10" height="10"/>', attributes))
    left, low, right, high = reading.outline.bounds
    assert (left, -high, right, -low) == pytest.approx(bounds)


def test_y_runs_upwards() -> None:
    reading = read(svg('<path d="M10 10h20v10z"/>', 'viewBox="0 0 100 100" width="100" height="100"'))
    (triangle,) = reading.outline.contours
    assert triangle.knots[:, 1].max() == pytest.approx(-10)


def test_a_light_logo_on_nothing_is_taken() -> None:
    reading = read(svg('<circle cx="50" cy="50" r="30" fill="#fff"/>'))
    assert area(reading) == pytest.approx(math.pi * 900, rel=1e-4)
    assert "light-art" in codes(reading)


def test_a_light_logo_on_a_dark_ground_is_taken() -> None:
    body = '<rect width="100" height="100" fill="#123"/><circle cx="50" cy="50" r="30" fill="#fff"/>'
    assert the_area(body) == pytest.approx(math.pi * 900, rel=1e-4)


def test_invert_takes_the_other_side() -> None:
    body = '<circle cx="50" cy="50" r="30"/>'
    reading = read(svg(body), invert=True)
    assert area(reading) == pytest.approx(10000 - math.pi * 900, rel=1e-4)
    ground = '<rect width="100" height="100" fill="#123"/><circle cx="50" cy="50" r="30" fill="#fff"/>'
    assert area(read(svg(ground), invert=True)) == pytest.approx(10000 - math.pi * 900, rel=1e-4)


def test_inks_are_told_and_can_be_chosen() -> None:
    body = (
        '<rect width="40" height="40" fill="#c00"/><rect x="50" width="30" height="30" fill="#060"/>'
        '<rect x="50" y="50" width="20" height="20" fill="#070"/>'
    )
    every = read(svg(body))
    assert [ink.colour for ink in every.inks] == ["#cc0000", "#006600"]
    assert all(ink.carved for ink in every.inks)
    assert area(every) == pytest.approx(1600 + 900 + 400)
    assert area(read(svg(body), inks=(0,))) == pytest.approx(1600)
    assert area(read(svg(body), inks=(1,))) == pytest.approx(1300)


def test_an_ink_not_chosen_still_covers_what_lies_under_it() -> None:
    body = (
        '<rect width="40" height="40" fill="#c00"/><rect x="10" y="10" width="20" height="20" fill="#060"/>'
    )
    assert area(read(svg(body), inks=(0,))) == pytest.approx(1200)


def test_shade_decides_about_faint_colours() -> None:
    body = RECT + '<rect x="60" y="60" width="10" height="10" fill="#d8d8d8"/>'
    assert area(read(svg(body), shade=-1)) == pytest.approx(1200)
    assert area(read(svg(body), shade=1)) == pytest.approx(1300)
    areas = [area(read(svg(body), way=c.wishes.way, inks=c.wishes.inks)) for c in read(svg(body)).choices]
    for wanted in (1200, 1300):
        assert any(each == pytest.approx(wanted) for each in areas)


@pytest.mark.parametrize(
    ("body", "code", "wanted"),
    [
        (RECT + '<text x="1" y="1">Quillfern</text>', "text-left-out", 1200),
        (RECT + '<use href="other.svg#a"/>', "outside-reference", 1200),
        (RECT + '<image href="http://example.org/a.png" width="9" height="9"/>', "outside-reference", 1200),
        (RECT + '<foreignObject><p xmlns="x">hi</p></foreignObject>', "foreign-content-left-out", 1200),
        ('<style>@import url(x.css);</style>' + RECT, "outside-reference", 1200),
        ('<filter id="f"/><g filter="url(#f)">' + RECT + "</g>", "effects-left-out", 1200),
        ('<path d="M10 10h20v20h-20zL oops"/>', "path-cut-short", 400),
        ('<rect width="10" height="10" fill="kapow"/>', "colour-not-read", 100),
        (
            '<linearGradient id="g"><stop stop-color="#000"/><stop offset="1" stop-color="#060"/></linearGradient>'
            '<rect width="10" height="10" fill="url(#g)"/>',
            "gradient-hardened",
            100,
        ),
        (
            '<mask id="m"><rect width="100" height="100" fill="#fff"/><circle cx="30" cy="30" r="10"/></mask>'
            '<rect x="10" y="10" width="40" height="40" mask="url(#m)"/>',
            "mask-hardened",
            1600 - math.pi * 100,
        ),
        (
            '<marker id="m"/><path d="M10 10h10v10h-10z" marker-end="url(#m)"/>',
            "markers-left-out",
            100,
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_carved_is_said(body: str, code: str, wanted: float) -> None:
    reading = read(svg(body))
    assert code in codes(reading)
    assert reading.kind == "vector"
    assert area(reading) == pytest.approx(wanted, rel=1e-4)


@pytest.mark.parametrize(
    "body",
    [
        '<linearGradient id="g"><stop stop-color="#000"/><stop offset="1" stop-color="#fff"/></linearGradient>'
        '<rect x="10" y="10" width="80" height="40" fill="url(#g)"/>',
        '<pattern id="g" width="20" height="20" patternUnits="userSpaceOnUse"><rect width="10" height="20"/></pattern>'
        '<rect x="10" y="10" width="80" height="40" fill="url(#g)"/>',
        '<image width="80" height="40" x="10" y="10" preserveAspectRatio="none" href="data:image/png;base64,'
        + base64.b64encode(encoded(Image.fromarray(np.array([[0, 255]], np.uint8)), "PNG")).decode()
        + '"/>',
    ],
)
def test_what_one_colour_cannot_stand_for_is_traced(body: str) -> None:
    reading = read(svg(body, 'width="100mm" height="100mm" viewBox="0 0 100 100"'))
    assert reading.kind == "traced"
    assert "read-as-picture" in codes(reading)
    assert "colours-hardened" in codes(reading) or "Gradient" not in body
    assert reading.outline.stated_mm is not None
    left, low, right, high = (v * reading.outline.stated_mm for v in reading.outline.bounds)
    assert high - low == pytest.approx(40, abs=0.3)
    assert 30 < right - left < 71


def test_the_mean_of_a_gradient_decides_its_ink() -> None:
    body = (
        '<linearGradient id="g"><stop stop-color="#800"/><stop offset="1" stop-color="#a00"/></linearGradient>'
        '<rect width="10" height="10" fill="url(#g)"/>'
    )
    assert read(svg(body)).inks[0].colour == "#990000"


@pytest.mark.parametrize(
    "body",
    ["", "<g/>", '<rect width="0" height="5"/>', '<path d=""/>', '<path d="M5 5"/>',
     '<rect width="5" height="5" fill="none"/>'],
)  # fmt: skip
def test_a_drawing_of_nothing_is_refused(body: str) -> None:
    assert refused(svg(body)).code == "nothing-drawn"


def test_a_view_without_size_is_refused() -> None:
    assert refused(svg(RECT, 'viewBox="0 0 0 100"')).code == "zero-size-view"


def test_slivers_are_dropped_and_counted() -> None:
    body = RECT + '<path d="M70 70h.001v.001z"/>'
    reading = read(svg(body))
    assert reading.counts["slivers-dropped"] == 1
    assert area(reading) == pytest.approx(1200)


def test_the_report_counts_nodes_before_and_after() -> None:
    reading = read(svg(RECT + RECT + RECT))
    assert reading.counts["marks"] == 3
    assert reading.counts["nodes"] == 4
    assert reading.counts["nodes-before"] > 4


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "latin-1"])
def test_encodings(encoding: str) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?><!-- é --><svg xmlns="http://www.w3.org/2000/svg">{RECT}</svg>'
    assert area(read(text.encode(encoding))) == pytest.approx(1200)


def test_a_doctype_without_entities_passes() -> None:
    text = (
        '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        f'"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg xmlns="http://www.w3.org/2000/svg">{RECT}</svg>'
    )
    assert area(read(text.encode())) == pytest.approx(1200)


def test_a_prefixed_namespace_is_svg_too() -> None:
    text = '<s:svg xmlns:s="http://www.w3.org/2000/svg"><s:rect width="9" height="9"/></s:svg>'
    assert area(read(text.encode())) == pytest.approx(81)


def test_what_blending_hides_is_not_carved() -> None:
    """White multiplied onto black leaves black; another program's drawing tells."""
    body = '<rect width="80" height="80"/><rect x="20" y="20" width="40" height="40" fill="#fff" style="{}"/>'
    assert area(read(svg(body.format("")))) == pytest.approx(4800)
    reading = read(svg(body.format("mix-blend-mode:multiply")))
    assert reading.kind == "traced"
    assert "read-as-picture" in codes(reading)
    assert area(reading) == pytest.approx(6400 * (LOOK_SIDE / 100) ** 2, rel=0.01)


def test_markers_are_drawn_where_they_matter() -> None:
    marker = '<marker id="m" markerWidth="6" markerHeight="6" refX="3" refY="3"><circle cx="3" cy="3" r="3"/></marker>'
    line = '<path d="M20 50h60" stroke="#000" stroke-width="4" marker-start="url(#m)" marker-end="url(#m)"/>'
    reading = read(svg(f"<defs>{marker}</defs>{line}"))
    assert reading.kind == "traced"
    assert "markers-left-out" not in codes(reading)
    shown = 60 * 4 - 2 * 4 * 12 + 2 * math.pi * 144 + 96 - 48
    assert area(reading) == pytest.approx(shown * (LOOK_SIDE / 100) ** 2, rel=0.15)


@pytest.mark.parametrize(
    ("path", "until"),
    [("M0 0H40#90", 40), ("M0 0h20a9,9 0 6 0 9,9", 20), ("M0 0h30 15x", 45), ("M0 0h10-", 10), ("M0 0h25a25,2501 025,-25", 25)],
)  # fmt: skip
def test_a_damaged_path_is_drawn_up_to_the_damage(path: str, until: float) -> None:
    """W3C SVG 1.1 tests paths-data-18-f and paths-data-20-f hold such paths."""
    reading = read(
        svg(f'<path d="{path}" stroke="#000" stroke-width="2" fill="none"/>', 'viewBox="-5 -5 60 60"')
    )
    assert "path-cut-short" in codes(reading)
    assert reading.outline.size[0] == pytest.approx(until, abs=1e-5)


@pytest.mark.parametrize(
    ("body", "ink"),
    [
        (
            "<style>:root{--b:#c00;--n:var(--b)} .a{fill:var(--n)}</style>"
            + RECT.replace("<rect", '<rect class="a"'),
            "#cc0000",
        ),
        (
            "<style>*{--b:red} .a{--b:#00c!important;fill:var(--b)}</style>"
            + RECT.replace("<rect", '<rect class="a"'),
            "#0000cc",
        ),
        ('<g style="--b:#00c">' + RECT.replace("<rect", '<rect fill="var(--b, red)"') + "</g>", "#0000cc"),
        (RECT.replace("<rect", '<rect fill="VAR( --none , #00c )"'), "#0000cc"),
        (RECT.replace("<rect", '<rect fill="var(--none, var(--nor, rgb(0 0 204)))"'), "#0000cc"),
        ('<g style="--B:#00c;--b:red">' + RECT.replace("<rect", '<rect fill="var(--B)"') + "</g>", "#0000cc"),
        (
            '<g style="--r:204">' + RECT.replace("<rect", '<rect fill="rgb(0, 0, var(--r))"') + "</g>",
            "#0000cc",
        ),
        (
            '<g color="#00c">'
            + RECT.replace("<rect", '<rect fill="color-mix(in srgb, currentColor, currentColor)"')
            + "</g>",
            "#0000cc",
        ),
        (
            '<g color="#008"><g color="color-mix(in srgb, currentColor, #0000fe 50%)">'
            + RECT.replace("<rect", '<rect fill="currentColor"')
            + "</g></g>",
            "#0000c3",
        ),
    ],
)
def test_variables_and_the_current_colour_are_read_as_meant(body: str, ink: str) -> None:
    """W3C, CSS Custom Properties Level 1, §§2-3; CSS Color 4 §9.2: ``currentColor`` in ``color`` is the parent's."""
    reading = read(svg(body))
    assert (reading.kind, reading.inks[0].colour, codes(reading)) == ("vector", ink, set())


def test_a_variable_that_the_file_does_not_hold_is_said() -> None:
    """It was set by the page that the drawing was taken from."""
    reading = read(svg(RECT.replace("<rect", '<rect fill="var(--theme)"')))
    assert (reading.inks[0].colour, codes(reading)) == ("#000000", {"colour-not-read"})


def test_a_white_variable_knocks_out() -> None:
    inner = '<rect x="20" y="30" width="10" height="10" style="fill:var(--w)"/>'
    reading = read(svg(f'<g style="--w:#fff">{RECT}{inner}</g>'))
    assert sum(c.area for c in reading.outline.contours) == pytest.approx(1100)
    assert reading.kind == "vector"


@pytest.mark.parametrize(
    "paint",
    [
        "#cd853f icc-color(press, 0.11, 0.48, 0.83, 0.00)", "rgb(205 133 63) device-cmyk(0.11, 0.48, 0.83, 0)",
        "device-cmyk(11% 48% 83% 0%, #cd853f)", "device-cmyk(.11 .48 .83 0 / 1, rgb(205,133,63))",
    ],
)  # fmt: skip
def test_a_printers_colour_is_read_by_the_one_beside_it_for_screens(paint: str) -> None:
    """The first is the example of W3C SVG 1.1, §12.3.2; ``device-cmyk`` with a second colour: CSS Color 4, draft of 2019."""
    for body in (
        RECT.replace("<rect", f'<rect fill="{paint}"'),
        RECT.replace("<rect", f'<rect style="fill:{paint}"'),
    ):
        reading = read(svg(body))
        assert (reading.kind, reading.inks[0].colour, codes(reading)) == ("vector", "#cd853f", set())


@pytest.mark.parametrize(
    "paint", ["device-cmyk(0 0 0 1)", "device-cmyk(0, 0, 0, 50%)", "icc-color(press, 0, 1, 1, 0)"]
)
def test_a_printers_colour_alone_is_not_guessed_at(paint: str) -> None:
    reading = read(svg(RECT.replace("<rect", f'<rect fill="{paint}"')))
    assert (reading.inks[0].colour, codes(reading)) == ("#000000", {"colour-not-read"})
