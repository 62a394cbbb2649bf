"""Random art that is near its limits: strokes, letters, icons, rings, at random sizes and turns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from artwork.axis import study
from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.remedies import sizes
from artwork.workpiece import Allowances, Bit
from tests.artwork.drawn import board
from tests.published.corpus import glyph, icons, outline_of

LARGEST = 48.0
"""Longer side of what is simulated, mm: a grid of 2,700 pixels each way with its margins."""
LETTERS = "abdeghkmnopqrstwABDEGHKMNPRSTW2345689&"


def strokes(random: np.random.Generator) -> Outline:
    """A few bent strokes of random widths, united."""
    lines = []
    for _ in range(random.integers(1, 5)):
        points = np.cumsum(random.normal(0, 6, (random.integers(2, 5), 2)), axis=0) + random.normal(0, 5, 2)
        width = random.uniform(1.0, 2.5)
        style = random.choice(["round", "flat", "square"])
        lines.append(shapely.LineString(points).buffer(width / 2, cap_style=style, join_style="round"))
    return of_area(shapely.union_all(lines))


def blob(random: np.random.Generator) -> Outline:
    """A wavy disc with a wavy hole: necks and lands of every width."""
    angles = np.linspace(0, 2 * np.pi, 180, endpoint=False)

    def wavy(radius: float) -> shapely.Polygon:
        waves = sum(random.normal(0, 0.12) * np.sin(k * angles + random.uniform(0, 7)) for k in (2, 3, 5, 8))
        reach = radius * (1 + waves)
        return shapely.Polygon(np.stack([reach * np.cos(angles), reach * np.sin(angles)], axis=1)).buffer(0)

    return of_area(wavy(8).difference(wavy(5)))


def of_area(area: shapely.Geometry) -> Outline:
    contours = []
    for part in shapely.get_parts(shapely.orient_polygons(area)):
        for loop in (part.exterior, *part.interiors):
            points = np.asarray(loop.coords)[:-1]
            contours.append(Contour(points, np.full((len(points), 2, 2), np.nan)))
    return Outline(tuple(contours))


def letter(random: np.random.Generator) -> Outline:
    font = str(random.choice(["inter", "lobster", "great-vibes"]))
    return glyph(font, str(random.choice(list(LETTERS))))


def icon(random: np.random.Generator) -> Outline:
    outline = None
    while outline is None:
        outline = outline_of(icons(400)[random.integers(400)])
    return outline


def random_cut(number: int) -> Cut:
    """The ``number``-th cut of the corpus: the same on every machine."""
    random = np.random.default_rng(number)
    outline = (strokes, blob, letter, icon)[number % 4](random)
    allowances = Allowances(
        sanding=random.uniform(0, 0.3), sanding_made_up=bool(random.random() < 0.3),
        unevenness=random.uniform(0, 0.4), least_depth=random.uniform(0.2, 0.7),
        land_along=random.uniform(0.5, 1.2), land_across=random.uniform(1.2, 1.8),
    )  # fmt: skip
    bit = Bit("random", float(random.choice([30, 60, 90])), random.uniform(0, 0.3), 12.7, 11.0)
    side = random.uniform(8, 34)
    near_edge = random.random() < 0.2
    placement = Placement(
        x=float(random.uniform(-100, -70)) if near_edge else 0.0,
        y=200.0,
        scale=side / max(outline.size),
        rotation_deg=float(random.choice([0, 90, random.uniform(0, 360)])),
        mirrored=bool(random.random() < 0.2),
    )
    cut = Cut(outline, board(), placement, bit, allowances)
    return _at_its_limit(cut, random.uniform(0.93, 1.2)) if random.random() < 0.6 else cut


def _at_its_limit(cut: Cut, factor: float) -> Cut:
    """At a size around the least at which the engine thinks that it carves, where that is not too large."""
    least = sizes(cut, study(cut.outline)).least
    if not least * factor * max(cut.outline.size) <= LARGEST:
        return cut
    return replace(cut, placement=replace(cut.placement, scale=least * factor))
