"""A painted page → a reading by its own shapes, where these tell all; else why it must be read as a picture."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np

from artwork.intake import likeness
from artwork.intake.coloured import coloured, small_art
from artwork.intake.colours import hex_of, rgb_of
from artwork.intake.finishing import MOST_INKS, Drawing, finish, palette_of, parted
from artwork.intake.ground import border_colour
from artwork.intake.inked import Bytes, Inked
from artwork.intake.likeness import covered
from artwork.intake.looks import Art, Carver, Look, beside, judged_mask, ranked
from artwork.intake.posterising import posterised
from artwork.intake.raster import as_choices
from artwork.intake.separation import labels
from artwork.intake.thumbnails import smaller
from artwork.intake.values import Choice, Ink, Limits, Reading, Wishes
from artwork.remark import Severity

_FEWEST_TONES = 3
"""Tones, the ground among them, below which there is nothing to choose."""
_AS_GOOD = 0.05
"""Shapes in flat colours are kept where a shaded look is better by less than this."""


@dataclass(frozen=True, eq=False)
class Otherwise:
    """Why a page is read as a picture.

    Attributes:
        reason: a sentence for its sender.
        severity: ``"tells"`` where that loses nothing.
        ink: finds what is carved in a large picture (h, w, 3) of the page; ``None``: as in any picture.
    """

    reason: str
    severity: Severity = "warns"
    ink: Callable[[Bytes], Inked] | None = None


def as_shapes(
    drawing: Drawing, kind: str, wishes: Wishes, limits: Limits, picture: Bytes | None
) -> Reading | Otherwise:
    """The reading of a drawing, its curves kept; or, where they do not tell all, why not.

    ``picture``: (h, w, 3) uint8, the page as another program draws it.
    """
    shaded = _shaded(drawing)
    if wishes.way == "toned" or (shaded and wishes.way is not None):
        return _as_tones(picture, wishes)
    shown = None if shaded else picture
    asked = replace(wishes, way=None, inks=None)
    reading = finish(drawing, kind, asked, limits, shown)
    if picture is not None and likeness.likeness(reading, drawing, picture) < likeness.ALIKE:
        return _UNLIKE
    if wishes.way == "drawn":
        drawing.look = Look("drawn", wishes.inks or ())
    elif asked != wishes:
        reading = finish(drawing, kind, wishes, limits, shown)
    if drawing.look is not None and drawing.look.way == "drawn":
        return Otherwise(
            "Lines of the drawing were found in a picture of it.",
            "tells",
            lambda large: drawn_ink(drawing, reading, large),
        )
    if drawing.look is not None and drawing.look.way == "parted":
        return parted(reading, drawing)
    plain = wishes.inks is None and not wishes.invert and not wishes.shade
    if shaded and plain and picture is not None:
        return _best_of_shaded(reading, drawing, picture, wishes)
    return reading


def drawn_ink(drawing: Drawing, reading: Reading, large: Bytes) -> Inked:
    """The lines of a drawing, and its carved inks, in a large picture of its page."""
    look = drawing.look or Look("drawn", ())
    inks = tuple((ink.colour, ink.share, at in look.inks) for at, ink in enumerate(reading.inks))
    palette, ground = palette_of(drawing, [rgb_of(ink.colour) for ink in reading.inks])
    which = labels(large, palette, 0.0)
    left, top, width, height = cv2.boundingRect((np.asarray(which) != ground).astype(np.uint8))
    mask = np.zeros(which.shape, np.uint8)
    part = (
        np.s_[max(top - 1, 0) : top + height + 1, max(left - 1, 0) : left + width + 1]
        if width
        else np.s_[:, :]
    )
    art = Art(np.asarray(large)[part], np.asarray(which)[part], palette.colours, ground)
    mask[part] = Carver(art).mask(look)
    return Inked(mask, inks, way=look.way, looks=drawing.looks)


PART = Otherwise("A part of the page was asked for.", "tells")
_UNLIKE = Otherwise(
    "Other programs show it otherwise than its shapes tell (parts are blended, masked or hidden)."
)


def _shaded(drawing: Drawing) -> bool:
    """Whether flat colours cannot stand for what is painted: some run into each other, or there are many."""
    if any(remark.code == "gradient-hardened" for remark in drawing.remarks):
        return True
    return len({mark.colour for mark in drawing.marks}) > MOST_INKS


def _as_tones(picture: Bytes | None, wishes: Wishes) -> Otherwise:
    """A shaded drawing by its tones: those of ``picture``, so that a look means the same whenever it is read."""
    reason = "The drawing is shaded."
    if picture is None:
        return Otherwise(reason, "tells")
    tones = posterised(picture, border_colour(picture))
    if len(tones.colours) < _FEWEST_TONES:
        return Otherwise(reason, "tells")
    return Otherwise(reason, "tells", lambda large: coloured(large, tones, wishes, shaded=True))


def _best_of_shaded(
    reading: Reading, drawing: Drawing, picture: Bytes, wishes: Wishes
) -> Reading | Otherwise:
    """The shapes in flat colours, looks of the tones beside them; the tones where they keep clearly more."""
    tones = posterised(picture, border_colour(picture))
    if drawing.page is None or len(tones.colours) < _FEWEST_TONES:
        return reading
    art, (left, top, right, bottom) = small_art(picture, tones)
    whole = covered(reading.outline, drawing.page, picture.shape[:2])
    own = judged_mask(art, whole[top:bottom, left:right])
    ranking = ranked(art)
    if ranking and ranking[0].mark > own.mark + _AS_GOOD:
        return _as_tones(picture, wishes)
    inks = [Ink(hex_of((r, g, b)), 0.0, carved=False) for r, g, b in tones.colours.tolist()]
    others = as_choices(beside(own, ranking), inks, None, wishes)
    if not others:
        return reading
    first = Choice(
        replace(wishes, way=None, inks=None), "its shapes, each whole", smaller(reading.picture), taken=True
    )
    return replace(reading, choices=(first, *others))
