"""SVG text whose font is embedded in the file → outlines of its letters (shaped by HarfBuzz)."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import Element

import uharfbuzz

from artwork.intake.paths import Builder, Matrix, Path
from artwork.intake.svg_fonts import Fonts
from artwork.intake.svg_style import Style, Styles
from artwork.intake.svg_tree import local_name
from artwork.intake.svg_units import length, numbers

_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}

_PLACES = ("x", "y", "dx", "dy", "rotate")
_PLAIN_BELOW = 0x530
"""Up to here, Unicode has letters that stand alone."""
_RELATIVE = re.compile(r"[a-df-zA-DF-Z%]")
"""A unit in a list of places (``px`` taken out): only plain numbers are placed here."""
_LAID_OUT = {
    "word-spacing": {"normal", "0", "0px"},
    "writing-mode": {"horizontal-tb", "lr", "lr-tb"},
    "direction": {"ltr"},
    "dominant-baseline": {"auto", "alphabetic"},
    "baseline-shift": {"", "baseline", "0"},
    "alignment-baseline": {"", "auto", "baseline", "alphabetic"},
    "font-variant": {"normal"},
    "text-transform": {"none"},
    "text-decoration": {"none"},
}
"""What text may ask for; any other value would come out otherwise than its sender saw it."""


@dataclass(frozen=True, eq=False)
class Letters:
    """Outlines of a run of text, in the text element's units, y downwards, and the style of their paint."""

    path: Path
    style: Style


@dataclass(frozen=True, eq=False)
class _Run:
    """Characters in one style.

    Attributes:
        x, y: where the run moves to a place of its own.
        shifts: dx, dy and turn (degrees, clockwise) of its first characters; those that follow have none.
    """

    text: str
    style: Style
    x: float | None = None
    y: float | None = None
    shifts: tuple[tuple[float, float, float], ...] = ()


class Text:
    """The embedded fonts of one document."""

    def __init__(self, faces: list[Style]) -> None:
        self._fonts = Fonts(faces)
        self.carried = self._fonts.carried
        """Typefaces of our own set in which some text was set."""
        self.missing = False
        """Whether some of the last text had no font in the file, or could not be laid out."""

    def outlines(self, element: Element, style: Style, styles: Styles) -> list[Letters]:
        """The letters of a ``text`` element."""
        self.missing = False
        runs = list(self._runs(element, style, styles, first=True))
        if not any(run.text.strip() for run in runs):
            return []
        found: list[Letters] = []
        at = (0.0, 0.0)
        for chunk in _chunks(runs):
            letters, at = self._chunk(chunk, at)
            found += letters
        return found

    def _runs(self, element: Element, style: Style, styles: Styles, first: bool) -> Iterator[_Run]:
        """Runs of text in reading order; white space collapsed as SVG 1.1 §10.15 has it by default."""
        places = {name: numbers(element.get(name)) for name in _PLACES}
        if _arranged(element, style):
            self.missing = True
            return
        text = _collapsed(element.text, first)
        unheld = not text and (places["dx"] or places["dy"])  # they move the first letter of what is within
        if (_one_by_one(places) and not _plain(text)) or (len(element) and (_one_by_one(places) or unheld)):
            self.missing = True
            return
        yield from _placed(text, style, places, first)
        for child in element:
            name = local_name(child.tag)
            if name in ("tspan", "a"):
                inner = styles.of(child, style)
                if inner.get("display") != "none":
                    yield from self._runs(child, inner, styles, first=False)
            elif name in ("textPath", "tref", "altGlyph"):
                self.missing = True
            yield _Run(_collapsed(child.tail, False), style)

    def _chunk(
        self, runs: list[_Run], place: tuple[float, float]
    ) -> tuple[list[Letters], tuple[float, float]]:
        """One anchored chunk, shaped from left to right, then shifted by its anchor; and where the next goes on.

        Args:
            place: where the last one ended.
        """
        x, y = (place[at] if own is None else own for at, own in enumerate((runs[0].x, runs[0].y)))
        shaped: list[tuple[Builder, Style]] = []
        at = 0.0
        for run in runs:
            if not run.text:
                continue
            font = self._fonts.font(run.style)
            if font is None:
                self.missing = self.missing or bool(run.text.strip())
                return [], place
            size = length(run.style["font-size"], 0.0, 16.0)
            spacing = (
                length(run.style["letter-spacing"], size) if run.style["letter-spacing"] != "normal" else 0.0
            )
            builder, at, y = _shaped(font, run, size, spacing, (at, y))
            shaped.append((builder, run.style))
        shift = x - _ANCHORS.get(runs[0].style["text-anchor"].strip(), 0.0) * at
        letters = [
            Letters(builder.path().moved((1.0, 0.0, 0.0, 1.0, shift, 0.0)), style)
            for builder, style in shaped
        ]
        return letters, (shift + at, y)


def _arranged(element: Element, style: Style) -> bool:
    """Whether letters are placed, stretched or marked in a way that is not laid out here."""
    stated = {name: element.get(name, "") for name in _PLACES}
    return (
        any(_RELATIVE.search(text.replace("px", "")) for text in stated.values())
        or "textLength" in element.attrib
        or any(style.get(name, "").strip() not in plain for name, plain in _LAID_OUT.items())
    )


class _Pen:
    """Takes HarfBuzz's outline into a builder, by a map: fonts have y upwards, SVG has it downwards."""

    def __init__(self, builder: Builder, matrix: Matrix) -> None:
        self._builder = builder
        self._matrix = matrix

    def _to(self, *points: tuple[float, float]) -> list[float]:
        a, b, c, d, e, f = self._matrix
        return [value for x, y in points for value in (a * x + c * y + e, b * x + d * y + f)]

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802 - the pen protocol's names
        self._builder.move(*self._to(point))

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self._builder.line(*self._to(point))

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self._builder.cubic(*self._to(*points))

    def qCurveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self._builder.quadratic(*self._to(*points))

    def closePath(self) -> None:  # noqa: N802
        self._builder.close()


def _shaped(
    font: Any, run: _Run, size: float, spacing: float, origin: tuple[float, float]
) -> tuple[Builder, float, float]:
    """Outlines of a run, and where the next one starts. Letters joined by the font move by their first one's shift."""
    buffer = uharfbuzz.Buffer()
    buffer.add_str(run.text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    scale = size / font.face.upem
    builder = Builder()
    x, y = origin
    moved, turn = 0, 0.0
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        for dx, dy, turn in run.shifts[moved : info.cluster + 1]:  # noqa: B007 - the last turn is used
            x, y = x + dx, y + dy
        moved = info.cluster + 1
        cos, sin = scale * math.cos(math.radians(turn)), scale * math.sin(math.radians(turn))
        left, down = place.x_offset, -place.y_offset
        at = (x + left * cos - down * sin, y + left * sin + down * cos)
        font.draw_glyph_with_pen(info.codepoint, _Pen(builder, (cos, sin, sin, -cos, *at)))
        x += place.x_advance * scale + spacing
    return builder, x, y


def _one_by_one(places: dict[str, list[float]]) -> bool:
    """Whether letters have places or turns of their own."""
    return any(len(each) > 1 for each in places.values()) or bool(places["rotate"])


def _plain(text: str) -> bool:
    """Whether every character is a letter of its own, from left to right: Latin, Greek and Cyrillic without marks."""
    return text[:1] != " " and all(ord(c) < _PLAIN_BELOW and not unicodedata.combining(c) for c in text)


def _placed(text: str, style: Style, places: dict[str, list[float]], first: bool) -> Iterator[_Run]:
    """Runs of one element's text, a new one at every place of its own (SVG 1.1 §10.5)."""
    starts = {0, *range(min(max(len(places["x"]), len(places["y"])), len(text)))}
    turns = places["rotate"]
    for start, end in pairwise([*sorted(starts), max(len(text), 1)]):
        x, y = (places[n][start] if start < len(places[n]) else None for n in ("x", "y"))
        if first and start == 0:
            x, y = x or 0.0, y or 0.0
        known = max(len(places["dx"]), len(places["dy"]), len(text) if turns else 0)
        shifts = tuple(
            (_at(places["dx"], at), _at(places["dy"], at), turns[min(at, len(turns) - 1)] if turns else 0.0)
            for at in range(start, min(end, known))
        )
        yield _Run(text[start:end], style, x, y, shifts)


def _at(places: list[float], at: int) -> float:
    return places[at] if at < len(places) else 0.0


def _chunks(runs: list[_Run]) -> Iterator[list[_Run]]:
    """Runs up to the next that names a place; what it does not name goes on from where the last one ended."""
    chunk: list[_Run] = []
    for run in runs:
        if chunk and (run.x is not None or run.y is not None):
            yield chunk
            chunk = []
        chunk.append(run)
    yield chunk


def _collapsed(text: str | None, first: bool) -> str:
    joined = re.sub(r"\s+", " ", text or "")
    return joined.lstrip() if first else joined
