"""Which pixels are art: from a picture to a bilevel mask.

Paper and ink are told apart by Otsu's threshold (N. Otsu, "A threshold selection method from gray-level
histograms", IEEE Trans. SMC 9(1), 1979), after light that is not even has been levelled.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import cv2
import numpy as np

from artwork.refusal import Refusal

Bytes = cv2.typing.MatLike
"""An array of pixels, uint8 throughout."""

Note = tuple[str, str, Literal["warns", "tells"]]

_OPAQUE = 128
_LEAST_CONTRAST = 20
"""Grey levels between paper and ink below which nothing is drawn: fainter than pencil on white."""
_SHADE_STEP = 0.22
"""One step of lighter/darker, as a share of the way from the threshold to the ink's or paper's own level."""
_LIGHT = 128
_DARK_PAGE = 64


@dataclass(frozen=True, eq=False)
class Picture:
    """A decoded picture, uint8: ``levels`` (h, w) grey or (h, w, 3) sRGB, ``alpha`` (h, w) or ``None``."""

    levels: Bytes
    alpha: Bytes | None = None


@dataclass(frozen=True, eq=False)
class Inked:
    """The ink of a picture.

    Attributes:
        mask: (h, w) uint8, 1 where it is carved.
        colours: ``("#rrggbb", share of the picture, carved)`` of each ink.
        notes: remarks as (code, message, severity).
        counts: what was found.
    """

    mask: Bytes
    colours: tuple[tuple[str, float, bool], ...]
    notes: tuple[Note, ...] = ()
    counts: dict[str, int] = field(default_factory=dict)


def read_ink(picture: Picture, shade: int = 0, invert: bool | None = None) -> Inked:
    """The art of a picture.

    Args:
        picture: what was decoded.
        shade: −3 (lighter: less is art) to +3 (darker: more is art).
        invert: whether to take the other side; ``None`` for the side that does not fill the border.

    Raises:
        Refusal: ``blank-picture`` or ``solid-picture`` where nothing is drawn.
    """
    grey, shape = _flattened(picture)
    if shape is not None:
        mask, notes = shape, list[Note]()
    else:
        mask, notes = _thresholded(grey, shade)
    if invert:
        mask = 1 - mask
    return Inked(mask, _two_colours(grey, mask), tuple(notes))


def _flattened(picture: Picture) -> tuple[Bytes, Bytes | None]:
    """Grey on white paper, and the shape alone where transparency already tells art from ground."""
    levels = picture.levels
    grey = levels if levels.ndim == 2 else cv2.cvtColor(levels, cv2.COLOR_RGB2GRAY)
    if picture.alpha is None:
        return grey, None
    solid = (picture.alpha >= _OPAQUE).astype(np.uint8)
    covered = int(np.count_nonzero(solid))
    if covered == 0:
        raise blank_picture()
    drawn = grey[solid > 0]
    if np.percentile(drawn, 2) > _LIGHT or np.ptp(drawn) < _LEAST_CONTRAST:
        return np.where(solid > 0, 0, 255).astype(
            np.uint8
        ), solid  # one light colour, or one colour, on nothing
    weight = picture.alpha.astype(np.uint16)
    blended = (grey.astype(np.uint16) * weight + 255 * (255 - weight)) // 255
    return blended.astype(np.uint8), None


def _thresholded(grey: Bytes, shade: int) -> tuple[Bytes, list[Note]]:
    threshold, _ = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    histogram = cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel()
    dark, light = _class_means(histogram, threshold)
    if light - dark < _LEAST_CONTRAST:
        raise solid_picture() if light < _DARK_PAGE else blank_picture()
    inverted = _dark_border(grey, threshold)
    step = (-shade if inverted else shade) * _SHADE_STEP
    threshold += step * ((light - threshold) if step > 0 else (threshold - dark))
    mask = (grey > threshold if inverted else grey <= threshold).astype(np.uint8)
    notes: list[Note] = []
    if inverted:
        notes.append(
            ("light-on-dark", "The art is light on a dark ground; the light part was taken.", "tells")
        )
    return mask, notes


def _class_means(histogram: Bytes, threshold: float) -> tuple[float, float]:
    """Mean level of what lies at or below the threshold, and of what lies above."""
    cut = int(threshold) + 1
    levels = np.arange(256)
    low, high = histogram[:cut].sum(), histogram[cut:].sum()
    if low == 0 or high == 0:
        mean = float((levels * histogram).sum() / histogram.sum())
        return mean, mean
    dark = float((levels[:cut] * histogram[:cut]).sum() / low)
    return dark, float((levels[cut:] * histogram[cut:]).sum() / high)


def _dark_border(grey: Bytes, threshold: float) -> bool:
    """Whether the frame of the picture is on the dark side: then the art is the light part."""
    frame = max(1, min(grey.shape) // 100)
    border = np.concatenate(
        [grey[:frame].ravel(), grey[-frame:].ravel(), grey[:, :frame].ravel(), grey[:, -frame:].ravel()]
    )
    return bool((border <= threshold).mean() > 0.5)


def _two_colours(grey: Bytes, mask: Bytes) -> tuple[tuple[str, float, bool], ...]:
    carved = float(np.count_nonzero(mask)) / mask.size
    level = int(cv2.mean(grey, mask)[0])
    paper = int(cv2.mean(grey, 1 - mask)[0])
    return ((_hex(paper), 1 - carved, False), (_hex(level), carved, True))


def _hex(level: int) -> str:
    return f"#{level:02x}{level:02x}{level:02x}"


def blank_picture() -> Refusal:
    """Nothing is drawn on the page."""
    return Refusal(
        "blank-picture",
        "The picture is blank: nothing on it stands out from the ground.",
        "Check that the file shows your logo, and send a darker or sharper one.",
    )


def solid_picture() -> Refusal:
    """The page is one dark colour."""
    return Refusal(
        "solid-picture",
        "The whole picture is one dark colour, so there is no shape to carve.",
        "Send the logo dark on a light or transparent ground.",
    )
