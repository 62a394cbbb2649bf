"""What is put on the wood after sanding, as it changes what reads and what is seen.

Needs and colours are common practice and conventions of the pictures; no source was found for either.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from artwork.grain import Look
from artwork.workpiece import OILED

PAINT = (0.16, 0.15, 0.14)
"""Colour of paint in grooves, red, green, blue from 0 to 1: dark, whatever colour is used."""
FULL_COVER = 0.15
"""Carved this deep, mm, a groove holds enough paint to look solid."""
OIL_DARKER = (0.84, 0.76, 0.68)
"""What oil leaves of red, green and blue: it wets the wood, and yellows."""


def seen_through(look: Look, finish: str) -> Look:
    """The wood's colours under a finish; grooves that are filled hold paint beside it."""
    if finish != OILED:
        return look
    early, late = (
        tuple(own * left for own, left in zip(owns, OIL_DARKER, strict=True))
        for owns in (look.early, look.late)
    )
    return Look(early, late, look.ring, look.fibre)  # type: ignore[arg-type]


def painted(carved: NDArray[np.float32]) -> NDArray[np.float32]:
    """How much of each carved place is paint, 0 to 1; ``carved``: how deep it was carved, mm."""
    return np.asarray(np.clip(carved / np.float32(FULL_COVER), 0, 1), np.float32)
