"""What an SVG paint is in one colour: gradients become their mean, patterns what they are mostly made of."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree.ElementTree import Element

from artwork.intake.colours import STANDS_OUT, WHITE, distance, read_colour
from artwork.intake.finishing import Drawing
from artwork.intake.marks import Colour, on_paper
from artwork.intake.svg_style import INHERITED, Style, Styles
from artwork.intake.svg_tree import href, local_name
from artwork.intake.svg_variables import with_current

_PAINT_SERVER = re.compile(r"""url\(\s*['"]?([^'")]*)['"]?\s*\)\s*(.*)""", re.DOTALL)
_LUMA = (0.2126, 0.7152, 0.0722)
_CHAIN = 16
"""Gradients that take their stops from each other, at most so many in a row."""

Rgba = tuple[float, float, float, float]


class Paints:
    """Resolves the paints of one document."""

    def __init__(self, ids: dict[str, Element], styles: Styles, drawing: Drawing) -> None:
        self._ids = ids
        self._styles = styles
        self._drawing = drawing
        self.picture_reason = ""
        """Why one colour cannot stand for some paint: it is a pattern, or runs from art to ground."""

    def colour(self, paint: str, style: Style) -> Rgba | None:
        """sRGB and opacity of a paint; ``None`` for ``none``."""
        paint = paint.strip()
        server = _PAINT_SERVER.match(paint)
        if server is not None:
            return self._served(server[1], server[2].strip(), style)
        paint = with_current(paint, style.get("color", "black"))
        if paint == "none":
            return None
        found = read_colour(paint)
        if found is None:
            self._drawing.remark("colour-not-read", "A colour could not be read; black was taken for it.")
            return (0.0, 0.0, 0.0, 1.0)
        return found

    def _served(self, reference: str, fallback: str, style: Style) -> Rgba | None:
        if not reference.startswith("#"):
            self._drawing.remark(
                "outside-reference", "The drawing refers to another file, which was not fetched."
            )
            return self.colour(fallback, style) if fallback else None
        target = self._ids.get(reference[1:])
        name = "" if target is None else local_name(target.tag)
        if target is not None and name in ("linearGradient", "radialGradient"):
            return self._gradient(target)
        if name == "pattern":
            self.picture_reason = "The drawing is filled with a pattern."
            return (0.5, 0.5, 0.5, 1.0)
        return self.colour(fallback, style) if fallback else None

    def _gradient(self, element: Element) -> Rgba | None:
        stops = self._stops(element)
        if not stops:
            return None
        if len(stops) == 1:
            return stops[0][1]
        seen = [_on_white(colour) for _, colour in stops]
        apart = {distance(colour, WHITE) >= STANDS_OUT for colour in seen}
        if len(apart) > 1:
            self.picture_reason = "Colours in the drawing run from dark to as light as the ground."
        self._drawing.remark(
            "gradient-hardened",
            "Colours that run into each other (gradients) were taken as one flat colour each.",
        )
        return _mean(stops)

    def _stops(self, element: Element) -> list[tuple[float, Rgba]]:
        for _ in range(_CHAIN):
            children = [child for child in element if local_name(child.tag) == "stop"]
            if children:
                return [self._stop(child) for child in children]
            following = self._ids.get(href(element)[1:])
            if following is None:
                return []
            element = following
        return []

    def _stop(self, element: Element) -> tuple[float, Rgba]:
        style = self._styles.of(element, INHERITED)
        text = element.get("offset", "0").strip()
        try:
            offset = float(text[:-1]) / 100 if text.endswith("%") else float(text)
            opacity = float(style.get("stop-opacity", "1"))
        except ValueError:
            offset, opacity = 0.0, 1.0
        found = self.colour(style.get("stop-color", "black"), style) or (0.0, 0.0, 0.0, 1.0)
        return min(max(offset, 0.0), 1.0), (*found[:3], found[3] * min(max(opacity, 0.0), 1.0))


def _mean(stops: list[tuple[float, Rgba]]) -> Rgba:
    """The mean along the gradient, its end colours running on to 0 and 1."""
    line = [(0.0, stops[0][1]), *stops, (1.0, stops[-1][1])]
    total = [0.0] * 4
    for (at, first), (until, second) in pairwise(line):
        share = max(until - at, 0.0)
        total = [t + share * (a + b) / 2 for t, a, b in zip(total, first, second, strict=True)]
    return (total[0], total[1], total[2], total[3])


def _on_white(colour: Rgba) -> Colour:
    return on_paper(colour[:3], colour[3], WHITE)


def luminance(colour: Colour) -> float:
    """Luminance as masks take it: weights on the sRGB values (SVG 1.1 §14.4, as commonly done)."""
    return sum(w * c for w, c in zip(_LUMA, colour, strict=True))
