"""Open icon sets and fonts as outlines, and an independent rendering of each.

Sets: npm lucide-static (ISC), @tabler/icons (MIT), bootstrap-icons (MIT), @mdi/svg (Apache-2.0); fonts: npm
@fontsource/inter, lobster, great-vibes (OFL-1.1). ``SLATPROOF_CORPUS`` sets how many icons are taken; the
default keeps the suite short, ``scripts/bench`` takes 520.
"""

from __future__ import annotations

import io
import os
import random
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from PIL import Image

from artwork.curves import Contour
from artwork.errors import EngineError
from artwork.intake import read_artwork
from artwork.outline import Outline

MODULES = Path(__file__).parents[1] / "npm" / "node_modules"
SETS = {
    "lucide": MODULES / "lucide-static" / "icons",
    "tabler": MODULES / "@tabler" / "icons" / "icons" / "filled",
    "bootstrap": MODULES / "bootstrap-icons" / "icons",
    "mdi": MODULES / "@mdi" / "svg" / "svg",
}
FONTS = {
    "inter": MODULES / "@fontsource" / "inter" / "files" / "inter-latin-400-normal.woff",
    "lobster": MODULES / "@fontsource" / "lobster" / "files" / "lobster-latin-400-normal.woff",
    "great-vibes": MODULES / "@fontsource" / "great-vibes" / "files" / "great-vibes-latin-400-normal.woff",
}
ICONS = int(os.environ.get("SLATPROOF_CORPUS", "28"))


@dataclass(frozen=True)
class Icon:
    """An icon's file and the side of its square view box, in its own units."""

    path: Path
    side: float

    @property
    def name(self) -> str:
        return f"{self.path.parent.name}/{self.path.stem}"


def icons(count: int = ICONS) -> list[Icon]:
    """An equal share of every set, the same ones each time."""
    chosen = random.Random(20)
    found = []
    for name, folder in SETS.items():
        files = sorted(folder.glob("*.svg"))
        side = 16.0 if name == "bootstrap" else 24.0
        found += [Icon(path, side) for path in chosen.sample(files, count // len(SETS))]
    return found


def outline_of(icon: Icon) -> Outline | None:
    """The icon through the real intake; ``None`` for one that is refused (a brand's photo, nothing drawn)."""
    try:
        return read_artwork(icon.path.read_bytes(), icon.path.name).outline
    except EngineError:
        return None


def mask_of(icon: Icon, side: int) -> np.ndarray:
    """The icon drawn by resvg, ``side`` pixels square, True where more than half a pixel is covered."""
    text = icon.path.read_text().replace("currentColor", "black")
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, width=side, height=side, dpi=96))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[..., 3] >= 128


@cache
def typeface(name: str):
    from fontTools.ttLib import TTFont

    return TTFont(FONTS[name])


def glyph(font: str, letter: str) -> Outline:
    """A letter as the font draws it, overlaps united by Skia, in font units."""
    import pathops

    face = typeface(font)
    path = pathops.Path()
    glyphs = face.getGlyphSet()
    glyphs[face.getBestCmap()[ord(letter)]].draw(path.getPen(glyphSet=glyphs))
    path.simplify(fix_winding=True, keep_starting_points=False)
    contours = [contour for contour in map(_contour, path.contours) if contour is not None]
    return Outline(tuple(_oriented(contours)))


def _contour(path) -> Contour | None:
    """Lines and quadratics as lines and cubics (exact)."""
    knots, controls = [], []
    here = None
    for verb, points in path.segments:
        if verb == "moveTo":
            here = np.array(points[0])
        elif verb == "lineTo":
            knots.append(here)
            controls.append(np.full((2, 2), np.nan))
            here = np.array(points[0])
        elif verb in ("qCurveTo", "curveTo"):
            chain = [np.array(point) for point in points]
            pairs = _quadratics(chain) if verb == "qCurveTo" else None
            if pairs is None:
                knots.append(here)
                controls.append(np.array(chain[:2]))
                here = chain[2]
            else:
                for middle, end in pairs:
                    knots.append(here)
                    controls.append(np.array([here + 2 / 3 * (middle - here), end + 2 / 3 * (middle - end)]))
                    here = end
    if len(knots) < 2:
        return None
    if not np.allclose(here, knots[0]):
        knots.append(here)
        controls.append(np.full((2, 2), np.nan))
    return Contour(np.array(knots, float), np.array(controls, float))


def _quadratics(chain):
    """TrueType's chain of off-curve points with implied on-curve points between them."""
    *off, last = chain
    for number, middle in enumerate(off):
        yield middle, last if number == len(off) - 1 else (middle + off[number + 1]) / 2


def _oriented(contours: list[Contour]) -> list[Contour]:
    """Outer contours counter-clockwise, holes clockwise, by how many others surround each."""
    shapes = [shapely.Polygon(contour.polyline(1.0)) for contour in contours]
    found = []
    for contour, shape in zip(contours, shapes, strict=True):
        point = shapely.Point(contour.knots[0])
        depth = sum(other.contains(point) for other in shapes if other is not shape)
        outer = depth % 2 == 0
        found.append(contour if (contour.area > 0) == outer else contour.reversed())
    return found
