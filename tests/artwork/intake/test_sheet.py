"""Sheets in photos: found, cut out, made square. The truth is the homography that each photo was made with."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from artwork.intake.sheet import squared
from artwork.intake.sheet_finding import find_sheet
from tests.artwork.intake.made import area, codes, emblem, encoded, read
from tests.artwork.intake.phone import (
    LEANING,
    SHEET,
    SQUARE_ON,
    TILTED,
    agreement,
    photographed,
    printed,
    seen_from,
)

DARK_BOARD = {"ink": (232, 228, 210), "paper": (38, 60, 48)}
RED_CARD = {"ink": (250, 250, 245), "paper": (150, 30, 35)}
BROWN_CARD = {"ink": (40, 30, 20), "paper": (196, 160, 112)}
WOOD, WALL, BLACK_CLOTH = (104, 78, 58), (205, 200, 190), (20, 22, 30)
SCENES = {
    "square on, even light": ({}, SQUARE_ON, "even", WOOD),
    "tilted, a hand's shadow": ({}, TILTED, "hand", WOOD),
    "leaning, light from one side": ({}, LEANING, "side", BLACK_CLOTH),
    "leaning, a hand's shadow": ({}, LEANING, "hand", (170, 130, 90)),
    "brown card": (BROWN_CARD, TILTED, "hand", (90, 90, 95)),
    "dark board on a wall": (DARK_BOARD, TILTED, "side", WALL),
    "dark board, a shadow over it": (DARK_BOARD, TILTED, "hand", WALL),
    "red card, white print": (RED_CARD, LEANING, "side", (120, 120, 120)),
    "faint print": ({"ink": (150, 160, 150)}, TILTED, "side", WOOD),
}


@pytest.mark.parametrize("scene", SCENES)
def test_a_printed_sheet_in_a_phone_photo_gives_the_printed_art(scene: str) -> None:
    colours, corners, lit, behind = SCENES[scene]
    rough = 0.5 if behind == WALL else 1.0
    photo = photographed(printed(**colours), corners, lit, behind=behind, rough=rough)
    seen = read(photo.jpeg())
    assert "sheet-found" in codes(seen)
    assert agreement(seen.outline, photo.seen) > 0.94
    assert ("seen-at-an-angle" in codes(seen)) == (corners is not SQUARE_ON)
    if scene == "dark board, a shadow over it":
        assert {"light-levelled", "light-on-dark"} <= codes(seen)
    square = read(photo.jpeg(), straighten=True)
    assert ("straightened" in codes(square)) == (corners is not SQUARE_ON)
    assert (
        agreement(square.outline, photo.ink[::2, ::2]) > 0.92
    )  # lettering is six pixels wide: ⅓ px is 10 % of it


@pytest.mark.parametrize("lit", ["even", "hand"])
@pytest.mark.parametrize("view", [(0, 0, 0), (12, -14, 0), (-9, 11, 7), (20, 5, -10)])
def test_corners_and_proportions_are_those_of_the_camera(view: tuple[float, ...], lit: str) -> None:
    corners = seen_from(*view, width=1050)
    photo = photographed(printed(), corners, lit)
    sheet = find_sheet(cv2.imdecode(np.frombuffer(photo.jpeg(), np.uint8), cv2.IMREAD_COLOR_RGB))
    assert sheet is not None
    assert np.hypot(*(sheet.corners - corners).T).max() < 0.6
    assert sheet.proportions == pytest.approx(SHEET[0] / SHEET[1], rel=0.005)


def test_a_squared_sheet_is_the_sheet() -> None:
    photo = photographed(printed(), LEANING, "even", grain=0, blur=0)
    sheet = find_sheet(photo.pixels)
    assert sheet is not None
    flat = squared(photo.pixels, sheet)
    truth = cv2.resize(printed(), flat.shape[1::-1], interpolation=cv2.INTER_AREA)
    assert (
        np.abs(flat.astype(int) - truth).mean() < 4
    )  # the trimmed edge moves each by half a per cent at most


def test_angle_and_turn_are_told_apart() -> None:
    turned = find_sheet(photographed(printed(), seen_from(0, 0, 4), "even").pixels)
    assert turned is not None
    assert turned.turn_deg == pytest.approx(4, abs=0.05)
    assert turned.keystone < 0.002
    assert turned.off_square_deg < 0.1
    reading = read(photographed(printed(), seen_from(0, 0, 4), "even").jpeg())
    assert {"sheet-found", "crooked"} <= codes(reading)


def test_the_other_side_of_a_sheet_stays_on_it() -> None:
    photo = photographed(printed(), TILTED, "even")
    art, other = (area(read(photo.jpeg(), invert=invert)) for invert in (None, True))
    assert art + other == pytest.approx(cv2.contourArea(photo.corners), rel=0.03)  # its edges are trimmed


def test_a_scan_on_a_black_lid_is_read_from_its_sheet() -> None:
    rng = np.random.default_rng(1)
    bed = np.full((900, 1400), 12.0)
    bed[100:800, 150:1250] = cv2.resize(emblem(700, 30, 240), (1100, 700))
    lid = cv2.warpAffine(bed, cv2.getRotationMatrix2D((700, 450), 2.0, 1), (1400, 900), borderValue=12)
    reading = read(
        encoded((lid + rng.normal(0, 2, lid.shape)).clip(0, 255).astype(np.uint8), "JPEG", quality=85)
    )
    assert {"sheet-found", "crooked"} <= codes(reading)


def test_drawn_pictures_and_prints_within_a_sheet_are_no_sheets() -> None:
    label = np.zeros((900, 1400, 3), np.uint8)
    label[100:800, 150:1250] = cv2.resize(printed(), (1100, 700), interpolation=cv2.INTER_AREA)
    assert find_sheet(label) is None
    blank = photographed(np.full((1800, 2800, 3), 240, np.uint8), seen_from(width=2400), "hand")
    assert find_sheet(blank.pixels) is None
    panel = np.full((1800, 2800, 3), 240, np.uint8)
    panel[500:1300, 800:2000] = 40
    assert find_sheet(photographed(panel, seen_from(3, -4, 0, 2400), "side").pixels) is None
    framed = np.full((1800, 2800, 3), 240, np.uint8)
    cv2.rectangle(framed, (700, 500), (2100, 1300), (30, 30, 30), 30)
    assert find_sheet(photographed(framed, seen_from(3, -4, 0, 2400), "side").pixels) is None


def test_a_photo_close_up_is_read_as_before() -> None:
    photo = photographed(printed(), seen_from(width=2100), "side")
    reading = read(photo.jpeg())
    assert "sheet-found" not in codes(reading)
    assert agreement(reading.outline, photo.seen) > 0.97
