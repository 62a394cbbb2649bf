"""Colour art keeps its drawing: the best look is taken, the others are shown, and each comes back as it was shown."""

from __future__ import annotations

import io
from dataclasses import asdict
from itertools import pairwise

import cv2
import numpy as np
import pytest
from PIL import Image

from artwork.intake import Reading, Wishes, read_artwork
from artwork.intake.colour_words import colour_name, listed
from artwork.intake.colours import rgb_of
from artwork.intake.finishing import outline_picture
from tests.artwork.intake.made import area, codes, encoded, read, svg

TILE = '<rect x="10" y="10" width="80" height="80" rx="9" fill="#1f4e9e"/>'
LETTERS = '<path d="M30 30h12v40h-12zM50 30h24v10h-14v30h-10z" fill="#ffe9a8"/>'
FACE = (
    '<circle cx="50" cy="50" r="40" fill="#ffcc4d"/><circle cx="36" cy="42" r="6" fill="#664500"/>'
    '<circle cx="64" cy="42" r="6" fill="#664500"/><path d="M30 62q20 22 40 0l-4 -3q-16 15 -32 0z" fill="#664500"/>'
)
FLAG = (
    '<rect x="5" y="20" width="30" height="60" fill="#008751"/>'
    '<rect x="35" y="20" width="30" height="60" fill="#c0392b"/>'
    '<rect x="65" y="20" width="30" height="60" fill="#1f4e9e"/>'
)
PIECES = {"tile": TILE + LETTERS, "face": FACE, "flag": FLAG}


def sent(body: str, kind: str) -> bytes:
    if kind == "svg":
        return svg(body)
    import resvg_py

    png = resvg_py.svg_to_bytes(svg_string=svg(body).decode(), width=800, dpi=96)
    picture = Image.open(io.BytesIO(bytes(png))).convert("RGBA")
    paper = Image.new("RGBA", picture.size, "white")
    paper.alpha_composite(picture)
    return encoded(paper.convert("RGB"), kind, **({"quality": 90} if kind == "JPEG" else {}))


def shape(picture: bytes) -> np.ndarray:
    """What is black in a picture, cut to its own box, 64 × 64."""
    pixels = np.asarray(Image.open(io.BytesIO(picture)).convert("L")) < 128
    ys, xs = np.nonzero(pixels)
    part = pixels[ys.min() : ys.max() + 1, xs.min() : xs.max() + 1].astype(np.uint8) * 255
    return cv2.resize(part, (64, 64), interpolation=cv2.INTER_AREA) > 127


def agree(a: bytes, b: bytes) -> float:
    return float((shape(a) == shape(b)).mean())


def again(data: bytes, wishes: Wishes) -> Reading:
    return read_artwork(data, "art", wishes)


@pytest.mark.parametrize("kind", ["svg", "PNG", "JPEG"])
@pytest.mark.parametrize("piece", PIECES)
def test_every_choice_comes_back_as_it_was_shown(piece: str, kind: str) -> None:
    data = sent(PIECES[piece], kind)
    first = read(data)
    assert 2 <= len(first.choices) <= 4
    (taken,) = [choice for choice in first.choices if choice.taken]
    assert agree(taken.picture, outline_picture(first.outline)) > 0.93
    for choice in first.choices:
        reading = again(data, choice.wishes)
        assert agree(choice.picture, outline_picture(reading.outline)) > 0.93
        assert [each.wishes for each in reading.choices if each.taken] == [choice.wishes]
        assert not any(remark.severity == "warns" for remark in reading.remarks)


def test_letters_on_a_tile_do_not_vanish() -> None:
    reading = read(svg(TILE + LETTERS))
    assert area(reading) < 0.93 * 80 * 80
    assert len(reading.outline.contours) >= 3


def test_colours_that_meet_are_kept_apart_by_wood() -> None:
    reading = read(svg(FLAG))
    assert reading.kind == "vector"
    outer = [contour for contour in reading.outline.contours if contour.area > 0]
    assert len(outer) == 3
    boxes = sorted(contour.bounds for contour in outer)
    gaps = [b[0] - a[2] for a, b in pairwise(boxes)]
    assert gaps == pytest.approx([0.012 * 90] * 2, rel=0.02)


def test_one_colour_leaves_nothing_to_choose() -> None:
    reading = read(svg(TILE))
    assert not reading.choices
    assert reading.sentence == "We read one colour; the dark blue will be carved."
    assert not codes(reading)


def test_what_was_read_is_said_in_words_of_people() -> None:
    names = {
        "#000000": "black",
        "#ffffff": "white",
        "#1f4e9e": "dark blue",
        "#c0392b": "red",
        "#ffcc4d": "yellow",
    }
    assert {text: colour_name(rgb_of(text)) for text in names} == names
    assert listed(["red", "blue", "red"]) == "the two reds and the blue"
    assert "#" not in read(svg(FLAG)).sentence
    assert "a line of wood" in read(svg(FLAG)).sentence


def test_the_same_file_has_the_same_choices() -> None:
    data = sent(FACE, "JPEG")
    first, second = read(data), read(data)
    assert [asdict(c) for c in first.choices] == [asdict(c) for c in second.choices]
