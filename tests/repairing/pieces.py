"""Drawings that repair is measured on: wordmarks, clip art, icons, crests, degraded pictures.

Everything is made from packages that set-up installs (Debian ``openclipart-svg`` (public domain) and
``fonts-urw-base35`` (AGPL with font exception), the npm icon sets and fonts of ``tests/npm``) and from shapes drawn
here, in the mix in which customers' art stops. Names and words are made up. The same list every time.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
from PIL import Image
from shapely import Point, Polygon, affinity, box, unary_union
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour
from artwork.errors import EngineError
from artwork.intake import read_artwork
from artwork.lettering.setting import set_lines
from artwork.lettering.typefaces import Typeface, typefaces
from artwork.outline import Outline
from artwork.shapes import areas
from tests.published.corpus import FONTS, SETS

CLIP_ART = Path("/usr/share/openclipart/svg")
URW = Path("/usr/share/fonts/opentype/urw-base35")
URW_FACES = (
    "C059-Roman", "C059-Italic", "P052-Roman", "P052-Italic", "NimbusRoman-Regular", "NimbusSans-Regular",
    "URWBookman-Light", "URWGothic-Book", "Z003-MediumItalic", "NimbusSansNarrow-Bold", "NimbusMonoPS-Bold",
)  # fmt: skip
WORDS = (
    "Quillfern", "Harrow Lodge", "Thistledown", "Oxbarrow", "Maple & Finch", "Saltmarsh", "Bramblewick Farm",
    "Kestrel Point", "The Old Mill", "Juniper", "Fenwick Gardens", "Larkspur Inn", "Heron Lake", "Wychwood",
    "Applegate", "Moss & Stone", "Rookery", "Tern Bay", "Dovecote Cafe", "Hazel Hill", "Otterburn", "Pinecrest",
    "Ashby Green", "Willow End",
)  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """One drawing: its name, its group, and the words it shows where it is a wordmark."""

    name: str
    group: str
    make: Callable[[], Outline | None]
    words: str = ""


def pieces(
    wordmarks: int = 80, clip_art: int = 110, brands: int = 70, crests: int = 40, degraded: int = 30
) -> list[Piece]:
    """The list, of the counts asked for in each group; shorter lists are beginnings of longer ones."""
    return [
        *_first(_wordmarks(), wordmarks),
        *_first(_clip_art(), clip_art),
        *_first(_brands(), brands),
        *_first(_crests(), crests),
        *_first(_degraded(), degraded),
    ]


def _first(found: Iterator[Piece], count: int) -> list[Piece]:
    return [piece for piece, _ in zip(found, range(count), strict=False)]


# ── wordmarks ───────────────────────────────────────────────────────────────────────────────────────────


@lru_cache
def faces() -> dict[str, Typeface]:
    """Typefaces by name: the ones text is carved in, the URW set, and three of npm."""
    found = {face.key: face for face in typefaces() if ord("A") in face.characters}
    for name in URW_FACES:
        found[name] = Typeface(name, name, (URW / f"{name}.otf").read_bytes(), "AGPL with font exception")
    for name, path in FONTS.items():
        found[name] = Typeface(name, name, _unpacked(path), "OFL-1.1")
    return found


def _unpacked(path: Path) -> bytes:
    from fontTools.ttLib import TTFont

    font = TTFont(path)
    font.flavor = None
    target = io.BytesIO()
    font.save(target)
    return target.getvalue()


def _wordmarks() -> Iterator[Piece]:
    chance = random.Random(171)
    names = list(faces())
    while True:
        words, face = chance.choice(WORDS), chance.choice(names)
        style = chance.choice(("plain", "plain", "capitals", "lines"))
        text = words.upper() if style == "capitals" else words
        lines = text.split(" ", 1) if style == "lines" else [text]
        yield Piece(
            f"{text} in {face}{', lines' if len(lines) > 1 else ''}",
            "wordmark",
            lambda lines=tuple(lines), face=face: set_lines(lines, faces()[face]).outline,
            " ".join(lines),
        )


# ── files of packages ───────────────────────────────────────────────────────────────────────────────────


def _read(path: Path) -> Outline | None:
    try:
        return read_artwork(path.read_bytes(), path.name).outline
    except EngineError:
        return None


def _shuffled(paths: list[Path], seed: int) -> list[Path]:
    paths = sorted(paths)
    random.Random(seed).shuffle(paths)
    return paths


def _clip_art() -> Iterator[Piece]:
    folders = (
        "animals",
        "plants",
        "food",
        "buildings",
        "recreation",
        "tools",
        "transportation",
        "decorations",
    )
    paths = [path for folder in folders for path in (CLIP_ART / folder).rglob("*.svg")]
    for path in _shuffled(paths, 172):
        if path.stat().st_size <= 150_000:
            yield Piece(f"{path.relative_to(CLIP_ART)}", "clip-art", lambda path=path: _read(path))


def _brands() -> Iterator[Piece]:
    paths = [path for folder in SETS.values() for path in folder.glob("*.svg")]
    for path in _shuffled(paths, 173):
        yield Piece(f"{path.parts[-3]}/{path.stem}", "brand", lambda path=path: _read(path))


def _degraded() -> Iterator[Piece]:
    """Icons, clip art and words as small, blurred JPEG pictures, read back by tracing."""
    sources = [*_first(_brands_after(200), 20), *_first(_clip_art_after(400), 20)]
    random.Random(174).shuffle(sources)
    for number, piece in enumerate(sources):
        yield Piece(
            f"degraded {piece.name}", "degraded", lambda piece=piece, number=number: _degrade(piece, number)
        )


def _brands_after(count: int) -> Iterator[Piece]:
    found = _brands()
    for _ in range(count):
        next(found)
    return found


def _clip_art_after(count: int) -> Iterator[Piece]:
    found = _clip_art()
    for _ in range(count):
        next(found)
    return found


def _degrade(piece: Piece, number: int) -> Outline | None:
    outline = piece.make()
    if outline is None:
        return None
    side = (320, 480, 640)[number % 3]
    left, low, right, high = outline.bounds
    unit = side / max(right - left, high - low)
    size = (int((high - low) * unit) + 41, int((right - left) * unit) + 41)
    grid = np.full((size[0] * 2, size[1] * 2), 255, np.uint8)
    rings = [
        np.rint(((c.polyline(0.1 / unit) - (left, low)) * unit + 20) * 2).astype(np.int32)
        for c in outline.contours
    ]
    cv2.fillPoly(grid, rings, 20)
    picture = cv2.GaussianBlur(cv2.resize(grid[::-1], size[::-1], interpolation=cv2.INTER_AREA), (0, 0), 1.0)
    target = io.BytesIO()
    Image.fromarray(picture).save(target, "JPEG", quality=45)
    try:
        return read_artwork(target.getvalue(), "picture.jpg").outline
    except EngineError:
        return None


# ── crests ──────────────────────────────────────────────────────────────────────────────────────────────


def outline_of(shape: BaseGeometry) -> Outline:
    """Polygons as an outline of straight lines."""
    contours = []
    for part in areas(shape):
        for ring, ccw in [(part.exterior, True), *((inner, False) for inner in part.interiors)]:
            points = np.asarray(ring.coords)[:-1]
            area = Polygon(ring).area * (1 if ring.is_ccw else -1)
            if (area > 0) != ccw:
                points = points[::-1]
            contours.append(Contour(points, np.full((len(points), 2, 2), np.nan)))
    return Outline(tuple(contours))


def _shield(width: float, height: float) -> Polygon:
    t = np.linspace(0, 1, 24)
    right = np.stack([width / 2 * np.cos(t * np.pi / 2) ** 0.8, -height * np.sin(t * np.pi / 2)], axis=1)
    left = right[::-1] * (-1, 1)
    return Polygon([(-width / 2, height * 0.25), (width / 2, height * 0.25), *right, *left]).buffer(0)


def _charge(chance: random.Random) -> BaseGeometry:
    kind = chance.choice(("star", "tree", "fish", "keys", "chevrons", "wheel", "leaf", "tower"))
    if kind == "star":
        n = chance.choice((5, 6, 8))
        turn = np.arange(2 * n) * np.pi / n + np.pi / 2
        reach = np.where(np.arange(2 * n) % 2 == 0, 30, chance.uniform(10, 16))
        return Polygon(np.stack([reach * np.cos(turn), reach * np.sin(turn)], axis=1))
    if kind == "tree":
        crown = unary_union(
            [
                Point(chance.uniform(-14, 14), chance.uniform(0, 22)).buffer(chance.uniform(6, 11))
                for _ in range(7)
            ]
        )
        return unary_union([crown, box(-2.2, -28, 2.2, 4), box(-10, -30, 10, -28)])
    if kind == "fish":
        body = affinity.scale(Point(0, 0).buffer(20), 1.3, 0.55)
        tail = Polygon([(-22, 0), (-36, 12), (-31, 0), (-36, -12)])
        gills = unary_union([Point(x, 0).buffer(9).boundary.buffer(0.5) for x in (-6, 0, 6)])
        return unary_union([body, tail]).difference(Point(17, 3).buffer(1.4)).difference(gills)
    if kind == "keys":
        shaft = unary_union(
            [
                box(-1.4, -26, 1.4, 12),
                box(1, -26, 8, -23),
                box(1, -20, 6, -17.5),
                Point(0, 18).buffer(8).difference(Point(0, 18).buffer(5)),
            ]
        )
        return unary_union(
            [affinity.rotate(shaft, 38, (0, 0)), affinity.rotate(affinity.scale(shaft, -1, 1), -38, (0, 0))]
        )
    if kind == "chevrons":
        one = Polygon([(-26, -10), (0, 8), (26, -10), (26, -14), (0, 4), (-26, -14)])
        return unary_union([affinity.translate(one, 0, y) for y in (0, 9, 18)])
    if kind == "wheel":
        spokes = unary_union([affinity.rotate(box(-0.9, 0, 0.9, 24), a, (0, 0)) for a in range(0, 360, 30)])
        return unary_union(
            [Point(0, 0).buffer(26).difference(Point(0, 0).buffer(22.5)), spokes, Point(0, 0).buffer(5)]
        )
    if kind == "leaf":
        half = Point(12, 0).buffer(30, quad_segs=32).intersection(Point(-12, 0).buffer(30, quad_segs=32))
        veins = unary_union(
            [box(-0.6, -30, 0.6, 22)]
            + [
                affinity.rotate(box(-0.4, 0, 0.4, 14), a, (0, y)).buffer(0)
                for y in (-14, -4, 6)
                for a in (50, -50)
            ]
        )
        return half.difference(veins)
    walls = unary_union([box(-16, -26, 16, 12)] + [box(x, 12, x + 6, 18) for x in (-16, -5.5, 5, 10)])
    return walls.difference(
        unary_union([box(-4, -26, 4, -12), Point(0, -12).buffer(4), box(-9, -4, -7, 4), box(7, -4, 9, 4)])
    )


def _crest(number: int) -> Outline:
    chance = random.Random(1000 + number)
    shield = _shield(90, 80)
    rim, line = chance.uniform(1.0, 3.5), chance.uniform(0.5, 1.6)
    frame = shield.difference(shield.buffer(-rim))
    parts = [frame, affinity.translate(affinity.scale(_charge(chance), 0.9, 0.9, origin=(0, 0)), 0, -22)]
    if chance.random() < 0.6:
        inner = shield.buffer(-rim - chance.uniform(0.8, 2.5))
        parts.append(inner.difference(inner.buffer(-line)))
    if chance.random() < 0.6:
        parts.append(
            unary_union(
                [
                    affinity.translate(affinity.scale(_charge(chance), 0.28, 0.28, origin=(0, 0)), x, 6)
                    for x in (-24, 24)
                ]
            )
        )
    if chance.random() < 0.7:
        words = set_lines(
            [chance.choice(WORDS).upper()],
            faces()[chance.choice(("C059-Roman", "NimbusSans-Regular", "P052-Roman"))],
        ).outline
        left, low, right, high = words.bounds
        lettering = affinity.translate(words.region(), -(left + right) / 2, -(low + high) / 2)
        lettering = affinity.scale(lettering, 92 / (right - left), 92 / (right - left), origin=(0, 0))
        parts.append(affinity.translate(lettering, 0, -96))
        if chance.random() < 0.5:
            band = box(-54, -106, 54, -86)
            parts.append(band.difference(band.buffer(-line)))
    return outline_of(unary_union(parts))


def _crests() -> Iterator[Piece]:
    number = 0
    while True:
        yield Piece(f"crest {number}", "crest", lambda number=number: _crest(number))
        number += 1
