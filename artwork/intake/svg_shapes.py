"""SVG's basic shapes and paths → paths (SVG 1.1 §8, §9)."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from artwork.intake.paths import Builder, Path
from artwork.intake.svg_path import parse_path
from artwork.intake.svg_units import length, numbers

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")


@dataclass(frozen=True)
class Port:
    """The view in which percentages are taken: width, height, and the diagonal rule of §7.10."""

    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What a percentage that is neither across nor down refers to."""
        return float(((self.width**2 + self.height**2) / 2) ** 0.5)


def shape_path(element: Element, name: str, port: Port) -> tuple[Path, bool]:
    """The path of a basic shape, and whether its attributes were sound."""
    if name == "path":
        return parse_path(element.get("d", ""))
    builder = Builder()
    if name in ("polyline", "polygon"):
        return _poly(builder, numbers(element.get("points")), closed=name == "polygon")
    _MAKERS[name](builder, element, port)
    return builder.path(), True


def _poly(builder: Builder, found: list[float], closed: bool) -> tuple[Path, bool]:
    pairs = list(zip(found[::2], found[1::2], strict=False))
    for at, (x, y) in enumerate(pairs):
        (builder.line if at else builder.move)(x, y)
    if closed and pairs:
        builder.close()
    return builder.path(), len(found) % 2 == 0


def _rect(builder: Builder, e: Element, port: Port) -> None:
    w, h = length(e.get("width"), port.width), length(e.get("height"), port.height)
    if w <= 0 or h <= 0:
        return
    rx, ry = e.get("rx"), e.get("ry")
    across = length(rx if rx not in (None, "auto") else ry, port.width)
    down = length(ry if ry not in (None, "auto") else rx, port.height)
    builder.rectangle(length(e.get("x"), port.width), length(e.get("y"), port.height), w, h, across, down)


def _circle(builder: Builder, e: Element, port: Port) -> None:
    r = length(e.get("r"), port.diagonal)
    if r > 0:
        builder.ellipse(length(e.get("cx"), port.width), length(e.get("cy"), port.height), r, r)


def _ellipse(builder: Builder, e: Element, port: Port) -> None:
    rx, ry = length(e.get("rx"), port.width), length(e.get("ry"), port.height)
    if rx > 0 and ry > 0:
        builder.ellipse(length(e.get("cx"), port.width), length(e.get("cy"), port.height), rx, ry)


def _line(builder: Builder, e: Element, port: Port) -> None:
    builder.move(length(e.get("x1"), port.width), length(e.get("y1"), port.height))
    builder.line(length(e.get("x2"), port.width), length(e.get("y2"), port.height))


_MAKERS = {"rect": _rect, "circle": _circle, "ellipse": _ellipse, "line": _line}
