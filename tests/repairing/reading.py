"""Reads words off outlines with a reader that knows nothing of the engine: Debian's ``tesseract-ocr`` (Apache-2.0).

Set-up for development installs it, with its English data. It is an oracle for wordmarks only: of the words that it
reads in the drawing as sent, how many does it read in the repaired one?
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence

import cv2
import numpy as np

from artwork.curves import Contour, bounds_of

PRESENT = shutil.which("tesseract") is not None
LETTERS = 60
"""Height of a line of lettering in the picture, pixels: what the reader's guide asks for is 30 and more."""
MARGIN = 40
ONE_LINE, ONE_BLOCK = "7", "6"


def read(contours: Sequence[Contour], lines: int = 1) -> str:
    """The words in capitals, without spaces and signs; empty where none are found."""
    left, low, right, high = bounds_of(contours)
    unit = LETTERS * lines / (high - low)
    size = (int((high - low) * unit) + 2 * MARGIN, int((right - left) * unit) + 2 * MARGIN)
    ink = np.zeros((size[0] * 2, size[1] * 2), np.uint8)
    rings = [
        np.rint(((each.polyline(0.02 / unit) - (left, low)) * unit + MARGIN) * 32).astype(np.int32)
        for each in contours
    ]
    cv2.fillPoly(ink, rings, 255, cv2.LINE_8, 4)
    picture = 255 - cv2.resize(ink, size[::-1], interpolation=cv2.INTER_AREA)[::-1]
    _, data = cv2.imencode(".png", picture)
    said = subprocess.run(
        ["tesseract", "stdin", "stdout", "--psm", ONE_LINE if lines == 1 else ONE_BLOCK, "--dpi", "300"],
        input=data.tobytes(),
        capture_output=True,
        check=True,
        timeout=30,
        env={"OMP_THREAD_LIMIT": "1", "PATH": "/usr/bin:/bin"},
    )
    return plain(said.stdout.decode())


def plain(words: str) -> str:
    """Letters and digits in capitals."""
    return "".join(letter for letter in words.upper() if letter.isalnum())
