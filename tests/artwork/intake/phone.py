"""Photos as phones take them, made here: printed art on a sheet, seen at a known angle, in bad light.

Every photo comes with its truth: the homography from the sheet to the photo and the sheet's own pixels.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import resvg_py
from PIL import Image, ImageDraw

import seeds
from artwork.outline import Outline
from tests.artwork.intake.made import encoded, overlap

SHEET = (1400, 900)
"""Width and height of the printed sheet, its own pixels."""
FRAME = (1600, 1200)
_FINER = 2
_CREST = Path(seeds.__file__).parent / "artwork" / "crest.svg"
FOCAL = 0.75 * FRAME[0]
"""Focal length, pixels: about that of a phone's main camera."""


def seen_from(
    across_deg: float = 0.0, down_deg: float = 0.0, turn_deg: float = 0.0, width: float = 1250.0
) -> np.ndarray:
    """Corners, (4, 2), of the sheet as a pinhole camera sees it that is tilted and turned by these angles.

    ``width``: how wide the sheet would look from straight above, pixels.
    """
    a, d, t = np.radians([across_deg, down_deg, turn_deg])
    tilt = np.array([[1, 0, 0], [0, np.cos(d), -np.sin(d)], [0, np.sin(d), np.cos(d)]])
    swing = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    turn = np.array([[np.cos(t), -np.sin(t), 0], [np.sin(t), np.cos(t), 0], [0, 0, 1]])
    half = np.array([1.0, SHEET[1] / SHEET[0]]) * width / 2
    flat = np.array([(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)]) * np.append(half, 0.0)
    placed = flat @ (swing @ tilt @ turn).T + (0, 0, FOCAL)
    return placed[:, :2] * FOCAL / placed[:, 2:] + np.array(FRAME) / 2


SQUARE_ON = seen_from()
TILTED = seen_from(12, -14)
LEANING = seen_from(-9, 11, 7)


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo and what is true of it: ``ink`` on the sheet, ``seen`` the same in the photo's pixels."""

    pixels: np.ndarray
    ink: np.ndarray
    seen: np.ndarray
    corners: np.ndarray

    def jpeg(self, quality: int = 60) -> bytes:
        return encoded(self.pixels, "JPEG", quality=quality)


@cache
def printed(
    ink: tuple[int, int, int] = (24, 62, 40), paper: tuple[int, int, int] = (246, 243, 236)
) -> np.ndarray:
    """The sheet: the garden's crest and its name, (h, w, 3) uint8, twice as fine as :data:`SHEET`."""
    width, height = (side * _FINER for side in SHEET)
    sheet = Image.new("RGB", (width, height), paper)
    tall = round(height * 0.76)
    png = bytes(resvg_py.svg_to_bytes(svg_string=_CREST.read_text(), height=tall, dpi=96))
    crest = Image.open(io.BytesIO(png)).convert("RGBA")
    shape = crest.getchannel("A")
    sheet.paste(ink, ((width - crest.width) // 2, round(height * 0.05)), shape)
    draw = ImageDraw.Draw(sheet)
    draw.text((width / 2, height * 0.9), "BOTANICAL GARDEN", fill=ink, font_size=height / 10, anchor="mm")
    return np.asarray(sheet)


def ink_of(sheet: np.ndarray) -> np.ndarray:
    """Which pixels of a printed sheet are nearer to its ink than to its paper."""
    grey = sheet.astype(float).mean(axis=2)
    return np.abs(grey - grey[0, 0]) > np.ptp(grey) / 2


def table(rng: np.random.Generator, tone: tuple[int, int, int], rough: float) -> np.ndarray:
    """A wooden table: streaks along its grain."""
    width, height = FRAME
    streaks = cv2.GaussianBlur(rng.normal(0, 1, (height, width)).astype(np.float32), (0, 0), 60, None, 2)
    fine = cv2.GaussianBlur(rng.normal(0, 1, (height, width)).astype(np.float32), (0, 0), 25, None, 1)
    return np.array(tone) * (1 + rough * (0.08 * _unit(streaks) + 0.04 * _unit(fine)))[:, :, None]


def _unit(field: np.ndarray) -> np.ndarray:
    return field / field.std()


def light(kind: str) -> np.ndarray:
    """How much light falls on each pixel of the frame, (h, w)."""
    width, height = FRAME
    y, x = np.mgrid[0:height, 0:width] / max(FRAME)
    side = 0.62 + 0.38 * (0.7 * x + 0.5 * y)
    if kind == "even":
        return np.ones((height, width))
    if kind == "side":
        return side
    corners = 1 - 0.55 * ((x - 0.5) ** 2 + (y - 0.37) ** 2)
    shadow = cv2.GaussianBlur(np.where(x + 0.45 * y < 0.55, 0.6, 1.0), (0, 0), 16)
    return corners if kind == "corners" else side * shadow


def photographed(
    sheet: np.ndarray,
    corners: np.ndarray = TILTED,
    lit: str = "hand",
    *,
    grain: float = 4.0,
    blur: float = 1.0,
    behind: tuple[int, int, int] = (104, 78, 58),
    rough: float = 1.0,
    seed: int = 1,
) -> Photo:
    """A sheet on a table; ``corners``: where its corners are in the photo, from the upper left clockwise."""
    rng = np.random.default_rng(seed)
    size = sheet.shape[1::-1]
    own = np.array([(0, 0), (size[0], 0), size, (0, size[1])], np.float32)
    there = corners.astype(np.float32)
    matrix = cv2.getPerspectiveTransform(own - 0.5, there - 0.5)
    seen = cv2.warpPerspective(sheet, matrix, FRAME, flags=cv2.INTER_AREA)
    inside = cv2.warpPerspective(np.ones(sheet.shape[:2], np.float32), matrix, FRAME)[:, :, None]
    scene = (table(rng, behind, rough) * (1 - inside) + seen * inside) * light(lit)[:, :, None]
    scene = cv2.GaussianBlur(scene, (0, 0), blur) if blur else scene
    scene = scene + rng.normal(0, grain, (*scene.shape[:2], 1)) if grain else scene
    ink = ink_of(sheet)
    true = cv2.warpPerspective(ink.astype(np.float32), matrix, FRAME, flags=cv2.INTER_LINEAR) > 0.5
    return Photo(scene.clip(0, 255).astype(np.uint8), ink, true, there)


def agreement(outline: Outline, truth: np.ndarray) -> float:
    """Intersection over union with a mask, both laid on each other by the boxes around them, at one scale."""
    rows, columns = np.nonzero(truth.any(axis=1))[0], np.nonzero(truth.any(axis=0))[0]
    part = truth[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    left, low, right, high = outline.bounds
    scale = float(np.sqrt(part.shape[0] * part.shape[1] / ((right - left) * (high - low))))
    matrix = np.eye(2) * scale
    middle = np.array(part.shape[::-1]) / 2 - scale * np.array([left + right, low + high]) / 2
    laid = Outline(tuple(contour.moved(matrix, middle) for contour in outline.contours), 1.0)
    return overlap(laid, part)
