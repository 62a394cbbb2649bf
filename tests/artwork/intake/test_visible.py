"""Lettering that anybody can read is never called blank: thin strokes in colour, faint stone, photos in poor light."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from tests.artwork.intake.made import codes, encoded, read, refused

FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"
COLOURS = [
    ("#6a1b9a", "#ffffff"), ("#4b0082", "#e8e8e8"), ("#c0392b", "#ffffff"), ("#1f4e9e", "#f7f3e6"),
    ("#e0c060", "#ffffff"), ("#b0b0b0", "#e8e8e8"), ("#5a4a3a", "#8a7a66"), ("#333333", "#6a6a62"),
]  # fmt: skip
TEXTS = ["FERN", "In memory\nof a friend\nof the garden"]


def lettering(ink: str, ground: str, text: str) -> np.ndarray:
    image = Image.new("RGB", (600, 300), ground)
    font = ImageFont.truetype(FONT, 44)
    ImageDraw.Draw(image).multiline_text((300, 150), text, fill=ink, font=font, anchor="mm", align="center")
    return np.asarray(image).astype(np.float32)


def small(pixels: np.ndarray) -> np.ndarray:
    return cv2.resize(pixels, (300, 150), interpolation=cv2.INTER_AREA)


def dim(pixels: np.ndarray) -> np.ndarray:
    return pixels * np.linspace(1, 0.55, pixels.shape[1])[None, :, None]


def grainy(pixels: np.ndarray) -> np.ndarray:
    return pixels + np.random.default_rng(7).normal(0, 6, pixels.shape)


def blurred(pixels: np.ndarray) -> np.ndarray:
    return cv2.GaussianBlur(pixels, (0, 0), 2)


@pytest.mark.parametrize("made", [np.copy, small, dim, grainy, blurred])
@pytest.mark.parametrize(("ink", "ground"), COLOURS)
def test_lettering_that_can_be_read_is_read(ink: str, ground: str, made: object) -> None:
    for text in TEXTS:
        pixels = np.clip(made(lettering(ink, ground, text)), 0, 255).astype(np.uint8)  # type: ignore[operator]
        reading = read(encoded(pixels, "JPEG", quality=60))
        letters = sum(contour.area > 0 for contour in reading.outline.contours)
        assert letters >= 0.8 * len(text.replace("\n", "").replace(" ", ""))


def test_lettering_of_one_colour_says_nothing_of_colours_that_run() -> None:
    for ink, ground in COLOURS[:5]:
        reading = read(encoded(lettering(ink, ground, TEXTS[1]).astype(np.uint8), "JPEG", quality=60))
        assert "colours-hardened" not in codes(reading)


@pytest.mark.parametrize("light", [lambda p: p, dim])
def test_paper_with_nothing_on_it_stays_blank(light: object) -> None:
    page = grainy(light(np.full((300, 600, 3), 235, np.float32)))  # type: ignore[operator]
    assert refused(encoded(np.clip(page, 0, 255).astype(np.uint8), "JPEG")).code == "blank-picture"
