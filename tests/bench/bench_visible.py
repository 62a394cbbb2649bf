"""Pieces that anybody can see: none may be called blank, and none cut off that lies within its page.

300 photographs of lettering in coloured inks on coloured grounds, as they are sent: small, dim, grainy, blurred, saved
as JPEG; and 200 drawings of Open Clip Art. A drawing may be called cut off only where resvg draws something beside its
page, once that is a tenth larger on every side.
"""

from __future__ import annotations

import io
import random
from functools import cache
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError

import cv2
import numpy as np
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring
from PIL import Image, ImageDraw, ImageFont

from artwork.errors import EngineError
from artwork.intake import read_artwork
from artwork.intake.colours import oklab_of
from artwork.intake.svg_picture import drawn
from artwork.intake.svg_units import length, view_box
from tests.bench.harness import Measured, case

CLIPART = Path("/usr/share/openclipart/svg")
FONTS = sorted(Path("/usr/share/fonts").glob("truetype/**/*Serif*.ttf")) or [
    Path("/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf")
]
TEXTS = ("FERN", "Quillfern Garden", "In memory\nof a friend\nof the garden", "1887", "Bench by\nthe pond")
_SEEN = 0.2
"""Least difference in OKLab between lettering and ground: the lettering of a worn stone."""
_BLANK = {"blank-picture", "solid-picture", "nothing-drawn"}
_OVER = 2
"""Pixels of a drawing 400 pixels large that lie beside the page before it counts as running over it."""
_SIDE, _MORE = 400, 0.1


def lettering(number: int) -> bytes:
    """One photograph of lettering; the same number gives the same."""
    rng = random.Random(number)
    while True:
        ink, ground = (tuple(rng.randrange(256) for _ in range(3)) for _ in range(2))
        ink_lab, ground_lab = oklab_of(np.array([[ink, ground]], np.uint8))[0]
        if abs(float(ink_lab[0] - ground_lab[0])) > _SEEN:
            break
    image = Image.new("RGB", (700, 420), ground)
    font = ImageFont.truetype(str(rng.choice(FONTS)), rng.choice((36, 48, 64)))
    ImageDraw.Draw(image).multiline_text(
        (350, 210), rng.choice(TEXTS), fill=ink, font=font, anchor="mm", align="center"
    )
    pixels = np.asarray(image).astype(np.float32)
    if rng.random() < 0.4:
        pixels = pixels * np.linspace(1, rng.uniform(0.6, 0.95), pixels.shape[1])[None, :, None]
    if rng.random() < 0.4:
        pixels = cv2.GaussianBlur(pixels, (0, 0), rng.uniform(0.5, 2))
    if rng.random() < 0.4:
        pixels = pixels + np.random.default_rng(number).normal(0, rng.uniform(2, 6), pixels.shape)
    if rng.random() < 0.4:
        pixels = cv2.resize(pixels, (350, 210), interpolation=cv2.INTER_AREA)
    stream = io.BytesIO()
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(
        stream, "JPEG", quality=rng.choice((40, 60, 80, 92))
    )
    return stream.getvalue()


def drawings() -> list[Path]:
    """200 drawings spread over the collection."""
    every = sorted(
        path for path in CLIPART.rglob("*.svg") if "gradients" not in path.parts
    )  # those hold no shape
    return every[:: max(1, len(every) // 200)][:200]


@cache
def answers() -> dict[str, set[str]]:
    """Codes of the remarks, or of the refusal, for each piece."""
    pieces: dict[str, bytes] = {f"lettering {number}": lettering(number) for number in range(300)}
    pieces |= {str(path): path.read_bytes() for path in drawings()}
    found: dict[str, set[str]] = {}
    for name, data in pieces.items():
        try:
            found[name] = {remark.code for remark in read_artwork(data, "piece").remarks}
        except EngineError as refusal:
            found[name] = {refusal.code}
    return found


def runs_over(path: Path) -> bool:
    """Whether a larger page of the drawing shows something beside the page that it has."""
    try:
        root: Element = fromstring(path.read_bytes())
    except (ParseError, DefusedXmlException, ValueError):
        return False
    box = view_box(root.get("viewBox"))
    if box is None:
        box = (0.0, 0.0, length(root.get("width"), 0, 0), length(root.get("height"), 0, 0))
    left, top, width, height = box
    more = _MORE * max(width, height)
    root.set("viewBox", f"{left - more} {top - more} {width + 2 * more} {height + 2 * more}")
    picture = drawn(root, width + 2 * more, height + 2 * more, _SIDE)
    clear = np.asarray(picture.alpha) > 0
    edge = round(more * _SIDE / max(width + 2 * more, height + 2 * more))
    clear[edge:-edge, edge:-edge] = False
    return int(clear.sum()) > _OVER


@case(issue=16, name="visible pieces called blank", n="500: 300 letterings, 200 drawings", target=0)
def called_blank() -> Measured:
    wrong = [name for name, codes in answers().items() if codes & _BLANK]
    return Measured(len(wrong), unit="pieces", note=f"called so: {', '.join(wrong) or 'none'}")


@case(issue=16, name="visible drawings called cut off that are not", n="200 drawings", target=0)
def called_cut_off() -> Measured:
    said = [name for name, codes in answers().items() if "cut-at-the-edge" in codes]
    wrong = [name for name in said if not runs_over(Path(name))]
    return Measured(
        len(wrong), unit="pieces", note=f"{len(said)} are said to be; wrongly: {', '.join(wrong) or 'none'}"
    )
