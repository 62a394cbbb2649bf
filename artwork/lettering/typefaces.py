"""The typefaces that text is carved in: an open set, each with its licence."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib import metadata
from pathlib import PurePath

import uharfbuzz as hb

from artwork.errors import EngineError


@dataclass(frozen=True, eq=False)
class Typeface:
    """One typeface in one weight, from the bytes of its font file (TrueType or CFF, static or variable).

    Attributes:
        key: stable name (``"lato-bold"``).
        name: what people call it.
        data: the font file.
        licence: its licence in full.
        axes: where a variable font is set (``{"wght": 700}``).
    """

    key: str
    name: str
    data: bytes = field(repr=False)
    licence: str = field(repr=False)
    axes: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def font(self) -> hb.Font:
        """The font as HarfBuzz holds it, in its own units."""
        font = hb.Font(hb.Face(hb.Blob(self.data)))
        if self.axes:
            font.set_variations(dict(self.axes))
        return font

    @cached_property
    def sha256(self) -> str:
        """Digest of the font file, hex."""
        return hashlib.sha256(self.data).hexdigest()

    @cached_property
    def cap_height(self) -> float:
        """Height of the capital H in font units, y extent of its drawn curve."""
        extents = self.font.get_glyph_extents(self.font.get_nominal_glyph(ord("H")))
        return float(extents.y_bearing)

    @property
    def em(self) -> int:
        """Font units per em."""
        return int(self.font.face.upem)

    @cached_property
    def characters(self) -> frozenset[int]:
        """Code points it has letters for."""
        return frozenset(self.font.face.unicodes)


@dataclass(frozen=True)
class _Source:
    """Where a typeface of the set is found among the installed packages."""

    key: str
    name: str
    package: str
    file: str
    licence: str
    axes: Mapping[str, float] = field(default_factory=dict)


_SET = (
    _Source("lato-bold", "Lato Bold", "font-lato", "Lato-Bold.ttf", "OFL.txt"),
    _Source("lato-regular", "Lato Regular", "font-lato", "Lato-Regular.ttf", "OFL.txt"),
    _Source(
        "source-serif-bold",
        "Source Serif Pro Bold",
        "font-source-serif-pro",
        "SourceSerifPro-Bold.otf",
        "LICENSE.txt",
    ),
    _Source(
        "barlow-condensed-semibold",
        "Barlow Condensed SemiBold",
        "fontpkg-barlow-condensed",
        "BarlowCondensed-SemiBold.ttf",
        "LICENSE",
    ),
    _Source("heebo-bold", "Heebo Bold", "fontpkg-heebo", "Heebo[wght].ttf", "LICENSE", {"wght": 700.0}),
    _Source("tajawal-bold", "Tajawal Bold", "fontpkg-tajawal", "Tajawal-Bold.ttf", "LICENSE"),
)


@cache
def typefaces() -> tuple[Typeface, ...]:
    """The set, read once: Latin sans, Latin-Greek-Cyrillic serif, a narrow sans, Hebrew and Arabic."""
    return tuple(_read(source) for source in _SET)


def typeface(key: str) -> Typeface:
    """The typeface of that key.

    Raises:
        EngineError: there is none of that name.
    """
    for face in typefaces():
        if face.key == key:
            return face
    known = ", ".join(face.key for face in typefaces())
    raise EngineError("unknown-typeface", f"There is no typeface “{key}”.", f"Choose one of: {known}.")


def _read(source: _Source) -> Typeface:
    files = metadata.files(source.package) or []
    found = {
        PurePath(str(file)).name: file
        for file in files
        if "dist-info" not in str(file)  # licences are kept twice
    }
    return Typeface(
        source.key,
        source.name,
        found[source.file].locate().read_bytes(),  # type: ignore[attr-defined]
        found[source.licence].locate().read_text(encoding="utf-8"),  # type: ignore[attr-defined]
        source.axes,
    )
