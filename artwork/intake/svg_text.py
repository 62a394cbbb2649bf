"""SVG text whose font is embedded in the file → outlines of its letters (shaped by HarfBuzz)."""

from __future__ import annotations

import base64
import binascii
import io
import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote_to_bytes
from xml.etree.ElementTree import Element

import brotli
import uharfbuzz
from fontTools.ttLib import TTFont, TTLibError

from artwork.intake.paths import Builder, Path
from artwork.intake.svg_style import Style, Styles
from artwork.intake.svg_tree import local_name
from artwork.intake.svg_units import length, numbers

_DATA_URL = re.compile(r"""url\(\s*['"]?data:[^,'")]*?(;base64)?,([^'")]+)['"]?\s*\)""", re.IGNORECASE)
_LARGEST_FONT = 8_000_000
# What the font readers raise for damaged fonts. Anything else is a defect of ours and is not swallowed.
_DAMAGE = (
    binascii.Error,
    TTLibError,
    struct.error,
    brotli.error,
    zlib.error,
    ValueError,
    KeyError,
    IndexError,
    AssertionError,
    OverflowError,
    OSError,
)
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}

_PLACES = ("x", "y", "dx", "dy", "rotate")
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


@dataclass(eq=False)
class _Run:
    """Characters in one style; ``x``/``y`` where the run moves to a place of its own."""

    text: str
    style: Style
    x: float | None
    y: float | None
    dx: float
    dy: float


class Text:
    """The embedded fonts of one document."""

    def __init__(self, faces: list[Style]) -> None:
        self._faces = faces
        self._fonts: dict[str, uharfbuzz.Font | None] = {}
        self.missing = False
        """Whether some text had no font in the file, or could not be laid out."""

    def outlines(self, element: Element, style: Style, styles: Styles) -> list[Letters]:
        """The letters of a ``text`` element."""
        runs = list(self._runs(element, style, styles, first=True))
        if not any(run.text.strip() for run in runs):
            return []
        return [letters for chunk in _chunks(runs) for letters in self._chunk(chunk)]

    def _runs(self, element: Element, style: Style, styles: Styles, first: bool) -> Iterator[_Run]:
        """Runs of text in reading order; white space collapsed as SVG 1.1 §10.15 has it by default."""
        places = {name: numbers(element.get(name)) for name in _PLACES}
        if _arranged(element, style):
            self.missing = True
            return
        x, y = (places[name][0] if places[name] else (0.0 if first else None) for name in ("x", "y"))
        dx, dy = (sum(places[name][:1]) for name in ("dx", "dy"))
        yield _Run(_collapsed(element.text, first), style, x, y, dx, dy)
        for child in element:
            name = local_name(child.tag)
            if name in ("tspan", "a"):
                inner = styles.of(child, style)
                if inner.get("display") != "none":
                    yield from self._runs(child, inner, styles, first=False)
            elif name in ("textPath", "tref", "altGlyph"):
                self.missing = True
            yield _Run(_collapsed(child.tail, False), style, None, None, 0.0, 0.0)

    def _chunk(self, runs: list[_Run]) -> list[Letters]:
        """One anchored chunk: shaped from left to right, then shifted by its anchor."""
        x, y = runs[0].x or 0.0, runs[0].y or 0.0
        shaped: list[tuple[Builder, Style]] = []
        at = 0.0
        for run in runs:
            if not run.text:
                continue
            font = self._font(run.style)
            if font is None:
                self.missing = self.missing or bool(run.text.strip())
                return []
            size = length(run.style["font-size"], 0.0, 16.0)
            spacing = (
                length(run.style["letter-spacing"], size) if run.style["letter-spacing"] != "normal" else 0.0
            )
            at += run.dx
            y += run.dy
            builder, at = _shaped(font, run.text, size, spacing, (at, y))
            shaped.append((builder, run.style))
        shift = x - _ANCHORS.get(runs[0].style["text-anchor"].strip(), 0.0) * at
        return [
            Letters(builder.path().moved((1.0, 0.0, 0.0, 1.0, shift, 0.0)), style)
            for builder, style in shaped
        ]

    def _font(self, style: Style) -> uharfbuzz.Font | None:
        """The embedded font for a style: same family, and of those the nearest in weight and slant."""
        families = [name.strip(" '\"").lower() for name in style["font-family"].split(",")]
        for family in families:
            named = [f for f in self._faces if f.get("font-family", "").strip(" '\"").lower() == family]
            if named:
                best = min(named, key=lambda face: _unlike(face, style))
                source = best.get("src", "")
                if source not in self._fonts:
                    self._fonts[source] = _loaded(source)
                return self._fonts[source]
        return None


def _arranged(element: Element, style: Style) -> bool:
    """Whether letters are placed one by one, stretched, turned or marked in a way that is not laid out here."""
    stated = {name: element.get(name, "") for name in _PLACES}
    return (
        any(len(numbers(text)) > 1 or _RELATIVE.search(text.replace("px", "")) for text in stated.values())
        or bool(stated["rotate"].strip())
        or "textLength" in element.attrib
        or any(style.get(name, "").strip() not in plain for name, plain in _LAID_OUT.items())
    )


def _unlike(face: Style, style: Style) -> float:
    weights = {"normal": 400.0, "bold": 700.0, "lighter": 300.0, "bolder": 700.0}

    def weight(text: str) -> float:
        found = numbers(text)
        return weights.get(text.strip(), found[0] if found else 400.0)

    slanted = [s.get("font-style", "normal").strip() in ("italic", "oblique") for s in (face, style)]
    return abs(weight(face.get("font-weight", "400")) - weight(style["font-weight"])) + 1000 * (
        slanted[0] != slanted[1]
    )


def _loaded(source: str) -> uharfbuzz.Font | None:
    """The font in a data URL, or ``None`` where it refers outside or cannot be read."""
    for encoded, payload in _DATA_URL.findall(source):
        try:
            raw = base64.b64decode(unquote_to_bytes(payload)) if encoded else unquote_to_bytes(payload)
            if len(raw) > _LARGEST_FONT:
                continue
            return uharfbuzz.Font(uharfbuzz.Face(_sfnt(raw)))
        except (
            binascii.Error,
            TTLibError,
            struct.error,
            brotli.error,
            ValueError,
            KeyError,
            AssertionError,
            OSError,
        ):
            continue  # the next source, if any, may be sound
    return None


def _sfnt(raw: bytes) -> bytes:
    """Plain TrueType or OpenType: web fonts (WOFF, WOFF2) are unpacked."""
    font = TTFont(io.BytesIO(raw), lazy=True)
    if font.flavor is None:
        return raw
    font.flavor = None
    plain = io.BytesIO()
    font.save(plain)
    return plain.getvalue()


class _Pen:
    """Takes HarfBuzz's outline into a builder; fonts have y upwards, SVG has it downwards."""

    def __init__(self, builder: Builder, scale: float, x: float, y: float) -> None:
        self._builder = builder
        self._scale, self._x, self._y = scale, x, y

    def _to(self, *points: tuple[float, float]) -> list[float]:
        return [c for x, y in points for c in (self._x + x * self._scale, self._y - y * self._scale)]

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
    font: Any, text: str, size: float, spacing: float, origin: tuple[float, float]
) -> tuple[Builder, float]:
    """Outlines of a run, and where the next one starts."""
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    scale = size / font.face.upem
    builder = Builder()
    x, y = origin
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        pen = _Pen(builder, scale, x + place.x_offset * scale, y - place.y_offset * scale)
        font.draw_glyph_with_pen(info.codepoint, pen)
        x += place.x_advance * scale + spacing
    return builder, x


def _chunks(runs: list[_Run]) -> Iterator[list[_Run]]:
    """Runs up to the next that names a place; one that names only x keeps its line's y, and the reverse."""
    chunk: list[_Run] = []
    for run in runs:
        if chunk and (run.x is not None or run.y is not None):
            yield chunk
            run.y = chunk[0].y if run.y is None else run.y
            run.x = chunk[0].x if run.x is None else run.x
            chunk = []
        chunk.append(run)
    yield chunk


def _collapsed(text: str | None, first: bool) -> str:
    joined = re.sub(r"\s+", " ", text or "")
    return joined.lstrip() if first else joined
