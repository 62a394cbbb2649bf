"""Art that runs over its page is cut there, as browsers and readers show it, and told where something is lost."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from artwork.intake import Reading
from tests.artwork.intake.made import area, codes, read, svg
from tests.artwork.intake.test_pdf import page

DISC = '<circle cx="%d" cy="50" r="20"/>'
HALF = math.pi * 400 / 2


def bounds(reading: Reading) -> tuple[float, float, float, float]:
    return reading.outline.bounds


def test_a_disc_half_over_the_edge_of_an_svg_is_half_a_disc() -> None:
    reading = read(svg(DISC % 0 + DISC % 50))
    assert reading.kind == "vector"
    assert area(reading) == pytest.approx(3 * HALF, rel=1e-4)
    assert bounds(reading)[0] == pytest.approx(0, abs=1e-9)
    (remark,) = (each for each in reading.remarks if each.code == "cut-at-the-edge")
    assert remark.severity == "warns"
    assert remark.place == pytest.approx((-20, -70, 20, -30), abs=0.05)
    assert (reading.counts["cut-at-the-edge"], reading.counts["beside-the-page"]) == (1, 0)


def test_control_points_beyond_the_page_are_no_art() -> None:
    reading = read(svg('<path d="M50 2 C105 2 98 -5 98 50 L50 98 L2 50Z"/>'))
    assert bounds(reading)[2:] == pytest.approx((98.3, -1.7), abs=0.1)
    assert reading.counts["cut-at-the-edge"] == 0
    assert not codes(reading)


@pytest.mark.parametrize("over", [1e-5, 5e-3])
def test_rounded_coordinates_at_the_edge_cut_nothing(over: float) -> None:
    reading = read(svg(f'<rect x="{-over}" y="20" width="60" height="60"/>' + DISC % 80))
    assert reading.counts["cut-at-the-edge"] == 0
    assert bounds(reading)[0] == pytest.approx(-over, abs=1e-9)


def test_what_lies_beside_the_page_is_counted_and_moves_nothing() -> None:
    reading = read(svg(DISC % 50 + '<rect x="90000" y="5" width="50" height="9"/>'))
    assert area(reading) == pytest.approx(2 * HALF, rel=1e-4)
    assert reading.counts["beside-the-page"] == 1
    assert "cut-at-the-edge" not in codes(reading)


def test_a_drawing_beside_its_page_is_taken_from_there_and_told() -> None:
    reading = read(svg(DISC % 900))
    assert area(reading) == pytest.approx(2 * HALF, rel=1e-4)
    assert codes(reading) == {"all-beside-the-page"}


@pytest.mark.parametrize("bleed", [0, 3, 40])
def test_a_ground_with_bleed_is_the_ground(bleed: int) -> None:
    ground = (
        f'<rect x="{-bleed}" y="{-bleed}" width="{100 + 2 * bleed}" height="{100 + 2 * bleed}" fill="navy"/>'
    )
    reading = read(svg(ground + '<circle cx="50" cy="50" r="20" fill="white"/>'))
    assert area(reading) == pytest.approx(2 * HALF, rel=1e-4)
    assert "cut-at-the-edge" not in codes(reading)


def test_a_frame_that_touches_the_edge_has_lost_nothing() -> None:
    reading = read(
        svg('<rect width="100" height="100" fill="none" stroke="black" stroke-width="0.8"/>' + DISC % 50)
    )
    assert reading.counts["cut-at-the-edge"] == 0
    assert "cut-at-the-edge" not in codes(reading)


def test_what_the_file_itself_clips_is_not_told_as_lost() -> None:
    clip = '<clipPath id="c"><circle cx="50" cy="50" r="30"/></clipPath>'
    reading = read(svg(clip + '<rect x="-50" y="-50" width="120" height="200" clip-path="url(#c)"/>'))
    assert "cut-at-the-edge" not in codes(reading)


def test_a_pdf_page_cuts_at_its_crop_box() -> None:
    """ISO 32000-1 §14.11.2: the crop box is what is shown of a page."""

    def draw(canvas: Canvas) -> None:
        canvas.setCropBox((50, 50, 150, 150))
        canvas.circle(50, 100, 20, stroke=0, fill=1)
        canvas.circle(100, 100, 20, stroke=0, fill=1)
        canvas.circle(20, 20, 5, stroke=0, fill=1)

    reading = read(page(draw))
    assert reading.kind == "vector"
    assert area(reading) == pytest.approx(3 * HALF, rel=1e-3)
    assert "cut-at-the-edge" in codes(reading)
    assert (reading.counts["cut-at-the-edge"], reading.counts["beside-the-page"]) == (1, 1)


def test_resvg_shows_the_same_of_art_over_the_edge() -> None:
    body = '<g transform="rotate(20)"><ellipse cx="80" cy="10" rx="60" ry="25"/></g><path d="M-9 60 H40 V130 Z"/>'
    text = svg(body, 'viewBox="0 0 100 100" width="100" height="100"').decode()
    png = resvg_py.svg_to_bytes(svg_string=text, width=400, height=400)
    seen = np.asarray(Image.open(io.BytesIO(bytes(png))))[:, :, 3] > 127
    x, y = np.meshgrid((np.arange(400) + 0.5) / 4, -(np.arange(400) + 0.5) / 4)
    got = shapely.contains_xy(read(text.encode()).outline.region(0.02), x, y)
    assert (got & seen).sum() / (got | seen).sum() > 0.995
