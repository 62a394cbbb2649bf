"""Files made for the tests: every format, drawn here."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import ezdxf
import numpy as np
import shapely
from PIL import Image, ImageDraw

from artwork.curves import Contour
from artwork.errors import EngineError
from artwork.intake import Limits, Reading, Wishes, read_artwork
from artwork.intake.foreign import ForeignError
from artwork.outline import Outline
from service.work.programs import convert

SIDE = 240
CLOSE = 0.97
"""Least overlap of a traced emblem with its pixels: potrace may move an edge by half a pixel, and at 240
pixels the edges are a tenth of the ink."""


def emblem(side: int = SIDE, ink: int = 20, paper: int = 255) -> np.ndarray:
    """A ring around a disc that holds a triangle of paper; (side, side) uint8, edges smoothed."""
    s = side * 4
    image = Image.new("L", (s, s), paper)
    draw = ImageDraw.Draw(image)
    draw.ellipse([s * 0.1, s * 0.1, s * 0.9, s * 0.9], outline=ink, width=int(s * 0.06))
    draw.ellipse([s * 0.3, s * 0.25, s * 0.7, s * 0.65], fill=ink)
    draw.polygon([(s * 0.5, s * 0.3), (s * 0.6, s * 0.55), (s * 0.4, s * 0.55)], fill=paper)
    draw.rectangle([s * 0.35, s * 0.7, s * 0.65, s * 0.76], fill=ink)
    return np.asarray(image.resize((side, side), Image.Resampling.BOX))


def emblem_truth(side: int = SIDE) -> np.ndarray:
    """Which pixels of :func:`emblem` are ink."""
    return emblem(side) < 138


def encoded(pixels: np.ndarray | Image.Image, kind: str, **options: Any) -> bytes:
    image = pixels if isinstance(pixels, Image.Image) else Image.fromarray(pixels)
    stream = io.BytesIO()
    image.save(stream, kind, **options)
    return stream.getvalue()


def svg(body: str, attributes: str = 'viewBox="0 0 100 100"') -> bytes:
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"<svg {space} {attributes}>{body}</svg>".encode()


def dxf(document: Any, binary: bool = False) -> bytes:
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def new_dxf(units: int = 4) -> tuple[Any, Any]:
    """A document and its model space; units 4 are mm."""
    document = ezdxf.new(units=units)
    return document, document.modelspace()


@dataclass(frozen=True)
class Sent:
    """A file as somebody sends it: bytes and name, what they wish, what the shop allows."""

    data: bytes
    name: str = "art"
    wishes: Mapping[str, Any] = field(default_factory=dict)
    limits: Limits | None = None


def read(data: bytes, name: str = "art", limits: Limits | None = None, **wishes: Any) -> Reading:
    """The reading of a file; what other programs must convert first, they convert."""
    asked = (data, name, Wishes(**wishes), limits or Limits())
    try:
        return read_artwork(*asked)
    except ForeignError as foreign:
        return read_artwork(*asked, {part.digest: convert(part) for part in foreign.parts})


def refused(data: bytes, name: str = "art", limits: Limits | None = None, **wishes: Any) -> EngineError:
    """The refusal that a file meets; an AssertionError if it is taken."""
    try:
        read(data, name, limits, **wishes)
    except EngineError as refusal:
        assert refusal.message
        assert refusal.cure
        return refusal
    raise AssertionError("the file was taken")


def area(reading: Reading) -> float:
    return float(sum(contour.area for contour in reading.outline.contours))


def codes(reading: Reading) -> set[str]:
    return {remark.code for remark in reading.remarks}


def overlap(outline: Outline, truth: np.ndarray) -> float:
    """Intersection over union of an outline in pixels with a mask."""
    got = filled(outline, truth.shape)
    return float((got & truth).sum() / max((got | truth).sum(), 1))


def filled(outline: Outline, shape: tuple[int, ...]) -> np.ndarray:
    """The outline's pixels by their centres."""
    height, width = shape
    region = outline.region(0.02)
    shapely.prepare(region)
    x, y = np.meshgrid(np.arange(width) + 0.5, height - np.arange(height) - 0.5)
    return np.asarray(shapely.contains_xy(region, x, y))


def sound(outline: Outline) -> None:
    """The promises of an outline: rings that do not cross, outer ones counter-clockwise, holes clockwise."""
    region = outline.region()
    assert shapely.is_valid(region)
    exact = sum(contour.area for contour in outline.contours)
    assert exact > 0
    assert abs(region.area - exact) < 2e-3 * exact, "holes and outer rings do not add up"


def polygon_contour(points: list[tuple[float, float]]) -> Contour:
    knots = np.array(points, float)
    return Contour(knots, np.full((len(knots), 2, 2), np.nan))
