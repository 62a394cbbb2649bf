"""Pictures that scikit-image 0.26 ships in its wheel, and PNG files that pypng writes.

Independent methods: scikit-image's own binary horse, its Sauvola threshold of the unevenly lit page, what of
its logo looks different from white, and Canny's edges of it; pypng (MIT) as an encoder that shares no code with
our decoder. (PngSuite itself is not in pypng's wheel.)
"""

from __future__ import annotations

import io
import warnings

import numpy as np
import png
import pytest
import skimage.data
import skimage.feature
import skimage.filters
import skimage.morphology
from PIL import Image

from artwork.intake import read_artwork
from artwork.intake.looks import LINE
from artwork.outline import Outline
from artwork.tracing import trace
from tests.artwork.intake.made import CLOSE, codes, emblem, emblem_truth, encoded, filled, overlap, read
from tests.published.w3c import ink


def test_the_horse_is_the_horse() -> None:
    horse = ~skimage.data.horse()
    assert overlap(Outline(trace(horse), 1.0), horse) > 0.985
    reading = read(encoded((~horse * 255).astype(np.uint8), "PNG"))
    assert overlap(reading.outline, horse) > 0.985


def test_the_page_in_uneven_light_reads_as_a_local_threshold_reads_it() -> None:
    page = skimage.data.page()
    window = skimage.filters.threshold_sauvola(page, window_size=41, k=0.2)
    reading = read(encoded(page, "JPEG", quality=95))
    assert "light-levelled" in codes(reading)
    got, wanted = filled(reading.outline, page.shape), page < window
    # letters are two pixels wide here, so agreement is counted within one pixel
    near = [skimage.morphology.dilation(m, np.ones((3, 3), bool)) for m in (got, wanted)]
    assert (got & near[1]).sum() > 0.93 * got.sum()
    assert (wanted & near[0]).sum() > 0.85 * wanted.sum()


def shaded_logo() -> np.ndarray:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return np.asarray(skimage.data.logo())


def test_the_shaded_logo_is_read_as_lines_along_its_edges() -> None:
    logo = shaded_logo()
    reading = read(encoded(logo, "PNG"))
    assert [choice.wishes.way for choice in reading.choices if choice.taken] == ["drawn"]
    colour, clear = logo[:, :, :3] / 255, logo[:, :, 3:] / 255
    shown = colour * clear + 1 - clear
    edges = np.any([skimage.feature.canny(shown[:, :, channel]) for channel in range(3)], axis=0)
    lines = filled(reading.outline, edges.shape)
    width = skimage.morphology.disk(round(LINE * len(logo)))
    assert (lines & skimage.morphology.dilation(edges, width)).sum() > 0.95 * lines.sum()
    assert (edges & skimage.morphology.dilation(lines, width)).sum() > 0.8 * edges.sum()


def test_the_logo_as_one_shape_is_what_stands_out_from_white() -> None:
    logo = shaded_logo()
    (solid,) = [c.wishes for c in read(encoded(logo, "PNG")).choices if c.wishes.way == "solid"]
    assert overlap(read_artwork(encoded(logo, "PNG"), "art", solid).outline, ink(logo)) > 0.93


@pytest.mark.parametrize("name", ["astronaut", "coffee", "rocket", "brick", "gravel", "coins"])
def test_photos_are_read_or_refused_with_a_code(name: str) -> None:
    from artwork.errors import EngineError

    picture = getattr(skimage.data, name)()
    try:
        reading = read(encoded(picture, "JPEG"))
    except EngineError as refusal:
        assert refusal.code in ("outline-too-detailed", "blank-picture", "photograph-of-a-scene")
    else:
        assert reading.outline.nodes > 0


@pytest.mark.parametrize("interlace", [False, True])
@pytest.mark.parametrize(
    ("depth", "greyscale", "alpha"),
    [(1, True, False), (2, True, False), (4, True, False), (8, True, False), (16, True, False),
     (8, True, True), (16, True, True), (8, False, False), (16, False, False), (8, False, True), (16, False, True)],
)  # fmt: skip
def test_every_kind_of_png(depth: int, greyscale: bool, alpha: bool, interlace: bool) -> None:
    side = 120
    top = (1 << depth) - 1
    grey = (emblem(side).astype(np.uint32) * top + 127) // 255
    planes = [grey] if greyscale else [grey, grey, np.minimum(grey + top // 20, top)]
    if alpha:
        planes.append(np.full_like(grey, top))
    rows = np.stack(planes, axis=2).reshape(side, -1)
    stream = io.BytesIO()
    writer = png.Writer(side, side, greyscale=greyscale, alpha=alpha, bitdepth=depth, interlace=interlace)
    writer.write(stream, rows.tolist())
    reading = read(stream.getvalue())
    assert overlap(reading.outline, emblem_truth(side)) > CLOSE - 0.03  # at 120 pixels edges are a fifth


@pytest.mark.parametrize("depth", [1, 2, 4, 8])
def test_palettes_with_a_clear_entry(depth: int) -> None:
    side = 120
    rows = (emblem(side) < 138).astype(np.uint8)
    palette = [(255, 0, 255, 0), (20, 60, 30, 255)]
    stream = io.BytesIO()
    png.Writer(side, side, palette=palette, bitdepth=depth).write(stream, rows.tolist())
    assert Image.open(io.BytesIO(stream.getvalue())).mode == "P"
    assert overlap(read(stream.getvalue()).outline, emblem_truth(side)) > CLOSE - 0.03
