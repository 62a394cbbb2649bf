"""Which pixels are art: from a picture to a bilevel mask.

Flat colour art is taken apart into its inks. All else — scans, photos, shaded art — is put in even light and
smoothed where grainy, and paper and ink are told apart by Otsu's threshold (N. Otsu, "A threshold selection
method from gray-level histograms", IEEE Trans. SMC 9(1), 1979).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import cv2
import numpy as np

from artwork.intake.colours import SAME_INK, STANDS_OUT, WHITE, distance, hex_of, oklab
from artwork.intake.ground import border_colour, on_dark
from artwork.intake.levelling import GRAINY, levelled, noise, smoothed
from artwork.intake.separation import Inks, labels, separate, shadowed
from artwork.refusal import Refusal

Bytes = cv2.typing.MatLike
"""An array of pixels, uint8 throughout."""

Note = tuple[str, str, Literal["warns", "tells"]]

_OPAQUE = 128
_LEAST_CONTRAST = 8
"""Grey levels between paper and ink below which nothing is drawn: nobody sees less."""
_SURE = 48
"""From this many grey levels on something is drawn. What differs by less must also have edges: where uneven light was
evened out, the paper along the edge of a shadow stays a little darker.
"""
_OVER_GRAIN = 2.5
"""Paper and ink must also differ by this many times the grain that smoothing leaves."""
_EDGED = 0.5
"""Share of the difference between paper and ink that lies within a few pixels of their common edge, where it is one."""
_BAND = 150
"""The picture's side over this is how wide an edge may be, and what is looked at beside it; at least 3 pixels."""
_SHADE_STEP = 0.22
"""One step of lighter/darker, as a share of the way from the threshold to the ink's or paper's own level."""
_LEAN_STEP = 0.12
"""The same for mixtures of two inks along an edge."""
_SPREAD_SIDE = 400
_FEW = 40
_RUNNING = 0.05
"""Share of the carved, or of the left, that may have another colour than the most of it has."""
_ONE_GREY = 20
"""Art on nothing whose greys differ by less than this many levels is one grey."""
_LIGHT = 128
_DARK_PAGE = 64
_DRAWN = 1.0
"""Grain, grey levels, below which a picture came from a program, not from a lens: its shades are meant."""


@dataclass(frozen=True, eq=False)
class Picture:
    """A decoded picture.

    Attributes:
        levels: (h, w) grey or (h, w, 3) sRGB, uint8.
        alpha: (h, w) uint8, or ``None`` where nothing is clear.
        lens: whether it came in a format that cameras and scanners write.
        inside: (h, w) uint8, 1 where art may be, or ``None`` for everywhere.
    """

    levels: Bytes
    alpha: Bytes | None = None
    lens: bool = False
    inside: Bytes | None = None

    @property
    def on_white(self) -> Bytes:
        """The picture on white paper, without its alpha."""
        if self.alpha is None:
            return self.levels
        weight = self.alpha if self.levels.ndim == 2 else cv2.merge([self.alpha] * 3)
        return cv2.add(cv2.multiply(self.levels, weight, scale=1 / 255), cv2.bitwise_not(weight))


@dataclass(frozen=True, eq=False)
class Inked:
    """The ink of a picture.

    Attributes:
        mask: (h, w) uint8, 1 where it is carved.
        colours: ``("#rrggbb", share of the picture, carved)`` of each ink, the ground first.
        notes: remarks as (code, message, severity).
        counts: what was found.
        grain: noise of the picture, grey levels.
    """

    mask: Bytes
    colours: tuple[tuple[str, float, bool], ...]
    notes: tuple[Note, ...] = ()
    counts: dict[str, int] = field(default_factory=dict)
    grain: float = 0.0


def read_ink(
    picture: Picture, shade: int = 0, invert: bool | None = None, inks: tuple[int, ...] | None = None
) -> Inked:
    """The art of a picture.

    Args:
        picture: what was decoded.
        shade: −3 (lighter: less is art) to +3 (darker: more is art).
        invert: whether to take the other side; ``None`` for the side that does not fill the border.
        inks: which colours are art, by their place in ``colours``.

    Raises:
        Refusal: ``blank-picture`` or ``solid-picture`` where nothing is drawn.
    """
    levels, shape = _on_paper(picture)
    if shape is not None and inks is None:
        mask = 1 - shape if invert else shape
        return Inked(mask, _two_colours(levels, mask))
    levels, grain = _without_grain(levels)
    notes: list[Note] = []
    photo = grain > GRAINY  # on paper a large even grey is a shadow; in a clean drawing it is an ink
    separated = None if photo else separate(levels, border_colour(levels))
    if separated is not None and picture.lens and shadowed(levels, separated):
        separated = None
    if separated is None and (picture.lens or grain > _DRAWN):
        levels, notes = _in_even_light(levels)
        separated = separate(levels, border_colour(levels)) if photo or notes else None
    if separated is not None and inks is None and not any(_standing_out(separated, shade)):
        separated = None  # strokes too thin to be flat anywhere: only the ground was found
    if separated is not None and (levels.ndim == 3 or len(separated.colours) > 2):
        inked = _flat_art(levels, separated, shade, invert, inks)
    else:
        least = max(_LEAST_CONTRAST, _OVER_GRAIN * grain)
        inked = _two_sides(levels, shade, invert, inks, least)
    mask = inked.mask if picture.inside is None else cv2.bitwise_and(inked.mask, picture.inside)
    return replace(inked, mask=mask, notes=(*notes, *inked.notes), grain=grain)


def _without_grain(levels: Bytes) -> tuple[Bytes, float]:
    """The picture smoothed where it is grainy, and its grain."""
    grain = noise(levels if levels.ndim == 2 else levels[:, :, 1])
    return (smoothed(levels, grain) if grain > GRAINY else levels), grain


def _in_even_light(levels: Bytes) -> tuple[Bytes, list[Note]]:
    """Art in even light; noted where that changed anything."""
    even = levelled(levels)
    if not even.varied:
        return levels, []
    return even.levels, [
        ("light-levelled", "The light on the picture is uneven; it was evened out.", "tells")
    ]


def _on_paper(picture: Picture) -> tuple[Bytes, Bytes | None]:
    """The picture on white paper, and the shape alone where transparency already tells art from ground."""
    levels = picture.levels
    if picture.alpha is None:
        return levels, None
    solid = (picture.alpha >= _OPAQUE).astype(np.uint8)
    if not solid.any():
        raise blank_picture()
    grey = levels if levels.ndim == 2 else cv2.cvtColor(levels, cv2.COLOR_RGB2GRAY)
    drawn = grey[solid > 0]
    clear = not solid.all()
    if clear and (np.percentile(drawn, 2) > _LIGHT or (levels.ndim == 2 and np.ptp(drawn) < _ONE_GREY)):
        return np.where(solid > 0, 0, 255).astype(np.uint8), solid  # all light, or all one grey, on nothing
    return picture.on_white, None


def _standing_out(found: Inks, shade: int) -> list[bool]:
    """Which inks stand out from the ground, the first; darker takes fainter ones too."""
    apart = np.linalg.norm(oklab(found.colours) - oklab(found.colours[:1]), axis=1)
    return [bool(each) for each in (apart >= STANDS_OUT * 2.0**-shade) & (np.arange(len(apart)) > 0)]


def _flat_art(
    levels: Bytes, found: Inks, shade: int, invert: bool | None, inks: tuple[int, ...] | None
) -> Inked:
    """Art of a few flat colours: all inks that stand out from the ground, or those wished for."""
    colours = [(float(r), float(g), float(b)) for r, g, b in found.colours]
    chosen = _standing_out(found, shade) if inks is None else [i in inks for i in range(len(found.colours))]
    if not any(chosen):
        raise blank_picture()
    if invert:
        chosen = [not each for each in chosen]
    which = labels(levels, found, _LEAN_STEP * shade)
    mask = cv2.LUT(which, np.array([*chosen, *[0] * (256 - len(chosen))], np.uint8))
    counts = np.bincount(which.ravel(), minlength=len(colours)) / which.size
    inked = tuple((hex_of(c), float(counts[i]), chosen[i]) for i, c in enumerate(colours))
    notes: list[Note] = []
    if sum(chosen) > 1 and inks is None:
        notes.append(
            (
                "several-inks",
                f"The art has {len(colours) - 1} colours; all that stand out are carved, and where they meet "
                "they become one shape. Choose which colours to carve if some should stay wood.",
                "tells",
            )
        )
    if distance(colours[0], WHITE) > 0.5:
        notes.append(_light_on_dark())
    return Inked(mask, inked, tuple(notes), {"inks": len(colours) - 1})


def _two_sides(
    levels: Bytes, shade: int, invert: bool | None, inks: tuple[int, ...] | None, least: float
) -> Inked:
    """Ink and paper, by a threshold; blank where they differ by less than ``least`` grey levels."""
    notes: list[Note] = []
    shown = levels
    if levels.ndim == 3:
        levels = _apart_from(shown, border_colour(shown))
    mask, inverted = _thresholded(levels, shade, least)
    if shown.ndim == 3 and _runs(shown, mask):
        notes.append(
            (
                "colours-hardened",
                "The picture's colours run into each other; they became art or ground.",
                "warns",
            )
        )
    if inverted:
        notes.append(_light_on_dark())
    if invert or (inks is not None and 1 not in inks and 0 in inks):
        mask = 1 - mask
    return Inked(mask, _two_colours(shown, mask), tuple(notes))


def _runs(levels: Bytes, mask: Bytes) -> bool:
    """Whether what is carved, or what is left, has more than one colour away from their common edge."""
    step = max(1, max(mask.shape) // _SPREAD_SIDE)
    reach = np.ones((5, 5), np.uint8)
    for side in (mask, 1 - np.asarray(mask)):
        colours = np.asarray(levels)[::step, ::step][np.asarray(cv2.erode(side, reach))[::step, ::step] > 0]
        if len(colours) < _FEW:
            continue
        lab = oklab(colours / 255)
        apart = np.linalg.norm(lab - np.median(lab, axis=0), axis=1)
        if (apart > SAME_INK).mean() > _RUNNING:
            return True
    return False


def _apart_from(levels: Bytes, ground: np.ndarray) -> Bytes:
    """Grey by how far each colour looks from the ground: the ground white, the farthest black."""
    steps = 32
    axis = (np.arange(steps) + 0.5) / steps
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    off = np.linalg.norm(oklab(grid) - oklab(ground[None]), axis=1)
    table = (255 - 255 * np.clip(off / off.max(), 0, 1)).astype(np.uint8)
    coarse = np.asarray(levels, np.uint8) >> 3
    index = coarse[:, :, 0].astype(np.uint16)
    for channel in (1, 2):
        index <<= 5
        index |= coarse[:, :, channel]
    return np.asarray(table[index])


def _thresholded(grey: Bytes, shade: int, least: float) -> tuple[Bytes, bool]:
    """The mask, and whether the art is the light side."""
    threshold, _ = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    histogram = cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel()
    dark, light = _class_means(histogram, threshold)
    faint = light - dark < _SURE and not _edged(grey)
    if light - dark < least or faint:
        raise solid_picture() if light < _DARK_PAGE else blank_picture()
    dark_share = float(histogram[: int(threshold) + 1].sum() / histogram.sum())
    inverted = on_dark(grey, threshold, dark_share)
    step = (-shade if inverted else shade) * _SHADE_STEP
    threshold += step * ((light - threshold) if step > 0 else (threshold - dark))
    kind = cv2.THRESH_BINARY if inverted else cv2.THRESH_BINARY_INV
    return cv2.threshold(grey, threshold, 1, kind)[1], inverted


def _edged(grey: Bytes) -> bool:
    """Whether something faint is drawn: it outlasts a blur that grain does not, has an edge, and fades into nothing."""
    width = max(3, max(grey.shape) // _BAND)
    grey = cv2.blur(grey, (width, width))
    threshold, _ = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    means = _class_means(cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel(), threshold)
    contrast = means[1] - means[0]
    if contrast < _LEAST_CONTRAST:
        return False
    below: Bytes = (np.asarray(grey) <= threshold).astype(np.uint8)
    dark = cv2.morphologyEx(below, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    reach, band = (np.ones((side, side), np.uint8) for side in (width, 3 * width))
    inner = cv2.subtract(dark, cv2.erode(dark, band))
    outer = cv2.subtract(cv2.dilate(dark, band), cv2.dilate(dark, reach))
    if not inner.any() or not outer.any():
        return False
    across = cv2.mean(grey, outer)[0] - cv2.mean(grey, inner)[0]
    return across > _EDGED * contrast


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


def _two_colours(levels: Bytes, mask: Bytes) -> tuple[tuple[str, float, bool], ...]:
    """Ground and ink, each by its mean on pixels spread over the picture."""
    step = max(1, max(mask.shape) // 500)
    few, carved = levels[::step, ::step], mask[::step, ::step] > 0
    share = cv2.countNonZero(mask) / mask.size
    found = []
    for side, part, carves in ((~carved, 1 - share, False), (carved, share, True)):
        mean = few[side].mean(axis=0) / 255 if side.any() else 0.0
        r, g, b = np.broadcast_to(mean, 3).tolist()
        found.append((hex_of((r, g, b)), part, carves))
    return tuple(found)


def _light_on_dark() -> Note:
    return ("light-on-dark", "The art is light on a dark ground; the light part was taken.", "tells")


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
