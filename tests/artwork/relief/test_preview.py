"""The pictures: true to size, the same bytes, marks that can be told apart by anybody."""

from __future__ import annotations

import io
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image
from shapely import MultiPolygon, Point, Polygon, box

from artwork.grain import LOOKS, Board, look_of
from artwork.marks import HALO, STOPS, WARNS, Mark, draw_marks
from artwork.picture_frame import Part
from artwork.piece_picture import piece_png
from artwork.preview import BORDER, preview, preview_png, preview_webp
from artwork.workpiece import Allowances, KeepOut, Slat
from seeds.shop import load
from tests.artwork.relief.pieces import circle, cut_of, rectangle

CHAIR = load().model("fernhollow-chair")
SLAT = CHAIR.slat("back-centre")
CUT = cut_of(circle(0, 640, 30), rectangle(-40, 540, 40, 552), slat=SLAT, allowances=Allowances())


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(float)


def finding(severity: str, place):
    return SimpleNamespace(severity=severity, place=place)


def at(picture: np.ndarray, x: float, y: float, px_per_mm: float) -> np.ndarray:
    column, row = (x + 69.85 + BORDER) * px_per_mm, (860 + BORDER - y) * px_per_mm
    return picture[int(row), int(column)]


def test_the_same_cut_gives_the_same_bytes() -> None:
    assert preview_png(CUT, None, 2.0) == preview_png(CUT, None, 2.0)


@pytest.mark.parametrize("px_per_mm", [1.0, 2.5, 4.0])
def test_a_millimetre_has_the_pixels_that_were_asked_for(px_per_mm) -> None:
    picture = pixels(preview_png(CUT, None, px_per_mm))
    wood = np.ptp(picture[: int(860 * px_per_mm)], axis=2) > 14  # paper and its shadow are grey
    columns = np.nonzero(wood.any(axis=0))[0]
    assert columns[-1] - columns[0] + 1 == pytest.approx(139.7 * px_per_mm, abs=2)


def test_grooves_are_darker_than_the_face_and_the_face_is_wood() -> None:
    picture = pixels(preview_png(CUT, None, 4.0))
    groove = np.mean([at(picture, x, 546.5, 4.0) for x in np.linspace(-35, 35, 40)])
    face = np.mean([at(picture, x, 500, 4.0) for x in np.linspace(-35, 35, 40)])
    assert groove < 0.8 * face
    red, green, blue = np.mean([at(picture, x, 500, 4.0) for x in np.linspace(-35, 35, 40)], axis=0)
    assert red > green > blue


def test_weathered_wood_is_grey() -> None:
    fresh, grey = (pixels(preview_png(CUT, None, 2.0, wood=wood)) for wood in ("fresh", "weathered"))

    def colourful(picture: np.ndarray) -> float:
        patch = picture[400:600, 60:250]
        return float((patch.max(axis=2) - patch.min(axis=2)).mean())

    assert colourful(grey) < 0.4 * colourful(fresh)


def test_marks_are_drawn_only_when_wanted() -> None:
    check = SimpleNamespace(findings=[finding("stops", Point(0, 700).buffer(5))])
    plain = preview_png(CUT, None, 2.0)
    assert preview_png(CUT, check, 2.0) != plain
    assert preview_png(CUT, check, 2.0, marks=False) == plain
    assert preview_png(CUT, SimpleNamespace(findings=[]), 2.0) == plain


def luminance(colour) -> float:
    # WCAG 2.2, relative luminance (docs/sources.md §4)
    parts = np.array(colour) / 255
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("colour", [STOPS, WARNS])
def test_figures_on_marks_have_strong_contrast(colour) -> None:
    assert (luminance(HALO) + 0.05) / (luminance(colour) + 0.05) >= 7


def test_the_two_marks_differ_in_shape_not_only_in_colour() -> None:
    def drawn(stops: bool) -> np.ndarray:
        picture = Image.new("RGB", (80, 80), (200, 160, 120))
        draw_marks(picture, [Mark(1, stops, Point(40, 60))], 4.0)
        return np.abs(np.asarray(picture).astype(int) - [200, 160, 120]).sum(axis=2) > 60

    stops, warns = drawn(True), drawn(False)
    assert (stops ^ warns).sum() > 0.15 * warns.sum()


def test_marks_of_any_kind_of_place_do_not_cover_each_other() -> None:
    places = [
        Point(50, 50),
        Polygon([(60, 50), (80, 50), (70, 80)], [[(68, 55), (72, 55), (70, 60)]]),
        MultiPolygon([box(10, 100, 20, 110), box(40, 100, 50, 110)]),
        Point(51, 51).buffer(3).boundary,
    ] * 4
    picture = Image.new("RGB", (300, 300), "white")
    draw_marks(picture, [Mark(i, i % 2 == 0, place) for i, place in enumerate(places, 1)], 4.0)
    dark = (np.asarray(picture).astype(int) - np.array(STOPS)).clip(0).sum(axis=2) == 0
    assert dark.sum() > 8 * 200  # eight diamonds, all there


def test_webp_is_the_same_picture_and_small() -> None:
    webp = preview_webp(CUT, None, 2.0)
    assert len(webp) < 60_000
    assert np.abs(pixels(webp) - pixels(preview_png(CUT, None, 2.0))).mean() < 8


@pytest.mark.parametrize("species", [*LOOKS, "a wood nobody has heard of"])
def test_every_species_has_a_look_and_grain_runs_along_the_slat(species) -> None:
    look = look_of(species, "fresh")

    def tone(flat: np.ndarray, grain_deg: float) -> np.ndarray:
        return Board.of(Part.all_of(flat.shape), 4.0, grain_deg, look, "board").tone(flat)

    upright = tone(np.zeros((400, 200), np.float32), 90.0)
    along, across = np.abs(np.diff(upright, axis=0)).mean(), np.abs(np.diff(upright, axis=1)).mean()
    assert along < 0.35 * across
    lying = tone(np.zeros((200, 400), np.float32), 0.0)
    assert np.array_equal(lying, upright.T)
    turned = tone(np.zeros((300, 300), np.float32), 45.0)
    rising, falling = (np.abs(turned[1:, 1:] - turned[:-1, :-1]), np.abs(turned[1:, :-1] - turned[:-1, 1:]))
    assert falling[40:-40, 40:-40].mean() < 0.5 * rising[40:-40, 40:-40].mean()


def test_the_whole_piece_shows_its_carving_in_place() -> None:
    bare, carved = pixels(piece_png(CHAIR, [])), pixels(piece_png(CHAIR, [CUT]))
    assert max(bare.shape) == 1600
    changed = np.abs(carved - bare).sum(axis=2) > 60
    rows, columns = np.nonzero(changed)
    placed = CHAIR.placed("back-centre")
    x0, x1 = min(p.outline.bounds[0] for p in CHAIR.slats), max(p.outline.bounds[2] for p in CHAIR.slats)
    middle = (columns.min() + columns.max()) / 2
    assert middle == pytest.approx(bare.shape[1] / 2, abs=6)  # the slat stands in the middle
    assert x0 < placed.outline.bounds[0] < placed.outline.bounds[2] < x1
    assert rows.max() < 0.6 * bare.shape[0]
    assert piece_png(CHAIR, [CUT]) == piece_png(CHAIR, [CUT])


def test_screws_are_seen_and_what_is_kept_free_is_drawn_with_the_marks() -> None:
    """A hole is dark wood at its place; the dashed ring 20 mm around it stands on the marked picture alone."""
    hole = KeepOut(Point(0, 40).buffer(4.5), "screw hole")
    slat = Slat("plank", "plank", box(-60, 0, 60, 100), 25.4, round_over=0.0, keep_outs=(hole,))
    cut = cut_of(rectangle(-20, 75, 20, 80), slat=slat)
    bare = cut_of(rectangle(-20, 75, 20, 80), slat=replace(slat, keep_outs=()))
    nowhere = SimpleNamespace(findings=[finding("warns", Polygon())])
    holed, marked, plain = (
        preview(cut, None, 4.0, "fresh").astype(int),
        preview(cut, nowhere, 4.0, "fresh").astype(int),
        preview(bare, None, 4.0, "fresh").astype(int),
    )
    row, column = ((100 + 8 - 40) * 4), ((60 + 8) * 4)
    assert holed[row, column].sum() < 0.5 * plain[row, column].sum()
    rows, columns = np.mgrid[: len(holed), : holed.shape[1]]
    reach = np.hypot(rows - row, columns - column) / 4
    assert not (holed != plain).any(axis=2)[reach > 5.5].any()
    ring = (marked != holed).any(axis=2) & (rows < 108 * 4)  # below it the legend says what marks mean
    assert ring.any()
    assert np.abs(reach[ring] - (20 + 4.5)).max() < 0.5
