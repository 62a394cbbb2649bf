"""Fonts that an SVG carries (``@font-face`` with a data URL), found by family, weight and slant."""

from __future__ import annotations

import base64
import binascii
import io
import re
import struct
import zlib
from urllib.parse import unquote_to_bytes

import brotli
import uharfbuzz
from fontTools.ttLib import TTFont, TTLibError

from artwork.intake.svg_style import Style
from artwork.intake.svg_units import numbers
from artwork.lettering.typefaces import Typeface, typefaces

_DATA_URL = re.compile(r"""url\(\s*['"]?data:[^,'")]*?(;base64)?,([^'")]+)['"]?\s*\)""", re.IGNORECASE)
_LARGEST_FONT = 8_000_000
_WEIGHTS = {"normal": 400.0, "bold": 700.0, "lighter": 300.0, "bolder": 700.0}
_WEIGHT_NAMES = {"regular": 400.0, "semibold": 600.0, "bold": 700.0}
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


class Fonts:
    """The embedded fonts of one document."""

    def __init__(self, faces: list[Style]) -> None:
        self._faces = faces
        self._fonts: dict[str, uharfbuzz.Font | None] = {}
        self.carried: list[str] = []
        """Names of the typefaces of our own set that stood in for fonts of that very name."""

    def font(self, style: Style) -> uharfbuzz.Font | None:
        """The embedded font for a style: same family, and of those the nearest in weight and slant.

        A family that is not in the file is taken from our own set where that holds it in the same weight, upright.
        """
        families = [name.strip(" '\"").lower() for name in style["font-family"].split(",")]
        for family in families:
            named = [f for f in self._faces if f.get("font-family", "").strip(" '\"").lower() == family]
            if named:
                best = min(named, key=lambda face: _unlike(face, style))
                source = best.get("src", "")
                if source not in self._fonts:
                    self._fonts[source] = _loaded(source)
                return self._fonts[source]
            face = _carried(family, style)
            if face is not None:
                if face.name not in self.carried:
                    self.carried.append(face.name)
                return face.font
        return None


def _carried(family: str, style: Style) -> Typeface | None:
    """The typeface of our own set that has this family's name and the style's weight; upright ones only."""
    if style["font-style"].strip() in ("italic", "oblique"):
        return None
    wanted = _weight(style["font-weight"])
    for face in typefaces():
        name, _, last = face.name.lower().rpartition(" ")
        if name == family and _WEIGHT_NAMES.get(last) == wanted:
            return face
    return None


def _unlike(face: Style, style: Style) -> float:
    slanted = [s.get("font-style", "normal").strip() in ("italic", "oblique") for s in (face, style)]
    heavier = abs(_weight(face.get("font-weight", "400")) - _weight(style["font-weight"]))
    return heavier + 1000 * (slanted[0] != slanted[1])


def _weight(text: str) -> float:
    """A CSS weight in figures (CSS Fonts 4 §2.2)."""
    found = numbers(text)
    return _WEIGHTS.get(text.strip(), found[0] if found else 400.0)


def _loaded(source: str) -> uharfbuzz.Font | None:
    """The font in a data URL, or ``None`` where it refers outside or cannot be read."""
    for encoded, payload in _DATA_URL.findall(source):
        try:
            raw = base64.b64decode(unquote_to_bytes(payload)) if encoded else unquote_to_bytes(payload)
            if len(raw) > _LARGEST_FONT:
                continue
            return uharfbuzz.Font(uharfbuzz.Face(_sfnt(raw)))
        except _DAMAGE:
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
