"""The PngSuite subset that pypng's source distribution carries (``pngsuite/README.md``): every colour type and depth,
interlaced and not, with and without transparency. The oracle is pypng's own decoder, which shares no code with ours.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import png
import pytest

from artwork.errors import EngineError
from artwork.intake import Limits, read_artwork
from artwork.intake.decoding import decode

FILES = sorted((Path(__file__).parent / "pngsuite").glob("*.png"))


def by_pypng(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """Colours (h, w, 3) and alpha (h, w), 0 to 255, of any PNG."""
    width, height, rows, info = png.Reader(bytes=path.read_bytes()).asRGBA()
    levels = np.array([list(row) for row in rows], float).reshape(height, width, 4)
    levels *= 255 / (2 ** info["bitdepth"] - 1)
    return levels[:, :, :3], levels[:, :, 3]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_pixels_are_those_that_pypng_reads(path: Path) -> None:
    picture, remarks = decode(path.read_bytes(), "png", Limits())
    colours, alpha = by_pypng(path)
    assert not remarks
    got = picture.levels if picture.levels.ndim == 3 else np.repeat(picture.levels[:, :, None], 3, axis=2)
    clear = np.full(alpha.shape, 255) if picture.alpha is None else picture.alpha
    assert np.abs(clear - alpha).max() < 1.01
    seen = alpha > 0
    apart = np.abs(got - colours)[seen]
    # 16 bits are cut to 8; a picture with hardly any colour is read as grey
    assert apart.size == 0 or np.percentile(apart, 99) < (2 if picture.levels.ndim == 3 else 25)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_is_read_or_refused_with_a_code(path: Path) -> None:
    """They are 32 pixels across, and many are gradients."""
    try:
        reading = read_artwork(path.read_bytes(), path.name)
    except EngineError as refusal:
        assert refusal.code in ("blank-picture", "solid-picture", "image-too-large", "damaged-image")
    else:
        assert reading.outline.nodes > 0


def test_all_kinds_are_there() -> None:
    kinds = {(data[24], data[25], data[28]) for data in (path.read_bytes() for path in FILES)}
    assert {colour for _, colour, _ in kinds} == {0, 2, 3, 4, 6}
    assert {depth for depth, _, _ in kinds} == {1, 2, 4, 8, 16}
    assert {interlace for _, _, interlace in kinds} == {0, 1}
