"""The relief as a picture: lit, on wood of the slat's species, with the found places marked."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import TYPE_CHECKING

import cv2
import numpy as np
import PIL.WebPImagePlugin  # noqa: F401 - known from the start: Pillow would load every format to find it
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from shapely import transform

from artwork.close_up import Box
from artwork.cut import Cut
from artwork.finishes import PAINT, painted, seen_through
from artwork.fixings import draw_fixings
from artwork.grain import END_GRAIN_DARKER, Board, Look, board_of, look_of
from artwork.lighting import light
from artwork.marks import Mark, draw_badge, draw_marks
from artwork.picture_frame import BORDER, SIGNED_DENSITY
from artwork.relief import Relief, relief
from artwork.tooling import MM_PER_INCH
from artwork.workpiece import PAINT_FILLED, Slat

if TYPE_CHECKING:
    from artwork.findings import Check

Picture = NDArray[np.uint8]
Font = ImageFont.ImageFont | ImageFont.FreeTypeFont

FOOT = 13.0
"""Height of the strip with the scale bar below the picture, mm; never under ``LEAST_FOOT`` pixels."""
LEAST_FOOT = 34
PAPER = np.array([0.955, 0.950, 0.935], np.float32)
LAMP_COLOUR = np.array([0.84, 0.80, 0.74], np.float32)
SKY_COLOUR = np.array([0.56, 0.585, 0.62], np.float32)
"""Warm lamp, cool sky: the shadows in the grooves turn blue rather than black."""
DEPTH_DARKER = 0.09
"""How much light carved wood loses with its depth, per mm: more than daylight takes, so that a wide floor reads as low
and a solid mark as solid. A convention of these pictures, chosen by eye."""
SCALE_BARS = (100, 50, 25, 10)
"""Lengths a scale bar may have, mm."""
INK = (52, 48, 44)
_QUICK_PNG = [
    *(cv2.IMWRITE_PNG_FILTER, cv2.IMWRITE_PNG_FILTER_PAETH),
    *(cv2.IMWRITE_PNG_STRATEGY, cv2.IMWRITE_PNG_STRATEGY_HUFFMAN_ONLY),
]
"""Half the time of libpng's default and no larger on wood: its noise leaves nothing for longer matches."""


def preview_png(
    cut: Cut, check: Check | None, px_per_mm: float = SIGNED_DENSITY, marks: bool = True, wood: str = "fresh"
) -> bytes:
    """The finished slat as people will see it: same value, same bytes.

    Args:
        cut: what is cut.
        check: its findings, for the marks; ``None`` for none.
        px_per_mm: pixels per millimetre.
        marks: whether found places are marked; where there are any, joints and what screws keep free are drawn.
        wood: ``"fresh"`` from the shop or ``"weathered"`` to silver grey.
    """
    return png(preview(cut, check if marks else None, px_per_mm, wood))


def preview_webp(
    cut: Cut, check: Check | None, px_per_mm: float = SIGNED_DENSITY, marks: bool = True, wood: str = "fresh"
) -> bytes:
    """As :func:`preview_png`, about a tenth of its size: for pages, never for signing."""
    return webp(preview(cut, check if marks else None, px_per_mm, wood, exact=False))


def part_webp(cut: Cut, window: Box, px_per_mm: float = 4.0, wood: str = "fresh") -> bytes:
    """The part of the slat within ``window``, as WebP: no marks, no scale bar, clear where there is no wood.

    Args:
        cut: what is cut.
        window: :func:`artwork.close_up.close_up` or :func:`artwork.close_up.whole` of the slat, mm.
        px_per_mm: pixels per millimetre.
        wood: as for :func:`preview_png`.
    """
    face = relief(cut, px_per_mm, BORDER, window, exact=False)
    cover = cover_of(face)
    colour = np.empty((*cover.shape, 3), np.uint8)
    for channel, wood_there in enumerate(lit_wood(face, look_of(cut.slat.species, wood), cut.slat)):
        colour[..., channel] = cv2.convertScaleAbs(wood_there, alpha=255)  # more than white stays white
    picture = Image.fromarray(colour)
    draw_fixings(picture, cut, face, margins=False)
    shadow = 1 - _cast_shadow(cover, px_per_mm)
    opaque = cover + (1 - cover) * shadow
    layers = np.dstack([np.asarray(picture), cv2.convertScaleAbs(opaque, alpha=255)])
    edge = cover < 1  # there the shadow, which is black, shows through
    share = cover[edge] / np.maximum(opaque[edge], np.float32(1 / 255))
    layers[edge, :3] = layers[edge, :3] * share[:, None]
    return _layers_webp(layers)


def clear_webp(colour: NDArray[np.float32], opaque: NDArray[np.float32]) -> bytes:
    """A picture that what is behind it shows through, as WebP.

    Args:
        colour: shape (h, w, 3), red green blue from 0 to 255, times ``opaque``.
        opaque: shape (h, w), 0 to 1.
    """
    own = colour / np.maximum(opaque, np.float32(1 / 255))[..., None]
    return _layers_webp(np.dstack([np.minimum(own, 255), opaque * 255]).astype(np.uint8))


def _layers_webp(layers: Picture) -> bytes:
    """Red, green, blue and how opaque each pixel is, shape (h, w, 4), as WebP."""
    written = BytesIO()  # OpenCV cannot be told to spend less on what is clear: four times as long
    Image.fromarray(layers).save(written, "WEBP", quality=80, method=2, alpha_quality=60)
    return written.getvalue()


def preview(cut: Cut, check: Check | None, px_per_mm: float, wood: str, *, exact: bool = True) -> Picture:
    """The picture itself, shape (h, w, 3), red green blue; ``exact`` as for :func:`artwork.relief.relief`."""
    face = relief(cut, px_per_mm, BORDER, exact=exact)
    lit = render(face, look_of(cut.slat.species, wood), cut.slat)
    found = [] if check is None else check.findings
    marked = [
        Mark(number, finding.severity == "stops", transform(finding.place, face.pixels))
        for number, finding in enumerate(found, start=1)
    ]
    picture = Image.fromarray(lit)
    draw_fixings(picture, cut, face, margins=bool(marked))
    return _finished(picture, marked, px_per_mm)


def png(picture: Picture) -> bytes:
    """A picture as PNG: quick to write, and the same bytes every time."""
    return bytes(cv2.imencode(".png", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), _QUICK_PNG)[1])


def webp(picture: Picture) -> bytes:
    """A picture as WebP, with some loss that nobody sees."""
    written = BytesIO()  # OpenCV cannot be told to spend less: no smaller, and more than twice as long
    Image.fromarray(picture).save(written, "WEBP", quality=80, method=2)
    return written.getvalue()


def render(face: Relief, look: Look, slat: Slat, board: Board | None = None) -> Picture:
    """The lit relief on paper, shape (h, w, 3), red green blue.

    Args:
        face: as it is left.
        look: of the wood, before anything is put on it.
        slat: that it is of.
        board: its wood, where many faces are carved into the same.
    """
    cover = cover_of(face)
    cast = _cast_shadow(cover, face.px_per_mm)
    picture = np.empty((*cover.shape, 3), np.uint8)
    for channel, wood in enumerate(lit_wood(face, look, slat, board)):
        shown = cast * PAPER[channel]
        shown += (wood - shown) * cover
        picture[..., channel] = cv2.convertScaleAbs(np.minimum(shown, 1), alpha=255)
    return picture


def cover_of(face: Relief) -> NDArray[np.float32]:
    """How much of each pixel the slat covers, 0 to 1."""
    cover = face.to_edge * np.float32(face.px_per_mm)
    cover += np.float32(0.5)
    return np.clip(cover, 0, 1, out=cover)


def lit_wood(
    face: Relief, look: Look, slat: Slat, board: Board | None = None
) -> Iterator[NDArray[np.float32]]:
    """Red, green and blue of the wood as lit, shape (h, w) each, about 0 to 1: with what is put on it.

    Arguments as for :func:`render`.
    """
    board = board or board_of(face, look, slat)
    look = seen_through(look, slat.finish)
    shine = light(face.height, face.px_per_mm, slat.grain_deg, face.art)
    dark = np.clip(board.tone(face.height), 0, 1)
    paint = painted(face.carved) if slat.finish == PAINT_FILLED and face.carved is not None else None
    swallowed = 1 - END_GRAIN_DARKER * np.square(shine.end_grain)
    if face.art is not None and face.carved is not None:
        swallowed[face.art] *= np.exp(-DEPTH_DARKER * face.carved)
    for channel in range(3):
        early, late = np.float32(look.early[channel]), np.float32(look.late[channel])
        wood = shine.lamp * LAMP_COLOUR[channel]
        wood += shine.sky * SKY_COLOUR[channel]
        own = early + (late - early) * dark
        if paint is not None and face.art is not None:
            own[face.art] += (np.float32(PAINT[channel]) - own[face.art]) * paint
        wood *= own
        wood *= swallowed
        yield wood


def _cast_shadow(cover: NDArray[np.float32], px_per_mm: float) -> NDArray[np.float32]:
    """Brightness of the paper under the slat's soft shadow; worked out on a coarse grid."""
    height, width = cover.shape
    small = cv2.resize(cover, (max(width // 4, 1), max(height // 4, 1)), interpolation=cv2.INTER_AREA)
    shift = 0.45 * px_per_mm
    moved = cv2.warpAffine(small, np.array([[1, 0, shift], [0, 1, shift]], np.float32), small.shape[::-1])
    soft = cv2.GaussianBlur(moved, (0, 0), max(0.6 * px_per_mm, 0.5))
    return np.asarray(
        1 - 0.42 * cv2.resize(soft, (width, height), interpolation=cv2.INTER_LINEAR), np.float32
    )


def _finished(lit: Image.Image, marked: list[Mark], px_per_mm: float) -> Picture:
    """The lit slat with its marks, over a strip with the scale bar and what the marks mean."""
    width, height = lit.size
    foot = max(round(FOOT * px_per_mm), LEAST_FOOT)
    paper = tuple(round(float(part) * 255) for part in PAPER)
    whole = Image.new("RGB", (width, height + foot), paper)
    whole.paste(lit, (0, 0))
    if marked:
        draw_marks(whole, marked, px_per_mm)
    pen = ImageDraw.Draw(whole)
    font = ImageFont.load_default(size=max(2.9 * px_per_mm, 11))
    _scale_bar(pen, font, (width, height, foot), px_per_mm)
    _legend(pen, font, marked, (width, height, foot))
    return np.asarray(whole)


def _scale_bar(pen: ImageDraw.ImageDraw, font: Font, size: tuple[int, int, int], px_per_mm: float) -> None:
    """A bar of a round length, below the slat's left edge."""
    width, height, foot = size
    room = width - 2 * BORDER * px_per_mm
    length = next((mm for mm in SCALE_BARS if mm * px_per_mm <= room * 0.45), SCALE_BARS[-1])
    left, right = BORDER * px_per_mm, (BORDER + length) * px_per_mm
    y, tick = height + foot * 0.36, foot * 0.13
    pen.line((left, y, right, y), fill=INK, width=max(1, round(0.4 * px_per_mm)))
    for x in np.linspace(left, right, 6 if length > 10 else 3):
        pen.line((x, y - tick, x, y + tick), fill=INK, width=max(1, round(0.3 * px_per_mm)))
    words = f"{length} mm  ({length / MM_PER_INCH:.2f} in)"
    pen.text((right + 2 * px_per_mm, y), words, fill=INK, font=font, anchor="lm")


def _legend(pen: ImageDraw.ImageDraw, font: Font, marked: list[Mark], size: tuple[int, int, int]) -> None:
    """What the two shapes mean, from the right."""
    width, height, foot = size
    y, x = height + foot * 0.78, float(width) - foot * 0.5
    for stops, words in ((False, "worth knowing"), (True, "must be changed")):
        if any(mark.stops == stops for mark in marked):
            x -= pen.textlength(words, font=font)
            pen.text((x, y), words, fill=INK, font=font, anchor="lm")
            x -= foot * 0.28
            draw_badge(pen, (x, y), foot * 0.13, stops)
            x -= foot * 0.5
