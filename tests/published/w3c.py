"""The W3C SVG 1.1 test files with their reference pictures, as Debian's ``librsvg2-tests`` carries them.

Package librsvg2-tests 2.54.7 (W3C test suite: W3C 3-clause BSD licence). Text is left out of both sides: where it
stands is told by rendering each file with and without it.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import resvg_py
import shapely
from PIL import Image

from artwork.errors import EngineError
from artwork.intake import Ink, Reading, Wishes, read_artwork
from artwork.intake.colours import STANDS_OUT, oklab, rgb_of
from artwork.outline import Outline

FOLDER = Path("/usr/libexec/installed-tests/RSVG/fixtures/reftests/svg1.1")
_TEXT = re.compile(r"<(?:\w+:)?text\b.*?</(?:\w+:)?text>", re.DOTALL)


@dataclass(frozen=True)
class Comparison:
    """How one file compares: overlap with the reference outside text, or why it is not compared."""

    name: str
    overlap: float
    reason: str = ""


def files() -> list[Path]:
    """The SVG files that have a reference picture."""
    return [path for path in sorted(FOLDER.glob("*.svg")) if reference_of(path).exists()]


def reference_of(path: Path) -> Path:
    return path.with_name(f"{path.stem}-ref.png")


@cache
def compare(path: Path) -> Comparison:
    """The outline of ``path``, all its inks asked for as they are, against its reference picture."""
    data = path.read_bytes()
    try:
        reading = _whole(data, path.name)
    except EngineError as refusal:
        return Comparison(path.stem, 0.0, refusal.code)
    if reading.kind != "vector":
        return Comparison(path.stem, 0.0, "read as a picture")
    reference = np.asarray(Image.open(reference_of(path)).convert("RGBA").copy())
    if reference.shape[:2] != (360, 480):
        return Comparison(path.stem, 0.0, "reference of another size")
    other = {r.code for r in reading.remarks} - {"text-left-out", "light-art"}
    if other:
        return Comparison(path.stem, 0.0, ", ".join(sorted(other)))
    wanted = ink(reference)
    got = filled(reading.outline, (360, 480))
    counted = ~text_region(data.decode("utf-8", "replace"))
    differing = ((got & ~_spread(wanted)) | (wanted & ~_spread(got))) & counted
    return Comparison(path.stem, float(1 - differing.sum() / max(((got | wanted) & counted).sum(), 1)))


def _whole(data: bytes, name: str) -> Reading:
    """All of a file's art, as it is drawn: by itself intake may carve fewer of its inks, or part or draw them."""
    reading, asked = read_artwork(data, name), None
    while len(reading.inks) > 1 and asked is None:
        kind, asked = reading.kind, Wishes(inks=_off_paper(reading.inks), way="solid")
        reading = read_artwork(data, name, asked)
        if reading.kind != kind == "traced":  # its inks are counted otherwise
            asked = None
    return reading


def _off_paper(inks: tuple[Ink, ...]) -> tuple[int, ...]:
    """The inks that :func:`ink` sees in the reference."""
    off = np.linalg.norm(
        oklab(np.array([rgb_of(each.colour) for each in inks])) - oklab(np.ones((1, 3))), axis=1
    )
    return tuple(int(at) for at in np.flatnonzero(off >= STANDS_OUT))


def _spread(mask: np.ndarray) -> np.ndarray:
    """One pixel more all round: a smoothed edge has no definite pixel, and many of these lines are one wide."""
    return cv2.dilate(mask.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0


def ink(picture: np.ndarray) -> np.ndarray:
    """Pixels of a picture that look different from white paper."""
    rgb = picture[:, :, :3].astype(float) / 255
    clear = picture[:, :, 3:].astype(float) / 255
    lab = oklab((rgb * clear + 1 - clear).reshape(-1, 3))
    off = np.linalg.norm(lab - oklab(np.ones((1, 3))), axis=1)
    return np.asarray((off >= STANDS_OUT).reshape(picture.shape[:2]))


def filled(outline: Outline, shape: tuple[int, int]) -> np.ndarray:
    """Pixels of which the outline covers a quarter or more; SVG's units are pixels here."""
    region = outline.region(0.02)
    shapely.prepare(region)
    found = np.zeros(shape, bool)
    for dx, dy in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)):
        x, y = np.meshgrid(np.arange(shape[1]) + dx, -np.arange(shape[0]) - dy)
        found |= shapely.contains_xy(region, x, y)
    return found


def text_region(source: str) -> np.ndarray:
    """Where text stands, with some room around it: fonts differ from machine to machine."""
    pictures = []
    for text in (source, _TEXT.sub("", source)):
        try:
            png = resvg_py.svg_to_bytes(svg_string=text, width=480, height=360, dpi=96)
        except ValueError:
            return np.zeros((360, 480), bool)
        pictures.append(np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA")).astype(int))
    if pictures[0].shape != pictures[1].shape or pictures[0].shape[:2] != (360, 480):
        return np.zeros((360, 480), bool)
    changed = (np.abs(pictures[0] - pictures[1]).max(axis=2) > 8).astype(np.uint8)
    return cv2.dilate(changed, np.ones((25, 25), np.uint8)) > 0
