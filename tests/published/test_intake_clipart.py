"""Logos of Debian's ``openclipart-svg`` 0.18 (public domain): sizes in mm and pt, and the look of each.

The size is read once more here, straight from the file; the look is resvg's rendering.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from artwork.intake import read_artwork
from tests.published.w3c import ink

FOLDER = Path("/usr/share/openclipart/svg/logos")
MM = {"mm": 1.0, "pt": 25.4 / 72}

pytestmark = pytest.mark.skipif(not FOLDER.exists(), reason="Debian's openclipart-svg is not installed")
LOGOS = sorted(FOLDER.glob("*.svg"))


def stated(path: Path) -> float | None:
    """Millimetres across that the root element names, or ``None``."""
    head = re.search(r"<svg\b[^>]*>", path.read_text("utf-8", "replace"), re.DOTALL)
    assert head is not None
    width = re.search(r"""\swidth\s*=\s*["']([\d.]+)(\w*)["']""", head[0])
    return float(width[1]) * MM[width[2]] if width and width[2] in MM else None


def test_four_of_the_logos_state_their_size() -> None:
    assert sum(stated(path) is not None for path in LOGOS) == 4


@pytest.mark.parametrize("path", LOGOS, ids=lambda path: path.stem)
def test_stated_sizes_are_carried_and_no_others(path: Path) -> None:
    reading = read_artwork(path.read_bytes(), path.name)
    across = stated(path)
    assert (reading.outline.stated_mm is None) == (across is None)
    if across is None:
        return
    png = resvg_py.svg_to_bytes(svg_path=str(path), width=1000, dpi=96)
    picture = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))
    columns = np.flatnonzero(ink(picture).any(axis=0))
    share = (columns[-1] - columns[0] + 1) / picture.shape[1]
    assert reading.outline.size[0] * (reading.outline.stated_mm or 0) == pytest.approx(
        share * across, rel=0.02
    )
