"""Art of a few inks → what of it is carved, and the looks it may have."""

from __future__ import annotations

import cv2
import numpy as np

from artwork.intake.colours import STANDS_OUT, WHITE, distance, hex_of, oklab
from artwork.intake.inked import Bytes, Inked, Note, blank_picture, light_on_dark
from artwork.intake.looks import SIDE, Art, Carver, Judged, Look, offered, seen_edges
from artwork.intake.separation import Inks, labels
from artwork.intake.values import Wishes

Box = tuple[int, int, int, int]
_LEAN_STEP = 0.12
"""One step of lighter/darker for mixtures of two inks along an edge, as a share of the way from one to the other."""
_MARGIN = 0.03
"""What is left around the art on the small picture that looks are tried on, as a share of its side."""
_LOST = 0.25
"""Share of the drawing's edges from which on it is told that they were lost."""


def standing_out(found: Inks, shade: int) -> list[bool]:
    """Which inks stand out from the ground, the first; darker takes fainter ones too."""
    apart = np.linalg.norm(oklab(found.colours) - oklab(found.colours[:1]), axis=1)
    return [bool(each) for each in (apart >= STANDS_OUT * 2.0**-shade) & (np.arange(len(apart)) > 0)]


def coloured(levels: Bytes, found: Inks, wishes: Wishes, shaded: bool = False) -> Inked:
    """Art of a few inks (or tones, where it is ``shaded``): those wished for, or the look that keeps it best."""
    every = [(float(r), float(g), float(b)) for r, g, b in found.colours]
    which = labels(levels, found, _LEAN_STEP * wishes.shade)
    look, looks = _look(levels, which, found, wishes, shaded)
    if not look.inks and look.way in ("solid", "parted"):
        raise blank_picture()
    left, top, right, bottom = _box(which)
    mask = np.zeros(which.shape, np.uint8)
    part = _art(
        np.asarray(levels)[top:bottom, left:right], np.asarray(which)[top:bottom, left:right], found, shaded
    )
    seen = None
    if shaded and look.way == "drawn":
        small = seen_edges(_small(levels, which, found, shaded)[0])
        seen = cv2.resize(small, (right - left, bottom - top), interpolation=cv2.INTER_NEAREST)
    mask[top:bottom, left:right] = Carver(part, seen).mask(look)
    if 0 in look.inks:  # the ground is carved, all over the picture
        mask = np.asarray(Carver(_art(levels, which, found, shaded)).mask(look))
    if wishes.invert:
        mask = 1 - mask
    if not mask.any():
        raise blank_picture()
    carved = [(at in look.inks) != bool(wishes.invert) for at in range(len(every))]
    counts = np.bincount(np.asarray(which).ravel(), minlength=len(every)) / which.size
    inked = tuple((hex_of(c), float(counts[at]), carved[at]) for at, c in enumerate(every))
    notes = _notes(every, look, looks, shaded)
    return Inked(mask, inked, notes, {"inks": len(every) - 1}, way=look.way, looks=tuple(looks))


def _art(levels: Bytes, which: Bytes, found: Inks, shaded: bool) -> Art:
    """A picture, or a part of one, as looks are drawn from it."""
    colour = levels if levels.ndim == 3 else cv2.cvtColor(levels, cv2.COLOR_GRAY2RGB)
    return Art(colour, which, found.colours, 0, shaded)


def _look(
    levels: Bytes, which: Bytes, found: Inks, wishes: Wishes, shaded: bool
) -> tuple[Look, list[Judged]]:
    """The look that was wished for, or else the best; and those to choose from."""
    stands = tuple(at for at, each in enumerate(standing_out(found, wishes.shade)) if each)
    if wishes.way == "toned":
        wished: Look | None = Look("toned", ())
    elif wishes.inks is not None or wishes.way is not None:
        inks = stands if wishes.inks is None else tuple(at for at in wishes.inks if at < len(found.colours))
        wished = Look(wishes.way or "solid", inks)
    else:
        wished = None if len(found.colours) > 2 and not wishes.shade else Look("solid", stands)
    if len(found.colours) <= 2 or wishes.invert or wishes.shade:
        return wished or Look("solid", stands), []
    looks = offered(_small(levels, which, found, shaded)[0], wished)
    if wished is None:
        return (looks[0].look if looks else Look("solid", stands)), looks
    return wished, looks


def small_art(levels: Bytes, found: Inks) -> tuple[Art, Box]:
    """The art of a shaded picture alone, small, and the box that it was cut out of."""
    return _small(levels, labels(levels, found, 0.0), found, shaded=True)


def _small(levels: Bytes, which: Bytes, found: Inks, shaded: bool) -> tuple[Art, Box]:
    """The art alone, small, with a little of what is around it."""
    left, top, right, bottom = box = _box(which)
    part = np.asarray(levels)[top:bottom, left:right]
    scale = min(1.0, SIDE / max(part.shape[:2]))
    size = (max(1, round(part.shape[1] * scale)), max(1, round(part.shape[0] * scale)))
    small = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    return _art(small, labels(small, found, 0.0), found, shaded), box


def _box(which: Bytes) -> Box:
    """Left, top, right, bottom of the art, with a margin within the picture."""
    left, top, width, height = cv2.boundingRect((np.asarray(which) > 0).astype(np.uint8))
    if not width:
        return 0, 0, which.shape[1], which.shape[0]
    margin = round(_MARGIN * max(width, height)) + 1
    return (
        max(0, left - margin),
        max(0, top - margin),
        min(which.shape[1], left + width + margin),
        min(which.shape[0], top + height + margin),
    )


def _notes(
    colours: list[tuple[float, float, float]], look: Look, looks: list[Judged], shaded: bool
) -> tuple[Note, ...]:
    notes: list[Note] = []
    taken = next((each for each in looks if each.look == look), None)
    if shaded:
        kept = "" if taken is None else f" About {10 * round(10 * taken.kept)} % of its drawing is kept."
        notes.append(
            (
                "colours-hardened",
                f"The picture is shaded: its colours run into each other, and each became carved or wood.{kept}",
                "warns" if taken is None or taken.kept < 1 - _LOST else "tells",
            )
        )
    if 0 not in look.inks and distance(colours[0], WHITE) > 0.5:
        notes.append(light_on_dark())
    return tuple(notes)
