"""Letters as contours, against fontTools' own reading of the fonts, GEOS and the published stems."""

from __future__ import annotations

import io
import math
from pathlib import Path

import pytest
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

from artwork.axis import study
from artwork.lettering.letterforms import letterform
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import Typeface, typefaces
from artwork.outline import polygons
from artwork.tooling import groove_depth
from artwork.workpiece import Bit

INTER = Path("tests/npm/node_modules/@fontsource/inter/files")
DEJAVU = Path("/usr/share/fonts/truetype/dejavu")


class Chords(BasePen):
    """Flattens a glyph in even steps, knowing nothing of our curves."""

    STEPS = 24

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.rings = []

    def _moveTo(self, point):
        self.rings.append([point])

    def _lineTo(self, point):
        self.rings[-1].append(point)

    def _curveToOne(self, b, c, d):
        a = self._getCurrentPoint()
        for k in range(1, self.STEPS + 1):
            t = k / self.STEPS
            w = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3)
            self.rings[-1].append(
                tuple(sum(u * p[i] for u, p in zip(w, (a, b, c, d), strict=True)) for i in (0, 1))
            )


def nonzero(rings) -> shapely.Geometry:
    """What the rings fill by the non-zero rule: faces of their arrangement, each wound by hand."""
    lines = shapely.union_all([shapely.LineString([*ring, ring[0]]) for ring in rings if len(ring) > 2])
    faces = shapely.get_parts(shapely.polygonize([lines]))
    inside = []
    for face in faces:
        point = face.representative_point()
        turns = 0.0
        for ring in rings:
            around = [math.atan2(y - point.y, x - point.x) for x, y in ring]
            turns += sum(
                (b - a + math.pi) % (2 * math.pi) - math.pi
                for a, b in zip(around, around[1:] + around[:1], strict=True)
            )
        if abs(turns) > math.pi:
            inside.append(face)
    return shapely.union_all(inside)


def by_font_tools(face: Typeface) -> tuple[TTFont, object]:
    font = TTFont(io.BytesIO(face.data))
    if face.axes:
        font = instantiateVariableFont(font, dict(face.axes))
    return font, font.getGlyphSet()


@pytest.mark.parametrize("face", typefaces(), ids=lambda face: face.key)
def test_every_letter_is_the_fonts_own_curve(face):
    font, glyphs = by_font_tools(face)
    names = font.getBestCmap()
    letters = "AaBQRSegkmw&8@żßŁ" + "שםפ" * ("heebo" in face.key) + "محيى" * ("tajawal" in face.key)
    for letter in letters:
        if ord(letter) not in names:
            continue
        pen = Chords(glyphs)
        glyphs[names[ord(letter)]].draw(pen)
        theirs = nonzero(pen.rings)
        contours = letterform(face, face.font.get_nominal_glyph(ord(letter)))
        ours = polygons([contour.polyline(0.05) for contour in contours])
        assert ours.is_valid
        off = ours.symmetric_difference(theirs).area
        assert off < 0.0025 * theirs.area, f"{letter}: {off / theirs.area:.2%}"
        assert sum(contour.area for contour in contours) == pytest.approx(theirs.area, rel=2e-3)


@pytest.mark.parametrize("face", typefaces(), ids=lambda face: face.key)
def test_no_letter_of_the_whole_font_crosses_itself(face):
    for character in sorted(face.characters):
        contours = letterform(face, face.font.get_nominal_glyph(character))
        if contours:
            region = polygons([contour.polyline(face.em / 16000) for contour in contours])
            signed = sum(contour.area for contour in contours)
            assert region.area == pytest.approx(signed, rel=0.01, abs=2.0), chr(character)


def face_from(data: bytes, key: str) -> Typeface:
    return Typeface(key, key, data, "")


def inter(weight: int) -> Typeface:
    font = TTFont(INTER / f"inter-latin-{weight}-normal.woff2")
    font.flavor = None
    out = io.BytesIO()
    font.save(out)
    return face_from(out.getvalue(), f"inter-{weight}")


@pytest.mark.parametrize(
    ("make", "width", "depth"),
    [
        (lambda: face_from((DEJAVU / "DejaVuSans.ttf").read_bytes(), "dejavu"), 5.4119, 4.6869),
        (lambda: face_from((DEJAVU / "DejaVuSans-Bold.ttf").read_bytes(), "dejavu-bold"), 10.3148, 8.9329),
        (lambda: inter(400), 5.1007, 4.4173),
        (lambda: inter(700), 8.1879, 7.0909),
    ],
    ids=["DejaVu Sans", "DejaVu Sans Bold", "Inter 400", "Inter 700"],
)
def test_known_stems_through_the_axis(make, width, depth):
    """Stems of the capital I at 40 mm capitals: units per cap height read from the font files

    (DejaVu Sans 202/1493, Bold 385/1493; Inter 190/1490 and 305/1490), depths of a sharp 60° bit from them.
    """
    face = make()
    setting = set_lines(["I"], face)
    scale = 40.0 / face.cap_height
    anatomy = study(setting.outline)
    stem = 2 * scale * float(anatomy.lines.peak.max())
    assert stem == pytest.approx(width, abs=2e-3)
    assert groove_depth(stem, Bit("sharp", 60.0, 0.0)) == pytest.approx(depth, abs=2e-3)
    assert 0.10 <= stem / 40.0 <= 0.30  # ADA/ABA 703.5.7: stroke 10 to 30 % of the height of I


def test_every_typeface_is_open_and_says_so():
    for face in typefaces():
        assert "SIL OPEN FONT LICENSE" in face.licence.upper()
        assert len(face.sha256) == 64


def test_capitals_are_as_high_as_asked():
    for face in typefaces():
        low, high = set_lines(["H"], face).outline.bounds[1::2]
        assert high - low == pytest.approx(face.cap_height, rel=1e-3)
