"""DXF drawings made by ezdxf: loops, chains, bulges, splines, hatches, blocks, units, open ends."""

# ruff: noqa: E501 - a case reads best on one line

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.intake import Limits
from artwork.intake.chaining import chained
from artwork.intake.paths import Builder, Path
from tests.artwork.intake.made import area, codes, dxf, new_dxf, read, refused, sound


def drawn(draw: Any, units: int = 4, binary: bool = False) -> bytes:
    document, space = new_dxf(units)
    draw(space)
    return dxf(document, binary)


@pytest.mark.parametrize("binary", [False, True])
def test_a_circle_is_round_to_a_hundredth_of_a_millimetre(binary: bool) -> None:
    reading = read(drawn(lambda m: m.add_circle((100, 50), 300), binary=binary), "art.dxf")
    assert (reading.kind, reading.format) == ("vector", "dxf")
    (circle,) = reading.outline.contours
    points = circle.polyline(1e-4) - (100, 50)
    assert np.abs(np.hypot(*points.T) - 300).max() < 0.01
    assert len(circle.knots) == 8


@pytest.mark.parametrize(
    ("draw", "wanted"),
    [
        (lambda m: m.add_lwpolyline([(0, 0), (30, 0), (30, 20), (0, 20)], close=True), 600),
        (lambda m: m.add_polyline2d([(0, 0), (30, 0), (30, 20), (0, 20)], close=True), 600),
        (lambda m: m.add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True), math.pi * 100),
        (lambda m: m.add_lwpolyline([(0, 0, -1), (20, 0, -1)], format="xyb", close=True), math.pi * 100),
        (
            lambda m: m.add_lwpolyline([(0, 0, math.tan(math.pi / 8)), (10, 10, 0), (0, 10, 0)], format="xyb", close=True),
            50 + 100 * (math.pi / 4 - 0.5),
        ),
        (lambda m: m.add_ellipse((5, 5), (30, 10), 0.4), math.pi * 0.4 * 1000),
        (lambda m: (m.add_circle((0, 0), 20), m.add_circle((0, 0), 10), m.add_circle((0, 0), 5)), math.pi * 325),
        (lambda m: (m.add_arc((0, 0), 10, 0, 180), m.add_line((-10, 0), (10, 0))), math.pi * 50),
        (lambda m: (m.add_arc((0, 0), 10, 180, 0), m.add_line((-10, 0), (10, 0))), math.pi * 50),
        (lambda m: m.add_lwpolyline([(0, 0), (50, 0)], dxfattribs={"const_width": 4}), 200),
        (lambda m: m.add_solid([(0, 0), (20, 0), (0, 10), (20, 10)]), 200),
        (lambda m: m.add_spline([(0, 0), (10, 10), (20, 0), (10, -10), (0, 0)]), None),
    ],
)  # fmt: skip
def test_every_entity_encloses_its_area(draw: Any, wanted: float | None) -> None:
    reading = read(drawn(draw))
    sound(reading.outline)
    if wanted is not None:
        assert area(reading) == pytest.approx(wanted, rel=1e-4)


def test_a_spline_follows_its_own_definition() -> None:
    """Against ezdxf's evaluation of the B-spline itself."""
    document, space = new_dxf()
    spline = space.add_spline()
    spline.set_closed([(0, 0, 0), (30, 5, 0), (40, 30, 0), (10, 40, 0), (-10, 20, 0)])
    line = np.array([(v.x, v.y) for v in spline.construction_tool().approximate(4000)])
    following = np.roll(line, -1, axis=0)
    wanted = abs((line[:, 0] * following[:, 1] - following[:, 0] * line[:, 1]).sum()) / 2
    assert area(read(dxf(document))) == pytest.approx(wanted, rel=1e-4)


def test_hatches_are_areas_and_their_drawn_edges_are_not_counted_twice() -> None:
    def draw(m: Any) -> None:
        hatch = m.add_hatch(color=2)
        hatch.paths.add_polyline_path([(0, 0), (100, 0), (100, 100), (0, 100)], is_closed=True)
        edges = hatch.paths.add_edge_path()
        edges.add_arc((50, 50), 20, 0, 360)
        m.add_lwpolyline([(0, 0), (100, 0), (100, 100), (0, 100)], close=True)
        m.add_circle((50, 50), 20)

    reading = read(drawn(draw))
    assert area(reading) == pytest.approx(10000 - math.pi * 400, rel=1e-4)
    assert reading.counts["edges-of-fills"] == 2


def patterned(space: Any) -> None:
    hatch = space.add_hatch(color=2)
    hatch.set_pattern_fill("ANSI31", scale=0.5)
    hatch.paths.add_polyline_path([(0, 0), (40, 0), (40, 20)], is_closed=True)


def test_a_hatch_of_lines_is_a_filled_area_and_says_so() -> None:
    reading = read(drawn(patterned))
    assert "pattern-filled" in codes(reading)
    assert area(reading) == pytest.approx(400)


def test_hatch_edges_of_every_kind() -> None:
    def draw(m: Any) -> None:
        hatch = m.add_hatch(color=2)
        path = hatch.paths.add_edge_path()
        path.add_line((0, 0), (40, 0))
        path.add_arc((40, 10), 10, 270, 90)
        path.add_line((40, 20), (0, 20))
        path.add_ellipse((0, 10), (0, 10), 0.5, 0, 180)

    assert area(read(drawn(draw))) == pytest.approx(800 + math.pi * 50 + math.pi * 25, rel=1e-3)


def test_blocks_are_unfolded_with_scale_turn_and_mirror() -> None:
    document, space = new_dxf()
    block = document.blocks.new("LEAF")
    block.add_lwpolyline([(0, 0, 1), (10, 0, 0)], format="xyb", close=True)
    grove = document.blocks.new("GROVE")
    grove.add_blockref("LEAF", (0, 0))
    grove.add_blockref("LEAF", (50, 0), dxfattribs={"xscale": -2, "yscale": 2, "rotation": 30})
    space.add_blockref("GROVE", (0, 0))
    space.add_blockref("LEAF", (0, 200), dxfattribs={"column_count": 3, "column_spacing": 20})
    half = math.pi * 12.5
    assert area(read(dxf(document))) == pytest.approx(half * (1 + 4 + 3), rel=1e-4)


def test_a_mirrored_plane_is_seen_from_above() -> None:
    reading = read(drawn(lambda m: m.add_circle((30, 0), 10, dxfattribs={"extrusion": (0, 0, -1)})))
    assert np.allclose(reading.outline.bounds, (-40, -10, -20, 10), atol=1e-3)


@pytest.mark.parametrize(
    ("units", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (0, None)]
)
def test_units_are_carried_where_stated(units: int, mm: float | None) -> None:
    stated = read(drawn(lambda m: m.add_circle((0, 0), 1), units)).outline.stated_mm
    assert stated == (None if mm is None else pytest.approx(mm))


def test_small_gaps_are_closed_and_counted() -> None:
    def draw(m: Any) -> None:
        m.add_line((0, 0), (100, 0))
        m.add_line((100.05, 0), (100, 80))
        m.add_line((100, 80), (0, 0.04))

    reading = read(drawn(draw))
    assert reading.counts["gaps-closed"] == 2
    assert "gaps-closed" in codes(reading)
    assert area(reading) == pytest.approx(4000, rel=2e-3)


def test_open_ends_are_reported_with_their_place() -> None:
    def draw(m: Any) -> None:
        m.add_circle((0, 0), 50)
        m.add_line((100, 0), (150, 20))
        m.add_line((150, 20), (160, 90))

    reading = read(drawn(draw))
    (remark,) = [r for r in reading.remarks if r.code == "open-ends"]
    assert remark.severity == "warns"
    assert remark.place == pytest.approx((100, 0, 160, 90))
    assert reading.counts["open-ends"] == 1
    assert area(reading) == pytest.approx(math.pi * 2500, rel=1e-4)


def test_lines_drawn_twice_count_once() -> None:
    def draw(m: Any) -> None:
        for _ in range(2):
            m.add_circle((0, 0), 50)
            m.add_line((100, 0), (200, 0))
            m.add_line((200, 0), (150, 80))
            m.add_line((150, 80), (100, 0))
        m.add_line((200, 0), (100, 0))  # the same line the other way

    reading = read(drawn(draw))
    assert reading.counts["duplicates-dropped"] == 5
    assert area(reading) == pytest.approx(math.pi * 2500 + 4000, rel=1e-4)


def test_layers_that_are_off_or_frozen_are_not_art() -> None:
    document, space = new_dxf()
    document.layers.add("OFF").off()
    document.layers.add("COLD").freeze()
    space.add_circle((0, 0), 10)
    for layer in ("OFF", "COLD", "Defpoints"):
        space.add_circle((50, 0), 10, dxfattribs={"layer": layer})
    assert area(read(dxf(document))) == pytest.approx(math.pi * 100, rel=1e-4)


def test_text_and_notes_are_said_and_left_out() -> None:
    def draw(m: Any) -> None:
        m.add_circle((0, 0), 10)
        m.add_text("Quillfern")
        m.add_mtext("garden")

    assert "text-left-out" in codes(read(drawn(draw)))
    refusal = refused(drawn(lambda m: m.add_text("Quillfern")))
    assert (refusal.code, "Quillfern" in refusal.message) == ("text-without-font", True)


def test_a_block_that_holds_itself_is_refused() -> None:
    document, space = new_dxf()
    a, b = document.blocks.new("A"), document.blocks.new("B")
    a.add_blockref("B", (1, 1))
    b.add_blockref("A", (1, 1))
    a.add_circle((0, 0), 1)
    space.add_blockref("A", (0, 0))
    assert refused(dxf(document)).code == "nested-too-deep"


def test_a_block_that_unfolds_without_end_is_refused() -> None:
    document, space = new_dxf()
    document.blocks.new("X0").add_circle((0, 0), 1)
    for level in range(1, 9):
        block = document.blocks.new(f"X{level}")
        for copy in range(10):
            block.add_blockref(f"X{level - 1}", (copy, 0))
    space.add_blockref("X8", (0, 0))
    assert refused(dxf(document), limits=Limits(elements=2000)).code == "too-many-elements"
    space.add_blockref("X0", (0, 0), dxfattribs={"column_count": 30000, "row_count": 30000})
    assert refused(dxf(document), limits=Limits(elements=2000)).code == "too-many-elements"


@pytest.mark.parametrize("value", ["nan", "1e308", "inf", "-1e300"])
def test_impossible_coordinates_are_refused(value: str) -> None:
    text = drawn(lambda m: m.add_line((12345.5, 0), (1, 1))).decode().replace("12345.5", value)
    assert refused(text.encode()).code in ("coordinate-out-of-range", "damaged-dxf")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_cut_file_is_refused(share: float) -> None:
    for binary in (False, True):
        data = drawn(lambda m: m.add_text("x"), binary=binary)
        cut = data[: int(len(data) * share)]
        assert refused(cut).code in ("damaged-dxf", "nothing-drawn", "text-without-font")


@given(st.permutations(range(8)), st.lists(st.booleans(), min_size=8, max_size=8))
def test_lines_in_any_order_and_direction_make_the_same_loop(order: list[int], turned: list[bool]) -> None:
    corners = [(10 * math.cos(a), 10 * math.sin(a)) for a in np.arange(8) * math.pi / 4]
    lines: list[Path] = []
    for i in order:
        start, end = corners[i], corners[(i + 1) % 8]
        if turned[i]:
            start, end = end, start
        builder = Builder()
        builder.move(*start)
        builder.cubic(*start, *end, *end) if i % 2 else builder.line(*end)
        lines.append(builder.path())
    chains = chained(lines, 1e-6)
    assert (len(chains.loops), chains.open, chains.closed) == (1, [], 0)
    (loop,) = chains.loops[0].contours()
    assert abs(loop.area) == pytest.approx(200 * math.sqrt(2), rel=1e-9)
