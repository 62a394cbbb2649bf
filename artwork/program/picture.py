"""Where a program and what was signed part, as a picture on the slat."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from artwork.program.fields import Fields, Kind, partings

PX_PER_MM = 4.0
GROWN = 0.35
"""How far each difference is drawn larger than it is, mm, so that a thin one is seen."""
COLOURS: dict[Kind, tuple[int, int, int]] = {
    "missing": (0, 114, 178),
    "extra": (213, 94, 0),
    "shallow": (230, 159, 0),
    "deep": (148, 52, 130),
}
"""Red, green, blue: hues of Okabe and Ito's palette, told apart by most people who see few colours."""
WORDS: dict[Kind, str] = {
    "missing": "wood stays that should go",
    "extra": "wood goes that should stay",
    "shallow": "too shallow",
    "deep": "too deep",
}
_PAPER, _WOOD, _GROOVE, _INK = (246, 244, 239), (226, 208, 178), (172, 146, 110), (52, 48, 44)
_LETTERS = 0.022
"""Height of the legend's letters, as a share of the picture's; at least 13 pixels."""
Picture = NDArray[np.uint8]


def difference_png(fields: Fields) -> bytes:
    """The slat with what was signed in it, and the differences in colour; a legend below says which is which."""
    scale = PX_PER_MM / fields.px_per_mm
    rows, columns = fields.signed.shape
    size = (max(round(columns * scale), 1), max(round(rows * scale), 1))
    picture = np.empty((size[1], size[0], 3), np.uint8)
    picture[:] = _WOOD
    picture[_shrunk(fields.signed_cut, size)] = _GROOVE
    grow = max(round(GROWN * PX_PER_MM), 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * grow + 1, 2 * grow + 1))
    shares: dict[Kind, float] = {}
    for kind, where in partings(fields).items():
        shares[kind] = float(np.count_nonzero(where)) / fields.px_per_mm**2
        seen = cv2.dilate(_shrunk(where, size).astype(np.uint8), disc) > 0
        picture[seen] = COLOURS[kind]
    return _png(_with_legend(picture, shares))


def _shrunk(where: NDArray[np.bool_], size: tuple[int, int]) -> NDArray[np.bool_]:
    """A mask at the picture's size: a pixel counts where any part of it does."""
    return cv2.resize(where.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.25


def _with_legend(picture: Picture, areas: dict[Kind, float]) -> Picture:
    high, wide = picture.shape[:2]
    letters = max(round(high * _LETTERS), 13)
    row, width = round(letters * 1.35), max(wide, 26 * letters)
    whole = Image.new("RGB", (width, high + row * (len(COLOURS) + 1)), _PAPER)
    whole.paste(Image.fromarray(picture), ((width - wide) // 2, 0))
    draw = ImageDraw.Draw(whole)
    font = ImageFont.load_default(letters)
    for number, (kind, colour) in enumerate(COLOURS.items()):
        y = high + row // 2 + number * row
        draw.rectangle((letters, y + 2, 2 * letters, y + letters), fill=colour)
        draw.text(
            (round(2.6 * letters), y - 2), f"{WORDS[kind]}: {areas[kind]:.1f} square mm", fill=_INK, font=font
        )
    return np.asarray(whole)


def _png(picture: Picture) -> bytes:
    return bytes(cv2.imencode(".png", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR))[1])
