"""Which pixels are art: from a picture to a bilevel mask.

Flat colour art is taken apart into its inks. All else — scans, photos, shaded art — is put in even light and
smoothed where grainy, and paper and ink are told apart by Otsu's threshold (N. Otsu, "A threshold selection
method from gray-level histograms", IEEE Trans. SMC 9(1), 1979).
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from artwork.errors import EngineError
from artwork.intake.coloured import coloured, standing_out
from artwork.intake.colours import SAME_INK, cells_of, coarse_oklab, hex_of, oklab, oklab_of
from artwork.intake.ground import border_colour, on_dark
from artwork.intake.inked import Bytes, Inked, Note, Picture, blank_picture, light_on_dark, solid_picture
from artwork.intake.levelling import GRAINY, levelled, noise, smoothed
from artwork.intake.posterising import posterised
from artwork.intake.scene_telling import is_scene
from artwork.intake.separation import separate, shadowed
from artwork.intake.values import Wishes

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
_SPREAD_SIDE = 400
_SOFT = 40
"""The picture's side over this is how soft an edge may be without its colours being said to run."""
_FEW = 40
_RUNNING = 0.05
"""Share of the carved, or of the left, that may have another colour than the most of it has."""
_ONE_GREY = 20
"""Art on nothing whose greys differ by less than this many levels is one grey."""
_RIM_SEEN = 0.8
"""Share of the rim of art on nothing that must show on white paper for the art to be read on it."""
_GROUND_SIDE = 256
_GROUND_REACH = 81
"""A ground that varies is told by the middle colour of so many pixels around, on a picture reduced to that side."""
_FARTHEST = 0.5
"""Difference in OKLab that becomes black."""
_OVER_USUAL = 3.0
_APART = 0.07
"""Mean difference in OKLab, of what stands out from a varying ground, from what does not."""
_MOST_STANDING_OUT = 0.3
_LIGHT = 128
_DARK_PAGE = 64
_DRAWN = 1.0
"""Grain, grey levels, below which a picture came from a program, not from a lens: its shades are meant."""


def read_ink(picture: Picture, wishes: Wishes) -> Inked:
    """The art of a picture, as wished for.

    Raises:
        EngineError: ``blank-picture`` or ``solid-picture`` where nothing is drawn.
    """
    levels, shape = _on_paper(picture)
    if shape is not None and wishes.inks is None:
        mask = 1 - shape if wishes.invert else shape
        return Inked(mask, _two_colours(levels, mask))
    levels, grain = _without_grain(levels)
    notes: list[Note] = []
    photo = grain > GRAINY  # on paper a large even grey is a shadow; in a clean drawing it is an ink
    separated = None if photo else separate(levels, border_colour(levels))
    if separated is not None and picture.lens and shadowed(levels, separated):
        separated = None
    asked = wishes.way is not None or wishes.crop is not None or wishes.inks is not None
    if separated is None and picture.lens and not asked and levels.ndim == 3 and is_scene(levels):
        raise EngineError(
            "photograph-of-a-scene",
            "This looks like a photograph of a scene, not like a logo.",
            "Send the logo itself, or mark the part of the photograph that should be carved.",
        )
    if separated is None and (picture.lens or grain > _DRAWN):
        levels, notes = _in_even_light(levels)
        separated = separate(levels, border_colour(levels)) if photo or notes else None
    if separated is not None and wishes.inks is None and not any(standing_out(separated, wishes.shade)):
        separated = None  # strokes too thin to be flat anywhere: only the ground was found
    if separated is not None and (levels.ndim == 3 or len(separated.colours) > 2):
        inked = coloured(levels, separated, wishes)
    else:
        least = max(_LEAST_CONTRAST, _OVER_GRAIN * grain)
        meant = not notes and (levels.ndim == 3 or not (picture.lens or grain > _DRAWN))
        inked = _shaded(levels, wishes, least, meant=meant)
    mask = inked.mask if picture.inside is None else cv2.bitwise_and(inked.mask, picture.inside)
    return replace(inked, mask=mask, notes=(*notes, *inked.notes), grain=grain)


def _shaded(levels: Bytes, wishes: Wishes, least: float, meant: bool) -> Inked:
    """Art without flat inks: paper and ink by a threshold, or its tones where a threshold loses the drawing.

    ``meant``: its shades are the art's, not those of uneven light on it.
    """
    two = None if wishes.way is not None else _two_sides(levels, wishes, least)
    asked = wishes.inks is not None or wishes.invert or wishes.shade
    colour = levels if levels.ndim == 3 else cv2.cvtColor(levels, cv2.COLOR_GRAY2RGB)
    if two is not None and (asked or not meant or not _runs(colour, two.mask)):
        return two
    ground = border_colour(levels)
    smooth = cv2.GaussianBlur(colour, (5, 5), 0)
    tones = posterised(smooth, ground)
    if len(tones.colours) < 2 and two is not None:
        return two
    return coloured(smooth, tones, wishes, shaded=True)


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
    light = np.percentile(drawn, 2) > _LIGHT and not (levels.ndim == 3 and _drawn_inside(levels, solid))
    if clear and (light or (levels.ndim == 2 and np.ptp(drawn) < _ONE_GREY)):
        return np.where(solid > 0, 0, 255).astype(np.uint8), solid  # all light, or all one grey, on nothing
    return picture.on_white, None


def _drawn_inside(levels: Bytes, solid: Bytes) -> bool:
    """Whether light art on nothing is more than its shape: it has colours of its own, and its rim shows on white."""
    step = max(1, max(solid.shape) // _SPREAD_SIDE)
    shape = np.asarray(solid)[::step, ::step]
    lab = oklab_of(np.asarray(levels)[::step, ::step].reshape(-1, 3))
    away = np.linalg.norm(lab - oklab(np.ones((1, 3))), axis=1).reshape(shape.shape)
    inner = np.asarray(cv2.erode(shape, np.ones((3, 3), np.uint8))) > 0
    rim = (shape > 0) & ~inner
    if not inner.any() or not rim.any():
        return False
    apart = np.linalg.norm(lab - np.median(lab[inner.ravel()], axis=0), axis=1).reshape(shape.shape)
    return bool((apart[inner] > SAME_INK).mean() > _RUNNING and (away[rim] > SAME_INK).mean() > _RIM_SEEN)


def _two_sides(levels: Bytes, wishes: Wishes, least: float) -> Inked:
    """Ink and paper, by a threshold; blank where they differ by less than ``least`` grey levels."""
    notes: list[Note] = []
    shown = levels
    if levels.ndim == 3:
        levels = _apart_from(shown, border_colour(shown))
    try:
        mask, inverted = _thresholded(levels, wishes.shade, least)
    except EngineError:  # what differs from what is around it stands out, though the ground varies by more
        local = _apart_from_around(shown)
        if local is None:
            raise
        levels = local
        mask, inverted = _thresholded(local, wishes.shade, least)
    if shown.ndim == 3 and _runs(shown, mask):
        notes.append(
            (
                "colours-hardened",
                "The picture's colours run into each other; they became art or ground.",
                "warns",
            )
        )
    if inverted:
        notes.append(light_on_dark())
    if wishes.invert or (wishes.inks is not None and 1 not in wishes.inks and 0 in wishes.inks):
        mask = 1 - mask
    return Inked(mask, _two_colours(shown, mask), tuple(notes))


def _runs(levels: Bytes, mask: Bytes) -> bool:
    """Whether what is carved, or what is left, has more than one colour away from their common edge."""
    step = max(1, max(mask.shape) // _SPREAD_SIDE)
    width = max(5, max(mask.shape) // _SOFT)
    reach = np.ones((width, width), np.uint8)
    for side in (mask, 1 - np.asarray(mask)):
        colours = np.asarray(levels)[::step, ::step][np.asarray(cv2.erode(side, reach))[::step, ::step] > 0]
        if len(colours) < _FEW:
            continue
        lab = oklab_of(colours)
        apart = np.linalg.norm(lab - np.median(lab, axis=0), axis=1)
        if (apart > SAME_INK).mean() > _RUNNING:
            return True
    return False


def _apart_from(levels: Bytes, ground: np.ndarray) -> Bytes:
    """Grey by how far each colour looks from the ground: the ground white, the farthest black."""
    off = np.linalg.norm(coarse_oklab() - oklab(ground[None]), axis=1)
    table = (255 - 255 * np.clip(off / off.max(), 0, 1)).astype(np.uint8)
    return np.asarray(table[cells_of(levels)])


def _apart_from_around(levels: Bytes) -> Bytes | None:
    """Grey by how far each colour looks from the middle one of those around it; ``None`` where nothing stands out."""
    colour = levels if levels.ndim == 3 else cv2.cvtColor(levels, cv2.COLOR_GRAY2RGB)
    scale = min(1.0, _GROUND_SIDE / max(colour.shape[:2]))
    size = (max(1, round(colour.shape[1] * scale)), max(1, round(colour.shape[0] * scale)))
    small = cv2.resize(colour, size, interpolation=cv2.INTER_AREA)
    around = cv2.medianBlur(small, min(_GROUND_REACH, (min(small.shape[:2]) - 1) | 1))
    ground = cv2.resize(around, colour.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    off = np.linalg.norm(oklab_of(cv2.GaussianBlur(colour, (3, 3), 0)) - oklab_of(ground), axis=2)
    off = off - _OVER_USUAL * np.median(off)  # what the ground itself differs by is none
    grey = np.clip(255 - 255 * off / _FARTHEST, 0, 255).astype(np.uint8)
    threshold, _ = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    dark, light = _class_means(cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel(), threshold)
    share = float((grey <= threshold).mean())
    return grey if light - dark > _APART * 255 / _FARTHEST and share < _MOST_STANDING_OUT else None


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
