"""Shaded and photographed art → a few tones, as inks."""

from __future__ import annotations

import cv2
import numpy as np

from artwork.curves import Floats
from artwork.intake.colours import SAME_INK, oklab
from artwork.intake.separation import Inks

Pixels = cv2.typing.MatLike

_TONES = 4
_ROUNDS = 12
_SIDE = 120
"""Side of the sample of pixels that tones are told from."""


def posterised(levels: Pixels, ground: Floats) -> Inks:
    """Four tones of a picture (h, w, 3) uint8 besides its ground (sRGB 0 to 1), by their likeness (Lloyd's rounds).

    They start out as steps from light to dark, so that the same picture always has the same tones.
    """
    step = max(1, max(levels.shape[:2]) // _SIDE)
    colours = np.asarray(levels)[step // 2 :: step, step // 2 :: step].reshape(-1, 3) / 255
    lab = oklab(colours)
    others = np.linalg.norm(lab - oklab(ground[None]), axis=1) >= SAME_INK
    if others.sum() < _TONES:
        return Inks(np.asarray(ground)[None], np.ones(1))
    lab, seen = lab[others], colours[others]
    order = np.argsort(lab[:, 0], kind="stable")
    belongs = np.empty(len(lab), np.int64)
    belongs[order] = np.arange(len(lab)) * _TONES // len(lab)
    for _ in range(_ROUNDS):
        present = np.unique(belongs)
        centres = np.stack([lab[belongs == tone].mean(axis=0) for tone in present])
        now = np.linalg.norm(lab[:, None] - centres, axis=2).argmin(axis=1)
        if np.array_equal(now, belongs):
            break
        belongs = now
    present = np.unique(belongs)
    tones = np.stack([seen[belongs == tone].mean(axis=0) for tone in present])
    shares = np.array([(belongs == tone).sum() for tone in present]) / len(colours)
    most = np.argsort(-shares, kind="stable")
    return Inks(
        np.concatenate([np.asarray(ground)[None], tones[most]]), np.append(1 - shares.sum(), shares[most])
    )
