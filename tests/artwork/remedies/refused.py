"""Refused cuts of real art: icons, Debian's clip art, words in fonts, upright, turned and mirrored."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from artwork.axis import Anatomy, study
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.workpiece import Slat
from seeds.shop import load
from tests.published.corpus import glyph, icons, outline_of

CLIPART = Path("/usr/share/openclipart/svg")
LARGEST_FILE = 60_000
"""Larger drawings take seconds to study, and there are enough small ones, bytes."""
GLYPHS = "aegkmsBRSW&8"
MOST_SEGMENTS = 6_000


@dataclass(frozen=True, eq=False)
class Refused:
    """One refused cut, with the slats of its model."""

    name: str
    cut: Cut
    anatomy: Anatomy
    slats: tuple[Slat, ...]


@cache
def _arts() -> list[tuple[str, object]]:
    chosen = random.Random(7)
    found: list[tuple[str, object]] = [(icon.name, icon) for icon in icons(160)]
    if CLIPART.exists():
        files = [path for path in sorted(CLIPART.rglob("*.svg")) if path.stat().st_size < LARGEST_FILE]
        found += [(path.stem, path) for path in chosen.sample(files, 160)]
    found += [
        (f"{font} {letter}", (font, letter)) for font in ("lobster", "great-vibes") for letter in GLYPHS
    ]
    chosen.shuffle(found)
    return found


def _outline(source: object) -> Outline | None:
    if isinstance(source, tuple):
        return glyph(*source)
    try:
        if isinstance(source, Path):
            return read_artwork(source.read_bytes(), source.name).outline
        return outline_of(source)  # type: ignore[arg-type]
    except EngineError:
        return None


def refused(count: int, seed: int = 3) -> Iterator[Refused]:
    """The first so many refused cuts of a fixed mixture."""
    shop, chosen = load(), random.Random(seed)
    models = [model for model in shop.models if any(slat.carries_art for slat in model.slats)]
    found = 0
    for name, source in _arts():
        outline = _outline(source)
        if outline is None or not outline.contours:
            continue
        if sum(len(contour.knots) for contour in outline.contours) > MOST_SEGMENTS:
            continue
        slats = tuple(each.slat for each in chosen.choice(models).slats if each.carries_art)
        slat, turn = chosen.choice(slats), chosen.choice((0.0, 0.0, 0.0, 90.0, 20.0, 170.0))
        mirrored, share = chosen.random() < 0.2, chosen.uniform(0.35, 1.0)
        try:
            place = largest_fit(outline, slat, shop.allowances, turn, mirrored)
        except EngineError:
            continue
        placement = type(place)(place.x, place.y, place.scale * share, turn, mirrored)
        cut, anatomy = Cut(outline, slat, placement, shop.bits[0], shop.allowances), study(outline)
        if check(cut, anatomy).verdict != "will-not-carve":
            continue
        yield Refused(name, cut, anatomy, slats)
        found += 1
        if found >= count:
            return
